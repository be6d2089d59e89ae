//! From cost to price: the build-up that the shop sees, and the price that the customer sees.
//!
//! direct material + bought-in parts + consumables + outside work + labour + overhead + contingency = cost C;
//! price before tax P = C / (1 − M), M the margin on price; then rounding, an agreed price, free lines, delivery, discount, tax.
//!
//! Every amount is a whole number of the currency's smallest coin from the moment its line is made, and every total is the
//! sum of its lines: nothing is rounded twice, and what is shown always adds up.

mod build_up;
mod customer;
/// Working days and the earliest collection.
pub mod dates;
mod lines;
mod material;
mod quantities;
/// How the amounts came about.
mod workings;

use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::{
    choice::choice,
    measure::Money,
    shop::{ItemClass, Policy},
    working::Sure,
};

pub use build_up::build_up;
pub use customer::{Assembly, CustomerLine, CustomerPrice};
pub use dates::Days;
pub use quantities::{galvanised_kg, paint_m2_per_litre};

choice! {
    /// The steps from cost to what is paid, in order.
    Step {
        Material = "material" / "direct material",
        Parts = "parts" / "bought-in parts",
        Consumables = "consumables" / "consumables",
        Outside = "outside" / "outside work",
        Labour = "labour" / "labour",
        Overhead = "overhead" / "overhead",
        Allowance = "allowance" / "allowance for rising prices",
        Contingency = "contingency" / "contingency",
        MarkUp = "mark-up" / "mark-up by class",
        Margin = "margin" / "margin",
        Rounding = "rounding" / "rounding of the trailer's price",
        Agreed = "agreed" / "agreed price",
        Free = "free" / "agreed beside the trailer",
        Delivery = "delivery" / "delivery",
        Discount = "discount" / "discount",
        Tax = "tax" / "tax",
        TotalRounding = "total-rounding" / "rounding of the total",
    }
}

/// One line, for all trailers of the job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PriceLine {
    /// Stable: `steel/rhs 60x40x3 S235`, `part/coupling`, `labour/welder` …; `price/KEY` overrules the amount.
    pub key: String,
    pub step: Step,
    pub text: String,
    pub quantity: Option<Decimal>,
    pub unit: String,
    /// Price of one unit.
    pub rate: Option<Money>,
    /// Whole coins: as overruled, else as derived.
    pub amount: Money,
    pub class: Option<ItemClass>,
    /// The item of the rate book.
    pub code: Option<String>,
    /// The day from which its price holds; of several items the oldest.
    pub price_date: Option<Date>,
    /// How the amount came about, in words.
    pub how: String,
    pub sure: Sure,
    /// The derived amount, where it was overruled.
    pub derived: Option<Money>,
    /// Reason of the overrule.
    pub overruled: Option<String>,
}

choice! {
    FindingKind {
        /// No price, no norm, no plan: the total is short of something. Blocks issue.
        Missing = "missing" / "missing",
        /// A price older than the shop trusts.
        OldPrice = "old-price" / "old price",
        /// The margin left is below the owner's floor.
        LowMargin = "low-margin" / "margin below the floor",
        /// An overrule that cannot be read: blocks issue.
        Unread = "unread" / "cannot be read",
        /// An overrule of a line that is not there now: kept, without effect.
        Idle = "idle" / "without effect",
    }
}

/// What somebody should know before this price is given.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    pub kind: FindingKind,
    /// Key of the line or item it is about.
    pub key: String,
    /// What is so, and what to do.
    pub says: String,
}

impl Finding {
    pub const fn blocks_issue(&self) -> bool {
        matches!(self.kind, FindingKind::Missing | FindingKind::Unread)
    }
}

/// The build-up of a job, the shop's inner view: cost and margin stand in it. The customer's view is
/// [`BuildUp::customer`], a type that cannot hold either.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BuildUp {
    /// Identical trailers.
    pub count: u32,
    /// In the order of their steps.
    pub lines: Vec<PriceLine>,
    pub findings: Vec<Finding>,
    pub customer: CustomerPrice,
    pub days: Days,
}

impl BuildUp {
    /// Sum of the lines of these steps.
    pub fn sum(&self, steps: impl Fn(Step) -> bool) -> Money {
        self.lines.iter().filter(|line| steps(line.step)).map(|line| line.amount).sum()
    }

    pub fn of_step(&self, step: Step) -> impl Iterator<Item = &PriceLine> {
        self.lines.iter().filter(move |line| line.step == step)
    }

    /// Steps that have lines, with their sums.
    pub fn steps(&self) -> Vec<(Step, Money)> {
        let used = Step::ALL.iter().filter(|step| self.lines.iter().any(|line| line.step == **step));
        used.map(|step| (*step, self.sum(|of| of == *step))).collect()
    }

    /// What the job costs the shop.
    pub fn cost(&self) -> Money {
        self.sum(|step| step <= Step::Contingency)
    }

    /// Price of all trailers before tax, without what is agreed beside them.
    pub fn trailers(&self) -> Money {
        self.sum(|step| step <= Step::Agreed)
    }

    /// Price of one trailer before tax.
    pub fn each(&self) -> Money {
        self.customer.each
    }

    pub fn before_tax(&self) -> Money {
        self.sum(|step| step <= Step::Discount)
    }

    pub fn tax(&self) -> Money {
        self.sum(|step| step == Step::Tax)
    }

    /// What is paid.
    pub fn total(&self) -> Money {
        self.lines.iter().map(|line| line.amount).sum()
    }

    /// What is left over cost, before tax; delivery is taken to be sold at cost.
    pub fn profit(&self) -> Money {
        self.sold() - self.cost()
    }

    /// Margin on price, per cent: M = 1 − C / P; `None` for a price of nought.
    pub fn margin_percent(&self) -> Option<Decimal> {
        margin_percent(self.cost(), self.sold())
    }

    /// The same as mark-up on cost, per cent: U = P / C − 1.
    pub fn mark_up_percent(&self) -> Option<Decimal> {
        mark_up_percent(self.cost(), self.sold())
    }

    /// Deposit on the total, whole coins.
    pub fn deposit(&self, policy: &Policy, decimals: u32) -> Money {
        Money(self.total().0.saturating_mul(policy.deposit_percent) / Decimal::ONE_HUNDRED).rounded(decimals)
    }

    pub fn line(&self, key: &str) -> Option<&PriceLine> {
        self.lines.iter().find(|line| line.key == key)
    }

    /// The day of the oldest price of steel, sheet or timber in it: those move within weeks, the others hardly.
    pub fn oldest_material_price(&self) -> Option<Date> {
        use ItemClass::{Aluminium, HollowSection, OpenSection, SteelSheet, Timber};
        let moves = |class: ItemClass| matches!(class, HollowSection | OpenSection | SteelSheet | Aluminium | Timber);
        self.lines.iter().filter(|line| line.class.is_some_and(moves)).filter_map(|line| line.price_date).min()
    }

    /// Why a quote with this price cannot be issued; empty when it can.
    pub fn blocks(&self) -> impl Iterator<Item = String> {
        self.findings.iter().filter(|finding| finding.blocks_issue()).map(|finding| finding.says.clone())
    }

    /// Price before tax without delivery, which is taken to be sold at cost.
    pub fn sold(&self) -> Money {
        self.before_tax() - self.sum(|step| step == Step::Delivery)
    }
}

/// Margin on price of a cost and a price, per cent, to 0.01: M = 1 − C / P.
pub fn margin_percent(cost: Money, price: Money) -> Option<Decimal> {
    let share = cost.0.checked_div(price.0)?;
    Some(((Decimal::ONE - share) * Decimal::ONE_HUNDRED).round_dp(2))
}

/// Mark-up on cost of a cost and a price, per cent, to 0.01: U = P / C − 1 = M / (1 − M).
pub fn mark_up_percent(cost: Money, price: Money) -> Option<Decimal> {
    let times = price.0.checked_div(cost.0)?;
    Some(((times - Decimal::ONE) * Decimal::ONE_HUNDRED).round_dp(2))
}

/// The price that leaves a margin of `margin_percent` (below 100) on itself: P = C / (1 − M).
pub fn price_at_margin(cost: Money, margin_percent: Decimal) -> Money {
    let left = Decimal::ONE_HUNDRED - margin_percent;
    if left <= Decimal::ZERO {
        return cost;
    }
    Money(cost.0.saturating_mul(Decimal::ONE_HUNDRED).checked_div(left).unwrap_or(cost.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn money(text: &str) -> Money {
        Money(text.parse().unwrap())
    }

    /// engineeringtoolbox.com "Mark-up and gross profit": cost 200 000, mark-up 25 % → 250 000, gross profit 20 %.
    /// M. Stone on gross margin: cost 8 755, 33 % margin → 13 067; the same 33 % taken as a mark-up gives 11 644.
    #[test]
    fn margin_is_on_price() {
        assert_eq!(margin_percent(money("200000"), money("250000")), Some(Decimal::from(20)));
        assert_eq!(mark_up_percent(money("200000"), money("250000")), Some(Decimal::from(25)));
        assert_eq!(price_at_margin(money("8755"), Decimal::from(33)).rounded(0), money("13067"));
        assert_eq!((money("8755") * Decimal::new(133, 2)).rounded(0), money("11644"));
    }

    /// U = M / (1 − M), computed.
    #[test]
    fn margins_and_their_mark_ups() {
        for (margin, mark_up) in [(10, "11.11"), (15, "17.65"), (20, "25"), (25, "33.33"), (30, "42.86"), (40, "66.67")]
        {
            let price = price_at_margin(money("1000"), Decimal::from(margin));
            assert_eq!(mark_up_percent(money("1000"), price), Some(mark_up.parse().unwrap()));
            assert_eq!(margin_percent(money("1000"), price), Some(Decimal::from(margin)));
        }
        assert_eq!(margin_percent(money("10"), Money::ZERO), None);
        assert_eq!(price_at_margin(money("10"), Decimal::ONE_HUNDRED), money("10"));
    }
}
