//! Whether what is built bears what is asked of it: checks over the built trailer, its masses and the spec. Checks only; nothing here
//! changes the trailer.

/// The deck between its cross-members.
mod deck;
/// Pin, overlap and coupling bolts.
pub mod drawbar;
/// The ramp, and machines on it.
pub mod ramp;
/// How loads are held.
pub mod restraint;
/// Springs, axles, wheels, tyres.
pub mod running_gear;
/// What sheets bear.
mod sheets;
/// Couplings, chains, towing vehicles.
pub mod towing;
/// What a load's wheels press.
mod wheels;

use serde::{Deserialize, Serialize};

use crate::domain::{
    measure::{Grouping, show_number},
    trailer::{Road, Spec, Trailer},
    weights::{LoadedCase, Weights},
    working::Check,
};

/// The earth's acceleration, m/s².
pub const G: f64 = 9.81;

/// What the pages show of strength beside the checks.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Strength {
    /// Every load of every trip, as it is held.
    pub restraint: Vec<restraint::HeldLoad>,
}

/// Every check of strength, added to the others.
pub fn examine(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) -> Strength {
    towing::check(spec, trailer, weights, checks);
    running_gear::check(spec, trailer, weights, checks);
    drawbar::check(spec, trailer, weights, checks);
    deck::check(spec, trailer, checks);
    ramp::check(spec, trailer, checks);
    Strength { restraint: restraint::check(spec, trailer, weights, checks) }
}

/// What vertical loads are raised by while driving: asked, or by the road. Common practice, no source.
pub fn dynamic_factor(spec: &Spec) -> f64 {
    spec.design.factors.dynamic.unwrap_or(match spec.need.usage.road {
        Road::Sealed => 2.0,
        Road::Gravel => 2.5,
        Road::Rough => 3.0,
    })
}

/// Whether the rules of the United States hold: classes of couplers, 49 CFR 393.
fn is_us(spec: &Spec) -> bool {
    spec.need.usage.region.starts_with("us")
}

/// A whole number with its digits grouped.
fn whole(value: f64) -> String {
    show_number(value, 0, Grouping::Western)
}

/// Every case that may govern: the plain ones, and the worst of the envelope.
fn cases(weights: &Weights) -> impl Iterator<Item = &LoadedCase> {
    weights.cases.iter().chain(weights.envelope.governing.iter().map(|governing| &governing.case))
}

/// The case in which `demand` is greatest, with its figure; the first of equals.
fn worst(weights: &Weights, demand: impl Fn(&LoadedCase) -> f64) -> Option<(&LoadedCase, f64)> {
    cases(weights).map(|case| (case, demand(case))).reduce(|a, b| if b.1 > a.1 { b } else { a })
}
