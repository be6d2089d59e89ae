//! How the amounts of a build-up came about, from what stands in its lines.

use rust_decimal::Decimal;

use super::{BuildUp, PriceLine, Step};
use crate::{
    measure::Money,
    shop::Policy,
    working::{MONEY, Sure, Working},
};

impl BuildUp {
    /// The working of a line that has a quantity and a rate, or that is the margin; None of an amount that was agreed.
    pub fn working(&self, line: &PriceLine) -> Option<Working> {
        let amount = line.derived.unwrap_or(line.amount);
        let quantity = line.quantity?;
        if line.step == Step::Margin {
            let base = self.sum(|step| step < Step::Margin);
            let working = Working::new(line.text.clone(), "k = C M / (100 − M)")
                .given("C", "cost with contingency and mark-ups", number(base.0), MONEY)
                .given("M", "margin on the price", number(quantity), "%");
            return Some(done(working, line, amount));
        }
        let rate = line.rate?;
        let percent = line.unit.starts_with('%');
        let exact = if percent { rate.0 * quantity / Decimal::ONE_HUNDRED } else { rate.0 * quantity };
        let off = (exact - amount.0).abs();
        let formula = match (percent, off) {
            (true, _) => "k = C p / 100",
            // The rate shown is a mean, or the amount was rounded to whole coins.
            (false, off) if off <= Decimal::new(1, 2).max(amount.0.abs() / Decimal::from(500)) => "k = n r",
            // The smallest charge holds.
            _ => "k ≥ n r",
        };
        let working = Working::new(line.text.clone(), formula);
        let working = if percent {
            working.given("C", "cost that it is taken of", number(rate.0), MONEY).given(
                "p",
                "share",
                number(quantity),
                "%",
            )
        } else {
            working.given("n", "quantity", number(quantity), &line.unit).given(
                "r",
                "price of one",
                number(rate.0),
                MONEY,
            )
        };
        Some(done(working, line, amount))
    }

    /// What is left over cost.
    pub fn profit_working(&self) -> Working {
        Working::new("Left over cost", "g = P − C")
            .given("P", "price before tax, without delivery", number(self.sold().0), MONEY)
            .given("C", "cost", number(self.cost().0), MONEY)
            .gives("g", number(self.profit().0), MONEY)
            .source("delivery is sold at cost", Sure::Computed)
    }

    pub fn deposit_working(&self, policy: &Policy, decimals: u32) -> Working {
        Working::new("Deposit", "d = T p / 100")
            .given("T", "to pay, with tax", number(self.total().0), MONEY)
            .given("p", "deposit by the shop's policy", number(policy.deposit_percent), "%")
            .gives("d", number(self.deposit(policy, decimals).0), MONEY)
            .source("the shop's policy", Sure::Shop)
    }

    /// Margin and mark-up, as they are left when everything is agreed.
    pub fn workings(&self) -> Vec<Working> {
        let (cost, sold) = (self.cost(), self.sold());
        let of = |title: &str, formula: &str, symbol: &str, percent: Option<Decimal>| {
            let working = Working::new(title, formula)
                .given("C", "cost", number(cost.0), MONEY)
                .given("P", "price before tax, without delivery", number(sold.0), MONEY)
                .gives(symbol, number(percent?), "%")
                .source("margin is on price; delivery is sold at cost", Sure::Computed);
            Some(working)
        };
        let margin = of("Margin on price", "M = 100 (1 − C / P)", "M", self.margin_percent());
        let mark_up = of("Mark-up on cost", "U = 100 (P / C − 1)", "U", self.mark_up_percent());
        margin.into_iter().chain(mark_up).collect()
    }
}

fn done(working: Working, line: &PriceLine, amount: Money) -> Working {
    let source = match (&line.code, line.how.as_str()) {
        (Some(code), "") => format!("rate book, {code}"),
        (Some(code), how) => format!("{how}; rate book, {code}"),
        (None, "") => "the shop's own".to_owned(),
        (None, how) => how.to_owned(),
    };
    working.gives("k", number(amount.0), MONEY).source(source, line.sure)
}

fn number(of: Decimal) -> f64 {
    f64::try_from(of).unwrap_or(f64::NAN)
}
