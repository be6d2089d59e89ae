//! Where the sheets of a plan go.

use serde::{Deserialize, Serialize};

use super::{Answer, Problem};

/// A plan's sheets split in square tenths of a millimetre: `stock = parts + kept + trim + kerf + scrap`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Waste {
    pub stock: i128,
    pub parts: i128,
    /// Remainders that go to the rack.
    pub kept: i128,
    /// The edge trim.
    pub trim: i128,
    /// What the saw eats; free plans name no cuts and count it as scrap.
    pub kerf: i128,
    pub scrap: i128,
}

impl Waste {
    /// Share of the stock that becomes parts, 0 to 1; nought where no sheet is used.
    pub fn yield_share(&self) -> f64 {
        if self.stock == 0 { 0.0 } else { self.parts as f64 / self.stock as f64 }
    }

    /// Shares of the stock in the order parts, kerf, trim, scrap, kept; all nought where no stock is used.
    pub fn shares(&self) -> [f64; 5] {
        if self.stock == 0 {
            return [0.0; 5];
        }
        [self.parts, self.kerf, self.trim, self.scrap, self.kept].map(|part| part as f64 / self.stock as f64)
    }

    /// The split of an answer's plan; ids that the problem does not know count for nothing.
    pub fn of(problem: &Problem, answer: &Answer) -> Self {
        let mut total = Self::default();
        for sheet in &answer.plan {
            let Some(stock) = problem.stock.iter().find(|s| s.id == sheet.stock) else { continue };
            let times = i128::from(sheet.count);
            let area = |length: i64, width: i64| i128::from(length) * i128::from(width);
            let whole = area(stock.length.0, stock.width.0);
            let trim = problem.edge_trim.0;
            let inside = area((stock.length.0 - 2 * trim).max(0), (stock.width.0 - 2 * trim).max(0));
            let parts: i128 = sheet.placed.iter().map(|p| area(p.length.0, p.width.0)).sum();
            let kept: i128 = sheet.remainders.iter().filter(|r| r.kept).map(|r| area(r.length.0, r.width.0)).sum();
            let kerf: i128 = (sheet.cuts.iter())
                .map(|cut| {
                    let [x, y, length, width] = cut.piece.map(|t| t.0);
                    let (end, across) =
                        if cut.axis == super::Axis::X { (x + length, width) } else { (y + width, length) };
                    area(problem.kerf.0.min(end - cut.at.0).max(0), across)
                })
                .sum();
            total.stock += whole * times;
            total.parts += parts * times;
            total.kept += kept * times;
            total.trim += (whole - inside) * times;
            total.kerf += kerf * times;
            total.scrap += (inside - parts - kept - kerf) * times;
        }
        total
    }
}
