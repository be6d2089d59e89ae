//! Where the steel of a plan goes.

use serde::{Deserialize, Serialize};

use super::{Answer, Problem, model::charged};
use crate::measure::Tenths;

/// A plan's bars split to the tenth: `stock = parts + kerf + trim + scrap + kept`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Waste {
    pub stock: Tenths,
    /// Long-point lengths of the parts.
    pub parts: Tenths,
    /// What the saw eats, the extra of mitred ends included.
    pub kerf: Tenths,
    pub trim: Tenths,
    pub scrap: Tenths,
    /// Remainders that go to the rack, as proven (the gain of shared mitre cuts comes on top).
    pub kept: Tenths,
}

impl Waste {
    /// Share of the stock that becomes parts, 0 to 1; nought where no bar is used.
    pub fn yield_share(&self) -> f64 {
        if self.stock.0 == 0 { 0.0 } else { self.parts.0 as f64 / self.stock.0 as f64 }
    }

    /// Shares of the stock in the order parts, kerf, trim, scrap, kept; all nought where no stock is used.
    pub fn shares(&self) -> [f64; 5] {
        if self.stock.0 == 0 {
            return [0.0; 5];
        }
        [self.parts, self.kerf, self.trim, self.scrap, self.kept].map(|part| part.0 as f64 / self.stock.0 as f64)
    }

    /// The split of an answer's plan; ids that the problem does not know count for nothing.
    pub fn of(problem: &Problem, answer: &Answer) -> Self {
        let mut total = Self::default();
        for bar in &answer.plan {
            let Some(stock) = problem.stock.iter().find(|s| s.id == bar.stock) else { continue };
            let trim = stock.end_trim.unwrap_or(problem.end_trim);
            let parts = bar.parts.iter().filter_map(|id| problem.parts.iter().find(|p| p.id == *id));
            let (mut long, mut taken) = (0, 0);
            for part in parts {
                long += part.length.0;
                taken += charged(part, problem.kerf.0);
            }
            let offers = stock.length.0 - trim.0;
            let kerfs = (bar.parts.len() as i64 * problem.kerf.0).min(offers - taken).max(0);
            let times = i64::from(bar.count);
            let left = offers - taken - kerfs;
            let (kept, scrap) = if bar.kept { (left, 0) } else { (0, left) };
            total.stock += Tenths(stock.length.0 * times);
            total.parts += Tenths(long * times);
            total.kerf += Tenths((taken - long + kerfs) * times);
            total.trim += Tenths(trim.0 * times);
            total.scrap += Tenths(scrap * times);
            total.kept += Tenths(kept * times);
        }
        total
    }
}
