//! The relaxation over fractions of bars, by column generation, with a bound that is proven in integers.
//!
//! Whatever prices the linear program ends with are rounded to integers; the exact least reduced cost of every kind then
//! makes a true bound: Σ demand · price + Σ limits · price + Σ over kinds of (most bars) · min(0, least reduced cost).

use std::collections::HashSet;

use super::{
    columns::{Priced, Prices, price},
    first::Left,
    lp::{Lp, Outcome},
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

#[derive(Clone)]
pub(super) struct Relaxed {
    /// Proven: no plan for what is left, within the limits, costs less.
    pub bound: i128,
    /// The prices that prove it.
    pub prices: Prices,
    /// The same, row by row.
    pub rows: Vec<i64>,
    /// (place in the pool, bars).
    pub solution: Vec<(usize, f64)>,
    /// Ready to go on from there.
    pub program: Program,
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
    Program::new(model, left, branches, enough).solve(model, left, pool, enough, rounds, meter)
}

/// The linear program over columns of a pool.
#[derive(Clone)]
pub(super) struct Program {
    rows: Rows,
    lp: Lp,
    /// Columns that stand for no bars, in front of all others.
    excuses: usize,
    /// Of each other column, its place in the pool.
    places: Vec<usize>,
    /// Columns of the pool that were looked at.
    known: usize,
}

impl Program {
    fn new(model: &Model, left: &Left, branches: &[Limit], enough: i128) -> Self {
        let rows = Rows::new(model, left, branches);
        let mut lp = rows.program(&left.demand, false);
        rows.add_excuses(&mut lp, enough.max(1) as f64);
        Self { rows, excuses: lp.columns(), lp, places: Vec::new(), known: 0 }
    }

    /// Goes on where bars were taken: less is left, and the same limits ask for less.
    pub fn follow(&mut self, model: &Model, left: &Left, branches: &[Limit], pool: &Pool) {
        self.rows = Rows::new(model, left, branches);
        let rows = self.rows.rows.iter().map(|row| row.rhs(&left.demand) as f64);
        self.lp.rhs = left.demand.iter().map(|&n| f64::from(n)).chain(rows).collect();
        for (at, &place) in self.places.iter().enumerate() {
            if left.times(&pool.columns[place]) == 0 {
                self.lp.barred[self.excuses + at] = true;
            }
        }
        self.lp.refresh();
    }

    fn enter(&mut self, model: &Model, pool: &Pool, place: usize) {
        self.rows.add_column(model, &mut self.lp, &pool.columns[place]);
        self.places.push(place);
    }

    /// Takes in what came to the pool since.
    fn catch_up(&mut self, model: &Model, left: &Left, pool: &Pool) {
        for place in self.known..pool.columns.len() {
            if left.times(&pool.columns[place]) > 0 {
                self.enter(model, pool, place);
            }
        }
        self.known = pool.columns.len();
    }

    /// What these prices prove.
    fn promised(&self, prices: &[i64], priced: &Priced, most: &[i128]) -> i128 {
        let short: i128 = priced.least.iter().zip(most).map(|(&least, &n)| n * i128::from(least)).sum();
        self.rows.promise(prices, &self.lp) + short
    }

    /// Takes in those of these columns that may help; false where there is no new one.
    fn take_in(&mut self, model: &Model, left: &Left, pool: &mut Pool, priced: Priced, tiny: i64) -> bool {
        for (reduced, column) in priced.columns {
            if reduced < tiny && left.stock[column.kind as usize] > 0 {
                pool.add(column);
            }
        }
        let before = self.lp.columns();
        self.catch_up(model, left, pool);
        self.lp.columns() > before
    }

    pub fn solve(
        mut self,
        model: &Model,
        left: &Left,
        pool: &mut Pool,
        enough: i128,
        rounds: u32,
        meter: &mut Meter,
    ) -> Relaxed {
        self.catch_up(model, left, pool);
        let most = most_bars(model, left, enough);
        // What floats cannot tell from nought is not worth a column.
        let tiny = -((self.rows.unit * 2e-11) as i64).max(1);
        let mut best: Option<(i128, Prices, Vec<i64>)> = None;
        let mut outcome = self.lp.dual();
        if outcome == Outcome::Solved {
            outcome = self.lp.primal();
        }
        for _ in 0..rounds.max(1) {
            meter.spend(self.lp.take_work() / 8);
            if outcome == Outcome::Infeasible {
                break;
            }
            let whole = self.rows.prices(&self.lp);
            let prices = self.rows.by_kind(model, &whole);
            let priced = price(model, &prices, &left.demand, meter);
            let bound = self.promised(&whole, &priced, &most);
            if best.as_ref().is_none_or(|(b, ..)| bound > *b) {
                best = Some((bound, prices, whole));
            }
            let done = model.up_to_lattice(bound) >= enough || !meter.goes_on();
            if done || !self.take_in(model, left, pool, priced, tiny) {
                break;
            }
            outcome = self.lp.primal();
        }
        meter.spend(self.lp.take_work() / 8);
        let used = self.lp.solution().into_iter();
        let solution = used.filter_map(|(j, x)| Some((self.places[j.checked_sub(self.excuses)?], x))).collect();
        let nothing = || {
            let kinds = vec![0; model.kinds.len()];
            (0, Prices { types: vec![0; model.types.len()], full: kinds.clone(), kept: kinds }, Vec::new())
        };
        let (bound, prices, rows) = best.unwrap_or_else(nothing);
        Relaxed { bound: bound.max(0), prices, rows, solution, program: self }
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::*;
    use crate::{
        measure::{Money, Tenths},
        nesting::{
            Budget,
            bars::{Part, Problem, Stock, branch, lp::Dice, model::SCALE},
            unwatched,
        },
    };

    /// Few long parts on bars that keep long remainders, which are worth something or nothing.
    fn model(dice: &mut Dice) -> Model {
        let mut throw = |from: i64, to: i64| from + ((dice.throw() * 2.0 - 1.0) * (to - from) as f64) as i64;
        let mut stock = |id: &str, quantity| Stock {
            id: id.into(),
            length: Tenths(throw(3_000, 8_000) * 10),
            quantity,
            cost: Some(Money(Decimal::new(throw(1_700, 4_000), 2))),
            offcut_value_per_m: Money(Decimal::new(throw(0, 3), 0)),
            end_trim: None,
        };
        let stock = vec![stock("long", None), stock("short", None), stock("few", Some(2))];
        let longest = stock.iter().map(|s| s.length.0).max().unwrap_or(0) / 10;
        let parts =
            (0..5).map(|i| Part::square(format!("p{i}"), Tenths(throw(longest / 5, longest) * 10), throw(1, 6) as u32));
        let problem = Problem {
            kerf: Tenths(30),
            end_trim: Tenths(0),
            keep_offcut: Tenths(5_000),
            parts: parts.collect(),
            stock,
        };
        Model::new(&problem).expect("a model")
    }

    /// Where no column undercuts the prices, the sum of the prices is a bound: what is proven must be what the linear program
    /// says, within any limits on how many bars of a kind there are and how many of them keep a remainder.
    #[test]
    fn the_bound_is_the_optimum_of_the_linear_program() {
        let mut dice = Dice::default();
        let mut split_by_kept = 0;
        for _ in 0..150 {
            let model = model(&mut dice);
            let every: i128 = model.kinds.iter().map(|k| i128::from(k.cost) * i128::from(k.quantity)).sum();
            let left = Left::all(&model);
            let (mut pool, mut unwatched) = (Pool::default(), unwatched);
            let mut meter = Meter::new(Budget::full(), SCALE, &mut unwatched);
            let mut open = vec![Vec::new()];
            while let Some(limits) = open.pop() {
                let relaxed = relax(&model, &left, &limits, &mut pool, every + 1, 400, &mut meter);
                let optimum = relaxed.program.lp.objective() * relaxed.program.rows.unit;
                let beyond = model.up_to_lattice(relaxed.bound) > every;
                assert!(beyond || (optimum - relaxed.bound as f64).abs() < 1e-6 * optimum, "{optimum} {limits:?}");
                let bars: Vec<_> =
                    relaxed.solution.iter().map(|&(place, x)| (pool.columns[place].bar(&model), x)).collect();
                for split in branch::of_kinds(&model, &bars).into_iter().filter(|_| limits.len() < 3) {
                    for limit in split.limits() {
                        split_by_kept += u32::from(limit.kept.is_some());
                        open.push([limits.as_slice(), &[limit]].concat());
                    }
                }
            }
        }
        assert!(split_by_kept > 500, "{split_by_kept}");
    }
}
