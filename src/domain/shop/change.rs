//! A change of prices by a percentage, as a supplier announces it.

use rust_decimal::Decimal;

use super::{Goods, Item};
use crate::measure::Money;

/// The least decimals that a changed price is written with.
const DECIMALS: u32 = 2;

/// The price changed by so many per cent (7.5 raises, -3 lowers), rounded half away from zero to the decimals that the
/// old price is written with, two at least: 0.0125 a litre must not become 0.01. Never below zero.
pub fn changed_price(price: Money, percent: Decimal) -> Money {
    let factor = Decimal::ONE.saturating_add(percent / Decimal::ONE_HUNDRED).max(Decimal::ZERO);
    (price * factor).rounded(price.0.scale().max(DECIMALS))
}

impl Item {
    /// Whether some of its sizes have prices of their own.
    pub fn has_size_prices(&self) -> bool {
        match &self.goods {
            Goods::Bar { lengths, .. } => lengths.iter().any(|length| length.price.is_some()),
            Goods::Sheet { sizes, .. } => sizes.iter().any(|size| size.price.is_some()),
            _ => false,
        }
    }

    /// The item at a new price: the prices of its own list of sizes move in the same proportion, rounded as a change by per
    /// cent is. From a price of nothing there is no proportion, and the list stays.
    pub fn at_price(&self, price: Money) -> Self {
        let ratio = price.0.checked_div(self.price.0);
        let moved = |own: Money| ratio.map_or(own, |ratio| (own * ratio).rounded(own.0.scale().max(DECIMALS)));
        let mut item = Self { price, ..self.clone() };
        match &mut item.goods {
            Goods::Bar { lengths, .. } => lengths.iter_mut().for_each(|length| length.price = length.price.map(moved)),
            Goods::Sheet { sizes, .. } => sizes.iter_mut().for_each(|size| size.price = size.price.map(moved)),
            _ => {}
        }
        item
    }

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
    fn the_prices_of_sizes_move_with_the_price() {
        let text = r#"{"code":"T","name":"tube","class":"hollow-section","unit":"bar","price":"40.00","from":"2026-11-02",
            "goods":{"kind":"bar","section":"shs 40x40x3","grade":"S235","lengths":[
              {"length":6000,"price":"40.00"},{"length":7500,"price":"48.10"},{"length":12000}]}}"#;
        let item: Item = serde_json::from_str(text).unwrap();
        let dearer = item.at_price(Money("50".parse().unwrap()));
        let Goods::Bar { lengths, .. } = &dearer.goods else { panic!("{dearer:?}") };
        let prices: Vec<_> = lengths.iter().map(|length| length.price.map(|price| price.0.to_string())).collect();
        // 48.10 × 1.25 = 60.125, halves away from zero.
        assert_eq!(prices, [Some("50.00".into()), Some("60.13".into()), None]);
        assert!(item.has_size_prices());
        let free = Item { price: Money::ZERO, ..item.clone() };
        assert_eq!(free.at_price(item.price).goods, item.goods);
    }

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
