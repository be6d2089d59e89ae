//! The relaxation over fractions of bars, by column generation, with a bound that is proven in integers.
//!
//! Whatever prices the linear program ends with are rounded to integers; the exact least reduced cost of every kind then
//! makes a true bound: Σ demand · price + Σ limits · price + Σ over kinds of (most bars) · min(0, least reduced cost).

use std::collections::HashSet;

use super::{
    columns::{Prices, price},
    first::Left,
    lp::Outcome,
    model::{Column, Model},
    rows::{Limit, Rows, most_bars},
};
use crate::nesting::Meter;

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
    /// The same, row by row.
    pub rows: Vec<i64>,
    /// (place in the pool, bars).
    pub solution: Vec<(usize, f64)>,
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
    let mut lp = rows.program(&left.demand, false);
    rows.add_excuses(&mut lp, enough.max(1) as f64);
    let excuses = lp.columns();
    let mut places: Vec<usize> = Vec::new();
    for (place, column) in pool.columns.iter().enumerate() {
        if left.times(column) > 0 {
            rows.add_column(model, &mut lp, column);
            places.push(place);
        }
    }
    let most = most_bars(model, left, enough);
    let mut best: Option<(i128, Prices, Vec<i64>)> = None;
    let mut outcome = lp.dual();
    for _ in 0..rounds.max(1) {
        meter.spend(lp.take_work() / 8);
        if outcome == Outcome::Infeasible {
            break;
        }
        let whole = rows.prices(&lp);
        let prices = rows.by_kind(model, &whole);
        let priced = price(model, &prices, &left.demand, meter);
        let short: i128 = priced.least.iter().zip(&most).map(|(&least, &n)| n * i128::from(least)).sum();
        let bound = rows.promise(&whole, &lp) + short;
        if best.as_ref().is_none_or(|(b, ..)| bound > *b) {
            best = Some((bound, prices, whole));
        }
        if model.up_to_lattice(bound) >= enough || !meter.goes_on() {
            break;
        }
        let mut added = false;
        // What floats cannot tell from nought is not worth a column.
        let tiny = -((rows.unit * 2e-11) as i64).max(1);
        for (reduced, column) in priced.columns {
            if reduced < tiny && left.stock[column.kind as usize] > 0 && pool.add(column) {
                let place = pool.columns.len() - 1;
                rows.add_column(model, &mut lp, &pool.columns[place]);
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
    let nothing = || {
        let kinds = vec![0; model.kinds.len()];
        (0, Prices { types: vec![0; model.types.len()], full: kinds.clone(), kept: kinds }, Vec::new())
    };
    let (bound, prices, rows) = best.unwrap_or_else(nothing);
    Relaxed { bound: bound.max(0), prices, rows, solution }
}
