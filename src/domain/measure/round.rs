//! The rounding functions of the house. Nothing computed becomes a cut length, a rating or a price except through these,
//! [`Tenths::nearest`](super::Tenths::nearest) and [`Money::rounded`].

use rust_decimal::{Decimal, RoundingStrategy};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Money;

/// Which way an amount goes to its step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Rounding {
    /// Halves away from zero, as invoices do.
    #[default]
    Nearest,
    Up,
    Down,
}

/// Arithmetic noise of a double that must not push a value that is "on" a step over to the next one.
const NOISE: f64 = 1e-9;

/// The multiple of `step` nearest to `value`, halves away from zero. A step of zero or less leaves the value as it is.
pub fn nearest(value: f64, step: f64) -> f64 {
    stepped(value, step, f64::round)
}

/// The least multiple of `step` that is not below `value`, but for arithmetic noise (1e-9 of a step).
pub fn up(value: f64, step: f64) -> f64 {
    stepped(value, step, |steps| (steps - NOISE * steps.abs().max(1.0)).ceil())
}

/// The greatest multiple of `step` that is not above `value`, but for arithmetic noise (1e-9 of a step).
pub fn down(value: f64, step: f64) -> f64 {
    stepped(value, step, |steps| (steps + NOISE * steps.abs().max(1.0)).floor())
}

fn stepped(value: f64, step: f64, whole: impl Fn(f64) -> f64) -> f64 {
    if step > 0.0 && value.is_finite() {
        let steps = whole(value / step);
        // A step such as 0.1 is not exact as a double, its inverse is: divide, so that 0.3 comes out as 0.3.
        let inverse = (1.0 / step).round();
        if inverse > 1.0 && (inverse * step - 1.0).abs() < NOISE { steps / inverse } else { steps * step }
    } else {
        value
    }
}

/// The whole number of things that `value` needs at least, but for arithmetic noise; never below zero.
pub fn count_up(value: f64) -> usize {
    up(value, 1.0).max(0.0) as usize
}

/// An amount to a multiple of `step` (0.05 for cash, 10 for a rounded offer). A step of zero or less, or a product that
/// does not fit, leaves the amount as it is.
pub fn money_to_step(amount: Money, step: Decimal, rounding: Rounding) -> Money {
    let strategy = match rounding {
        Rounding::Nearest => RoundingStrategy::MidpointAwayFromZero,
        Rounding::Up => RoundingStrategy::ToPositiveInfinity,
        Rounding::Down => RoundingStrategy::ToNegativeInfinity,
    };
    let steps = if step > Decimal::ZERO { amount.0.checked_div(step) } else { None };
    let rounded = steps.and_then(|steps| steps.round_dp_with_strategy(0, strategy).checked_mul(step));
    Money(rounded.unwrap_or(amount.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_go_to_their_step() {
        assert_eq!(nearest(12.5, 5.0), 15.0);
        assert_eq!(nearest(-12.5, 5.0), -15.0);
        assert_eq!(up(1341.0, 10.0), 1350.0);
        assert_eq!(up(1340.0, 10.0), 1340.0);
        assert_eq!(down(1349.9, 10.0), 1340.0);
        assert_eq!(nearest(0.1 + 0.2, 0.1), 0.3);
    }

    #[test]
    fn noise_does_not_cost_a_step() {
        assert_eq!(up(0.1 + 0.2, 0.1), 0.3);
        assert_eq!(down(0.3, 0.1), 0.3);
        assert_eq!(count_up(3.000_000_000_1), 3);
        assert_eq!(count_up(3.001), 4);
    }

    #[test]
    fn a_step_of_zero_changes_nothing() {
        assert_eq!(nearest(12.3, 0.0), 12.3);
        assert!(up(f64::NAN, 10.0).is_nan());
    }

    #[test]
    fn amounts_go_to_their_step() {
        let money = |text: &str| Money(text.parse().unwrap());
        let step = |text: &str| text.parse::<Decimal>().unwrap();
        assert_eq!(money_to_step(money("1234.50"), step("10"), Rounding::Up), money("1240"));
        assert_eq!(money_to_step(money("1234.50"), step("10"), Rounding::Down), money("1230"));
        assert_eq!(money_to_step(money("0.025"), step("0.05"), Rounding::Nearest), money("0.05"));
        assert_eq!(money_to_step(money("7"), step("0"), Rounding::Nearest), money("7"));
    }
}
