//! Prices of the parts by column generation: the linear program over sheets as they may be sawn (Gilmore and Gomory, 1965),
//! with prices smoothed between rounds (Wentges, 1997). Its floats only choose prices; what they prove is counted in
//! integers ([`super::bound`]).

use std::collections::HashSet;

use super::{
    bound::{Weighed, cover, fixed},
    fill::Layout,
    knapsack::Knapsack,
    model::Model,
};
use crate::nesting::{Meter, bars::lp::Lp, proof::panels::Measure};

/// Of the price of the dearest sheet.
const FINE: f64 = 1_000_000.0;
/// Work of one pricing run beyond which the linear program is left alone: some 0.2 s.
const MOST_WORK: u64 = 20_000_000;

pub(super) struct Columns {
    knapsacks: Vec<Knapsack>,
    lp: Lp,
    /// Counts of the parts on a sheet, by kind.
    seen: HashSet<(usize, Vec<(u32, u32)>)>,
    unit: f64,
    fine: f64,
    /// Where the best bound was, and what it was.
    centre: Vec<f64>,
    pub measure: Measure,
    pub weighed: Weighed,
    pub bound: i128,
    /// Patterns that hold no more of a part than is wanted.
    pub patterns: Vec<Layout>,
}

impl Columns {
    /// `None` where sheets cost nothing but their material, or have too many places for cuts.
    pub fn new(model: &Model, plan: &[Layout], meter: &mut Meter) -> Option<Self> {
        let unit = model.kinds.iter().map(fixed).max().unwrap_or(0);
        if unit <= 0 {
            return None;
        }
        let mut knapsacks: Vec<Knapsack> = Vec::with_capacity(model.kinds.len());
        let mut left = MOST_WORK;
        for kind in 0..model.kinds.len() {
            let knapsack = Knapsack::new(model, kind, left, meter)?;
            left -= knapsack.work;
            knapsacks.push(knapsack);
        }
        let most_parts = knapsacks.iter().map(Knapsack::most_parts).max().unwrap_or(1).max(1);
        let mut columns = Self {
            knapsacks,
            lp: Lp::new(model.types.iter().map(|t| f64::from(t.demand)).collect(), 0),
            seen: HashSet::new(),
            unit: unit as f64,
            fine: FINE.min((i32::MAX / 2) as f64 / most_parts as f64),
            centre: Vec::new(),
            measure: Measure::Prices(Vec::new()),
            weighed: Weighed::new(model, vec![0; model.types.len()], vec![1; model.kinds.len()]),
            bound: i128::MIN,
            patterns: Vec::new(),
        };
        for layout in plan {
            columns.add(model, layout);
        }
        columns.lp.dual();
        Some(columns)
    }

    pub fn add(&mut self, model: &Model, layout: &Layout) -> bool {
        let mut counts = vec![0_u32; model.types.len()];
        layout.placed.iter().for_each(|spot| counts[spot.t] += 1);
        let entries: Vec<(u32, u32)> = (0..).zip(&counts).filter(|(_, n)| **n > 0).map(|(t, &n)| (t, n)).collect();
        if !self.seen.insert((layout.kind, entries.clone())) {
            return false;
        }
        let entries: Vec<(u32, f64)> = entries.into_iter().map(|(t, n)| (t, f64::from(n))).collect();
        self.lp.add(fixed(&model.kinds[layout.kind]).max(0) as f64 / self.unit, entries.iter().copied());
        true
    }

    /// Rounds of pricing until the bound is good enough, no sheet is worth more than it costs, or the work is spent.
    /// Whether the program is solved.
    pub fn generate(&mut self, model: &Model, enough: i128, meter: &mut Meter) -> bool {
        let mut smooth = 0.8;
        loop {
            meter.spend(self.lp.take_work() / 8);
            let sharp: Vec<f64> = self.lp.prices().to_vec();
            if self.centre.is_empty() {
                self.centre.clone_from(&sharp);
            }
            let mixed: Vec<f64> =
                self.centre.iter().zip(&sharp).map(|(old, new)| smooth * old + (1.0 - smooth) * new).collect();
            let Some((better, added)) = self.price(model, &mixed, meter) else { return false };
            if better {
                self.centre = mixed;
            }
            if self.bound >= enough {
                return true;
            }
            if added {
                self.lp.primal();
            } else if smooth > 0.0 {
                // The mixed prices gave no column: come nearer to the program's own.
                smooth = if smooth > 0.2 { smooth - 0.3 } else { 0.0 };
                continue;
            } else {
                return true;
            }
            if smooth < 0.8 && better {
                smooth = 0.8;
            }
        }
    }

    /// One run for each kind: whether the bound rose, and whether a column came of it that the program lacks.
    fn price(&mut self, model: &Model, prices: &[f64], meter: &mut Meter) -> Option<(bool, bool)> {
        let whole: Vec<i32> = prices.iter().map(|y| (y.clamp(0.0, 1.0) * self.fine) as i32).collect();
        let mut capacity = Vec::new();
        let mut added = false;
        for k in 0..self.knapsacks.len() {
            let value = self.knapsacks[k].run(&whole, meter)?;
            capacity.push(i128::from(value));
            let layout = self.knapsacks[k].layout(model, &whole);
            let costs = fixed(&model.kinds[k]).max(0) as f64 / self.unit;
            let worth: f64 = layout.placed.iter().map(|spot| self.lp.prices()[spot.t]).sum();
            if worth > costs + 1e-7 && self.add(model, &layout) {
                added = true;
                let mut left: Vec<u32> = model.types.iter().map(|t| t.demand).collect();
                if layout.placed.iter().all(|spot| {
                    left[spot.t] > 0 && {
                        left[spot.t] -= 1;
                        true
                    }
                }) {
                    self.patterns.push(layout);
                }
            }
        }
        let weighed = [Weighed::new(model, whole.iter().map(|&y| i128::from(y)).collect(), capacity)];
        let bound = cover(model, &weighed).unwrap_or(i128::MAX);
        // Among equal whole sheets, the nearer to the next one is the better centre.
        let share = |w: &Weighed| {
            let capacity = w.capacity.iter().max().copied().unwrap_or(1).max(1);
            w.demand as f64 / capacity as f64
        };
        let better = (bound, share(&weighed[0])) > (self.bound, share(&self.weighed));
        if better {
            self.bound = bound;
            let [weighed] = weighed;
            self.weighed = weighed;
            self.measure = Measure::Prices(whole.iter().map(|&y| i64::from(y)).collect());
        }
        Some((better, added))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nesting::panels::{
        exact::{self, Outcome},
        first::{Dice, Search, rank},
        small,
    };

    fn bound(model: &Model) -> Option<i128> {
        small::metered(|meter| {
            let mut search = Search::new(model);
            search.sweep(0, meter);
            let plan = search.best?;
            let mut columns = Columns::new(model, &plan, meter)?;
            columns.generate(model, rank(&plan).0, meter);
            Some(columns.bound)
        })
    }

    /// By hand: of three parts of 6 × 6 no two share a sheet of 10 × 10, though their area is little more than one sheet.
    #[test]
    fn parts_that_share_no_sheet_are_counted() {
        let model = small::model(0, &[(10, 10, None)], &[(6, 6, 3)]);
        assert_eq!(bound(&model), Some(3 * model.kinds[0].cost));
    }

    /// Never above the cheapest plan, found by trying everything; and its own measure proves it.
    #[test]
    fn the_bound_is_below_every_plan() {
        let mut dice = Dice::new();
        let mut met = 0;
        for _ in 0..60 {
            let parts = small::parts(&mut dice, 3, 7, 2);
            let model = small::model(dice.below(2) as i64, &[(9, 8, None), (6, 7, Some(2))], &parts);
            let Some(bound) = bound(&model) else { continue };
            let (Outcome::Better(plan), true) = small::metered(|meter| exact::search(&model, i128::MAX / 8, meter))
            else {
                panic!("a plan there is: {parts:?}")
            };
            let least = rank(&plan).0;
            assert!(bound <= least, "{bound} of {parts:?}, {least} is least");
            met += u32::from(bound == least);
        }
        assert!(met > 20, "{met} bounds meet the plan");
    }
}
