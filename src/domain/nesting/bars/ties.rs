//! Among plans of equal net cost the handiest: fewer pieces, then fewer patterns, then the longer kept remainders.
//!
//! First the parts of two patterns at a time are divided anew while that helps; then, where the columns that an optimal plan
//! can use are few, all optimal plans are gone through, and only then the choice is proven.

use std::{
    cmp::Reverse,
    collections::{BTreeMap, HashSet},
};

use super::{
    columns::Prices,
    first::{Left, Plan},
    list::{List, Lister},
    model::{Column, Model},
    relax::{Pool, relax},
};
use crate::nesting::{Meter, Ties};

/// Ways to divide two patterns' parts that are looked at.
const DIVISIONS: usize = 4_096;
/// Columns among which all optimal plans are gone through.
const MOST_COLUMNS: usize = 4_000;
/// The share of work for this beside what the proof took.
const LEAST_WORK: u64 = 10_000;

/// The plan of this cost that is handiest, and how sure that is. `optimal`: it is proven that no plan costs less; `root`: the
/// first prices of that proof and what they prove, where it needed any.
pub(super) fn handiest(
    model: &Model,
    plan: Plan,
    optimal: bool,
    root: Option<(Prices, i128)>,
    meter: &mut Meter,
) -> (Plan, Ties) {
    let work = LEAST_WORK + meter.spent() / 2;
    meter.within(work, |meter| {
        let mut patterns: Patterns = BTreeMap::new();
        plan.into_iter().for_each(|(column, n)| *patterns.entry(column).or_default() += n);
        // Pairs that were tried in vain wait for the next round, in which something else has changed.
        let mut helps = true;
        while helps {
            let mut barren = HashSet::new();
            helps = false;
            while divide_anew(model, &mut patterns, &mut barren, meter) {
                helps = true;
            }
        }
        let mut whole = None;
        if optimal {
            let (prices, bound) = root.unwrap_or_else(|| first_prices(model, &patterns, meter));
            whole = every_plan(model, &patterns, &prices, bound, meter);
        }
        let plain = model.types.iter().all(|t| t.parts.len() == 1) && model.kinds.iter().all(|k| k.stock.len() == 1);
        let ties = if whole.is_some() && plain { Ties::Proven } else { Ties::Searched };
        (whole.unwrap_or(patterns).into_iter().collect(), ties)
    })
}

fn first_prices(model: &Model, patterns: &Patterns, meter: &mut Meter) -> (Prices, i128) {
    let mut pool = Pool::default();
    patterns.keys().for_each(|column| {
        pool.add(column.clone());
    });
    let cost = cost(patterns) + i128::from(model.lattice);
    let relaxed = relax(model, &Left::all(model), &[], &mut pool, cost, 50, meter);
    (relaxed.prices, relaxed.bound)
}

fn cost(patterns: &Patterns) -> i128 {
    patterns.iter().map(|(column, &n)| i128::from(column.cost) * i128::from(n)).sum()
}

/// How many bars of each column.
type Patterns = BTreeMap<Column, u32>;

/// Less is handier.
fn order(model: &Model, patterns: &Patterns) -> (u32, usize, Reverse<Vec<i64>>) {
    let mut kept: Vec<i64> = (patterns.iter())
        .flat_map(|(column, &n)| remainder(model, column).into_iter().flat_map(move |r| (0..n).map(move |_| r)))
        .collect();
    kept.sort_unstable_by_key(|&r| Reverse(r));
    (patterns.values().sum(), patterns.len(), Reverse(kept))
}

fn remainder(model: &Model, column: &Column) -> Option<i64> {
    let kind = column.kind as usize;
    model.keeps(kind, column.used).then(|| model.kinds[kind].bears - model.kerf - column.used)
}

/// One step to a handier plan, over two patterns that are not yet known to be barren; false where there is none, or the work
/// ended.
fn divide_anew(model: &Model, patterns: &mut Patterns, barren: &mut HashSet<[Column; 2]>, meter: &mut Meter) -> bool {
    let columns: Vec<(Column, u32)> = patterns.iter().map(|(column, &n)| (column.clone(), n)).collect();
    for (at, (one, n)) in columns.iter().enumerate() {
        for (other, m) in &columns[at..] {
            let same = one == other;
            if same && *n < 2 || !barren.insert([one.clone(), other.clone()]) {
                continue;
            }
            let times = if same { n / 2 } else { *n.min(m) };
            for times in [times, 1] {
                if let Some(better) = divided(model, patterns, (one, other), times, meter) {
                    *patterns = better;
                    return true;
                }
                if !meter.goes_on() {
                    return false;
                }
                if times == 1 {
                    break;
                }
            }
        }
    }
    false
}

/// The patterns with so many pairs of these two divided anew, where that is handier and costs no more.
fn divided(
    model: &Model,
    patterns: &Patterns,
    (one, other): (&Column, &Column),
    times: u32,
    meter: &mut Meter,
) -> Option<Patterns> {
    let mut parts: BTreeMap<u16, u32> = BTreeMap::new();
    one.items.iter().chain(&other.items).for_each(|&(t, n)| *parts.entry(t).or_default() += n);
    let parts: Vec<(u16, u32)> = parts.into_iter().collect();
    let ways =
        parts.iter().try_fold(1_usize, |ways, &(_, n)| Some(ways * (n as usize + 1)).filter(|&w| w <= DIVISIONS))?;
    let cost = one.cost + other.cost;
    let taken = |column: &Column| times * (u32::from(column == one) + u32::from(column == other));
    let stays = |column: &Column| patterns.get(column).is_some_and(|&n| n > taken(column));
    let staying = patterns.len() - usize::from(!stays(one)) - usize::from(other != one && !stays(other));
    let before = |columns: &[&Column]| -> Vec<i64> {
        let mut kept: Vec<i64> = columns.iter().filter_map(|column| remainder(model, column)).collect();
        kept.sort_unstable_by_key(|&r| Reverse(r));
        kept
    };
    let now = Reverse(before(&[one, other]));
    let mut kinds = vec![(one.kind, Some(other.kind))];
    if one.kind != other.kind {
        kinds.push((other.kind, Some(one.kind)));
    }
    // All on one piece is fewer pieces.
    kinds.extend(
        (0..model.kinds.len() as u32)
            .filter(|&kind| {
                let freed = [one, other].iter().filter(|column| column.kind == kind).count() as u32 * times;
                free(model, patterns, kind) + freed >= times
            })
            .map(|kind| (kind, None)),
    );
    let (mut here, mut there) = (model.column(0, Vec::new()), model.column(0, Vec::new()));
    let weights: Vec<i64> = parts.iter().map(|&(t, n)| model.types[usize::from(t)].weight * i64::from(n)).collect();
    let all: i64 = weights.iter().sum();
    for (first, second) in kinds {
        let ways = if second.is_some() { ways } else { 1 };
        for way in 0..ways {
            meter.spend(parts.len() as u64);
            if !meter.goes_on() {
                return None;
            }
            // Most ways do not fit or cost more: that is known before any column is made.
            let mut rest = way;
            let mut beside = 0;
            for (&(_, n), &weight) in parts.iter().zip(&weights) {
                beside += weight / i64::from(n) * (rest % (n as usize + 1)) as i64;
                rest /= n as usize + 1;
            }
            let fits = |kind: u32, used: i64| used <= model.kinds[kind as usize].bears;
            let used = all - beside;
            if used == 0 || !fits(first, used) || second.is_some_and(|kind| beside == 0 || !fits(kind, beside)) {
                continue;
            }
            let costs = model.cost(first as usize, used) + second.map_or(0, |kind| model.cost(kind as usize, beside));
            if costs > cost {
                continue;
            }
            let (mut items, mut others) = (std::mem::take(&mut here.items), std::mem::take(&mut there.items));
            items.clear();
            others.clear();
            rest = way;
            for &(t, n) in &parts {
                let m = if second.is_some() { (rest % (n as usize + 1)) as u32 } else { 0 };
                rest /= n as usize + 1;
                if n > m {
                    items.push((t, n - m));
                }
                if m > 0 {
                    others.push((t, m));
                }
            }
            here = model.column(first as usize, items);
            there = model.column(second.unwrap_or(first) as usize, others);
            let both = if second.is_some() { &[&here, &there][..] } else { &[&here][..] };
            let new = both.iter().filter(|column| !stays(column)).count();
            let new = if both.len() == 2 && here == *both[1] { new.min(1) } else { new };
            let is_better = costs < cost || (both.len(), staying + new) < (2, patterns.len()) || {
                (both.len(), staying + new) == (2, patterns.len()) && Reverse(before(both)) < now
            };
            if is_better {
                let mut better = patterns.clone();
                [one, other].into_iter().for_each(|column| take(&mut better, column, times));
                both.iter().for_each(|&column| *better.entry(column.clone()).or_default() += times);
                return Some(better);
            }
        }
    }
    None
}

fn take(patterns: &mut Patterns, column: &Column, times: u32) {
    if let Some(n) = patterns.get_mut(column) {
        *n -= times.min(*n);
        if *n == 0 {
            patterns.remove(column);
        }
    }
}

/// Pieces of a kind that no pattern uses.
fn free(model: &Model, patterns: &Patterns, kind: u32) -> u32 {
    let used: u32 = patterns.iter().filter(|(column, _)| column.kind == kind).map(|(_, n)| n).sum();
    model.kinds[kind as usize].quantity.saturating_sub(used)
}

/// The handiest of all plans of this cost; `None` where there are too many to go through.
fn every_plan(model: &Model, plan: &Patterns, prices: &Prices, bound: i128, meter: &mut Meter) -> Option<Patterns> {
    let cost = cost(plan);
    let slack = i64::try_from(cost - bound).ok()?;
    let left = Left::all(model);
    let list = Lister::new(model, prices, &left.demand, meter)?.within(slack, MOST_COLUMNS, meter)?;
    let mut by_heaviest: Vec<Vec<usize>> = vec![Vec::new(); model.types.len()];
    let mut reduced = Vec::with_capacity(list.len());
    for place in 0..list.len() {
        let bar = list.bar(place as u32);
        let value: i64 = bar.items.iter().map(|&(t, n)| prices.types[usize::from(t)] * i64::from(n)).sum();
        let extra = if bar.kept { prices.kept[bar.kind] } else { prices.full[bar.kind] };
        reduced.push(list.costs[place] + extra - value);
        by_heaviest[usize::from(bar.items[0].0)].push(place);
    }
    let longest = model.kinds.iter().map(|kind| kind.bears).max()?;
    let weight = model.types.iter().map(|t| t.weight * i64::from(t.demand)).sum();
    let handiest = (order(model, plan), plan.clone());
    let mut walk =
        Walk { model, list, by_heaviest, reduced, slack, cost, longest, weight, left, taken: Vec::new(), handiest };
    walk.go((0, 0), (0, 0), meter).then_some(walk.handiest.1)
}

/// Through all plans of one cost: the heaviest part that is left lies on some bar.
struct Walk<'a> {
    model: &'a Model,
    list: List,
    by_heaviest: Vec<Vec<usize>>,
    /// Reduced cost of each column of the list.
    reduced: Vec<i64>,
    /// The most that a plan's reduced costs sum to.
    slack: i64,
    cost: i128,
    longest: i64,
    /// Of the parts that are left.
    weight: i64,
    left: Left,
    taken: Vec<usize>,
    handiest: ((u32, usize, Reverse<Vec<i64>>), Patterns),
}

impl Walk<'_> {
    /// `from`: the type and the place in its columns from which on to choose, so that bars cut alike are taken once only;
    /// then the reduced and the plain cost so far. False when the work ended.
    fn go(&mut self, (type_before, from): (usize, usize), (reduced, cost): (i64, i128), meter: &mut Meter) -> bool {
        let Some(heaviest) = self.left.demand.iter().position(|&n| n > 0) else {
            if cost == self.cost {
                self.offer();
            }
            return true;
        };
        let least_bars =
            self.taken.len() as i64 + self.weight.div_euclid(self.longest) + i64::from(self.weight % self.longest > 0);
        if least_bars > i64::from(self.handiest.0.0) {
            return true;
        }
        let from = if heaviest == type_before { from } else { 0 };
        for at in from..self.by_heaviest[heaviest].len() {
            if !meter.spend(6) {
                return false;
            }
            let place = self.by_heaviest[heaviest][at];
            let kind = self.list.kinds[place] as usize;
            let fits = self.left.stock[kind] > 0
                && self.list.items(place).iter().all(|&(t, n)| n <= self.left.demand[usize::from(t)]);
            let reduced = reduced + self.reduced[place];
            if !fits || reduced > self.slack {
                continue;
            }
            self.step(place, true);
            let whole = self.go((heaviest, at), (reduced, cost + i128::from(self.list.costs[place])), meter);
            self.step(place, false);
            if !whole {
                return false;
            }
        }
        true
    }

    fn step(&mut self, place: usize, there: bool) {
        let kind = self.list.kinds[place] as usize;
        for &(t, n) in self.list.items(place) {
            let t = usize::from(t);
            let weight = self.model.types[t].weight * i64::from(n);
            if there {
                self.left.demand[t] -= n;
                self.weight -= weight;
            } else {
                self.left.demand[t] += n;
                self.weight += weight;
            }
        }
        if there {
            self.left.stock[kind] -= 1;
            self.taken.push(place);
        } else {
            self.left.stock[kind] += 1;
            self.taken.pop();
        }
    }

    fn offer(&mut self) {
        if self.taken.len() > self.handiest.0.0 as usize {
            return;
        }
        let mut patterns = Patterns::new();
        for &place in &self.taken {
            *patterns.entry(self.list.column(self.model, place)).or_default() += 1;
        }
        let order = order(self.model, &patterns);
        if order < self.handiest.0 {
            self.handiest = (order, patterns);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        measure::{Money, Tenths},
        nesting::{
            Budget, Ties,
            bars::{Part, Problem, Stock, solve},
            unwatched,
        },
    };

    fn problem(bar_mm: i64, parts: &[(i64, u32)]) -> Problem {
        let parts = parts.iter().enumerate();
        Problem {
            kerf: Tenths(0),
            end_trim: Tenths(0),
            keep_offcut: Tenths(1000),
            stock: vec![Stock {
                id: "bar".into(),
                length: Tenths(bar_mm * 10),
                quantity: None,
                cost: Some(Money(10.into())),
                offcut_value_per_m: Money(1.into()),
                end_trim: None,
            }],
            parts: parts.map(|(i, &(mm, n))| Part::square(format!("p{i}"), Tenths(mm * 10), n)).collect(),
        }
    }

    fn remainders(problem: &Problem) -> (Vec<i64>, u32, Ties) {
        let answer = solve(problem, Budget::full(), &mut unwatched).unwrap();
        let mut kept: Vec<i64> =
            answer.plan.iter().flat_map(|bar| (0..bar.count).map(|_| bar.remainder.0 / 10)).collect();
        kept.sort_unstable_by_key(|&r| Reverse(r));
        (kept, answer.patterns, answer.ties)
    }

    /// By hand: 2 × 2000 and 2 × 1000 on bars of 4000 with a worth for kept remainders: two bars either way; 2000 + 2000 and
    /// 1000 + 1000 keep one remainder of 2000 in one piece, 2000 + 1000 twice keeps two of 1000 in one pattern.
    #[test]
    fn fewer_patterns_come_before_longer_remainders() {
        assert_eq!(remainders(&problem(4000, &[(2000, 2), (1000, 2)])), (vec![1000, 1000], 1, Ties::Proven));
    }

    /// By hand: 1900 + 1700 + 1100 + 900 on two bars of 4000 are two patterns however they are divided; with the first two
    /// on one bar the other keeps 2000.
    #[test]
    fn longer_remainders_come_last() {
        let (kept, patterns, ties) = remainders(&problem(4000, &[(1900, 1), (1700, 1), (1100, 1), (900, 1)]));
        assert_eq!((patterns, ties), (2, Ties::Proven));
        // 1900 + 1100 + 900 leave 100, which is just kept, and 1700 leaves 2300: the longest that there is.
        assert_eq!(kept, vec![2300, 100]);
    }
}
