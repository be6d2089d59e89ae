//! Tables on pages: columns as wide as their content wants, rows whole, the head again on every page.

use super::{
    block::{Row, Table},
    face::{Face, Faces},
    formula,
    set::{FOR_THE_EYE, Mark, Role, SIDE, Setter},
    text::{Line, Run, Style, set, widths},
};

const PAD: f32 = 4.0;
const ABOVE: f32 = 2.0;

const fn body(is_strong: bool) -> Style {
    let face = if is_strong { Face::Bold } else { Face::Plain };
    Style { face, size: 8.8, grey: 0, tabular: true, rise: 0.0 }
}

const HEAD: Style = Style { tabular: true, ..Style::of(Face::Bold, 8.0) };

fn runs(text: &str, style: Style) -> Vec<Run> {
    vec![Run::new(text, style)]
}

/// The cells of a row of the body as they are set.
fn cells<'a>(table: &Table, row: &'a Row) -> impl Iterator<Item = Vec<Run>> + use<'a> {
    let style = body(row.is_strong);
    let symbols = usize::from(table.heads_are_symbols);
    row.cells.iter().enumerate().map(move |(nth, text)| {
        let symbol = if nth < symbols { formula::symbol(text) } else { None };
        symbol.unwrap_or_else(|| runs(text, style))
    })
}

/// How wide the columns are: as wide as their content wants, the rest shared evenly; where there is too little room, what a column wants
/// beyond its widest word is cut in proportion.
pub fn columns(faces: &Faces, table: &Table, room: f32) -> Vec<f32> {
    let count = table.rows.iter().map(|row| row.cells.len()).max().unwrap_or(0).max(table.head.len());
    let mut wanted = vec![[2.0 * PAD; 2]; count];
    let heads = table.head.iter().map(|text| runs(text, HEAD)).enumerate();
    let body = table.rows.iter().flat_map(|row| cells(table, row).enumerate());
    for (at, cell) in heads.chain(body) {
        let [whole, word] = widths(faces, &cell);
        wanted[at] = [wanted[at][0].max(whole + 2.0 * PAD + 0.1), wanted[at][1].max(word + 2.0 * PAD + 0.1)];
    }
    let whole: f32 = wanted.iter().map(|[whole, _]| whole).sum();
    let least: f32 = wanted.iter().map(|[_, least]| least).sum();
    if whole <= room {
        let more = (room - whole) / count.max(1) as f32;
        wanted.iter().map(|[whole, _]| whole + more).collect()
    } else if least <= room {
        let share = (room - least) / (whole - least);
        wanted.iter().map(|[whole, least]| least + (whole - least) * share).collect()
    } else {
        wanted
            .iter()
            .map(|[_, least]| least * room / least.max(1.0).max(wanted.iter().map(|[_, each]| each).sum()))
            .collect()
    }
}

struct SetRow {
    cells: Vec<Vec<Line>>,
    leading: f32,
}

impl SetRow {
    fn head(faces: &Faces, table: &Table, columns: &[f32]) -> Self {
        Self::of(faces, table.head.iter().map(|text| runs(text, HEAD)), HEAD.leading(), columns)
    }

    fn body(faces: &Faces, table: &Table, row: &Row, columns: &[f32]) -> Self {
        Self::of(faces, cells(table, row), body(row.is_strong).leading(), columns)
    }

    fn of(faces: &Faces, cells: impl Iterator<Item = Vec<Run>>, leading: f32, columns: &[f32]) -> Self {
        let cells = cells.zip(columns).map(|(cell, wide)| set(faces, &cell, wide - 2.0 * PAD));
        Self { cells: cells.collect(), leading }
    }

    fn lines(&self) -> usize {
        self.cells.iter().map(Vec::len).max().unwrap_or(0)
    }

    fn tall(&self) -> f32 {
        self.lines() as f32 * self.leading + 2.0 * ABOVE
    }
}

impl Setter<'_> {
    pub(super) fn start_of_table(&self, table: &Table) -> f32 {
        let columns = columns(self.faces, table, self.width());
        let head = SetRow::head(self.faces, table, &columns).tall();
        let first = table.rows.first().map_or(0.0, |row| SetRow::body(self.faces, table, row, &columns).tall());
        let caption = if table.caption.is_empty() { 0.0 } else { 15.0 };
        caption + head + first.min(80.0)
    }

    pub(super) fn tall_of_table(&self, table: &Table) -> f32 {
        let columns = columns(self.faces, table, self.width());
        let row_tall = |row: &Row| SetRow::body(self.faces, table, row, &columns).tall();
        let beyond_first: f32 = table.rows.iter().skip(1).map(row_tall).sum();
        self.start_of_table(table) + beyond_first + 4.0
    }

    pub(super) fn table(&mut self, table: &Table) {
        let columns = columns(self.faces, table, self.width());
        let of = self.element(Role::Table, None);
        let head = SetRow::head(self.faces, table, &columns);
        self.need(self.start_of_table(table));
        if !table.caption.is_empty() {
            let style = Style::of(Face::Bold, 9.0);
            let element = self.element(Role::Caption, Some(of));
            let lines = set(self.faces, &runs(&table.caption, style), self.width());
            self.lines(lines, 0.0, style.leading(), element);
        }
        let has_head = !table.head.is_empty();
        if has_head {
            let row = self.element(Role::Row, Some(of));
            let cells = head.cells.iter().map(|_| self.element(Role::HeadCell, Some(row))).collect::<Vec<_>>();
            self.row(table, &columns, &head, &cells, 0..head.lines());
            self.rule(0.8, 0);
        } else {
            self.rule(0.4, 150);
        }
        let rows = table.rows.len();
        for (nth, row) in table.rows.iter().enumerate() {
            let set_row = SetRow::body(self.faces, table, row, &columns);
            // The row before the last takes it along, so that no row stands alone on the next page.
            let wants = if nth + 2 == rows && nth > 0 {
                let last = &table.rows[nth + 1];
                set_row.tall() + SetRow::body(self.faces, table, last, &columns).tall()
            } else {
                set_row.tall()
            };
            if self.y + wants > self.bottom() {
                self.new_page();
                if has_head {
                    self.repeat_head(table, &columns, &head);
                }
            }
            self.body_row(table, row, &columns, &set_row, of);
        }
        self.y += 4.0;
    }

    /// A row, on several pages only where it is taller than one.
    fn body_row(&mut self, table: &Table, row: &Row, columns: &[f32], set_row: &SetRow, of: usize) {
        let element = self.element(Role::Row, Some(of));
        let roles = |nth| if nth == 0 { Role::RowHead } else { Role::Cell };
        let cells: Vec<usize> = (0..row.cells.len()).map(|nth| self.element(roles(nth), Some(element))).collect();
        let mut from = 0;
        while from < set_row.lines() {
            let room = ((self.bottom() - self.y - 2.0 * ABOVE) / set_row.leading).floor().max(1.0) as usize;
            let to = (from + room).min(set_row.lines());
            self.row(table, columns, set_row, &cells, from..to);
            if to < set_row.lines() {
                self.new_page();
            }
            from = to;
        }
        self.rule(0.3, 160);
    }

    /// The head once more, for the eye only: who listens has heard it.
    fn repeat_head(&mut self, table: &Table, columns: &[f32], head: &SetRow) {
        self.row(table, columns, head, &[], 0..head.lines());
        self.rule(0.8, 0);
    }

    fn row(&mut self, table: &Table, columns: &[f32], row: &SetRow, cells: &[usize], lines: std::ops::Range<usize>) {
        let mut x = SIDE;
        let y = self.y + ABOVE;
        let count = lines.len();
        for (nth, (cell, wide)) in row.cells.iter().zip(columns).enumerate() {
            for (below, line) in cell.iter().enumerate().skip(lines.start).take(count) {
                let left = if nth >= table.figures_from { x + wide - PAD - line.width } else { x + PAD };
                let top = y + (below - lines.start) as f32 * row.leading;
                let element = cells.get(nth).copied().unwrap_or(FOR_THE_EYE);
                self.line_at(left, top, line.clone(), element);
            }
            x += wide;
        }
        self.y += count as f32 * row.leading + 2.0 * ABOVE;
    }

    fn rule(&mut self, width: f32, grey: u8) {
        let (from, to) = ([SIDE, self.y], [SIDE + self.width(), self.y]);
        self.mark(Mark::Rule { from, to, width, grey });
    }
}
