//! The bars, sheets and offcuts that the shop has, as an estimate sees them.

use serde::{Deserialize, Serialize};

use crate::{
    measure::{Length, Money, Tenths},
    steel::{Grade, Section, SheetMaterial},
};

/// What lies on the rack and is free for this job. Empty by default.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rack {
    pub pieces: Vec<RackPiece>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RackPiece {
    /// Unique, as painted on the piece.
    pub tag: String,
    pub stock: Stocked,
    /// What the job that takes it is charged.
    pub worth: Money,
    /// An offcut sawn here needs no end trim.
    #[serde(default)]
    pub sawn_here: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Stocked {
    Bar {
        section: Section,
        grade: Grade,
        length: Tenths,
    },
    /// The grain or pattern lies along the length.
    Sheet {
        material: SheetMaterial,
        thickness: Length,
        length: Tenths,
        width: Tenths,
    },
}
