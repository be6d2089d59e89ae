//! Axle, springs, hubs, wheels and tyres against their worst static load, and how far the springs let the trailer down.

pub mod leaf;
mod ratings;
mod springs;
mod travel;

use crate::domain::{
    trailer::{Spec, Trailer},
    weights::{LoadedCase, Weights},
    working::Check,
};

pub use springs::{Spring, frequency_hz};

pub(super) fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) {
    ratings::check(spec, trailer, weights, checks);
    travel::check(spec, trailer, weights, checks);
    leaf::check(spec, trailer, weights, checks);
}

/// The case in which `demand` is greatest, with its figure.
fn worst(weights: &Weights, demand: impl Fn(&LoadedCase) -> f64) -> Option<(&LoadedCase, f64)> {
    weights.cases.iter().map(|case| (case, demand(case))).max_by(|a, b| a.1.total_cmp(&b.1))
}

/// The heavier wheel of a case, kg.
fn wheel_kg(case: &LoadedCase) -> f64 {
    case.wheels_kg[0].max(case.wheels_kg[1])
}
