//! What a printed document consists of.

use jiff::civil::DateTime;

use super::text::{Run, Style};
use crate::{
    documents::{
        Drawing,
        sheet::{PaperSize, Sheet},
    },
    domain::{measure::Units, words::Words},
};

/// Points in a millimetre.
pub(super) const POINTS: f64 = 72.0 / 25.4;

/// A sheet of paper in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paper {
    pub wide: f32,
    pub tall: f32,
}

impl Paper {
    /// ISO 216.
    pub const A4: Self = Self { wide: 595.28, tall: 841.89 };
    pub const A3: Self = Self { wide: 841.89, tall: 1190.55 };
    /// ANSI/ASME Y14.1, size A.
    pub const LETTER: Self = Self { wide: 612.0, tall: 792.0 };

    /// What lies in the printer of a shop that works in these units.
    pub const fn of(units: Units) -> Self {
        match units {
            Units::Metric => Self::A4,
            Units::Imperial => Self::LETTER,
        }
    }

    /// The paper of a drawing, lying.
    pub fn of_sheet(size: PaperSize) -> Self {
        let [wide, tall] = size.mm().map(|mm| (mm * POINTS) as f32);
        Self { wide, tall }
    }

    pub const fn landscape(self) -> Self {
        Self { wide: self.tall, tall: self.wide }
    }
}

/// What a document is, for its properties and for the head and foot of every page.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// Its language, with the words of its pages' feet.
    pub words: &'static Words,
    pub title: String,
    /// The shop.
    pub author: String,
    /// When it was issued, in UTC; never the clock.
    pub made: Option<DateTime>,
    /// Head of every page: left and right.
    pub running: [String; 2],
    pub paper: Paper,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    pub facts: Facts,
    pub blocks: Vec<Block>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// 1 is the title of the document. Stands in the bookmarks and, from level 2 on, in the contents.
    Heading {
        level: u8,
        text: String,
    },
    Paragraph(Vec<Run>),
    List(Vec<String>),
    Table(Table),
    /// Key figures: words, value and note.
    Figures(Vec<[String; 3]>),
    /// Something to mind, with a bar beside it.
    Notice(Vec<String>),
    /// A drawing, not taller than so many points.
    Picture {
        drawing: Drawing,
        caption: String,
        tallest: f32,
    },
    /// A drawing that fills a page of its own at true scale, with border and title block; the page has its paper.
    Sheet(Sheet),
    /// A formula on its own line, and how it is read aloud.
    Formula {
        runs: Vec<Run>,
        spoken: String,
    },
    /// All headings up to this level with their pages.
    Contents {
        to_level: u8,
    },
    /// Lines to write on by hand.
    ToFill(Vec<String>),
    NewPage,
}

impl Block {
    pub fn heading(level: u8, text: impl Into<String>) -> Self {
        Self::Heading { level, text: text.into() }
    }

    pub fn text(text: impl Into<String>) -> Self {
        Self::Paragraph(vec![Run::new(text, Style::body())])
    }

    pub fn strong(text: impl Into<String>) -> Self {
        Self::Paragraph(vec![Run::new(text, Style::bold())])
    }

    pub fn small(text: impl Into<String>) -> Self {
        Self::Paragraph(vec![Run::new(text, Style::small())])
    }
}

/// A table whose first cell heads its row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    pub caption: String,
    /// Empty for a table without a head.
    pub head: Vec<String>,
    pub rows: Vec<Row>,
    /// From this column on stand figures, at the right.
    pub figures_from: usize,
    /// Rows are headed by symbols of a formula.
    pub heads_are_symbols: bool,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    pub cells: Vec<String>,
    /// A total.
    pub is_strong: bool,
}

impl Row {
    pub fn new(cells: impl IntoIterator<Item = String>) -> Self {
        Self { cells: cells.into_iter().collect(), is_strong: false }
    }

    pub fn strong(cells: impl IntoIterator<Item = String>) -> Self {
        Self { is_strong: true, ..Self::new(cells) }
    }
}
