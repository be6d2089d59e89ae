//! How each load of each trip is held: sliding and tipping forward, rearward and sideways, the straps it takes, and the weakest of
//! strap, ratchet, ring and anchor. A strap's rating is that of the whole assembly, ratchet and hooks included.

pub mod friction;
mod hold;
pub mod lashing;
pub mod rules;
mod said;

use serde::{Deserialize, Serialize};

use self::rules::Rule;
use crate::{
    strength::is_us,
    trailer::{Load, Spec, Trailer},
    weights::Weights,
    working::Check,
};

/// A load as it is held in one trip, for the page.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct HeldLoad {
    pub trip: String,
    pub load: String,
    pub mass_kg: f64,
    /// The rule that was used.
    pub rule: String,
    /// What to do, in English: of revisions that know no other language.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub do_this: String,
    /// What to do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hold: Option<Hold>,
    pub straps: u32,
    /// Straps of this kind that would do, rounded up; none where no number would.
    pub straps_needed: Option<u32>,
    pub ways: Vec<WayUse>,
    /// The weakest of strap and lashing point, and what one strap may pull with it, kg.
    pub weakest: String,
    pub pull_kg: Option<f64>,
    /// What is missing to say more; empty where nothing is.
    pub missing: String,
}

/// What to do with a load.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Hold {
    pub straps: u32,
    pub over_top: bool,
    /// The flattest and the steepest strap against the deck, degrees; none where no lashing point is within reach.
    pub slopes_deg: Option<[f64; 2]>,
    /// Of each strap.
    pub rating_kg: Option<f64>,
    pub chocks: bool,
    /// It has a brake to put on, and no chocks.
    pub brake: bool,
    /// It stands against the front board.
    pub front: bool,
}

/// How full its restraint is in one direction: 1.0 = full.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct WayUse {
    pub way: String,
    pub sliding: Option<f64>,
    /// None where it stands by itself.
    pub tipping: Option<f64>,
}

/// The rule of the region.
pub fn rule(spec: &Spec) -> Rule {
    if is_us(spec) { Rule::Cfr393 } else { Rule::En12195 }
}

pub(super) fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) -> Vec<HeldLoad> {
    let rule = rule(spec);
    let mut held: Vec<HeldLoad> = Vec::new();
    let mut of_loads: Vec<Check> = Vec::new();
    for trip in &weights.trips {
        let mut anchors = lashing::anchors(trailer);
        let carried: Vec<(&Load, &_)> = trip
            .loads
            .iter()
            .filter_map(|placed| Some((spec.need.loads.iter().find(|load| load.name == placed.name)?, placed)))
            .collect();
        // Points are shared within a trip: first all straps find theirs, then what each point bears is known.
        let laid: Vec<hold::Laid> =
            carried.iter().map(|(load, placed)| hold::lay(load, placed, trailer, &mut anchors)).collect();
        for ((load, placed), laid) in carried.iter().zip(laid) {
            let case = hold::Case { spec, trailer, rule, trip: &trip.name, load, placed, laid, anchors: &anchors };
            let (row, found) = case.judge();
            held.push(row);
            for check in found {
                keep_worst(&mut of_loads, check);
            }
        }
    }
    checks.extend(of_loads);
    held
}

/// A load that rides in several trips keeps its worst check.
fn keep_worst(checks: &mut Vec<Check>, check: Check) {
    match checks.iter_mut().find(|other| other.key == check.key) {
        Some(other) if check.usage.unwrap_or(-1.0) > other.usage.unwrap_or(-1.0) => *other = check,
        Some(_) => {}
        None => checks.push(check),
    }
}
