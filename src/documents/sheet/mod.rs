//! Drawings on sheets of paper to a true scale: the drawing of a [`Sheet`] is in millimetres of paper, its corner at the origin.

/// Plan, side and rear view of the built trailer.
mod arrangement;
/// Border and title block.
mod frame;
/// Part drawings.
mod parts;
/// Line kinds as pens.
mod pen;
/// A view with its dimensions.
mod view;

pub use arrangement::{Options, arrangement_sheets};
pub use parts::{flat_part, flat_parts, part_sheets};
pub use pen::{LineGroup, Pen, pen};

use super::{dimension::Measured, drawing::Drawing, letters};
use crate::domain::{
    estimate::Estimate,
    measure::{Grouping, Units, show_length, show_mass, show_number},
    words::{Said, Words},
};

/// Sheets of paper, lying: ISO 5457 (A) and ANSI/ASME Y14.1 (letter and ledger).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PaperSize {
    A4,
    A3,
    Letter,
    Ledger,
}

impl PaperSize {
    pub const ALL: [Self; 4] = [Self::A4, Self::A3, Self::Letter, Self::Ledger];

    pub const fn label(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A3 => "A3",
            Self::Letter => "Letter",
            Self::Ledger => "Ledger",
        }
    }

    /// The paper of this name, in capitals or not.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|paper| paper.label().eq_ignore_ascii_case(name))
    }

    /// Width and height in millimetres, the long side lying.
    pub const fn mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [297.0, 210.0],
            Self::A3 => [420.0, 297.0],
            Self::Letter => [279.4, 215.9],
            Self::Ledger => [431.8, 279.4],
        }
    }

    /// What lies in the printer of a shop that works in these units.
    pub const fn usual(units: Units) -> Self {
        match units {
            Units::Metric => Self::A4,
            Units::Imperial => Self::Letter,
        }
    }
}

/// How views lie beside one another (ISO 5456-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Projection {
    FirstAngle,
    ThirdAngle,
}

impl Projection {
    /// Third angle is usual in North America, first angle elsewhere (common practice, no source).
    pub fn usual(region: &str) -> Self {
        let land = region.split('-').next().unwrap_or_default();
        if matches!(land, "us" | "ca") { Self::ThirdAngle } else { Self::FirstAngle }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::FirstAngle => "first-angle",
            Self::ThirdAngle => "third-angle",
        }
    }
}

/// The arrangement as a customer sees it, then every part.
pub fn all_sheets(estimate: &Estimate, facts: &Facts, paper: PaperSize) -> Vec<Sheet> {
    let mut sheets = arrangement_sheets(&estimate.trailer, &estimate.weights, facts, paper, Options::default());
    sheets.extend(part_sheets(estimate, facts, paper));
    sheets
}

/// Height of capitals and figures (ISO 3098).
const CAPITAL_MM: f64 = 2.5;

/// Reductions of ISO 5455, the largest drawing first.
const SCALES: [f64; 10] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0];

/// What the title block says; of the job as it stands or of a frozen revision, never of the clock.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    pub shop: String,
    pub job: String,
    /// `2026-007`
    pub number: String,
    /// `2`; none where nothing is issued.
    pub revision: Option<u32>,
    /// Of the revision, as ISO 7200 wants it: `2026-11-25`.
    pub day: String,
    /// Version of the program that made the estimate.
    pub program: String,
    /// Of the shop: who builds from the drawing reads it.
    pub words: &'static Words,
    pub units: Units,
    pub projection: Projection,
}

impl Facts {
    fn say(&self, id: impl Into<String>) -> Said<'static> {
        self.words.say(id)
    }

    fn text(&self, id: &str) -> String {
        self.say(id).text()
    }

    fn length(&self, mm: f64) -> String {
        self.words.written(&show_length(mm, self.units)).replace(' ', "\u{a0}")
    }

    fn mass(&self, kg: f64) -> String {
        self.words.written(&show_mass(kg, self.units)).replace(' ', "\u{a0}")
    }

    /// On drawings millimetres stand without their unit and without separators; the title block names it.
    fn figure(&self, mm: f64) -> String {
        match self.units {
            Units::Metric => self.words.written(&show_number(mm, 1, Grouping::None)),
            Units::Imperial => self.length(mm),
        }
    }
}

/// A drawing on paper.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    pub paper: PaperSize,
    /// Real millimetres to one of paper.
    pub scale: f64,
    pub group: LineGroup,
    pub drawing: Drawing,
    /// Every dimension on it.
    pub measured: Vec<Measured>,
    /// What it shows, for links: `Plan`, or the mark of a part.
    pub name: String,
    /// Its views one by one for a narrow window: as wide as letters can be read there, so to no standard scale.
    pub narrow: Vec<Drawing>,
    /// What stands beside the title block.
    pub notes: Vec<String>,
}

impl Sheet {
    /// `1:20`
    pub fn scale_text(&self) -> String {
        format!("1:{}", self.scale)
    }

    /// Left, top, right and bottom of every text, by the real widths of its letters.
    pub fn boxes_of_text(&self) -> Vec<([f64; 4], String)> {
        self.drawing.text_boxes()
    }
}

/// Letters whose capitals are this tall.
const fn size_of(capital_mm: f64) -> f64 {
    capital_mm / letters::CAPITAL
}
