//! Blocks set onto pages: where every line and drawing stands, and what it is of. Nothing is written yet.

use super::{
    PaperFault,
    block::{Block, Document, POINTS, Paper},
    face::{Face, Faces},
    text::{Line, Run, Style, set},
};
use crate::documents::{
    Drawing,
    sheet::{LineGroup, Sheet},
};

pub const SIDE: f32 = 51.0;
pub const TOP: f32 = 62.0;
pub const BOTTOM: f32 = 56.0;
/// Between blocks.
const GAP: f32 = 6.0;
const INDENT: f32 = 12.0;

/// What an element of the document is, for readers that speak it.
#[derive(Clone, Debug, PartialEq)]
pub enum Role {
    Heading(u8, String),
    Paragraph,
    List,
    Item,
    Label,
    Body,
    Table,
    Row,
    HeadCell,
    RowHead,
    Cell,
    Caption,
    Figure(String),
    Formula(String),
    Contents,
    Entry,
    Link,
}

/// Stands for no element: what is drawn for the eye only.
pub const FOR_THE_EYE: usize = usize::MAX;

/// A node of the tree of elements; `None` stands for the document itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    pub role: Role,
    pub parent: Option<usize>,
}

/// What stands on a page. Places are in points from the upper left corner of the page; a line stands on its foot.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    Line {
        at: [f32; 2],
        line: Line,
        element: usize,
    },
    Rule {
        from: [f32; 2],
        to: [f32; 2],
        width: f32,
        grey: u8,
    },
    Picture {
        corner: [f32; 2],
        scale: f32,
        drawing: Drawing,
        /// The pens of a drawing on a sheet of its own.
        pens: Option<LineGroup>,
        element: usize,
    },
    /// The number of a heading's page, ending here.
    PageOf {
        heading: usize,
        right: [f32; 2],
        element: usize,
    },
    Link {
        heading: usize,
        box_of: [f32; 4],
        words: String,
        element: usize,
    },
}

/// Where a heading stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Anchor {
    pub level: u8,
    pub text: String,
    pub page: usize,
    pub y: f32,
}

/// A document on its pages.
pub struct Laid {
    pub pages: Vec<Vec<Mark>>,
    pub elements: Vec<Element>,
    pub anchors: Vec<Anchor>,
}

/// Sets a document.
pub fn lay(document: &Document, faces: &Faces) -> Result<Laid, PaperFault> {
    let mut setter = Setter::new(document.facts.paper, faces);
    for at in 0..document.blocks.len() {
        setter.block(&document.blocks, at);
    }
    // An empty last page is none.
    if setter.pages.len() > 1 && setter.pages.last().is_some_and(Vec::is_empty) {
        setter.pages.pop();
    }
    Ok(Laid { pages: setter.pages, elements: setter.elements, anchors: setter.anchors })
}

pub(super) struct Setter<'f> {
    pub faces: &'f Faces,
    paper: Paper,
    pages: Vec<Vec<Mark>>,
    /// The top of what comes next.
    pub y: f32,
    elements: Vec<Element>,
    anchors: Vec<Anchor>,
}

impl<'f> Setter<'f> {
    fn new(paper: Paper, faces: &'f Faces) -> Self {
        Self { faces, paper, pages: vec![Vec::new()], y: TOP, elements: Vec::new(), anchors: Vec::new() }
    }

    pub fn width(&self) -> f32 {
        self.paper.wide - 2.0 * SIDE
    }

    pub fn bottom(&self) -> f32 {
        self.paper.tall - BOTTOM
    }

    pub fn element(&mut self, role: Role, parent: Option<usize>) -> usize {
        self.elements.push(Element { role, parent });
        self.elements.len() - 1
    }

    pub fn mark(&mut self, mark: Mark) {
        if let Some(page) = self.pages.last_mut() {
            page.push(mark);
        }
    }

    fn is_at_top(&self) -> bool {
        self.y <= TOP + 0.01
    }

    pub fn new_page(&mut self) {
        if !self.pages.last().is_some_and(Vec::is_empty) {
            self.pages.push(Vec::new());
        }
        self.y = TOP;
    }

    /// Room above a block, which vanishes at the top of a page.
    fn gap(&mut self, gap: f32) {
        if !self.is_at_top() {
            self.y += gap;
        }
    }

    /// Turns to a new page where so much no longer fits.
    pub fn need(&mut self, tall: f32) {
        if self.y + tall > self.bottom() && !self.is_at_top() {
            self.new_page();
        }
    }

    /// A line with its top at `y`.
    pub fn line_at(&mut self, x: f32, y: f32, line: Line, element: usize) {
        let size = line.runs.iter().map(|(_, run)| run.style.size).fold(0.0, f32::max);
        let leading = size * 1.38;
        self.mark(Mark::Line { at: [x, y + leading * 0.5 + size * 0.35], line, element });
    }

    /// Lines below each other; at a turn of the page two stay together on either side. Gives back the stretches of pages that they take.
    pub fn lines(&mut self, lines: Vec<Line>, indent: f32, leading: f32, element: usize) -> Vec<[f32; 2]> {
        let count = lines.len();
        let mut stretches = vec![];
        let together = if count <= 3 { count } else { 2 };
        self.need(leading * together as f32);
        let mut from = self.y;
        for (nth, line) in lines.into_iter().enumerate() {
            let left = count - nth;
            // The line before the last takes it along.
            let wants = if left == 2 && nth > 0 { 2.0 } else { 1.0 };
            if self.y + leading * wants > self.bottom() && !self.is_at_top() {
                if self.y > from {
                    stretches.push([from, self.y]);
                }
                self.new_page();
                from = self.y;
            }
            self.line_at(SIDE + indent, self.y, line, element);
            self.y += leading;
        }
        stretches.push([from, self.y]);
        stretches
    }

    fn block(&mut self, blocks: &[Block], at: usize) {
        match &blocks[at] {
            Block::Heading { level, text } => self.heading(*level, text, blocks, at),
            Block::Paragraph(runs) => {
                self.gap(GAP / 2.0);
                let element = self.element(Role::Paragraph, None);
                self.paragraph(runs, 0.0, element);
            }
            Block::List(items) => self.list(items),
            Block::Table(table) => {
                self.gap(GAP);
                self.table(table);
            }
            Block::Figures(figures) => self.figures(figures),
            Block::Notice(lines) => self.notice(lines),
            Block::Picture { drawing, caption, tallest } => {
                self.picture(drawing, caption, *tallest, self.told_of(blocks, at));
            }
            Block::Sheet(sheet) => self.sheet(sheet),
            Block::Formula { runs, spoken } => {
                self.gap(2.0);
                let element = self.element(Role::Formula(spoken.clone()), None);
                let lines = set(self.faces, runs, self.width() - INDENT);
                self.lines(lines, INDENT, 14.5, element);
            }
            Block::Contents { to_level } => self.contents(*to_level, blocks),
            Block::ToFill(lines) => self.fill_in(lines),
            Block::NewPage => self.new_page(),
        }
    }

    fn paragraph(&mut self, runs: &[Run], indent: f32, element: usize) {
        let leading = runs.iter().map(|run| run.style.leading()).fold(0.0, f32::max);
        let lines = set(self.faces, runs, self.width() - indent);
        self.lines(lines, indent, leading, element);
    }

    fn heading(&mut self, level: u8, text: &str, blocks: &[Block], at: usize) {
        let style = heading_style(level);
        self.gap(heading_gap(level));
        let tall = self.start_of(blocks, at);
        self.need(tall);
        self.anchors.push(Anchor { level, text: text.to_owned(), page: self.pages.len() - 1, y: self.y });
        let element = self.element(Role::Heading(level, text.to_owned()), None);
        let lines = set(self.faces, &[Run::new(text, style)], self.width());
        self.lines(lines, 0.0, style.size * 1.25, element);
        self.y += 1.5;
    }

    /// How tall the part of a block is that may not be torn from what stands above it.
    fn start_of(&self, blocks: &[Block], at: usize) -> f32 {
        let lines_of = |runs: &[Run]| set(self.faces, runs, self.width()).len();
        match blocks.get(at) {
            Some(Block::Heading { level, text }) => {
                let style = heading_style(*level);
                let lines = lines_of(&[Run::new(text.as_str(), style)]);
                heading_gap(*level) + lines as f32 * style.size * 1.25 + self.start_of(blocks, at + 1)
            }
            Some(Block::Paragraph(runs)) => lines_of(runs).min(3) as f32 * 13.2 + GAP + self.led_by(blocks, at),
            Some(Block::Picture { drawing, tallest, .. }) => {
                let [_, tall] = self.size_of(drawing, *tallest);
                least_tall(tall) + 26.0 + self.told_of(blocks, at)
            }
            Some(Block::Table(table)) => self.start_of_table(table) + GAP,
            Some(Block::Figures(_)) => 60.0,
            Some(Block::Formula { .. } | Block::List(_) | Block::Notice(_) | Block::Contents { .. }) => 34.0,
            Some(Block::ToFill(lines)) => lines.len() as f32 * 40.0,
            Some(Block::NewPage | Block::Sheet(_)) | None => 0.0,
        }
    }

    /// A short paragraph that leads to a drawing stays with it.
    fn led_by(&self, blocks: &[Block], at: usize) -> f32 {
        match blocks.get(at + 1) {
            Some(next @ Block::Picture { .. }) => self.start_of(std::slice::from_ref(next), 0),
            _ => 0.0,
        }
    }

    /// How tall what is told about a drawing is, which stays with it: a short table whole, of a long one the start.
    fn told_of(&self, blocks: &[Block], at: usize) -> f32 {
        const SHORT: f32 = 190.0;
        match blocks.get(at + 1) {
            Some(Block::Table(table)) => {
                let whole = self.tall_of_table(table);
                GAP + if whole <= SHORT { whole } else { self.start_of_table(table).min(90.0) }
            }
            _ => 0.0,
        }
    }

    fn list(&mut self, items: &[String]) {
        let list = self.element(Role::List, None);
        for item in items {
            self.gap(GAP / 3.0);
            let of = self.element(Role::Item, Some(list));
            let (label, body) = (self.element(Role::Label, Some(of)), self.element(Role::Body, Some(of)));
            let style = Style::body();
            let lines = set(self.faces, &[Run::new(item.as_str(), style)], self.width() - INDENT);
            self.need(style.leading() * lines.len().min(3) as f32);
            let bullet = set(self.faces, &[Run::new("•", style)], INDENT);
            for line in bullet {
                self.line_at(SIDE + 2.0, self.y, line, label);
            }
            self.lines(lines, INDENT, style.leading(), body);
        }
    }

    fn notice(&mut self, notes: &[String]) {
        self.gap(GAP + 2.0);
        for note in notes {
            let element = self.element(Role::Paragraph, None);
            let style = Style::body();
            let lines = set(self.faces, &[Run::new(note.as_str(), style)], self.width() - INDENT);
            let first = self.pages.len() - 1;
            let stretches = self.lines(lines, INDENT, style.leading(), element);
            // The last stretch is on the last page, each other on the one before the next.
            let pages = self.pages.len();
            for (nth, [from, to]) in stretches.iter().enumerate() {
                let page = (pages + nth).saturating_sub(stretches.len()).max(first);
                let rule = Mark::Rule { from: [SIDE + 1.5, *from], to: [SIDE + 1.5, *to + 3.0], width: 2.5, grey: 0 };
                self.pages[page.min(pages - 1)].push(rule);
            }
            self.y += 3.0;
        }
        self.y += 2.0;
    }

    fn figures(&mut self, figures: &[[String; 3]]) {
        self.gap(GAP);
        const ABREAST: usize = 4;
        let wide = self.width() / ABREAST as f32;
        for row in figures.chunks(ABREAST) {
            self.need(44.0);
            for (nth, [words, value, note]) in row.iter().enumerate() {
                let x = SIDE + wide * nth as f32;
                let element = self.element(Role::Paragraph, None);
                let texts = [
                    (format!("{words} "), Style::small(), 0.0),
                    (format!("{value} "), Style::of(Face::Bold, 12.5), 11.0),
                    (note.clone(), Style::small(), 28.0),
                ];
                for (text, style, below) in texts {
                    let line = set(self.faces, &[Run::new(text, style)], wide - 8.0).into_iter().next();
                    if let Some(line) = line.filter(|line| !line.runs.is_empty()) {
                        self.line_at(x + 6.0, self.y + below, line, element);
                    }
                }
                let rule = Mark::Rule { from: [x, self.y + 1.0], to: [x, self.y + 38.0], width: 0.6, grey: 120 };
                self.mark(rule);
            }
            self.y += 46.0;
        }
    }

    /// The size of a drawing on paper.
    fn size_of(&self, drawing: &Drawing, tallest: f32) -> [f32; 2] {
        let [_, _, wide, tall] = drawing.bounds().map(|mm| mm as f32);
        let scale = self.scale_of(drawing, tallest);
        [wide * scale, tall * scale]
    }

    fn scale_of(&self, drawing: &Drawing, tallest: f32) -> f32 {
        let [_, _, wide, tall] = drawing.bounds().map(|mm| (mm as f32).max(0.001));
        let tallest = tallest.min(self.bottom() - TOP - 30.0);
        (self.width() / wide).min(tallest / tall)
    }

    fn picture(&mut self, drawing: &Drawing, caption: &str, tallest: f32, told: f32) {
        self.gap(GAP);
        let style = Style::small();
        let lines =
            if caption.is_empty() { vec![] } else { set(self.faces, &[Run::new(caption, style)], self.width()) };
        let [_, wished] = self.size_of(drawing, tallest);
        let below = 4.0 + lines.len() as f32 * style.leading() + told;
        self.need(least_tall(wished) + below);
        // A tall drawing gives way before it turns the page.
        let tallest = tallest.min((self.bottom() - self.y - below).max(least_tall(wished)));
        let scale = self.scale_of(drawing, tallest);
        let [wide, tall] = self.size_of(drawing, tallest);
        let shows = if drawing.description.is_empty() { drawing.title.clone() } else { drawing.description.clone() };
        let element = self.element(Role::Figure(if shows.is_empty() { caption.to_owned() } else { shows }), None);
        let corner = [SIDE + (self.width() - wide) / 2.0, self.y];
        self.mark(Mark::Picture { corner, scale, drawing: drawing.clone(), pens: None, element });
        self.y += tall + 4.0;
        if !lines.is_empty() {
            let of = self.element(Role::Caption, None);
            self.lines(lines, 0.0, style.leading(), of);
        }
    }

    fn sheet(&mut self, sheet: &Sheet) {
        self.new_page();
        let (level, page) = (2, self.pages.len() - 1);
        self.anchors.push(Anchor { level, text: sheet.name.clone(), page, y: 0.0 });
        let element = self.element(Role::Figure(sheet.drawing.description.clone()), None);
        let [left, top, ..] = sheet.drawing.bounds();
        let corner = [left, top].map(|mm| (mm * POINTS) as f32);
        self.mark(Mark::Picture {
            corner,
            scale: POINTS as f32,
            drawing: sheet.drawing.clone(),
            pens: Some(sheet.group),
            element,
        });
        self.y = self.bottom();
    }

    fn contents(&mut self, to_level: u8, blocks: &[Block]) {
        let list = self.element(Role::Contents, None);
        let headings = blocks.iter().filter_map(|block| match block {
            Block::Heading { level, text } => Some((*level, text)),
            _ => None,
        });
        for (heading, (level, text)) in headings.enumerate() {
            if level < 2 || level > to_level {
                continue;
            }
            let style = if level == 2 { Style::body() } else { Style { size: 8.5, grey: 40, ..Style::body() } };
            let indent = f32::from(level - 2) * INDENT;
            let leading = style.leading();
            self.gap(if level == 2 { 2.0 } else { 0.0 });
            self.need(leading);
            let entry = self.element(Role::Entry, Some(list));
            let link = self.element(Role::Link, Some(entry));
            let line =
                set(self.faces, &[Run::new(text.as_str(), style)], self.width() - indent - 30.0).into_iter().next();
            let end = SIDE + indent + line.as_ref().map_or(0.0, |line| line.width);
            if let Some(line) = line {
                self.line_at(SIDE + indent, self.y, line, link);
            }
            let foot = self.y + leading * 0.5 + style.size * 0.35;
            let right = SIDE + self.width();
            self.mark(Mark::Rule { from: [end + 5.0, foot], to: [right - 22.0, foot], width: 0.3, grey: 170 });
            self.mark(Mark::PageOf { heading, right: [right, foot], element: link });
            let box_of = [SIDE + indent, self.y, right, self.y + leading];
            self.mark(Mark::Link { heading, box_of, words: format!("To {text}"), element: link });
            self.y += leading;
        }
        self.y += GAP;
    }

    fn fill_in(&mut self, lines: &[String]) {
        self.gap(GAP);
        self.need(lines.len() as f32 * 40.0);
        for text in lines {
            self.y += 26.0;
            let element = self.element(Role::Paragraph, None);
            let rule =
                Mark::Rule { from: [SIDE, self.y], to: [SIDE + self.width() * 0.7, self.y], width: 0.6, grey: 0 };
            self.mark(rule);
            self.y += 2.0;
            let lines = set(self.faces, &[Run::new(text.as_str(), Style::small())], self.width());
            self.lines(lines, 0.0, Style::small().leading(), element);
        }
    }
}

/// How far a drawing may shrink, in points: small ones not at all.
fn least_tall(tall: f32) -> f32 {
    const SMALL: f32 = 150.0;
    if tall > SMALL { (0.5 * tall).max(SMALL) } else { tall }
}

pub(super) fn heading_style(level: u8) -> Style {
    match level {
        1 => Style::of(Face::Bold, 19.0),
        2 => Style::of(Face::Bold, 13.0),
        _ => Style::of(Face::Bold, 10.5),
    }
}

const fn heading_gap(level: u8) -> f32 {
    match level {
        1 => 4.0,
        2 => 16.0,
        _ => 9.0,
    }
}
