//! Which columns are worth having at given prices: one bounded knapsack over weights prices every kind of piece at once.
//!
//! Prices are integers, so the least reduced cost that comes out is exact. A column's cost never falls with the weight
//! used, so of two fillings the lighter and dearer-priced one dominates, whatever the piece: only undominated fillings
//! are kept, sorted by weight. Types come in the order of their price a weight; a filling that could not pay for any
//! piece even if the rest of its room were filled at the best price still to come is dropped ([`Hopes`]).

use super::model::{Column, Model};
use crate::nesting::Meter;

/// Integer prices: of each type, and what each kind's limits add to its columns' cost.
#[derive(Clone, Debug)]
pub(super) struct Prices {
    pub types: Vec<i64>,
    /// Of bars whose remainder is not kept, and of those whose is.
    pub full: Vec<i64>,
    pub kept: Vec<i64>,
}

#[derive(Clone, Copy, Debug)]
struct Filling {
    used: i64,
    value: i64,
    trace: u32,
}

/// How a filling came to be: so many of a type on top of an earlier one.
#[derive(Clone, Copy, Debug)]
struct Step {
    before: u32,
    t: u16,
    n: u32,
}

/// Parts of one type as a knapsack sees them.
#[derive(Clone, Copy)]
pub(super) struct Item {
    pub t: u16,
    pub weight: i64,
    pub value: i64,
    pub demand: u32,
}

/// Undominated fillings, lightest first, the empty one in front.
pub(super) struct Frontier {
    fillings: Vec<Filling>,
    steps: Vec<Step>,
}

impl Frontier {
    pub fn empty() -> Self {
        Self { fillings: vec![Filling { used: 0, value: 0, trace: u32::MAX }], steps: Vec::new() }
    }

    pub fn size(&self) -> usize {
        self.fillings.len()
    }

    /// The same fillings without how they came to be.
    pub fn values_only(&self) -> Self {
        Self { fillings: self.fillings.clone(), steps: Vec::new() }
    }

    pub fn forget_steps(&mut self) {
        self.steps.clear();
    }

    /// Allows up to `demand` of a type too.
    pub fn widen(&mut self, item: Item, bears: i64, meter: &mut Meter) {
        self.widen_hoping(item, bears, |_| None, meter);
    }

    /// The same, dropping hopeless fillings after each step; `hopes` is asked whether more of this type is to come.
    fn widen_hoping(
        &mut self,
        Item { t, weight, value, demand }: Item,
        bears: i64,
        hopes: impl Fn(bool) -> Option<Hopes>,
        meter: &mut Meter,
    ) {
        if value <= 0 {
            return;
        }
        let mut left = i64::from(demand).min(bears / weight.max(1));
        let mut step = 1;
        // 1, 2, 4 … and the rest make every number up to the demand.
        while left > 0 {
            let n = step.min(left);
            left -= n;
            step *= 2;
            self.merge((t, n), (weight * n, value * n), bears, hopes(left > 0));
            meter.spend(self.fillings.len() as u64 + 4);
        }
    }

    fn merge(&mut self, (t, n): (u16, i64), (weight, value): (i64, i64), bears: i64, hopes: Option<Hopes>) {
        let old = std::mem::take(&mut self.fillings);
        let mut merged: Vec<Filling> = Vec::with_capacity(old.len() + old.len() / 2 + 16);
        let mut hopes = hopes;
        let (mut plain, mut more) = (0, 0);
        let heavier = old.partition_point(|f| f.used + weight <= bears);
        let mut best = i64::MIN;
        while plain < old.len() || more < heavier {
            let take_plain = more >= heavier
                || (plain < old.len()
                    && (old[plain].used, -old[plain].value) <= (old[more].used + weight, -(old[more].value + value)));
            let (mut filling, new) = if take_plain { (old[plain], false) } else { (old[more], true) };
            if new {
                more += 1;
                filling.used += weight;
                filling.value += value;
            } else {
                plain += 1;
            }
            if filling.value <= best {
                continue;
            }
            best = filling.value;
            if let Some(hopes) = &mut hopes
                && filling.used > 0
                && !hopes.left(filling.used, filling.value)
            {
                continue;
            }
            if new {
                self.steps.push(Step { before: filling.trace, t, n: n as u32 });
                filling.trace = self.steps.len() as u32 - 1;
            }
            merged.push(filling);
        }
        self.fillings = merged;
    }

    /// The greatest value of a filling within this weight.
    pub fn most(&self, within: i64) -> i64 {
        let at = self.fillings.partition_point(|f| f.used <= within);
        if at == 0 { i64::MIN / 4 } else { self.fillings[at - 1].value }
    }

    fn items(&self, filling: &Filling) -> Vec<(u16, u32)> {
        let mut items: Vec<(u16, u32)> = Vec::new();
        let mut at = filling.trace;
        while let Some(step) = self.steps.get(at as usize) {
            match items.iter_mut().find(|(t, _)| *t == step.t) {
                Some((_, n)) => *n += step.n,
                None => items.push((step.t, step.n)),
            }
            at = step.before;
        }
        items.sort_unstable();
        items
    }
}

/// Tells fillings that may still pay for a piece from those that cannot.
///
/// With the rest of its room filled at ρ, the best price a weight still to come, a filling pays for a whole piece only
/// where value − ρ · used > cost − ρ · bears, and for one with a kept remainder only where
/// value − s · used > cost − worth of the whole − (s − v) · longest kept, s being the greater of ρ and the worth v.
struct Hopes {
    lines: Vec<Line>,
}

/// Conditions of one slope, by the heaviest filling that they speak of.
struct Line {
    slope: f64,
    /// (heaviest, least of the right-hand sides of this and all heavier).
    least: Vec<(i64, f64)>,
    at: usize,
}

impl Hopes {
    fn new(model: &Model, prices: &Prices, rho: f64) -> Self {
        let mut lines: Vec<Line> = Vec::new();
        let mut add = |slope: f64, heaviest: i64, right: f64| match lines.iter_mut().find(|l| l.slope == slope) {
            Some(line) => line.least.push((heaviest, right)),
            None => lines.push(Line { slope, least: vec![(heaviest, right)], at: 0 }),
        };
        for (place, kind) in model.kinds.iter().enumerate() {
            let cost = |extra: &[i64]| kind.cost as f64 + extra[place] as f64;
            let offers = kind.bears - model.kerf;
            let kept = offers - model.keep;
            add(rho, kind.bears, cost(&prices.full) - rho * kind.bears as f64);
            if kept > 0 {
                let worth = kind.value as f64;
                let slope = rho.max(worth);
                add(slope, kept, cost(&prices.kept) - worth * offers as f64 - (slope - worth) * kept as f64);
            }
        }
        for line in &mut lines {
            line.least.sort_by_key(|&(heaviest, _)| heaviest);
            let mut least = f64::INFINITY;
            for (_, right) in line.least.iter_mut().rev() {
                least = least.min(*right);
                *right = least;
            }
        }
        Self { lines }
    }

    /// Asked with fillings in ascending weight. Errs, by more than floats can, to the side of hope.
    fn left(&mut self, used: i64, value: i64) -> bool {
        self.lines.iter_mut().any(|line| {
            while line.least.get(line.at).is_some_and(|&(heaviest, _)| heaviest < used) {
                line.at += 1;
            }
            let Some(&(_, right)) = line.least.get(line.at) else { return false };
            let (value, room) = (value as f64, line.slope * used as f64);
            let margin = 4.0 + 1e-12 * (value.abs() + room.abs() + right.abs());
            value - room > right - margin
        })
    }
}

/// The least reduced cost of each kind, nought where none is negative, and columns that have it.
pub(super) struct Priced {
    pub least: Vec<i64>,
    pub columns: Vec<(i64, Column)>,
}

pub(super) fn price(model: &Model, prices: &Prices, demand: &[u32], meter: &mut Meter) -> Priced {
    let frontier = paying(model, prices, demand, meter);
    let mut by_worth: Vec<(i64, Vec<usize>)> = Vec::new();
    let mut priced = Priced { least: Vec::with_capacity(model.kinds.len()), columns: Vec::new() };
    let lightest = (0..model.types.len()).rev().find(|&t| demand[t] > 0);
    for (place, kind) in model.kinds.iter().enumerate() {
        // Best value less worth forgone, for remainders that are kept; per worth, as all kinds of a section have one.
        if !by_worth.iter().any(|(value, _)| *value == kind.value) {
            let mut best = 0;
            let prefix = (frontier.fillings.iter().enumerate())
                .map(|(at, f)| {
                    let net = |f: &Filling| f.value - kind.value * f.used;
                    if at > 0 && (best == 0 || net(f) > net(&frontier.fillings[best])) {
                        best = at;
                    }
                    best
                })
                .collect();
            meter.spend(frontier.fillings.len() as u64);
            by_worth.push((kind.value, prefix));
        }
        let mut least = 0;
        let prefix = by_worth.iter().find(|(value, _)| *value == kind.value).map(|(_, prefix)| prefix);
        let within = |used: i64| frontier.fillings.partition_point(|f| f.used <= used);
        let kept = within(kind.bears - model.kerf - model.keep);
        let kept = prefix.and_then(|p| kept.checked_sub(1).map(|at| p[at]));
        let full = within(kind.bears).checked_sub(1);
        let mut offer = |used: i64, value: i64, items: &dyn Fn() -> Vec<(u16, u32)>| {
            // Limits can make it pay to throw a remainder away.
            let thrown = (kind.cost + prices.full[place] - value, kind.cost);
            let cost = model.cost(place, used);
            let real = if model.keeps(place, used) { (cost + prices.kept[place] - value, cost) } else { thrown };
            least = least.min(real.0).min(thrown.0);
            let (reduced, cost) = if kind.value > 0 { real.min(thrown) } else { real };
            if reduced < 0 {
                priced.columns.push((reduced, Column { cost, ..model.column(place, items()) }));
            }
        };
        for at in [kept, full] {
            if let Some(filling) = at.filter(|&at| at > 0).map(|at| &frontier.fillings[at]) {
                offer(filling.used, filling.value, &|| frontier.items(filling));
            }
        }
        // Where limits ask for bars, one pays even with parts that nobody pays for: no fewer than the lightest, and a heavier
        // such part, on a bar of either sort, costs no less.
        if let Some(t) = lightest.filter(|&t| model.types[t].weight <= kind.bears) {
            offer(model.types[t].weight, prices.types[t], &|| vec![(t as u16, 1)]);
        }
        priced.least.push(least);
    }
    meter.spend(model.kinds.len() as u64 * 4);
    priced
}

/// The undominated fillings among which is, for every kind, one of its least reduced cost where that is negative.
fn paying(model: &Model, prices: &Prices, demand: &[u32], meter: &mut Meter) -> Frontier {
    let bears = model.kinds.iter().map(|k| k.bears).max().unwrap_or(0);
    let density = |t: u16| prices.types[usize::from(t)] as f64 / model.types[usize::from(t)].weight.max(1) as f64;
    let mut order: Vec<u16> = (0..model.types.len() as u16)
        .filter(|&t| prices.types[usize::from(t)] > 0 && demand[usize::from(t)] > 0)
        .collect();
    order.sort_by(|&a, &b| density(b).total_cmp(&density(a)).then(a.cmp(&b)));
    let mut frontier = Frontier::empty();
    for (at, &t) in order.iter().enumerate() {
        let next = order.get(at + 1).map_or(0.0, |&next| density(next));
        let hopes = |more: bool| Some(Hopes::new(model, prices, if more { density(t) } else { next }));
        let place = usize::from(t);
        let item = Item { t, weight: model.types[place].weight, value: prices.types[place], demand: demand[place] };
        frontier.widen_hoping(item, bears, hopes, meter);
    }
    frontier
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        measure::Tenths,
        nesting::{
            Budget,
            bars::{Part, Problem, Stock, model::SCALE},
            unwatched,
        },
    };

    /// A limit that asks for bars pays for them: then even one with the lightest part alone has a negative reduced cost, and a bound that
    /// took the least to be nought would lie above the optimum.
    #[test]
    fn a_bar_that_is_paid_for_by_itself_is_priced_though_nobody_pays_for_parts() {
        let stock = Stock {
            id: "S".into(),
            length: Tenths(60_000),
            quantity: None,
            cost: None,
            offcut_value_per_m: Default::default(),
            end_trim: None,
        };
        let problem = Problem {
            kerf: Tenths(0),
            end_trim: Tenths(0),
            keep_offcut: Tenths(1_000_000),
            stock: vec![stock],
            parts: vec![Part::square("P", Tenths(7_000), 3)],
        };
        let model = Model::new(&problem).expect("a model");
        let cost = model.kinds[0].cost;
        for reward in [0, cost / 2, cost + 7, 3 * cost] {
            let prices = Prices { types: vec![0], full: vec![-reward], kept: vec![-reward] };
            let mut watch = unwatched;
            let mut meter = Meter::new(Budget::full(), SCALE, &mut watch);
            let priced = price(&model, &prices, &[3], &mut meter);
            assert_eq!(priced.least, [(cost - reward).min(0)], "rewarded by {reward}");
            assert_eq!(priced.columns.is_empty(), reward <= cost);
        }
    }
}
