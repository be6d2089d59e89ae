//! What plans buy and what they leave worth keeping, piece by piece.

use rust_decimal::Decimal;

use super::{BarCutting, Charge, Cutting, SheetCutting, Source, metres};
use crate::{
    measure::{Money, Tenths},
    shop::Stocked,
};

/// New stock of one kind and size that plans buy.
#[derive(Clone, Debug, PartialEq)]
pub struct Bought {
    /// Code in the rate book.
    pub item: String,
    pub stock: Stocked,
    pub count: u32,
    /// Of all of it.
    pub cost: Money,
}

/// Equal remainders that plans keep.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    pub from: Source,
    pub stock: Stocked,
    /// Of each.
    pub worth: Money,
    pub count: u32,
}

impl Cutting {
    /// New stock to buy, each kind and size once, in the order of the plans.
    pub fn bought(&self) -> Vec<Bought> {
        let mut all: Vec<Bought> = Vec::new();
        let mut add = |source: &Source, stock: Stocked, count: u32, each: Option<Money>| {
            let Source::New(item) = source else { return };
            let cost = each.unwrap_or_default() * Decimal::from(count);
            match all.iter_mut().find(|bought| bought.item == *item && bought.stock == stock) {
                Some(bought) => {
                    bought.count = bought.count.saturating_add(count);
                    bought.cost += cost;
                }
                None => all.push(Bought { item: item.clone(), stock, count, cost }),
            }
        };
        for cutting in &self.bars {
            for (bar, stock, source) in cutting.taken() {
                add(source, cutting.stocked(stock.length), bar.count, stock.cost);
            }
        }
        for cutting in &self.sheets {
            for (sheet, stock, source) in cutting.taken() {
                add(source, cutting.stocked(stock.length, stock.width), sheet.count, stock.cost);
            }
        }
        all
    }

    /// Remainders worth keeping, in the order of the plans; their worth to so many decimals of the currency.
    pub fn kept(&self, decimals: u32) -> Vec<Kept> {
        let mut all = Vec::new();
        let mut add = |source: &Source, stock: Stocked, count: u32, worth: Money| {
            all.push(Kept { from: source.clone(), stock, worth: worth.rounded(decimals), count });
        };
        for cutting in &self.bars {
            for (bar, stock, source) in cutting.taken().filter(|(bar, ..)| bar.kept) {
                let worth = stock.offcut_value_per_m * metres(bar.remainder);
                add(source, cutting.stocked(bar.remainder), bar.count, worth);
            }
        }
        for cutting in &self.sheets {
            for (sheet, stock, source) in cutting.taken() {
                for rest in sheet.remainders.iter().filter(|rest| rest.kept) {
                    let worth = stock.offcut_value_per_m2 * (metres(rest.length) * metres(rest.width));
                    add(source, cutting.stocked(rest.length, rest.width), sheet.count, worth);
                }
            }
        }
        all
    }

    /// What the plans cost the shop; a plan that is missing counts nothing.
    pub fn cost(&self) -> Cost {
        let bars = self.bars.iter().filter_map(BarCutting::charge);
        let charges: Vec<Charge> = bars.chain(self.sheets.iter().filter_map(SheetCutting::charge)).collect();
        let whole: Money = charges.iter().map(|charge| charge.whole).sum();
        let bought: Money = self.bought().iter().map(|bought| bought.cost).sum();
        Cost { bought, from_rack: whole - bought, kept: charges.iter().map(|charge| charge.kept_worth).sum() }
    }
}

impl BarCutting {
    fn stocked(&self, length: Tenths) -> Stocked {
        Stocked::Bar { section: self.section, grade: self.grade, length }
    }
}

impl SheetCutting {
    fn stocked(&self, length: Tenths, width: Tenths) -> Stocked {
        Stocked::Sheet { material: self.material, thickness: self.thickness, length, width }
    }
}

/// What plans cost the shop in stock.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cost {
    pub bought: Money,
    /// Worth of the pieces taken from the rack.
    pub from_rack: Money,
    /// Worth of the remainders that go to the rack.
    pub kept: Money,
}

impl Cost {
    pub fn net(self) -> Money {
        self.bought + self.from_rack - self.kept
    }

    /// What this costs more, part by part.
    #[must_use]
    pub fn more_than(self, other: Self) -> Self {
        Self {
            bought: self.bought - other.bought,
            from_rack: self.from_rack - other.from_rack,
            kept: self.kept - other.kept,
        }
    }
}

/// How much of one kind and size of new stock two plans buy.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    pub item: String,
    pub stock: Stocked,
    pub before: u32,
    pub now: u32,
}

impl Beside {
    /// How many more are bought now.
    pub fn more(&self) -> i64 {
        i64::from(self.now) - i64::from(self.before)
    }
}

/// What two plans buy, kind by kind: first what is bought now.
pub fn beside(before: &[Bought], now: &[Bought]) -> Vec<Beside> {
    let count = |all: &[Bought], one: &Bought| {
        all.iter().find(|other| (&other.item, &other.stock) == (&one.item, &one.stock)).map_or(0, |other| other.count)
    };
    let gone = before.iter().filter(|one| count(now, one) == 0);
    let all = now.iter().chain(gone).map(|one| Beside {
        item: one.item.clone(),
        stock: one.stock.clone(),
        before: count(before, one),
        now: count(now, one),
    });
    all.collect()
}
