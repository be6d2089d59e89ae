//! Other suppliers of an item, each with prices of its own, and which supplier's price an estimate takes.

use std::fmt;

use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::{BarLength, Goods, Item, SheetSize};
use crate::measure::Money;

/// The lengths of a bar or the sizes of a sheet, each with its own price where it has one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sizes {
    Lengths(Vec<BarLength>),
    Sheets(Vec<SheetSize>),
}

impl Sizes {
    pub fn of(goods: &Goods) -> Option<Self> {
        match goods {
            Goods::Bar { lengths, .. } => Some(Self::Lengths(lengths.clone())),
            Goods::Sheet { sizes, .. } => Some(Self::Sheets(sizes.clone())),
            _ => None,
        }
    }

    /// Puts these sizes in place of those of the goods; without any the goods have none.
    pub fn put(new: Option<Self>, goods: &mut Goods) {
        match goods {
            Goods::Bar { lengths, .. } => {
                *lengths = if let Some(Self::Lengths(new)) = new { new } else { Vec::new() };
            }
            Goods::Sheet { sizes, .. } => {
                *sizes = if let Some(Self::Sheets(new)) = new { new } else { Vec::new() };
            }
            _ => {}
        }
    }
}

/// What another supplier asks for an item as of a day, in the item's own unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Supply {
    pub supplier: String,
    /// The supplier's own number of the article; may be empty.
    pub article: String,
    /// The least quantity sold at once, in the item's unit.
    pub pack: Decimal,
    pub lead_days: u32,
    pub price: Money,
    /// The day from which the price holds.
    pub from: Date,
    /// Stock lengths or sheet sizes of this supplier.
    pub sizes: Option<Sizes>,
}

/// Which supplier's price estimates take.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum PricedBy {
    /// The supplier that stands with the item itself.
    #[default]
    First,
    /// Whoever asks least on the day, see [`Item::compared`].
    Cheapest,
    /// One of the others, by name; the first while that one has no price.
    Supplier(String),
}

const SUPPLIER: &str = "supplier:";

impl PricedBy {
    /// As it is kept; anything that is not known is the first supplier.
    pub fn from_word(word: &str) -> Self {
        match word.strip_prefix(SUPPLIER) {
            Some(name) => Self::Supplier(name.to_owned()),
            None if word == "cheapest" => Self::Cheapest,
            None => Self::First,
        }
    }
}

impl fmt::Display for PricedBy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::First => f.write_str("first"),
            Self::Cheapest => f.write_str("cheapest"),
            Self::Supplier(name) => write!(f, "{SUPPLIER}{name}"),
        }
    }
}

impl Item {
    /// The item as this supplier sells it.
    pub fn supplied(&self, supply: &Supply) -> Self {
        let mut item = Self {
            supplier: supply.supplier.clone(),
            price: supply.price,
            from: supply.from,
            lead_days: supply.lead_days,
            ..self.clone()
        };
        match (&supply.sizes, &mut item.goods) {
            (Some(_), goods) => Sizes::put(supply.sizes.clone(), goods),
            // The sizes are those of the item; what the first supplier asks for each is not this one's price.
            (None, Goods::Bar { lengths, .. }) => lengths.iter_mut().for_each(|bar| bar.price = None),
            (None, Goods::Sheet { sizes, .. }) => sizes.iter_mut().for_each(|sheet| sheet.price = None),
            (None, _) => {}
        }
        item
    }

    /// What is compared between suppliers: the least price of a metre of bar or of a square metre of sheet over the sizes
    /// that are sold, else the price of one.
    pub fn compared(&self) -> Decimal {
        let metres = |length: crate::measure::Length| Decimal::from(length.nm()) / Decimal::from(1_000_000_000);
        let least = match &self.goods {
            Goods::Bar { lengths, .. } => {
                let each = lengths.iter().filter_map(|bar| self.bar_price(bar)?.0.checked_div(metres(bar.length)));
                each.min()
            }
            Goods::Sheet { sizes, .. } => {
                let area = |size: &SheetSize| metres(size.length) * metres(size.width);
                let each = sizes.iter().filter_map(|size| self.sheet_price(size)?.0.checked_div(area(size)));
                each.min()
            }
            _ => None,
        };
        least.unwrap_or(self.price.0)
    }

    /// The item at the price that estimates take. Of equal prices the first supplier's stays.
    pub fn priced(&self, by: &PricedBy, supplies: &[Supply]) -> Self {
        match by {
            PricedBy::First => self.clone(),
            PricedBy::Cheapest => supplies
                .iter()
                .map(|supply| self.supplied(supply))
                .fold(self.clone(), |best, other| if other.compared() < best.compared() { other } else { best }),
            PricedBy::Supplier(name) => {
                let supply = supplies.iter().find(|supply| supply.supplier == *name);
                supply.map_or_else(|| self.clone(), |supply| self.supplied(supply))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(price: &str) -> Item {
        let text = format!(
            r#"{{"code":"T","name":"tube","class":"hollow-section","unit":"metre","price":"{price}","from":"2026-11-02",
            "supplier":"A","goods":{{"kind":"bar","section":"shs 40x40x3","grade":"S235","lengths":[{{"length":6000}}]}}}}"#
        );
        serde_json::from_str(&text).unwrap()
    }

    fn supply(supplier: &str, price: &str, sizes: Option<Sizes>) -> Supply {
        Supply {
            supplier: supplier.into(),
            article: String::new(),
            pack: Decimal::ONE,
            lead_days: 9,
            price: Money(price.parse().unwrap()),
            from: "2026-11-09".parse().unwrap(),
            sizes,
        }
    }

    #[test]
    fn the_cheapest_a_metre_prices_where_the_shop_says_so() {
        let item = bar("5.00");
        let long =
            BarLength { length: crate::measure::Length::from_mm(12_000.0), price: Some(Money("54".parse().unwrap())) };
        // 5.20 a metre, but 54 for a bar of 12 m: 4.50 a metre.
        let others = [supply("B", "4.90", None), supply("C", "5.20", Some(Sizes::Lengths(vec![long])))];
        let by = |by: &PricedBy| item.priced(by, &others).supplier;
        assert_eq!(by(&PricedBy::First), "A");
        assert_eq!(by(&PricedBy::Cheapest), "C");
        assert_eq!(by(&PricedBy::Supplier("B".into())), "B");
        assert_eq!(by(&PricedBy::Supplier("gone".into())), "A");
        let chosen = item.priced(&PricedBy::Supplier("B".into()), &others);
        assert_eq!((chosen.lead_days, chosen.price, chosen.goods == item.goods), (9, others[0].price, true));
        assert_eq!(item.priced(&PricedBy::Cheapest, &[supply("B", "5.00", None)]).supplier, "A", "equal: the first");
        // A length with a price of its own has it of the first supplier alone.
        let mut listed = item.clone();
        Sizes::put(
            Some(Sizes::Lengths(vec![BarLength {
                length: crate::measure::Length::from_mm(6000.0),
                price: Some(Money("36.00".parse().unwrap())),
            }])),
            &mut listed.goods,
        );
        let theirs = listed.supplied(&others[0]);
        let Goods::Bar { lengths, .. } = &theirs.goods else { panic!("a bar") };
        assert_eq!(theirs.bar_price(&lengths[0]), Some(Money("29.4000".parse().unwrap())));
        for by in [PricedBy::First, PricedBy::Cheapest, PricedBy::Supplier("B: & co".into())] {
            assert_eq!(PricedBy::from_word(&by.to_string()), by);
        }
    }
}
