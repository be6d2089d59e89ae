//! The figures that no standard gives: each a setting of the shop, shown with every use.

use serde::{Deserialize, Serialize};

/// Common practice, no source, but where a note says otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct StrengthFactors {
    /// Static load times this when the wheels meet a bump.
    pub dynamic_sealed: f64,
    pub dynamic_gravel: f64,
    pub dynamic_rough: f64,
    /// Of g, with a dynamic factor of 1.
    pub braking_g: f64,
    pub cornering_g: f64,
    /// Test loads at the coupling, times g and the gross mass: lengthways, sideways, up and down (quoted from ADR 62 clause 12.3.2.1).
    pub test_along: f64,
    pub test_across: f64,
    pub test_up: f64,
    /// The yield strength is divided by this in service, and under test loads and on a jack (no permanent set).
    pub divisor_service: f64,
    pub divisor_test: f64,
    /// By how much a hollow section's wall may be thinner than named, per cent (EN 10219-2 lets a wall be 10 % thin; from memory).
    pub thin_wall_percent: f64,
}

impl Default for StrengthFactors {
    fn default() -> Self {
        Self {
            dynamic_sealed: 2.0,
            dynamic_gravel: 2.5,
            dynamic_rough: 3.0,
            braking_g: 0.6,
            cornering_g: 0.5,
            test_along: 1.5,
            test_across: 0.5,
            test_up: 0.5,
            divisor_service: 1.5,
            divisor_test: 1.0,
            thin_wall_percent: 5.0,
        }
    }
}
