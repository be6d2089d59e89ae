//! Better plans near a good one: some of its bars are taken apart, and their parts are cut anew from the same pieces and
//! those left over, by the search for whole plans.

use std::{collections::BTreeMap, rc::Rc};

use super::{
    columns::Prices,
    first::{self, Left, Plan},
    lp::Dice,
    model::{Column, Kind, Model, Type},
    relax::{Pool, Relaxed, relax},
    rows::Limit,
    tree::Tree,
};
use crate::nesting::Meter;

/// Bars taken apart: at first, at the least and at the most.
const BARS: usize = 6;
const LEAST_BARS: usize = 3;
const MOST_BARS: usize = 60;
/// Every so many tries, as many bars of each kind as one likes.
const FREE: u32 = 8;
/// Rounds of pricing.
const ROUNDS: u32 = 100;
/// Work of one try: at first and at the most; and tries in vain after which it is doubled.
const TRY: u64 = 1_000_000;
const MOST_TRY: u64 = 32_000_000;
const MOST_BARREN: u32 = 60;

/// The tries so far, and what they have taught.
pub(super) struct Rebuild {
    dice: Dice,
    bars: usize,
    tries: u32,
    /// Tries since the last that won something, and the work of one.
    barren: u32,
    work: u64,
    /// The relaxation that tells what each bar loses, and its limits.
    alike: Option<(Vec<Limit>, Relaxed)>,
    pub spent: u64,
}

impl Default for Rebuild {
    fn default() -> Self {
        Self { dice: Dice::default(), bars: BARS, tries: 0, barren: 0, work: TRY, alike: None, spent: 0 }
    }
}

impl Rebuild {
    /// The relaxation with as many bars of each kind as this plan has (any number where only other kinds can win), where
    /// it is not yet known.
    pub fn prepare(
        &mut self,
        model: &Model,
        plan: &Plan,
        pool: &mut Pool,
        meter: &mut Meter,
    ) -> Option<(&[Limit], &Relaxed)> {
        let limits = if only_other_kinds_win(model) { Vec::new() } else { as_many(model, plan) };
        if self.alike.as_ref().is_some_and(|(known, _)| *known == limits) {
            return None;
        }
        let before = meter.spent();
        let relaxed = relax(
            model,
            &Left::all(model),
            &limits,
            pool,
            first::cost(plan) + i128::from(model.lattice),
            ROUNDS,
            meter,
        );
        self.spent += meter.spent() - before;
        self.alike = Some((limits, relaxed));
        self.alike.as_ref().map(|(limits, relaxed)| (limits.as_slice(), relaxed))
    }

    /// One try; the plan where it is cheaper.
    pub fn attempt(&mut self, model: &Model, plan: &Plan, meter: &mut Meter) -> Option<Plan> {
        let before = meter.spent();
        let prices = self.alike.as_ref()?.1.prices.clone();
        let (apart, rest) = self.choose(model, plan, &prices);
        meter.spend(4 * (apart.len() + rest.len()) as u64);
        let better = self.anew(model, &apart, &rest, meter);
        self.spent += meter.spent() - before;
        let mut bars: BTreeMap<Column, u32> = BTreeMap::new();
        let rest = rest.into_iter().map(|column| (column, 1));
        rest.chain(better?).for_each(|(column, n)| *bars.entry(column).or_default() += n);
        Some(bars.into_iter().collect())
    }

    /// The first plan that is cheaper, of tries that together take less than a share (in per cent) of all work.
    pub fn better(
        &mut self,
        model: &Model,
        plan: &Plan,
        pool: &mut Pool,
        share: u64,
        meter: &mut Meter,
    ) -> Option<Plan> {
        while self.spent < meter.spent() / 100 * share && meter.goes_on() {
            self.prepare(model, plan, pool, meter);
            if let Some(better) = self.attempt(model, plan, meter) {
                return Some(better);
            }
        }
        None
    }

    /// Bars to take apart, and the rest. What a bar costs above what its parts are worth at the prices for as many bars is
    /// its share of the gap: there is the most to win.
    fn choose(&mut self, model: &Model, plan: &Plan, prices: &Prices) -> (Vec<Column>, Vec<Column>) {
        let mut rest: Vec<(f64, Column)> = Vec::new();
        for (column, n) in plan {
            let bar = column.bar(model);
            let value: i64 = bar.items.iter().map(|&(t, n)| prices.types[usize::from(t)] * i64::from(n)).sum();
            let extra = if bar.kept { prices.kept[bar.kind] } else { prices.full[bar.kind] };
            let loss = (column.cost + extra - value).max(0) as f64;
            (0..*n).for_each(|_| rest.push((loss, column.clone())));
        }
        let all: f64 = rest.iter().map(|(loss, _)| loss).sum();
        let even = all / rest.len().max(1) as f64 + 1.0;
        let mut apart = Vec::new();
        while apart.len() < self.bars && !rest.is_empty() {
            // Every other bar is one that loses much.
            let weight = |loss: f64| if apart.len() % 2 == 0 { loss + 0.01 * even } else { even };
            let sum: f64 = rest.iter().map(|&(loss, _)| weight(loss)).sum();
            let mut at = (self.dice.throw() * 2.0 - 1.0) * sum;
            let place = rest.iter().position(|&(loss, _)| {
                at -= weight(loss);
                at < 0.0
            });
            apart.push(rest.swap_remove(place.unwrap_or(rest.len() - 1)).1);
        }
        (apart, rest.into_iter().map(|(_, column)| column).collect())
    }

    fn anew(&mut self, model: &Model, apart: &[Column], rest: &[Column], meter: &mut Meter) -> Option<Plan> {
        self.tries += 1;
        let free = only_other_kinds_win(model) || self.tries.is_multiple_of(FREE);
        let piece = Piece::of(model, apart, rest, free);
        let plan: Plan = apart.iter().map(|column| (piece.inner(column), 1)).collect();
        let cost = first::cost(&plan);
        let (net_cost, lower_bound) = (meter.net_cost, meter.lower_bound);
        let limits = if free { Vec::new() } else { as_many(&piece.model, &plan) };
        let mut tree = Tree::of_part(&piece.model, plan, limits);
        let whole = meter.within(self.work, |meter| {
            tree.grow(meter);
            meter.goes_on()
        });
        (meter.net_cost, meter.lower_bound) = (net_cost, lower_bound);
        // So many bars that their best plan is just found.
        let change = self.dice.throw() > 0.75;
        if whole && change {
            self.bars = (self.bars + 1).min(MOST_BARS);
        } else if !whole && change {
            self.bars = (self.bars - 1).max(LEAST_BARS);
        }
        let better = tree.best.filter(|plan| first::cost(plan) < cost);
        self.barren = if better.is_some() { 0 } else { self.barren + 1 };
        if self.barren >= MOST_BARREN {
            (self.barren, self.work) = (0, (self.work * 2).min(MOST_TRY));
        }
        let better = better?;
        Some(better.into_iter().map(|(column, n)| (piece.outer(model, &column), n)).collect())
    }
}

/// Where remainders are worth nothing, as many bars of each of several kinds always cost the same.
pub(super) fn only_other_kinds_win(model: &Model) -> bool {
    model.kinds.len() > 1 && model.kinds.iter().all(|kind| kind.value == 0)
}

/// At least as many bars of each kind that keep a remainder, and that do not, as this plan has.
fn as_many(model: &Model, plan: &Plan) -> Vec<Limit> {
    let mut counts: BTreeMap<(usize, bool), i64> = BTreeMap::new();
    for (column, n) in plan {
        let bar = column.bar(model);
        *counts.entry((bar.kind, bar.kept)).or_default() += i64::from(*n);
    }
    let limit = |((kind, kept), count)| Limit {
        kinds: Rc::new([kind]),
        kept: Some(kept),
        holding: Rc::new([]),
        at_least: true,
        count,
    };
    counts.into_iter().map(limit).collect()
}

/// A part of a problem as a problem of its own.
struct Piece {
    model: Model,
    /// Of each type and kind, its place in the whole.
    types: Vec<u16>,
    kinds: Vec<usize>,
}

impl Piece {
    /// The parts of these bars, with all pieces that the rest leaves.
    fn of(model: &Model, apart: &[Column], rest: &[Column], free: bool) -> Self {
        let mut left = Left::all(model);
        let mut demand = vec![0; model.types.len()];
        rest.iter().for_each(|column| left.stock[column.kind as usize] -= 1);
        for &(t, n) in apart.iter().flat_map(|column| &column.items) {
            demand[usize::from(t)] += n;
        }
        let types: Vec<u16> = (0..demand.len() as u16).filter(|&t| demand[usize::from(t)] > 0).collect();
        let lightest = types.last().map_or(1, |&t| model.types[usize::from(t)].weight);
        let count = demand.iter().sum();
        if !free {
            left.stock.fill(0);
            apart.iter().for_each(|column| left.stock[column.kind as usize] += 1);
        }
        let fits = |kind: usize| left.stock[kind] > 0 && model.kinds[kind].bears >= lightest;
        let kinds: Vec<usize> = (0..model.kinds.len()).filter(|&kind| fits(kind)).collect();
        let of_type = |&t: &u16| Type {
            weight: model.types[usize::from(t)].weight,
            demand: demand[usize::from(t)],
            parts: Vec::new(),
        };
        let of_kind = |&kind: &usize| {
            let quantity = left.stock[kind].min(count);
            Kind { quantity, limited: quantity < count, stock: Vec::new(), ..model.kinds[kind] }
        };
        let part = Model {
            kerf: model.kerf,
            keep: model.keep,
            types: types.iter().map(of_type).collect(),
            kinds: kinds.iter().map(of_kind).collect(),
            count,
            lattice: model.lattice,
        };
        Self { model: part, types, kinds }
    }

    fn inner(&self, column: &Column) -> Column {
        let place = |t: u16| self.types.partition_point(|&u| u < t) as u16;
        let kind = self.kinds.partition_point(|&kind| kind < column.kind as usize);
        Column { kind: kind as u32, items: column.items.iter().map(|&(t, n)| (place(t), n)).collect(), ..*column }
    }

    fn outer(&self, model: &Model, column: &Column) -> Column {
        let items = column.items.iter().map(|&(t, n)| (self.types[usize::from(t)], n)).collect();
        model.column(self.kinds[column.kind as usize], items)
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
            bars::{Part, Problem, Stock, finish::exact, model::SCALE},
            unwatched,
        },
    };

    fn model(worth: i64) -> Model {
        let stock = |id: &str, mm: i64, quantity| Stock {
            id: id.into(),
            length: Tenths(mm * 10),
            quantity,
            cost: None,
            offcut_value_per_m: Money(Decimal::new(worth, 4)),
            end_trim: None,
        };
        let parts = [(700, 1), (600, 1), (450, 1), (400, 1), (300, 2)];
        let problem = Problem {
            kerf: Tenths(0),
            end_trim: Tenths(0),
            keep_offcut: Tenths(1000),
            stock: vec![stock("long", 1000, None), stock("short", 760, Some(1))],
            parts: parts.iter().map(|&(mm, n)| Part::square(format!("p{mm}"), Tenths(mm * 10), n)).collect(),
        };
        Model::new(&problem).unwrap()
    }

    /// 700, 600, 450, 400 and 2 × 300 mm each badly placed: 700 | 600 + 300 | 450 + 400 on long bars, 300 on the short.
    fn poor(model: &Model) -> Plan {
        let bars = [(0, vec![(0, 1)]), (0, vec![(1, 1), (4, 1)]), (0, vec![(2, 1), (3, 1)]), (1, vec![(4, 1)])];
        bars.into_iter().map(|(kind, items)| (model.column(kind, items), 1)).collect()
    }

    /// By hand: the parts are 2750 mm long; two long bars and the short one offer 2760 and hold 700 + 300, 600 + 400,
    /// 450 + 300. Fewer pieces hold less, so 2760 is the least.
    #[test]
    fn a_poor_plan_becomes_the_best() {
        // Without a worth the first try is free to take fewer bars; with one (of remainders that are never kept) each last one is.
        for (worth, tries) in [(0, 1), (1, FREE)] {
            let model = model(worth);
            let mut unwatched = unwatched;
            let mut meter = Meter::new(Budget::full(), SCALE, &mut unwatched);
            let (mut plan, mut pool, mut rebuild) = (poor(&model), Pool::default(), Rebuild::default());
            for _ in 0..tries {
                rebuild.prepare(&model, &plan, &mut pool, &mut meter);
                let before = first::cost(&plan);
                if let Some(better) = rebuild.attempt(&model, &plan, &mut meter) {
                    assert!(first::cost(&better) < before);
                    let whole = exact(&model, better.clone()).map(|whole| first::cost(&whole));
                    assert_eq!(whole, Some(first::cost(&better)));
                    plan = better;
                }
            }
            assert_eq!(first::cost(&plan), 2_760 * 10_i128.pow(SCALE));
            assert!(rebuild.spent > 0 && rebuild.spent <= meter.spent());
        }
    }

    /// A part of a problem keeps weights and costs, and its columns come back as they went.
    #[test]
    fn columns_go_into_a_part_and_back() {
        let model = model(0);
        let bars: Vec<Column> = poor(&model).into_iter().map(|(column, _)| column).collect();
        for free in [false, true] {
            let (apart, rest) = (&bars[1..3], [bars[0].clone(), bars[3].clone()]);
            let piece = Piece::of(&model, apart, &rest, free);
            assert_eq!(piece.model.count, 4);
            // Left over is no short bar; without freedom there are the two long bars taken apart alone.
            assert_eq!(piece.kinds, [0]);
            assert_eq!(piece.model.kinds[0].quantity, if free { 4 } else { 2 });
            for column in apart {
                let inner = piece.inner(column);
                assert_eq!((inner.used, inner.cost), (column.used, column.cost));
                assert_eq!(piece.model.column(0, inner.items.clone()), inner);
                assert_eq!(piece.outer(&model, &inner), *column);
            }
        }
    }
}
