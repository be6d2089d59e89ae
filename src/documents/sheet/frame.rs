//! Border (ISO 5457: 20 mm at the binding edge, 10 mm elsewhere) and title block (ISO 7200: 180 mm wide, its data fields).

use super::{Facts, LineGroup, PaperSize, Projection, Sheet, size_of};
use crate::{
    documents::{
        drawing::{Drawing, Ink, Spot},
        letters,
    },
    domain::measure::Units,
};

const BINDING: f64 = 20.0;
const EDGE: f64 = 10.0;
const BLOCK: [f64; 2] = [180.0, 35.0];
const ROW: f64 = 7.0;
/// Of capitals in the title block and the notes, and of the names of its fields (ISO 3098).
const VALUE: f64 = 2.5;
const NAME: f64 = 1.8;
/// From one line of notes to the next.
const LINE: f64 = 4.2;

/// Of what a note says on its further lines.
const SET_IN: f64 = 3.0;

/// What a single sheet says beyond the facts of the job.
pub(super) struct Titled<'a> {
    pub title: String,
    /// `A` for the arrangement, `P` for parts: a letter of the drawing number.
    pub series: char,
    /// Its place in the set, and how many there are.
    pub nth: usize,
    pub of: usize,
    pub mass: String,
    pub notes: &'a [String],
}

/// Where views may lie: left, top, right, bottom.
pub(super) fn room(paper: PaperSize) -> [f64; 4] {
    let [wide, tall] = paper.mm();
    [BINDING + 3.0, EDGE + 2.0, wide - EDGE - 3.0, tall - EDGE - BLOCK[1] - 3.0]
}

/// So many lines of notes stand beside the title block.
pub(super) const NOTE_LINES: usize = 8;

/// Border, title block and notes around the views.
pub(super) fn finish(sheet: &mut Sheet, facts: &Facts, titled: &Titled<'_>) {
    let [wide, tall] = sheet.paper.mm();
    let drawing = &mut sheet.drawing;
    drawing.path(
        Ink::Border,
        vec![[BINDING, EDGE], [wide - EDGE, EDGE], [wide - EDGE, tall - EDGE], [BINDING, tall - EDGE], [BINDING, EDGE]],
        None,
    );
    let [left, top] = [wide - EDGE - BLOCK[0], tall - EDGE - BLOCK[1]];
    drawing.path(Ink::Border, vec![[wide - EDGE, top], [left, top], [left, tall - EDGE]], None);
    for row in 1..5 {
        let y = top + f64::from(row) * ROW;
        drawing.line(Ink::Note, [left, y], [wide - EDGE, y]);
    }
    let units = match facts.units {
        Units::Metric => facts.text("sheet-millimetres"),
        Units::Imperial => facts.text("sheet-feet-and-inches"),
    };
    let scale = facts.say("sheet-scale-printed").with("scale", format!("1:{}", sheet.scale)).text();
    let number = format!("{}-{}{}", facts.number, titled.series, titled.nth);
    let of = facts.say("sheet-nth").with("nth", titled.nth).with("of", titled.of).text();
    let revision = facts.revision.map_or_else(|| facts.text("sheet-open"), |number| number.to_string());
    let program = format!("hitchwright {}", facts.program);
    let cells: [&[(&str, &str, f64)]; 4] = [
        &[("shop", &facts.shop, 120.0), ("projection", "", 35.0), ("paper", sheet.paper.label(), 25.0)],
        &[("job", &facts.job, 120.0), ("sheet", &of, 25.0), ("day", &facts.day, 35.0)],
        &[("title", &titled.title, 120.0), ("number", &number, 35.0), ("revision", &revision, 25.0)],
        &[("scale", &scale, 57.0), ("units", &units, 33.0), ("mass", &titled.mass, 30.0), ("program", &program, 60.0)],
    ];
    for (row, fields) in cells.iter().enumerate() {
        let y = top + row as f64 * ROW;
        let mut x = left;
        for (name, value, width) in *fields {
            let name = facts.say(format!("sheet-field-{name}")).text();
            if x > left {
                drawing.line(Ink::Note, [x, y], [x, y + ROW]);
            }
            words(drawing, [x + 1.0, y + 1.6], NAME, &name, *width - 2.0);
            words(drawing, [x + 1.0, y + 5.0], VALUE, value, *width - 2.0);
            x += width;
        }
    }
    symbol(drawing, [left + 120.0 + 22.0, top + ROW / 2.0], facts);
    words(drawing, [left + 1.0, top + 4.5 * ROW], VALUE, &facts.text("sheet-caution"), BLOCK[0] - 2.0);
    sheet.notes = titled.notes.to_vec();
    for (nth, (set_in, line)) in note_lines(titled.notes, left - BINDING - 4.0).iter().enumerate() {
        let from = BINDING + 2.0 + set_in;
        words(drawing, [from, top + 2.5 + nth as f64 * LINE], VALUE, line, left - 2.0 - from);
    }
}

/// Notes with how far each line is set in. A long one goes on below while lines are left for all others; what then still does not fit is
/// shortened.
fn note_lines(notes: &[String], room: f64) -> Vec<(f64, String)> {
    let notes = &notes[..notes.len().min(NOTE_LINES)];
    let mut spare = NOTE_LINES - notes.len();
    let mut set = Vec::with_capacity(NOTE_LINES);
    for note in notes {
        let mut lines = letters::lines(note, size_of(VALUE), room, SET_IN);
        if lines.len() > spare + 1 {
            let rest = lines.split_off(spare).join(" ");
            lines.push(rest);
        }
        spare -= lines.len() - 1;
        set.extend(lines.into_iter().enumerate().map(|(nth, line)| (if nth == 0 { 0.0 } else { SET_IN }, line)));
    }
    set
}

/// Words from their left edge, shortened to their room; capitals of this height stand around the line.
fn words(drawing: &mut Drawing, [left, middle]: Spot, capital: f64, text: &str, room: f64) {
    if text.is_empty() {
        return;
    }
    let size = size_of(capital);
    let text = letters::fitted(text, size, room);
    drawing.text(Ink::Note, [left + letters::width(&text, size) / 2.0, middle], size, text);
}

/// The truncated cone of ISO 5456-2: in first angle its side view stands left of its circles, in third angle right of them.
fn symbol(drawing: &mut Drawing, [x, y]: Spot, facts: &Facts) {
    let (large, small, long) = (2.5, 1.25, 5.0);
    let (cone, circles) = match facts.projection {
        Projection::FirstAngle => (x - 5.0, x + 4.5),
        Projection::ThirdAngle => (x + 2.0, x - 2.5),
    };
    // The small end, at the left, is what the circles show: first angle puts the view from the left at the right.
    let points = vec![[cone, y - small], [cone + long, y - large], [cone + long, y + large], [cone, y + small]];
    drawing.polygon(Ink::Note, points, Some(facts.say(format!("sheet-{}", facts.projection.word())).text()));
    drawing.line(Ink::Centre, [cone - 1.0, y], [cone + long + 1.0, y]);
    for radius in [small, large] {
        drawing.circle(Ink::Note, [circles, y], radius, None);
    }
    drawing.line(Ink::Centre, [circles - 3.2, y], [circles + 3.2, y]);
    drawing.line(Ink::Centre, [circles, y - 3.2], [circles, y + 3.2]);
}

/// A sheet without anything on it yet.
pub(super) fn blank(paper: PaperSize, scale: f64, name: String, description: String) -> Sheet {
    let drawing = Drawing { title: name.clone(), description, ..Drawing::default() };
    let group = LineGroup::at(scale);
    Sheet { paper, scale, group, drawing, measured: Vec::new(), name, narrow: Vec::new(), notes: Vec::new() }
}
