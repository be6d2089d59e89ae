//! The two families of units that a shop may use at the edge. Inside, everything is SI.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a bare number means, and what is shown first; the other family stands in the tooltip.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Units {
    /// Millimetres, kilograms, newtons.
    #[default]
    Metric,
    /// Inches, pounds, pounds-force.
    Imperial,
}

impl Units {
    pub const fn other(self) -> Self {
        match self {
            Self::Metric => Self::Imperial,
            Self::Imperial => Self::Metric,
        }
    }
}

/// An inch, exactly (international yard and pound agreement, 1959).
pub const NM_PER_INCH: i64 = 25_400_000;
/// A pound, exactly (the same agreement).
pub const MICROGRAMS_PER_POUND: i64 = 453_592_370;
/// Standard gravity for the pound-force (ISO 80000-4), exactly.
pub const STANDARD_GRAVITY: f64 = 9.806_65;
