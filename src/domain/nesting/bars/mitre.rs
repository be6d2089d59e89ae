//! Shared mitre cuts: the parts of a bar ordered and laid so that neighbouring ends are one cut.
//!
//! A far end and the next near end share a cut when they have the same plane and angle and are parallel as laid: where
//! one part is longer the other is shorter, so their long points are on opposite sides. Turning a part end for end swaps
//! its ends; flipping it moves both long points to the other side. A shared cut frees
//! side × tan a + (kerf / cos a − kerf), rounded down to a tenth, side being the smaller section's size in that plane.
//!
//! The greatest gain is found by dynamic programming over how many of each form are laid and which end came last: parts
//! of one form differ in length alone, which does not matter here. Bars with too many forms for that are laid by nearest
//! neighbour, then improved by turning runs about and moving single parts.

use std::collections::HashMap;

use super::{End, Laid, LongPoint, Mitre, Plane, Problem};
use crate::measure::Tenths;

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Order {
    /// Places in the problem's list of parts, in cutting order.
    pub parts: Vec<usize>,
    /// `None` where every part is square.
    pub laid: Option<Vec<Laid>>,
    pub gain: Tenths,
}

/// Steps of the dynamic programme for one bar, and for all bars of a plan.
const MOST_STEPS: u64 = 2_000_000;
const MOST_STEPS_OF_PLAN: u64 = 20_000_000;
/// Chains with more parts than this are not improved.
const MOST_IMPROVED: usize = 300;

/// Lays the bars of one plan.
pub(super) struct Layer<'a> {
    problem: &'a Problem,
    /// Different ends as they can lie, and what a far one shares with a near one.
    gains: Vec<Vec<i64>>,
    /// Of each part, its form; `None` where it is square.
    forms: Vec<Option<usize>>,
    /// Of each form, the ways in which it can lie.
    ways: Vec<Vec<Way>>,
    /// The chains found, by how many of each form.
    known: HashMap<Vec<usize>, Chain>,
    steps: u64,
}

/// A way in which a form can lie: its ends by their places in `gains`.
#[derive(Clone, Copy, Debug)]
struct Way {
    near: usize,
    far: usize,
    laid: Laid,
}

/// (form, way) from the first to the last, and the gain.
#[derive(Clone, Debug, Default)]
struct Chain {
    links: Vec<(usize, usize)>,
    gain: i64,
}

impl<'a> Layer<'a> {
    pub fn new(problem: &'a Problem) -> Self {
        let mut mitres: Vec<&Mitre> = Vec::new();
        let forms = (problem.parts.iter())
            .map(|part| {
                let mitre = part.mitre.as_ref()?;
                Some(mitres.iter().position(|one| *one == mitre).unwrap_or_else(|| {
                    mitres.push(mitre);
                    mitres.len() - 1
                }))
            })
            .collect();
        let mut ends: Vec<(End, i64)> = Vec::new();
        let ways = mitres.iter().map(|mitre| ways(mitre, &mut ends)).collect();
        let shared = |far: &(End, i64), near: &(End, i64)| shared(problem.kerf.0, *far, *near);
        let gains = ends.iter().map(|far| ends.iter().map(|near| shared(far, near)).collect()).collect();
        Self { problem, gains, forms, ways, known: HashMap::new(), steps: 0 }
    }

    /// The form of a part: parts of one charged length and different forms may change places between bars.
    pub fn form(&self, part: usize) -> Option<usize> {
        self.forms[part]
    }

    pub fn has_mitres(&self) -> bool {
        !self.ways.is_empty()
    }

    /// The parts of one bar, mitred ones first.
    pub fn lay(&mut self, on_bar: &[usize]) -> Order {
        let mut counts = vec![0; self.ways.len()];
        let mut waiting: Vec<Vec<usize>> = vec![Vec::new(); self.ways.len()];
        // The last in the list is taken first.
        for &part in on_bar.iter().rev() {
            if let Some(form) = self.forms[part] {
                counts[form] += 1;
                waiting[form].push(part);
            }
        }
        if counts.iter().all(|&n| n == 0) {
            return Order { parts: on_bar.to_vec(), laid: None, gain: Tenths(0) };
        }
        let chain = self.chain(counts);
        let mut parts = Vec::with_capacity(on_bar.len());
        let mut laid = Vec::with_capacity(on_bar.len());
        for (at, &(form, way)) in chain.links.iter().enumerate() {
            let Some(part) = waiting[form].pop() else { continue };
            let way = self.ways[form][way];
            let next = chain.links.get(at + 1).map(|&(form, way)| self.ways[form][way].near);
            parts.push(part);
            laid.push(Laid { shares_next: next.is_some_and(|near| self.gains[way.far][near] > 0), ..way.laid });
        }
        for &part in on_bar.iter().filter(|&&part| self.problem.parts[part].mitre.is_none()) {
            parts.push(part);
            laid.push(Laid::default());
        }
        Order { parts, laid: Some(laid), gain: Tenths(chain.gain) }
    }

    pub fn gain(&mut self, on_bar: &[usize]) -> i64 {
        let mut counts = vec![0; self.ways.len()];
        for form in on_bar.iter().filter_map(|&part| self.forms[part]) {
            counts[form] += 1;
        }
        self.chain(counts).gain
    }

    fn chain(&mut self, counts: Vec<usize>) -> Chain {
        if let Some(chain) = self.known.get(&counts) {
            return chain.clone();
        }
        let here: Vec<usize> = (0..counts.len()).filter(|&form| counts[form] > 0).collect();
        let states = here.iter().try_fold(1_u64, |states, &form| states.checked_mul(counts[form] as u64 + 1));
        let ways: usize = here.iter().map(|&form| self.ways[form].len()).sum();
        let steps = states.and_then(|states| states.checked_mul((ways * ways) as u64)).unwrap_or(u64::MAX);
        let chain = if steps <= MOST_STEPS && self.steps + steps <= MOST_STEPS_OF_PLAN {
            self.steps += steps;
            self.greatest(&here, &counts, states.unwrap_or(1) as usize)
        } else {
            self.good(&here, &counts)
        };
        self.known.insert(counts, chain.clone());
        chain
    }

    /// The chain of the greatest gain: `best[state][way]` is that of the parts in `state` with this way at its end.
    fn greatest(&self, here: &[usize], counts: &[usize], states: usize) -> Chain {
        // Ways of all forms side by side; a state is a number with a digit for each form.
        let all: Vec<(usize, usize, usize)> = {
            let mut unit = 1;
            let mut all = Vec::new();
            for &form in here {
                all.extend((0..self.ways[form].len()).map(|way| (form, way, unit)));
                unit *= counts[form] + 1;
            }
            all
        };
        let digit = |state: usize, (form, _, unit): (usize, usize, usize)| state / unit % (counts[form] + 1);
        let lies = |(form, way, _): (usize, usize, usize)| self.ways[form][way];
        let mut best: Vec<Option<(i64, usize)>> = vec![None; states * all.len()];
        for state in 1..states {
            for (at, &way) in all.iter().enumerate() {
                if digit(state, way) == 0 {
                    continue;
                }
                let before = state - way.2;
                let mut found = (before == 0).then_some((0, at));
                for (last, &earlier) in all.iter().enumerate() {
                    let Some((gain, _)) = best[before * all.len() + last] else { continue };
                    let gain = gain + self.gains[lies(earlier).far][lies(way).near];
                    if found.is_none_or(|(most, _)| gain > most) {
                        found = Some((gain, last));
                    }
                }
                best[state * all.len() + at] = found;
            }
        }
        let mut state = states - 1;
        let ends = (0..all.len()).filter_map(|at| best[state * all.len() + at].map(|(gain, _)| (gain, at)));
        let Some((gain, mut at)) = ends.max_by_key(|&(gain, at)| (gain, std::cmp::Reverse(at))) else {
            return Chain::default();
        };
        let mut links = Vec::new();
        while let Some((_, last)) = best[state * all.len() + at] {
            let (form, way, unit) = all[at];
            links.push((form, way));
            state -= unit;
            at = last;
        }
        links.reverse();
        Chain { links, gain }
    }

    /// A chain by nearest neighbour from every form and way, the best improved.
    fn good(&self, here: &[usize], counts: &[usize]) -> Chain {
        let starts = here.iter().flat_map(|&form| (0..self.ways[form].len()).map(move |way| (form, way)));
        let chains = starts.map(|start| self.nearest(start, here, counts));
        let best = chains.reduce(|best, next| if next.gain > best.gain { next } else { best }).unwrap_or_default();
        self.improved(best)
    }

    fn nearest(&self, start: (usize, usize), here: &[usize], counts: &[usize]) -> Chain {
        let mut left = counts.to_vec();
        left[start.0] -= 1;
        let mut chain = Chain { links: vec![start], gain: 0 };
        let mut last = start;
        loop {
            let waiting = here.iter().filter(|&&form| left[form] > 0);
            let ways = waiting.flat_map(|&form| (0..self.ways[form].len()).map(move |way| (form, way)));
            let next = ways.map(|next| (self.between(last, next), next)).reduce(|a, b| if b.0 > a.0 { b } else { a });
            let Some((gain, next)) = next else { return chain };
            chain.gain += gain;
            chain.links.push(next);
            left[next.0] -= 1;
            last = next;
        }
    }

    fn between(&self, one: (usize, usize), next: (usize, usize)) -> i64 {
        self.gains[self.ways[one.0][one.1].far][self.ways[next.0][next.1].near]
    }

    fn total(&self, links: &[(usize, usize)]) -> i64 {
        links.windows(2).map(|pair| self.between(pair[0], pair[1])).sum()
    }

    /// The same form end for end.
    fn turned(&self, (form, way): (usize, usize)) -> (usize, usize) {
        let Way { near, far, .. } = self.ways[form][way];
        let turned = self.ways[form].iter().position(|other| (other.near, other.far) == (far, near));
        (form, turned.unwrap_or(way))
    }

    /// Turns runs about and moves single parts while that gains.
    fn improved(&self, chain: Chain) -> Chain {
        let Chain { mut links, mut gain } = chain;
        let n = links.len();
        if n > MOST_IMPROVED {
            return Chain { links, gain };
        }
        let mut better = true;
        let mut rounds = 0;
        while better && rounds < 20 {
            better = false;
            rounds += 1;
            for from in 0..n {
                for to in from + 1..=n {
                    let (first, last) = (links[from], links[to - 1]);
                    let before = |next| from.checked_sub(1).map_or(0, |at| self.between(links[at], next));
                    let behind = |last| links.get(to).map_or(0, |&next| self.between(last, next));
                    let now = before(first) + behind(last);
                    if before(self.turned(last)) + behind(self.turned(first)) > now {
                        let run: Vec<_> = links[from..to].iter().rev().map(|&link| self.turned(link)).collect();
                        links.splice(from..to, run);
                        better = true;
                    }
                }
            }
            for from in 0..n {
                let mut rest = links.clone();
                let (form, _) = rest.remove(from);
                let without = self.total(&rest);
                let mut best = (self.total(&links), None);
                for at in 0..n {
                    for way in 0..self.ways[form].len() {
                        let link = (form, way);
                        let before = at.checked_sub(1).map(|before| rest[before]);
                        let behind = rest.get(at).copied();
                        let broken = before.zip(behind).map_or(0, |(a, b)| self.between(a, b));
                        let joined =
                            before.map_or(0, |a| self.between(a, link)) + behind.map_or(0, |b| self.between(link, b));
                        let total = without - broken + joined;
                        if total > best.0 {
                            best = (total, Some((at, link)));
                        }
                    }
                }
                if let (_, Some((at, link))) = best {
                    rest.insert(at, link);
                    links = rest;
                    better = true;
                }
            }
            gain = self.total(&links);
        }
        Chain { links, gain }
    }
}

/// The ways in which a part may lie, each pair of ends once.
fn ways(mitre: &Mitre, ends: &mut Vec<(End, i64)>) -> Vec<Way> {
    let mut ways: Vec<Way> = Vec::new();
    let flips: &[bool] = if mitre.may_flip { &[false, true] } else { &[false] };
    for &flipped in flips {
        for turned in [false, true] {
            let mut place = |end: End| {
                let end = as_laid(end, flipped);
                let side = if end.plane == Plane::Depth { mitre.section_depth.0 } else { mitre.section_width.0 };
                ends.iter().position(|known| *known == (end, side)).unwrap_or_else(|| {
                    ends.push((end, side));
                    ends.len() - 1
                })
            };
            let (near, far) = (place(mitre.ends[usize::from(turned)]), place(mitre.ends[usize::from(!turned)]));
            if ways.iter().all(|way| (way.near, way.far) != (near, far)) {
                ways.push(Way { near, far, laid: Laid { turned, flipped, shares_next: false } });
            }
        }
    }
    ways
}

/// What is freed when a far end and the next near end are one cut; 0 where they cannot be.
fn shared(kerf: i64, (far, far_side): (End, i64), (near, near_side): (End, i64)) -> i64 {
    if far.angle_deg <= 0.0
        || far.angle_deg != near.angle_deg
        || far.plane != near.plane
        || far.long_point == near.long_point
    {
        return 0;
    }
    let angle = far.angle_deg.to_radians();
    let kerf = kerf as f64;
    // 45° gives a whole number; the guard keeps it from falling by a tenth through the tangent's last bit.
    (far_side.min(near_side) as f64 * angle.tan() + kerf / angle.cos() - kerf + 1e-7).floor() as i64
}

fn as_laid(end: End, flipped: bool) -> End {
    let long_point = match (end.long_point, flipped) {
        (LongPoint::Top, true) => LongPoint::Bottom,
        (LongPoint::Bottom, true) => LongPoint::Top,
        (point, false) => point,
    };
    End { long_point, ..end }
}

#[cfg(test)]
mod tests;
