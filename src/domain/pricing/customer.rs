//! The price as the customer sees it. Nothing here can hold cost, hours, rates or margin.

use rust_decimal::{Decimal, prelude::ToPrimitive};
use serde::{Deserialize, Serialize};

use crate::{choice::choice, measure::Money, trailer::Group};

choice! {
    /// What a trailer's price is told apart by on the customer's copy.
    Assembly {
        Frame = "frame" / "Frame and drawbar",
        Body = "body" / "Deck, sides and loading",
        RunningGear = "running-gear" / "Axle, wheels and brakes",
        Towing = "towing" / "Coupling and towing parts",
        Electrics = "electrics" / "Lamps and wiring",
        Fittings = "fittings" / "Fittings",
        Finish = "finish" / "Finish",
    }
}

impl From<Group> for Assembly {
    fn from(group: Group) -> Self {
        match group {
            Group::Frame | Group::Drawbar => Self::Frame,
            Group::Deck | Group::Sides | Group::Loading => Self::Body,
            Group::RunningGear => Self::RunningGear,
            Group::Towing => Self::Towing,
            Group::Electrics => Self::Electrics,
            Group::Fittings => Self::Fittings,
            Group::Finish => Self::Finish,
        }
    }
}

/// A line of the customer's copy, before tax, for all trailers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CustomerLine {
    pub text: String,
    /// What it is, for its name in another language: the word of an assembly, `trailer`, `trailers`, `delivery` or `discount`;
    /// empty where the text was written by hand, and in revisions older than this.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub word: String,
    pub amount: Money,
    /// Tax on this line, where tax is worked out line by line.
    pub tax: Option<Money>,
}

/// `before_tax` is the sum of the lines, `total` is `before_tax + tax + rounding`, to the coin.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CustomerPrice {
    /// Identical trailers.
    pub count: u32,
    /// One trailer, before tax.
    pub each: Money,
    pub lines: Vec<CustomerLine>,
    pub before_tax: Money,
    /// `VAT 20 %`.
    pub tax_name: String,
    pub tax: Money,
    pub rounding: Money,
    pub total: Money,
}

/// Shares an amount out by weight in whole coins; the shares add up to the amount exactly (largest remainders first, then
/// in order). Weights are not negative; without any weight the first takes it all.
pub(super) fn shared_out(amount: Money, weights: &[f64], decimals: u32) -> Vec<Money> {
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

    fn money(text: &str) -> Money {
        Money(text.parse().unwrap())
    }

    #[test]
    fn shares_add_up_to_the_coin() {
        let shares = shared_out(money("100.00"), &[1.0, 1.0, 1.0], 2);
        assert_eq!(shares, [money("33.34"), money("33.33"), money("33.33")]);
        let shares = shared_out(money("-0.05"), &[1.0, 1.0], 2);
        assert_eq!(shares.iter().copied().sum::<Money>(), money("-0.05"));
        assert_eq!(shared_out(money("7"), &[0.0, 0.0], 0), [money("7"), money("0")]);
        assert_eq!(shared_out(money("7"), &[], 0), []);
        assert_eq!(shared_out(money("1e27"), &[2.0, 1.0], 2).into_iter().sum::<Money>(), money("1e27"));
    }
}
