//! Which columns are worth having at given prices: one bounded knapsack over weights prices every kind of piece at once.
//!
//! Prices are integers, so the least reduced cost that comes out is exact. A column's cost never falls with the weight
//! used, so of two fillings the lighter and dearer-priced one dominates, whatever the piece: only undominated fillings
//! are kept, sorted by weight.

use super::model::{Column, Model};
use crate::domain::nesting::Meter;

/// Integer prices: of each type, and what each kind's limits add to its columns' cost.
#[derive(Clone, Debug)]
pub(super) struct Prices {
    pub types: Vec<i64>,
    pub kinds: Vec<i64>,
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

/// The undominated fillings, lightest first, the empty one in front.
pub(super) struct Frontier {
    fillings: Vec<Filling>,
    steps: Vec<Step>,
}

impl Frontier {
    fn empty() -> Self {
        Self { fillings: vec![Filling { used: 0, value: 0, trace: u32::MAX }], steps: Vec::new() }
    }

    pub fn of(model: &Model, values: &[i64], demand: &[u32], meter: &mut Meter) -> Self {
        let bears = model.kinds.iter().map(|k| k.bears).max().unwrap_or(0);
        let mut frontier = Self::empty();
        for (t, (&value, &demand)) in values.iter().zip(demand).enumerate() {
            frontier.widen(t as u16, model.types[t].weight, value, demand, bears, meter);
        }
        frontier
    }

    /// Allows up to `demand` of a type too.
    fn widen(&mut self, t: u16, weight: i64, value: i64, demand: u32, bears: i64, meter: &mut Meter) {
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
            self.merge(t, n, weight * n, value * n, bears);
            meter.spend(self.fillings.len() as u64);
        }
    }

    fn merge(&mut self, t: u16, n: i64, weight: i64, value: i64, bears: i64) {
        let old = std::mem::take(&mut self.fillings);
        let mut merged: Vec<Filling> = Vec::with_capacity(old.len() * 2);
        let mut plain = old.iter().peekable();
        let mut more = old.iter().take_while(|f| f.used + weight <= bears).peekable();
        let mut best = i64::MIN;
        loop {
            let take_plain = match (plain.peek(), more.peek()) {
                (None, None) => break,
                (Some(_), None) => true,
                (None, Some(_)) => false,
                (Some(a), Some(b)) => (a.used, -a.value) <= (b.used + weight, -(b.value + value)),
            };
            if take_plain {
                if let Some(&f) = plain.next()
                    && f.value > best
                {
                    best = f.value;
                    merged.push(f);
                }
            } else if let Some(f) = more.next()
                && f.value + value > best
            {
                best = f.value + value;
                self.steps.push(Step { before: f.trace, t, n: n as u32 });
                let trace = self.steps.len() as u32 - 1;
                merged.push(Filling { used: f.used + weight, value: best, trace });
            }
        }
        self.fillings = merged;
    }

    /// The greatest value of a filling within this weight.
    fn most(&self, within: i64) -> i64 {
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

/// The least reduced cost of each kind (never above that of a filling nobody pays for) and the column that has it.
pub(super) struct Priced {
    pub least: Vec<i64>,
    pub columns: Vec<(i64, Column)>,
}

pub(super) fn price(model: &Model, prices: &Prices, demand: &[u32], meter: &mut Meter) -> Priced {
    let frontier = Frontier::of(model, &prices.types, demand, meter);
    let lightest = model.types.last().map_or(0, |t| t.weight);
    let mut by_worth: Vec<(i64, Vec<usize>)> = Vec::new();
    let mut priced = Priced { least: Vec::with_capacity(model.kinds.len()), columns: Vec::new() };
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
        let mut least = model.cost(place, lightest) + prices.kinds[place];
        let mut choice = None;
        let prefix = by_worth.iter().find(|(value, _)| *value == kind.value).map(|(_, prefix)| prefix);
        let within = |used: i64| frontier.fillings.partition_point(|f| f.used <= used);
        let kept = within(kind.bears - model.kerf - model.keep);
        let kept = prefix.and_then(|p| kept.checked_sub(1).map(|at| p[at]));
        let full = within(kind.bears).checked_sub(1);
        for at in [kept, full].into_iter().flatten().filter(|&at| at > 0) {
            let filling = &frontier.fillings[at];
            let reduced = model.cost(place, filling.used) + prices.kinds[place] - filling.value;
            if reduced < least {
                least = reduced;
                choice = Some(filling);
            }
        }
        if let Some(filling) = choice {
            priced.columns.push((least, model.column(place, frontier.items(filling))));
        }
        priced.least.push(least);
    }
    meter.spend(model.kinds.len() as u64 * 4);
    priced
}

/// Every column of these kinds with a reduced cost of at most `within`; `None` when there are more than `most`.
pub(super) fn within(
    model: &Model,
    prices: &Prices,
    demand: &[u32],
    stock: &[u32],
    within: i64,
    most: usize,
    meter: &mut Meter,
) -> Option<Vec<Column>> {
    let mut found = Vec::new();
    let mut worths: Vec<i64> = Vec::new();
    for kind in &model.kinds {
        if !worths.contains(&kind.value) {
            worths.push(kind.value);
        }
    }
    for value in worths {
        let net: Vec<i64> =
            prices.types.iter().zip(&model.types).map(|(&p, t)| p - value.saturating_mul(t.weight)).collect();
        let full = suffixes(model, &prices.types, demand, meter)?;
        let kept = suffixes(model, &net, demand, meter)?;
        for (place, kind) in model.kinds.iter().enumerate().filter(|&(k, _)| stock[k] > 0) {
            if kind.value != value {
                continue;
            }
            let mut listing = Listing {
                model,
                prices,
                demand,
                kind: place,
                within,
                most,
                full: &full,
                kept: &kept,
                found: &mut found,
                items: Vec::new(),
                work: 0,
            };
            let whole = listing.list(0, 0, 0, meter);
            meter.spend(listing.work);
            if !whole {
                return None;
            }
        }
    }
    Some(found)
}

/// The frontiers of the types from each place on.
fn suffixes(model: &Model, values: &[i64], demand: &[u32], meter: &mut Meter) -> Option<Vec<Frontier>> {
    let bears = model.kinds.iter().map(|k| k.bears).max().unwrap_or(0);
    let mut frontiers = vec![Frontier::empty()];
    let mut whole = Frontier::empty();
    let mut size = 0;
    for t in (0..model.types.len()).rev() {
        whole.widen(t as u16, model.types[t].weight, values[t], demand[t], bears, meter);
        whole.steps.clear();
        size += whole.fillings.len();
        if size > 8_000_000 || !meter.goes_on() {
            return None;
        }
        frontiers.push(Frontier { fillings: whole.fillings.clone(), steps: Vec::new() });
    }
    frontiers.reverse();
    Some(frontiers)
}

struct Listing<'a> {
    model: &'a Model,
    prices: &'a Prices,
    demand: &'a [u32],
    kind: usize,
    within: i64,
    most: usize,
    full: &'a [Frontier],
    kept: &'a [Frontier],
    found: &'a mut Vec<Column>,
    items: Vec<(u16, u32)>,
    work: u64,
}

impl Listing<'_> {
    fn list(&mut self, t: usize, used: i64, value: i64, meter: &mut Meter) -> bool {
        self.work += 12;
        let kind = &self.model.kinds[self.kind];
        let extra = self.prices.kinds[self.kind];
        if t == self.model.types.len() {
            if !self.items.is_empty() && self.model.cost(self.kind, used) + extra - value <= self.within {
                if self.found.len() >= self.most {
                    return false;
                }
                self.found.push(self.model.column(self.kind, self.items.clone()));
            }
            return true;
        }
        let most = value + self.full[t].most(kind.bears - used) - kind.cost;
        let longest_kept = kind.bears - self.model.kerf - self.model.keep;
        let most = if used <= longest_kept {
            let net = value - kind.value * used + self.kept[t].most(longest_kept - used);
            most.max(net - kind.cost + kind.value * (kind.bears - self.model.kerf))
        } else {
            most
        };
        if extra - most > self.within {
            return true;
        }
        if self.work > 50_000 {
            if !meter.spend(self.work) {
                return false;
            }
            self.work = 0;
        }
        let (weight, price) = (self.model.types[t].weight, self.prices.types[t]);
        let fits = i64::from(self.demand[t]).min((kind.bears - used) / weight);
        for n in (0..=fits).rev() {
            if n > 0 {
                self.items.push((t as u16, n as u32));
            }
            let whole = self.list(t + 1, used + n * weight, value + n * price, meter);
            if n > 0 {
                self.items.pop();
            }
            if !whole {
                return false;
            }
        }
        true
    }
}
