//! Axle, springs, hubs, wheels and tyres against their worst static load, and how far the springs let the trailer down.

pub mod leaf;
mod ratings;
mod springs;
mod travel;

use super::worst;
use crate::{
    trailer::{Spec, Trailer},
    weights::{LoadedCase, Weights},
    working::Check,
};

pub use springs::{Spring, frequency_hz};

pub(super) fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, dynamic: f64, checks: &mut Vec<Check>) {
    ratings::check(spec, trailer, weights, checks);
    travel::check(spec, trailer, weights, dynamic, checks);
    leaf::check(spec, trailer, weights, dynamic, checks);
}

/// The heavier wheel of a case, kg.
fn wheel_kg(case: &LoadedCase) -> f64 {
    case.wheels_kg[0].max(case.wheels_kg[1])
}
