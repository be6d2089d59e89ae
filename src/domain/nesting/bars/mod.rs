//! Bars: parts cut from bars, at the least net cost.
//!
//! A piece of length L offers L − end trim (the trim includes the cut that makes it). A part is charged its long-point
//! length plus, for each mitred end, kerf / cos a − kerf, rounded up to a tenth. A piece may hold parts c₁ … cₖ (k ≥ 1)
//! when Σ c + (k − 1) · kerf ≤ L − trim; its remainder is L − trim − Σ c − k · kerf, or nought where that is negative (the
//! last cut runs off the end). A remainder above nought and at least the kept length goes to the rack and is worth its
//! length × the piece's offcut value; a shorter one is scrap.
//!
//! Neighbours with like mitres share one cut ([`mitre`]): a gain beside the proof, outside net cost and bound.

use serde::{Deserialize, Serialize};

use super::{Budget, Fault, Meter, Status, Stopped, Ties, Unplaced, Watch, proof::bars::Tree};
use crate::measure::{Money, Tenths};

mod branch;
mod columns;
mod cuts;
mod finish;
mod first;
mod fit;
mod list;
mod listed;
pub(super) mod lp;
mod mitre;
mod model;
mod record;
mod rebuild;
mod relax;
mod report;
mod rows;
mod search;
mod sharing;
mod ties;
mod together;
mod tree;
mod waste;

pub use waste::Waste;

/// What is to be cut, and from what.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    pub kerf: Tenths,
    pub end_trim: Tenths,
    /// The shortest remainder that goes to the rack.
    pub keep_offcut: Tenths,
    pub stock: Vec<Stock>,
    pub parts: Vec<Part>,
}

/// Bars of one kind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stock {
    pub id: String,
    pub length: Tenths,
    /// Given for all stock or for none; at most 4 decimals.
    pub cost: Option<Money>,
    /// `None`: as many as wanted.
    pub quantity: Option<u32>,
    /// Per metre of kept remainder; at most 4 decimals.
    pub offcut_value_per_m: Money,
    /// This piece's own end trim; an offcut sawn here has 0.
    pub end_trim: Option<Tenths>,
}

/// Parts that are cut alike.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Part {
    pub id: String,
    /// Long-point length.
    pub length: Tenths,
    pub quantity: u32,
    /// `None`: both ends square.
    pub mitre: Option<Mitre>,
}

impl Part {
    pub fn square(id: impl Into<String>, length: Tenths, quantity: u32) -> Self {
        Self { id: id.into(), length, quantity, mitre: None }
    }
}

/// The ends of a part that is not square at both, and what laying it needs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mitre {
    pub section_depth: Tenths,
    pub section_width: Tenths,
    /// Whether the part is the same when it is turned over: hollow sections and flats are.
    pub may_flip: bool,
    pub ends: [End; 2],
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct End {
    /// Tilt of the cut from square, 0 to 75 degrees.
    pub angle_deg: f64,
    pub plane: Plane,
    pub long_point: LongPoint,
}

/// Which side of the section the cut crosses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Plane {
    Depth,
    Width,
}

/// Where on that side the long point lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LongPoint {
    Top,
    Bottom,
}

/// A plan and what is proven of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    pub status: Status,
    pub net_cost: Option<Money>,
    pub lower_bound: Option<Money>,
    pub gap: Option<f64>,
    pub ties: Ties,
    pub plan: Vec<Bar>,
    pub unplaced: Vec<Unplaced>,
    pub notes: Vec<String>,
    pub bars: u32,
    pub patterns: u32,
    pub stopped: Option<Stopped>,
}

/// Bars that are cut alike.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bar {
    pub stock: String,
    pub count: u32,
    /// One entry for each piece on the bar, in cutting order.
    pub parts: Vec<String>,
    #[serde(rename = "remainder_mm")]
    pub remainder: Tenths,
    pub kept: bool,
    #[serde(rename = "shared_gain_mm")]
    pub shared_gain: Tenths,
    /// How each part lies; given where the bar has mitred parts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub laid: Option<Vec<Laid>>,
}

/// How a part lies on its bar.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Laid {
    /// End for end.
    pub turned: bool,
    /// Upside down.
    pub flipped: bool,
    /// Its far end and the next part's near end are one cut.
    pub shares_next: bool,
}

/// The best plan that the budget finds, and how far it is proven.
///
/// # Errors
/// A [`Fault`] names the field of a problem that cannot be planned with: ids that are not unique, lengths that are not
/// positive, prices on part of the stock, a worth of a whole piece above its cost, figures out of range.
pub fn solve(problem: &Problem, budget: Budget, watch: Watch<'_>) -> Result<Answer, Fault> {
    run(problem, budget, watch, false).map(|(answer, _)| answer)
}

/// The same, with the proof of the bound, or that there is no plan.
///
/// # Errors
/// As [`solve`].
pub fn prove(problem: &Problem, budget: Budget, watch: Watch<'_>) -> Result<(Answer, Option<Tree>), Fault> {
    run(problem, budget, watch, true)
}

fn run(problem: &Problem, budget: Budget, watch: Watch<'_>, proof: bool) -> Result<(Answer, Option<Tree>), Fault> {
    let model = model::Model::new(problem)?;
    let mut meter = Meter::new(budget, model::SCALE, watch);
    let recorder = proof.then(|| report::recorder(problem, &model));
    let (found, log) = search::run(&model, record::Log::of(recorder), &mut meter);
    let searched = matches!(found, search::Found::Infeasible(_)) && search::cannot_be(&model).is_none();
    let mut answer = report::answer(problem, &model, &meter, found);
    if let Some(fewer) = searched.then(|| together::fewest(problem, budget)).flatten() {
        answer.unplaced = fewer;
    }
    Ok((answer, log.into_tree()))
}
