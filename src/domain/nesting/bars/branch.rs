//! Which number of bars to split a case by.

use std::{collections::BTreeMap, rc::Rc};

use super::{
    listed::{Case, Search},
    rows::{Limit, Row},
};

/// Splits that are tried by a few steps of the dual simplex each.
const TRIES: usize = 10;
const STEPS: usize = 20;

type Holding = Vec<(u16, u32)>;

/// Two limits that no fraction of the case's solution satisfies, the more promising last; `None` where it is whole.
pub(super) fn choose(search: &mut Search<'_, '_, '_>, case: &Case) -> Option<[Limit; 2]> {
    let list = &search.list;
    let bars: Vec<(usize, &[(u16, u32)], f64)> = (case.lp.solution().into_iter())
        .filter(|&(j, _)| (case.places[j] as usize) < list.len())
        .map(|(j, x)| (list.kinds[case.places[j] as usize] as usize, list.items(case.places[j] as usize), x))
        .collect();
    let kinds = search.model.kinds.len();
    let everything: Rc<[usize]> = (0..kinds).collect();
    let unlimited: Rc<[usize]> = (0..kinds).filter(|&k| !search.model.kinds[k].limited).collect();
    let mut groups: Vec<Rc<[usize]>> = vec![unlimited, everything.clone()];
    groups.extend((0..kinds).map(|k| Rc::from([k])));
    // Whole numbers of bars first: opening a bar is the fixed charge that makes the relaxation weak.
    let mut tries: Vec<(f64, Rc<[usize]>, Holding, f64)> = Vec::new();
    for group in groups {
        let sum: f64 = bars.iter().filter(|(kind, ..)| group.contains(kind)).map(|(.., x)| x).sum();
        if let Some(broken) = broken(sum) {
            tries.push((broken * 4.0, group, Vec::new(), sum));
        }
    }
    if tries.iter().all(|(score, ..)| *score < 0.2) {
        tries.extend(together(search, &bars, &everything));
    }
    tries.sort_by(|a, b| b.0.total_cmp(&a.0));
    tries.truncate(TRIES);
    if tries.is_empty() {
        // A broken bar that no other used bar contains: its own number is broken.
        let bar = bars.iter().filter(|(.., x)| broken(*x).is_some()).max_by_key(|(_, items, _)| size(items))?;
        let group: Rc<[usize]> = Rc::from([bar.0]);
        let holding = bar.1.to_vec();
        let probe = Limit { kinds: group.clone(), holding: holding.clone().into(), at_least: true, count: 0 };
        let sum = bars.iter().filter(|(kind, items, _)| probe.counts(*kind, items)).map(|(.., x)| x).sum();
        broken(sum)?;
        tries.push((0.0, group, holding, sum));
    }
    let objective = case.lp.objective();
    let mut best: Option<(f64, [(f64, Limit); 2])> = None;
    let single = tries.len() == 1;
    for (_, kinds, holding, sum) in tries {
        let count = (sum + 1e-9).floor() as i64;
        let holding: Rc<[(u16, u32)]> = holding.into();
        let sides = [(false, count), (true, count + 1)]
            .map(|(at_least, count)| Limit { kinds: kinds.clone(), holding: holding.clone(), at_least, count });
        let gains = sides.map(|limit| {
            let mut gain = 0.0;
            if !single {
                let mut tried = case.clone();
                tried.add_row(&search.list, Row::Limit(limit.clone()), 1 << 40);
                let excuse = tried.lp.columns() - 1;
                if limit.at_least {
                    tried.lp.costs[excuse] = 10.0 * objective.abs().max(1.0);
                }
                tried.lp.dual_within(STEPS);
                search.meter.spend(tried.lp.take_work() / 4);
                gain = (tried.lp.objective() - objective).max(0.0);
            }
            (gain, limit)
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

/// How far a number of bars is from whole; `None` where it is whole.
fn broken(x: f64) -> Option<f64> {
    let part = (x - x.round()).abs();
    (part > 1e-5).then_some(part)
}

fn size(items: &[(u16, u32)]) -> u32 {
    items.iter().map(|&(_, n)| n).sum()
}

/// Numbers of bars that hold two things together, or many of one, as Ryan and Foster (1981) and Vanderbeck (2000) branch.
fn together(
    search: &Search<'_, '_, '_>,
    bars: &[(usize, &[(u16, u32)], f64)],
    everything: &Rc<[usize]>,
) -> Vec<(f64, Rc<[usize]>, Holding, f64)> {
    let mut sums: BTreeMap<Holding, f64> = BTreeMap::new();
    for (_, items, _) in bars.iter().filter(|(.., x)| broken(*x).is_some()) {
        for (i, &a) in items.iter().enumerate() {
            if a.1 > 1 {
                sums.insert(vec![a], 0.0);
            }
            for &b in &items[i + 1..] {
                sums.insert(vec![a, b], 0.0);
                sums.insert(vec![(a.0, 1), (b.0, 1)], 0.0);
            }
        }
    }
    for (holding, sum) in &mut sums {
        let holds = |items: &[(u16, u32)]| holding.iter().all(|&(t, n)| items.iter().any(|&(u, m)| u == t && m >= n));
        *sum = bars.iter().filter(|(_, items, _)| holds(items)).map(|(.., x)| x).sum();
    }
    let longest = search.model.kinds.iter().map(|k| k.bears).max().unwrap_or(1) as f64;
    let scored = sums.into_iter().filter_map(|(holding, sum)| {
        let weight: i64 = holding.iter().map(|&(t, n)| search.model.types[usize::from(t)].weight * i64::from(n)).sum();
        Some((broken(sum)? * (0.3 + weight as f64 / longest), everything.clone(), holding, sum))
    });
    scored.collect()
}
