//! What came out, problem by problem and family by family.

use std::fmt::{self, Write};

use hitchwright_domain::nesting::Status;
use rust_decimal::{Decimal, prelude::ToPrimitive};

pub struct Outcome {
    pub family: String,
    pub name: String,
    pub status: Status,
    pub cost: Option<Decimal>,
    pub bound: Option<Decimal>,
    pub pieces: u32,
    pub seconds: f64,
    /// Counted work, up to the last look at the clock.
    pub work: u64,
    pub faults: Vec<String>,
}

impl Outcome {
    fn proven(&self) -> bool {
        matches!(self.status, Status::Optimal | Status::Infeasible)
    }

    /// (cost − bound) / |cost|; all of it where there is no plan.
    fn gap(&self) -> f64 {
        match (self.cost, self.bound) {
            _ if self.proven() => 0.0,
            (Some(cost), Some(bound)) if !cost.is_zero() => ((cost - bound) / cost.abs()).to_f64().unwrap_or(1.0),
            _ => 1.0,
        }
    }

    /// Holds the claims against the least number of equal pieces.
    pub fn compare(&mut self, least: u32) {
        if self.status == Status::Optimal && self.pieces != least {
            self.faults.push(format!("{} pieces are called optimal, {least} are", self.pieces));
        }
        let (Some(cost), Some(bound)) = (self.cost, self.bound) else { return };
        if bound * Decimal::from(self.pieces) > cost * Decimal::from(least) {
            self.faults.push(format!("the bound {bound} is above what {least} pieces cost"));
        }
    }

    pub fn line(&self) -> serde_json::Value {
        serde_json::json!({
            "family": self.family, "name": self.name, "status": self.status, "net_cost": self.cost, "lower_bound": self.bound,
            "gap": self.gap(), "pieces": self.pieces, "seconds": self.seconds, "work": self.work, "faults": self.faults,
        })
    }
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = |money: Option<Decimal>| money.map_or("-".into(), |m| m.normalize().to_string());
        let status = format!("{:?}", self.status).to_lowercase();
        write!(
            f,
            "{:<16} {:<22} {status:<10} {:>14} {:>14} {:>9.4} % {:>9.3} s {:>12}",
            self.family,
            self.name,
            text(self.cost),
            text(self.bound),
            100.0 * self.gap(),
            self.seconds,
            self.work,
        )
    }
}

/// One line a family, in the order of their first problems.
pub fn table(outcomes: &[Outcome], seconds: f64) -> String {
    let mut text = String::new();
    let _ = writeln!(
        text,
        "{:<16} {:>4} {:>9} {:>8} {:>9} {:>9} {:>9} {:>10} {:>10}",
        "family",
        "n",
        format!("in {seconds} s"),
        "in 1 s",
        "median s",
        "95 % s",
        "most s",
        "worst gap",
        "total gap"
    );
    let mut families: Vec<&str> = Vec::new();
    for outcome in outcomes {
        if !families.contains(&outcome.family.as_str()) {
            families.push(&outcome.family);
        }
    }
    for family in families {
        let of: Vec<&Outcome> = outcomes.iter().filter(|o| o.family == family).collect();
        let share = |within: f64| {
            let n = of.iter().filter(|o| o.proven() && o.seconds <= within).count();
            format!("{:.1} %", 100.0 * n as f64 / of.len() as f64)
        };
        let mut times: Vec<f64> = of.iter().map(|o| o.seconds).collect();
        times.sort_by(f64::total_cmp);
        let at = |share: f64| times[((times.len() as f64 * share).ceil() as usize).clamp(1, times.len()) - 1];
        let worst = of.iter().map(|o| o.gap()).fold(0.0, f64::max);
        let sum = |value: fn(&Outcome) -> Option<Decimal>| of.iter().filter_map(|o| value(o)).sum::<Decimal>();
        let (cost, bound) = (sum(|o| o.cost.and(o.bound).and(o.cost)), sum(|o| o.cost.and(o.bound)));
        let total = if cost.is_zero() { 0.0 } else { ((cost - bound) / cost).to_f64().unwrap_or(1.0) };
        let _ = writeln!(
            text,
            "{family:<16} {:>4} {:>9} {:>8} {:>9.3} {:>9.3} {:>9.3} {:>8.4} % {:>8.4} %",
            of.len(),
            // A search ends a moment after its clock.
            share(f64::INFINITY),
            share(1.0),
            at(0.5),
            at(0.95),
            at(1.0),
            100.0 * worst,
            100.0 * total,
        );
    }
    text
}
