//! A change of prices by a percentage, as a supplier announces it.

use rust_decimal::Decimal;

use super::{Goods, Item};
use crate::domain::measure::Money;

/// The least decimals that a changed price is written with.
const DECIMALS: u32 = 2;

/// The price changed by so many per cent (7.5 raises, -3 lowers), rounded half away from zero to the decimals that the
/// old price is written with, two at least: 0.0125 a litre must not become 0.01. Never below zero.
pub fn changed_price(price: Money, percent: Decimal) -> Money {
    let factor = Decimal::ONE.saturating_add(percent / Decimal::ONE_HUNDRED).max(Decimal::ZERO);
    (price * factor).rounded(price.0.scale().max(DECIMALS))
}

impl Item {
    /// The item with its price, and each price of its own list of sizes, changed by so many per cent. A smallest charge
    /// for outside work is an agreement of its own and stays.
    pub fn changed_by_percent(&self, percent: Decimal) -> Self {
        let mut item = self.clone();
        item.price = changed_price(item.price, percent);
        match &mut item.goods {
            Goods::Bar { lengths, .. } => {
                for length in lengths {
                    length.price = length.price.map(|price| changed_price(price, percent));
                }
            }
            Goods::Sheet { sizes, .. } => {
                for size in sizes {
                    size.price = size.price.map(|price| changed_price(price, percent));
                }
            }
            Goods::Part { .. } | Goods::Consumable { .. } | Goods::Labour { .. } | Goods::Outside { .. } => {}
        }
        item
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_keeps_the_decimals_of_the_price() {
        for (price, percent, expected) in [
            ("31.20", "7.5", "33.54"),
            ("31.20", "-100", "0.00"),
            ("31.20", "-150", "0.00"),
            ("10", "2.55", "10.26"), // 10.255: halves go away from zero
            ("0.0125", "10", "0.0138"),
            ("42", "0", "42"),
        ] {
            let [price, percent, expected] = [price, percent, expected].map(|text| text.parse::<Decimal>().unwrap());
            assert_eq!(changed_price(Money(price), percent), Money(expected), "{price} {percent} %");
        }
    }
}
