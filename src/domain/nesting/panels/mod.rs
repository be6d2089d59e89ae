//! Panels: rectangles cut from sheets, at the least net cost.
//!
//! A sheet offers the area inside the edge trim on all four sides. *Guillotine*: every cut runs edge to edge of the piece
//! it divides and eats the kerf; a run of cuts in one direction is a stage, and stages can be limited. *Free*: rectangles
//! at least a kerf apart. A sheet's grain runs along its length, its width, or nowhere; a part names which of its own
//! sides lies along it, or none. A remainder is kept when its longer side is at least the larger and its shorter side at
//! least the smaller of the two kept lengths, and is worth its area × the sheet's offcut value. Kept remainders are
//! disjoint, a kerf from parts and from each other, inside the trimmed sheet, and in guillotine plans pieces of the cuts.
//!
//! x runs along the sheet's length from its lower left corner, y along its width. The bound belongs to the cut class
//! that the answer names.

use serde::{Deserialize, Serialize};

use super::{
    Budget, Fault, Meter, Status, Stopped, Ties, Unplaced, Watch,
    proof::{
        digest,
        panels::{BoundProof, Proof},
    },
};
use crate::measure::{Money, Tenths};

mod beam;
mod bound;
mod columns;
mod exact;
mod fill;
mod first;
mod free;
mod knapsack;
mod model;
mod repack;
mod report;
mod sawing;
mod search;
mod shapes;
#[cfg(test)]
mod small;
mod together;
mod values;
mod waste;

pub use waste::Waste;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    pub kerf: Tenths,
    pub edge_trim: Tenths,
    /// The two sides a remainder must have to be kept, in either order.
    pub keep_offcut: [Tenths; 2],
    pub cuts: CutClass,
    /// `None`: any number. Guillotine plans only.
    pub max_stages: Option<u32>,
    pub stock: Vec<Stock>,
    pub parts: Vec<Part>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CutClass {
    Guillotine,
    Free,
}

/// Sheets of one kind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stock {
    pub id: String,
    pub length: Tenths,
    pub width: Tenths,
    /// Given for all stock or for none; at most 4 decimals.
    pub cost: Option<Money>,
    /// `None`: as many as wanted.
    pub quantity: Option<u32>,
    pub grain: SheetGrain,
    /// Per square metre of kept remainder; at most 4 decimals.
    pub offcut_value_per_m2: Money,
}

/// Along which side of the sheet its grain or pattern runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SheetGrain {
    #[default]
    Length,
    Width,
    None,
}

/// Parts that are alike.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Part {
    pub id: String,
    pub length: Tenths,
    pub width: Tenths,
    pub quantity: u32,
    pub grain: PartGrain,
}

/// Which side of the part lies along the sheet's grain.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PartGrain {
    #[default]
    Any,
    Length,
    Width,
}

/// A plan and what is proven of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    pub status: Status,
    pub net_cost: Option<Money>,
    pub lower_bound: Option<Money>,
    pub gap: Option<f64>,
    pub cut_class: CutClass,
    pub ties: Ties,
    pub plan: Vec<Sheet>,
    pub unplaced: Vec<Unplaced>,
    pub notes: Vec<String>,
    pub sheets: u32,
    pub stopped: Option<Stopped>,
}

/// Sheets that are cut alike.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    pub stock: String,
    pub count: u32,
    pub placed: Vec<Placed>,
    /// In sawing order; empty in free plans.
    pub cuts: Vec<Cut>,
    pub remainders: Vec<Remainder>,
}

/// A part as it lies.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Placed {
    pub part: String,
    #[serde(rename = "x_mm")]
    pub x: Tenths,
    #[serde(rename = "y_mm")]
    pub y: Tenths,
    #[serde(rename = "length_mm")]
    pub length: Tenths,
    #[serde(rename = "width_mm")]
    pub width: Tenths,
    pub turned: bool,
}

/// One cut: the piece it divides as [x, y, length, width], and where its kerf begins along the axis it crosses.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cut {
    pub stage: u32,
    pub piece: [Tenths; 4],
    pub axis: Axis,
    #[serde(rename = "at_mm")]
    pub at: Tenths,
}

/// The axis along which the piece is divided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Axis {
    X,
    Y,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Remainder {
    #[serde(rename = "x_mm")]
    pub x: Tenths,
    #[serde(rename = "y_mm")]
    pub y: Tenths,
    #[serde(rename = "length_mm")]
    pub length: Tenths,
    #[serde(rename = "width_mm")]
    pub width: Tenths,
    pub kept: bool,
}

/// The best plan that the budget finds, and how far it is proven.
///
/// # Errors
/// A [`Fault`] names the field of a problem that cannot be planned with, as for bars.
pub fn solve(problem: &Problem, budget: Budget, watch: Watch<'_>) -> Result<Answer, Fault> {
    prove(problem, budget, watch).map(|(answer, _)| answer)
}

/// The same, with the proof of the plan's bound; none without a plan.
///
/// # Errors
/// As [`solve`].
pub fn prove(problem: &Problem, budget: Budget, watch: Watch<'_>) -> Result<(Answer, Option<Proof>), Fault> {
    let model = model::Model::new(problem)?;
    let mut meter = Meter::new(budget, model::SCALE, watch);
    let mut found = search::run(&model, &mut meter);
    let unplaced = match &found {
        search::Found::Infeasible(lacking) => together::named(problem, &model, lacking, budget),
        search::Found::Plan { .. } | search::Found::Undecided { .. } => Vec::new(),
    };
    let proof = match &mut found {
        search::Found::Plan { proof, .. } => {
            let bound = std::mem::replace(proof, BoundProof::Searched);
            Some(Proof { problem: digest(problem), bound })
        }
        search::Found::Infeasible(_) | search::Found::Undecided { .. } => None,
    };
    Ok((Answer { unplaced, ..report::answer(problem, &model, &meter, found) }, proof))
}
