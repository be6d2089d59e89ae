//! Plans for all sheets: sheet after sheet, the kind that costs least for the area it takes; then the order of the parts
//! is disturbed again and again, and what is not worse is kept.

use super::{
    CutClass,
    fill::{FITS, Filler, Layout, Rules, SPLITS},
    free,
    model::Model,
    sawing::{handiness, sawn},
};
use crate::nesting::Meter;

pub(super) type Plan = Vec<Layout>;

/// Plans of the least cost that are remembered beside the best.
const MOST_ALIKE: usize = 6;

/// Net cost, then sheets, then cuts: what a better plan has less of.
pub(super) fn rank(plan: &Plan) -> (i128, usize, usize) {
    (plan.iter().map(|s| s.cost).sum(), plan.len(), plan.iter().map(|s| s.cuts.len()).sum())
}

pub(super) struct Search<'m> {
    model: &'m Model,
    filler: Filler<'m>,
    pub best: Option<Plan>,
    /// Others that cost as much.
    alike: Vec<Plan>,
    /// Whether the best is sawn in the best way.
    tidied: bool,
    /// Which order and rules gave it.
    order: Vec<usize>,
    rules: Rules,
    dice: Dice,
}

impl<'m> Search<'m> {
    pub fn new(model: &'m Model) -> Self {
        let order = (0..model.types.len()).collect();
        let rules = Rules { fit: 0, split: 0, salt: 0 };
        Self {
            model,
            filler: Filler::new(model),
            best: None,
            alike: Vec::new(),
            tidied: false,
            order,
            rules,
            dice: Dice::new(),
        }
    }

    /// Every order with every rule, once.
    pub fn sweep(&mut self, good_enough: i128, meter: &mut Meter) {
        for order in orders(self.model) {
            for split in 0..SPLITS {
                for fit in 0..FITS {
                    if !meter.goes_on() || self.reaches(good_enough) {
                        return;
                    }
                    self.attempt(order.clone(), Rules { fit, split, salt: 0 }, meter);
                }
            }
        }
    }

    /// So many disturbed orders, unless the stage ends or the plan is good enough before.
    pub fn improve(&mut self, good_enough: i128, tries: u64, meter: &mut Meter) {
        let n = self.order.len() as u64;
        for _ in 0..tries {
            if !meter.goes_on() || self.reaches(good_enough) {
                return;
            }
            let mut order = self.order.clone();
            for _ in 0..1 + self.dice.below(3) {
                let (a, b) = (self.dice.below(n) as usize, self.dice.below(n) as usize);
                if self.dice.below(2) == 0 {
                    order.swap(a, b);
                } else {
                    let moved = order.remove(a);
                    order.insert(b, moved);
                }
            }
            let mut rules = self.rules;
            if self.dice.below(3) == 0 {
                rules.fit = self.dice.below(u64::from(FITS)) as u8;
            }
            if self.dice.below(3) == 0 {
                rules.split = self.dice.below(u64::from(SPLITS)) as u8;
            }
            self.attempt(order, rules, meter);
        }
    }

    pub fn reaches(&self, good_enough: i128) -> bool {
        self.best.as_ref().is_some_and(|plan| rank(plan).0 <= good_enough)
    }

    /// Takes a plan that is better. Whether it costs no more than the best one, with no more sheets.
    pub fn offer(&mut self, plan: Plan) -> bool {
        let Some(best) = &mut self.best else {
            self.best = Some(plan);
            return true;
        };
        let (new, old) = (rank(&plan), rank(best));
        if new < old {
            let before = std::mem::replace(best, plan);
            self.tidied = false;
            if new.0 < old.0 { self.alike.clear() } else { self.alike.push(before) }
        } else if new.0 == old.0 {
            self.alike.push(plan);
        }
        if self.alike.len() > MOST_ALIKE {
            // The one with most cuts is the least likely to be the handiest.
            let worst = (0..self.alike.len()).max_by_key(|&at| rank(&self.alike[at])).unwrap_or(0);
            self.alike.swap_remove(worst);
        }
        (new.0, new.1) <= (old.0, old.1)
    }

    /// Saws the sheets of the plans that cost least in the best way, and keeps the handiest plan.
    pub fn tidy(&mut self, meter: &mut Meter) {
        if self.tidied && self.alike.is_empty() {
            return;
        }
        self.tidied = true;
        let plans = self.best.take().into_iter().chain(self.alike.drain(..));
        let mut best: Option<Plan> = None;
        for plan in plans {
            // The first in any case, others while there is time.
            if best.is_none() || meter.goes_on() {
                let tidied: Plan = plan.iter().map(|sheet| sawn(self.model, sheet, meter)).collect();
                best = best.into_iter().chain([tidied]).min_by_key(|plan| handiness(plan));
            }
        }
        self.best = best;
        meter.net_cost = self.best.as_ref().map(|plan| rank(plan).0);
    }

    fn attempt(&mut self, order: Vec<usize>, rules: Rules, meter: &mut Meter) {
        if let Some(plan) = build(self.model, &mut self.filler, &order, rules, meter)
            && self.offer(plan)
        {
            meter.net_cost = self.best.as_ref().map(|plan| rank(plan).0);
            self.order = order;
            self.rules = rules;
        }
    }
}

fn orders(model: &Model) -> Vec<Vec<usize>> {
    let keys = |l: i64, w: i64| [(l * w, l.max(w)), (l.max(w), l.min(w)), (l.min(w), l.max(w)), (l + w, l.max(w))];
    let mut orders: Vec<Vec<usize>> = Vec::new();
    for key in 0..4 {
        let mut order: Vec<usize> = (0..model.types.len()).collect();
        order.sort_by_key(|&t| std::cmp::Reverse(keys(model.types[t].length, model.types[t].width)[key]));
        if !orders.contains(&order) {
            orders.push(order);
        }
    }
    orders
}

fn build(model: &Model, filler: &mut Filler, order: &[usize], rules: Rules, meter: &mut Meter) -> Option<Plan> {
    let mut wanted: Vec<u32> = model.types.iter().map(|t| t.demand).collect();
    let mut stock: Vec<u32> = model.kinds.iter().map(|k| k.quantity).collect();
    let mut plan = Plan::new();
    let mut ended = Ended::default();
    while wanted.iter().any(|&n| n > 0) {
        let mut choice: Option<(f64, Layout, Vec<u32>)> = None;
        for (kind, &there) in stock.iter().enumerate() {
            if there == 0 {
                continue;
            }
            let mut ways = vec![];
            let mut left = wanted.clone();
            filler.fill(kind, order, &mut left, rules);
            meter.spend(filler.take_work());
            ways.push((filler.layout(), left));
            if model.class == CutClass::Free {
                let mut left = wanted.clone();
                let (layout, work) = free::fill(model, kind, order, &mut left, rules);
                meter.spend(work + 5);
                ways.push((layout, left));
            }
            for (layout, left) in ways {
                if layout.placed.is_empty() {
                    continue;
                }
                let area: i64 = layout.placed.iter().map(|s| s.rect.area()).sum();
                let dear = layout.cost as f64 / area as f64;
                if left.iter().all(|&n| n == 0) {
                    ended.offer(&plan, &layout);
                }
                if choice.as_ref().is_none_or(|(least, _, _)| dear < *least) {
                    choice = Some((dear, layout, left));
                }
            }
        }
        let (_, layout, left) = choice?;
        stock[layout.kind] -= 1;
        wanted = left;
        plan.push(layout);
        if !meter.goes_on() && plan.len() > 10_000 {
            return None;
        }
    }
    ended.best_with(plan)
}

/// Plans that a sheet would end which is not the cheapest for what it holds, but holds all that is left.
#[derive(Default)]
pub(super) struct Ended(Option<(i128, Plan)>);

impl Ended {
    pub fn offer(&mut self, before: &[Layout], last: &Layout) {
        let cost = before.iter().map(|sheet| sheet.cost).sum::<i128>() + last.cost;
        if self.0.as_ref().is_none_or(|(least, _)| cost < *least) {
            self.0 = Some((cost, before.iter().chain([last]).cloned().collect()));
        }
    }

    /// The best of them and this plan.
    pub fn best_with(self, plan: Plan) -> Option<Plan> {
        let cost = rank(&plan).0;
        Some(self.0.filter(|(least, _)| *least < cost).map_or(plan, |(_, ended)| ended))
    }
}

/// A fixed sequence that looks random (xorshift): the same on every machine and in every run.
pub(super) struct Dice(u64);

impl Dice {
    pub fn new() -> Self {
        Self(0x9E37_79B9_7F4A_7C15)
    }

    pub fn bits(&mut self) -> u64 {
        self.below(u64::MAX)
    }

    /// From 0 to below 1.
    pub fn share(&mut self) -> f64 {
        self.below(1 << 20) as f64 / f64::from(1 << 20)
    }

    pub fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        if n == 0 { 0 } else { (self.0 >> 11) % n }
    }
}
