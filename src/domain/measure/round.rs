//! The rounding functions of the house. Nothing computed becomes a cut length, a rating or a price except through these,
//! [`Tenths::nearest`](super::Tenths::nearest) and [`Money::rounded`].

use rust_decimal::{Decimal, RoundingStrategy, prelude::ToPrimitive};
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

/// Shares an amount out by weight in whole coins; the shares add up to the amount exactly (largest remainders first, then
/// in order). Weights are not negative; without any weight the first takes it all.
pub fn shared_out(amount: Money, weights: &[f64], decimals: u32) -> Vec<Money> {
    let total: f64 = weights.iter().sum();
    let mut shares = vec![Money::ZERO; weights.len()];
    if !(total.is_finite() && total > 0.0) {
        if let Some(first) = shares.first_mut() {
            *first = amount;
        }
        return shares;
    }
    let coin = Decimal::new(1, decimals);
    let coins = amount.0.checked_div(coin).map(|coins| coins.trunc());
    let Some(all) = coins.and_then(|coins| coins.to_i128()) else {
        shares[0] = amount;
        return shares;
    };
    let mut left = all;
    let mut rests: Vec<(f64, usize)> = Vec::with_capacity(weights.len());
    for (at, weight) in weights.iter().enumerate() {
        let exact = all as f64 * (weight / total);
        let whole = exact.trunc() as i128;
        left -= whole;
        shares[at] = Money(coin * Decimal::from(whole));
        rests.push(((exact - whole as f64).abs(), at));
    }
    rests.sort_by(|one, other| other.0.total_cmp(&one.0).then(one.1.cmp(&other.1)));
    let step = if left < 0 { -1 } else { 1 };
    let most = rests.len();
    for (_, at) in rests.into_iter().cycle().take(most * 2) {
        if left == 0 {
            break;
        }
        shares[at] += Money(coin * Decimal::from(step));
        left -= step;
    }
    // What sums of doubles left over, and what is finer than a coin.
    let given: Money = shares.iter().copied().sum();
    shares[0] += amount - given;
    shares
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

    #[test]
    fn shares_add_up_to_the_coin() {
        let money = |text: &str| Money(text.parse().unwrap());
        let shares = shared_out(money("100.00"), &[1.0, 1.0, 1.0], 2);
        assert_eq!(shares, [money("33.34"), money("33.33"), money("33.33")]);
        let shares = shared_out(money("-0.05"), &[1.0, 1.0], 2);
        assert_eq!(shares.iter().copied().sum::<Money>(), money("-0.05"));
        assert_eq!(shared_out(money("7"), &[0.0, 0.0], 0), [money("7"), money("0")]);
        assert_eq!(shared_out(money("7"), &[], 0), []);
        assert_eq!(shared_out(money("1e27"), &[2.0, 1.0], 2).into_iter().sum::<Money>(), money("1e27"));
    }
}
