//! Which number of bars to split a case by.

use std::{collections::BTreeMap, rc::Rc};

use super::{
    listed::{Case, Search},
    model::Model,
    rows::{Bar, Limit, Row},
};

/// Splits that are tried by a few steps of the dual simplex each.
const TRIES: usize = 8;
const STEPS: usize = 12;

/// A split: bars that count, and how many of them the solution uses.
#[derive(Clone)]
pub(super) struct Split {
    kinds: Rc<[usize]>,
    kept: Option<bool>,
    holding: Rc<[(u16, u32)]>,
    bars: f64,
}

impl Split {
    pub fn limits(&self) -> [Limit; 2] {
        let count = (self.bars + 1e-9).floor() as i64;
        [(false, count), (true, count + 1)].map(|(at_least, count)| Limit {
            kinds: self.kinds.clone(),
            kept: self.kept,
            holding: self.holding.clone(),
            at_least,
            count,
        })
    }
}

/// How far a number of bars is from whole; `None` where it is whole.
fn broken(x: f64) -> Option<f64> {
    let part = (x - x.round()).abs();
    (part > 1e-5).then_some(part)
}

/// The broken numbers of bars of each kind, of the kinds together, and of those that keep a remainder: opening a bar is
/// the fixed charge that makes the relaxation weak, and keeping a remainder undoes part of it.
pub(super) fn of_kinds(model: &Model, bars: &[(Bar, f64)]) -> Vec<Split> {
    let kinds = model.kinds.len();
    // Where remainders are worth nothing, to keep them matters only as bars of one kind that are filled to the end.
    let worth = |k: &usize| model.kinds[*k].value > 0 || kinds == 1;
    let everything: Rc<[usize]> = (0..kinds).collect();
    let unlimited: Rc<[usize]> = (0..kinds).filter(|&k| !model.kinds[k].limited).collect();
    let mut groups: Vec<(Rc<[usize]>, Option<bool>)> = vec![(unlimited.clone(), None)];
    groups.extend(unlimited.iter().map(|&k| (Rc::from([k]), None)));
    groups.push((everything.clone(), None));
    groups.push((unlimited.iter().copied().filter(worth).collect(), Some(true)));
    groups.push(((0..kinds).filter(worth).collect(), Some(true)));
    groups.extend(unlimited.iter().copied().filter(worth).map(|k| (Rc::from([k]), Some(true))));
    let first = groups.len();
    for k in (0..kinds).filter(|&k| model.kinds[k].limited) {
        groups.push((Rc::from([k]), None));
        if worth(&k) {
            groups.push((Rc::from([k]), Some(true)));
        }
    }
    let mut splits = Vec::new();
    for (at, (kinds, kept)) in groups.into_iter().enumerate() {
        let limit = Limit { kinds, kept, holding: Rc::new([]), at_least: true, count: 0 };
        let sum = bars.iter().filter(|(bar, _)| limit.counts(*bar)).map(|(_, x)| x).sum();
        if let Some(part) = broken(sum) {
            splits.push((at.min(first), -part, Split { kinds: limit.kinds, kept, holding: limit.holding, bars: sum }));
        }
    }
    splits.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    splits.into_iter().map(|(.., split)| split).collect()
}

/// Two limits that the case's solution does not satisfy, the more promising last; `None` where it is whole.
pub(super) fn choose(search: &mut Search<'_, '_, '_>, case: &Case) -> Option<[Limit; 2]> {
    let bars = case.used(&search.list);
    let mut tries = of_kinds(search.model, &bars);
    tries.truncate(TRIES / 2);
    if tries.len() < TRIES / 2 {
        tries.extend(together(search.model, &bars));
        tries.truncate(TRIES);
    }
    if tries.is_empty() {
        tries.push(alone(&bars)?);
    }
    let objective = case.lp.objective();
    let single = tries.len() == 1;
    let mut best: Option<(f64, [(f64, Limit); 2])> = None;
    for split in tries {
        let gains = split.limits().map(|limit| {
            if single {
                return (0.0, limit);
            }
            let mut tried = case.clone();
            let excuse = (10.0 * objective.abs().max(1.0) * case.rows.unit) as i128;
            tried.add_row(&search.list, Row::Limit(limit.clone()), excuse);
            tried.lp.dual_within(STEPS);
            search.meter.spend(tried.lp.take_work() / 4 + 100);
            ((tried.lp.objective() - objective).max(0.0), limit)
        });
        let small = 1e-7 * objective.abs().max(1.0);
        let score = (gains[0].0 + small) * (gains[1].0 + small);
        if best.as_ref().is_none_or(|(most, _)| score > *most) {
            best = Some((score, gains));
        }
    }
    let (_, [one, other]) = best?;
    Some(if one.0 <= other.0 { [other.1, one.1] } else { [one.1, other.1] })
}

/// Numbers of bars that hold two things together, or many of one, as Ryan and Foster (1981) and Vanderbeck (2000) branch;
/// the most broken and heaviest first.
fn together(model: &Model, bars: &[(Bar, f64)]) -> Vec<Split> {
    let everything: Rc<[usize]> = (0..model.kinds.len()).collect();
    let mut sums: BTreeMap<Vec<(u16, u32)>, f64> = BTreeMap::new();
    for (bar, _) in bars.iter().filter(|(_, x)| broken(*x).is_some()) {
        for (i, &a) in bar.items.iter().enumerate() {
            if a.1 > 1 {
                sums.insert(vec![a], 0.0);
            }
            for &b in &bar.items[i + 1..] {
                sums.insert(vec![a, b], 0.0);
                sums.insert(vec![(a.0, 1), (b.0, 1)], 0.0);
            }
        }
    }
    let longest = model.kinds.iter().map(|k| k.bears).max().unwrap_or(1) as f64;
    let mut scored = Vec::new();
    for (holding, _) in sums {
        let weight: i64 = holding.iter().map(|&(t, n)| model.types[usize::from(t)].weight * i64::from(n)).sum();
        let limit = Limit { kinds: everything.clone(), kept: None, holding: holding.into(), at_least: true, count: 0 };
        let sum: f64 = bars.iter().filter(|(bar, _)| limit.counts(*bar)).map(|(_, x)| x).sum();
        if let Some(part) = broken(sum) {
            let score = part * (0.3 + weight as f64 / longest);
            scored.push((score, Split { kinds: limit.kinds, kept: None, holding: limit.holding, bars: sum }));
        }
    }
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    scored.into_iter().map(|(_, split)| split).collect()
}

/// A broken bar that no other used bar of its kind contains: its own number is broken.
fn alone(bars: &[(Bar, f64)]) -> Option<Split> {
    let size = |bar: &Bar| bar.items.iter().map(|&(_, n)| n).sum::<u32>();
    let (bar, _) = bars.iter().filter(|(_, x)| broken(*x).is_some()).max_by_key(|(bar, _)| size(bar))?;
    let kept = Some(bar.kept);
    let limit = Limit { kinds: Rc::from([bar.kind]), kept, holding: bar.items.into(), at_least: true, count: 0 };
    let sum = bars.iter().filter(|(bar, _)| limit.counts(*bar)).map(|(_, x)| x).sum();
    broken(sum)?;
    Some(Split { kinds: limit.kinds, kept, holding: limit.holding, bars: sum })
}
