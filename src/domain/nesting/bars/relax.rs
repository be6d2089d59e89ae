//! The relaxation over fractions of bars, by column generation, with a bound that is proven in integers.
//!
//! Whatever prices the linear program ends with are rounded down to integers; the exact least reduced cost of every kind
//! then makes a true bound: Σ demand · price + Σ limits · price + Σ over kinds of (most bars) · min(0, least reduced cost).

use std::collections::HashSet;

use super::{
    columns::{Prices, price},
    first::Left,
    lp::{Lp, Outcome},
    model::{Column, Model},
};
use crate::domain::nesting::Meter;

/// Bars of these kinds together: at least, or at most, so many.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Limit {
    pub kinds: Vec<usize>,
    pub at_least: bool,
    pub count: i64,
}

/// Columns found so far, each once.
#[derive(Default)]
pub(super) struct Pool {
    pub columns: Vec<Column>,
    seen: HashSet<Column>,
}

impl Pool {
    pub fn add(&mut self, column: Column) -> bool {
        let new = self.seen.insert(column.clone());
        if new {
            self.columns.push(column);
        }
        new
    }
}

pub(super) struct Relaxed {
    /// Proven: no plan for what is left, within the limits, costs less.
    pub bound: i128,
    /// The prices that prove it.
    pub prices: Prices,
    /// (place in the pool, bars).
    pub solution: Vec<(usize, f64)>,
}

/// Rows of the program: one for each type, then the limits.
pub(super) struct Rows {
    pub limits: Vec<Limit>,
    types: usize,
    /// Money of one unit in the program.
    pub unit: f64,
    most_price: i64,
}

impl Rows {
    pub fn new(model: &Model, left: &Left, branches: &[Limit]) -> Self {
        let mut limits: Vec<Limit> = (model.kinds.iter().enumerate())
            .filter(|(_, kind)| kind.limited)
            .map(|(place, _)| Limit { kinds: vec![place], at_least: false, count: i64::from(left.stock[place]) })
            .collect();
        limits.extend_from_slice(branches);
        let unit = model.kinds.iter().map(|k| k.cost).max().unwrap_or(1).max(1) as f64;
        let lightest = model.types.last().map_or(1, |t| t.weight);
        let most_on_bar = model.kinds.iter().map(|k| k.bears / lightest).max().unwrap_or(1).max(1);
        Self { limits, types: model.types.len(), unit, most_price: i64::MAX / 8 / most_on_bar }
    }

    pub fn program(&self, left: &Left) -> Lp {
        let demand = left.demand.iter().map(|&n| f64::from(n));
        let limits = self.limits.iter().map(|l| if l.at_least { l.count as f64 } else { -l.count as f64 });
        Lp::new(demand.chain(limits).collect())
    }

    pub fn add(&self, lp: &mut Lp, column: &Column) -> usize {
        let mut entries: Vec<(u32, f64)> = column.items.iter().map(|&(t, n)| (u32::from(t), f64::from(n))).collect();
        for (place, limit) in self.limits.iter().enumerate() {
            if limit.kinds.contains(&(column.kind as usize)) {
                entries.push(((self.types + place) as u32, if limit.at_least { 1.0 } else { -1.0 }));
            }
        }
        lp.add(column.cost as f64 / self.unit, &entries)
    }

    /// Columns that cover one part, or make up one bar of a lower limit, at a price nobody wants to pay: the program then
    /// always has a solution, and an unreachable demand shows as a bound above any plan.
    pub fn add_excuses(&self, lp: &mut Lp, cost: i128) {
        for row in 0..self.types {
            lp.add(cost as f64 / self.unit, &[(row as u32, 1.0)]);
        }
        for (place, limit) in self.limits.iter().enumerate() {
            if limit.at_least {
                lp.add(cost as f64 / self.unit, &[((self.types + place) as u32, 1.0)]);
            }
        }
    }

    /// Integer prices from the program's, and what they promise before reduced costs are counted.
    pub fn prices(&self, model: &Model, lp: &Lp) -> (Prices, i128) {
        let (types, limits) = lp.prices().split_at(self.types);
        let whole = |y: f64| ((y * self.unit).floor().max(0.0) as i64).min(self.most_price);
        let types: Vec<i64> = types.iter().map(|&y| whole(y)).collect();
        // Right-hand sides are whole numbers of parts and bars.
        let times = |y: i64, count: f64| i128::from(y) * count as i128;
        let mut promise: i128 = types.iter().zip(&lp.rhs).map(|(&y, &n)| times(y, n)).sum();
        let mut kinds = vec![0_i64; model.kinds.len()];
        for ((limit, &y), &count) in self.limits.iter().zip(limits).zip(&lp.rhs[self.types..]) {
            // A share of the range each keeps the sum over a kind's limits in it.
            let y = whole(y).min(i64::MAX / 1024);
            promise += times(y, count);
            for &kind in &limit.kinds {
                kinds[kind] = kinds[kind].saturating_add(if limit.at_least { -y } else { y });
            }
        }
        (Prices { types, kinds }, promise)
    }
}

/// Most bars of each kind that a plan for what is left can use.
pub(super) fn most_bars(left: &Left) -> Vec<i128> {
    let parts: u64 = left.demand.iter().map(|&n| u64::from(n)).sum();
    left.stock.iter().map(|&n| i128::from(u64::from(n).min(parts))).collect()
}

/// Solves the relaxation for what is left. Stops as soon as its bound reaches `enough`, or after `rounds` of pricing.
pub(super) fn relax(
    model: &Model,
    left: &Left,
    branches: &[Limit],
    pool: &mut Pool,
    enough: i128,
    rounds: u32,
    meter: &mut Meter,
) -> Relaxed {
    let rows = Rows::new(model, left, branches);
    let mut lp = rows.program(left);
    rows.add_excuses(&mut lp, enough.clamp(1, 1_i128 << 100));
    let excuses = lp.barred.len();
    let mut places: Vec<usize> = Vec::new();
    for (place, column) in pool.columns.iter().enumerate() {
        if left.times(column) > 0 {
            rows.add(&mut lp, column);
            places.push(place);
        }
    }
    let most = most_bars(left);
    let mut best: Option<(i128, Prices)> = None;
    let mut outcome = lp.dual();
    for _ in 0..rounds.max(1) {
        meter.spend(lp.take_work() / 8);
        if outcome == Outcome::Infeasible {
            break;
        }
        let (prices, promise) = rows.prices(model, &lp);
        let priced = price(model, &prices, &left.demand, meter);
        let short: i128 = priced.least.iter().zip(&most).map(|(&least, &n)| n * i128::from(least.min(0))).sum();
        let bound = promise + short;
        if best.as_ref().is_none_or(|(b, _)| bound > *b) {
            best = Some((bound, prices));
        }
        if model.up_to_lattice(bound) >= enough || !meter.goes_on() {
            break;
        }
        let mut added = false;
        // What floats cannot tell from nought is not worth a column.
        let tiny = -((rows.unit * 1e-9) as i64).max(1);
        for (reduced, column) in priced.columns {
            if reduced < tiny && left.stock[column.kind as usize] > 0 && pool.add(column) {
                let place = pool.columns.len() - 1;
                rows.add(&mut lp, &pool.columns[place]);
                places.push(place);
                added = true;
            }
        }
        if !added {
            break;
        }
        outcome = lp.primal();
    }
    meter.spend(lp.take_work() / 8);
    let mut solution = Vec::new();
    for (j, x) in lp.solution() {
        if let Some(j) = j.checked_sub(excuses) {
            solution.push((places[j], x));
        }
    }
    let (bound, prices) =
        best.unwrap_or((0, Prices { types: vec![0; model.types.len()], kinds: vec![0; model.kinds.len()] }));
    Relaxed { bound: bound.max(0), prices, solution }
}
