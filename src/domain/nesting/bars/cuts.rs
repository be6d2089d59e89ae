//! Cuts that fractions of bars violate: which multipliers to try.
//!
//! Rows of one, two or three types with the multiplier ½ are the subset-row cuts of Jepsen, Petersen, Spoorendonk and
//! Pisinger (2008, "Subset-row inequalities applied to the vehicle-routing problem with time windows"); other multipliers
//! are read off the simplex tableau as in Gomory (1958) and rounded to small denominators, so that they stay exact.

use std::collections::HashSet;

use super::{
    lp::Lp,
    rows::{Bar, Cut},
};

const DENOMINATORS: [i64; 8] = [2, 3, 4, 5, 6, 7, 8, 12];
/// By how much a cut must be violated to be worth a row.
const WORTH: f64 = 0.02;
/// More types than this in broken bars are not tried three by three.
const MOST_BY_THREES: usize = 48;

/// Cuts that `solution` violates, the most violated first, at most `most`; and the work of finding them. A thorough
/// search tries types three by three.
pub(super) fn separate(
    solution: &[(Bar<'_>, f64)],
    demand: &[u32],
    lp: &Lp,
    known: &HashSet<Cut>,
    (most, thorough): (usize, bool),
) -> (Vec<Cut>, u64) {
    let broken: Vec<(Bar, f64)> = solution.iter().filter(|(_, x)| (x - x.round()).abs() > 1e-6).copied().collect();
    let mut types: Vec<u16> = broken.iter().flat_map(|(bar, _)| bar.items.iter().map(|&(t, _)| t)).collect();
    types.sort_unstable();
    types.dedup();
    let counts = (0..demand.len()).map(|t| counts(solution, t as u16)).collect();
    let times = solution.iter().map(|(_, x)| *x).collect();
    let mut found = Found { solution, counts, times, demand, known, cuts: Vec::new(), work: 0 };
    for (i, &a) in types.iter().enumerate() {
        found.halves(&[a]);
        for (j, &b) in types.iter().enumerate().skip(i + 1) {
            found.halves(&[a, b]);
            if thorough && types.len() <= MOST_BY_THREES {
                for &c in &types[j + 1..] {
                    found.halves(&[a, b, c]);
                }
            }
        }
    }
    for line in lp.fractional_lines() {
        for denominator in DENOMINATORS {
            for sign in [1.0, -1.0] {
                let parts = (line[..demand.len()].iter().zip(demand))
                    .map(|(&u, &n)| if n == 0 { 0 } else { (sign * u * denominator as f64).round() as i64 })
                    .map(|u| u.rem_euclid(denominator))
                    .collect();
                found.offer(Cut { parts, denominator });
            }
        }
    }
    let mut cuts = found.cuts;
    cuts.sort_by(|(v, a), (w, b)| w.total_cmp(v).then_with(|| a.parts.cmp(&b.parts)));
    let mut seen = HashSet::new();
    let mut chosen = Vec::new();
    for (_, cut) in cuts {
        if chosen.len() < most && seen.insert(cut.clone()) {
            chosen.push(cut);
        }
    }
    (chosen, found.work)
}

/// How many of a type are on each bar of the solution.
fn counts(solution: &[(Bar<'_>, f64)], t: u16) -> Vec<u32> {
    solution.iter().map(|(bar, _)| bar.items.iter().find(|(u, _)| *u == t).map_or(0, |&(_, n)| n)).collect()
}

struct Found<'a> {
    solution: &'a [(Bar<'a>, f64)],
    counts: Vec<Vec<u32>>,
    times: Vec<f64>,
    demand: &'a [u32],
    known: &'a HashSet<Cut>,
    cuts: Vec<(f64, Cut)>,
    work: u64,
}

impl Found<'_> {
    /// The multiplier ½ on these types, tried without building the cut.
    fn halves(&mut self, types: &[u16]) {
        let most = types.iter().map(|&t| self.demand[usize::from(t)]).sum::<u32>() / 2;
        let nothing: &[u32] = &[];
        let rows = [0, 1, 2].map(|i| types.get(i).map_or(nothing, |&t| &self.counts[usize::from(t)]));
        let taken: f64 = match types.len() {
            1 => rows[0].iter().zip(&self.times).map(|(a, x)| f64::from(a / 2) * x).sum(),
            2 => rows[0].iter().zip(rows[1]).zip(&self.times).map(|((a, b), x)| f64::from((a + b) / 2) * x).sum(),
            _ => (rows[0].iter().zip(rows[1]).zip(rows[2]).zip(&self.times))
                .map(|(((a, b), c), x)| f64::from((a + b + c) / 2) * x)
                .sum(),
        };
        self.work += self.times.len() as u64;
        if taken > f64::from(most) + WORTH {
            let mut parts = vec![0; self.demand.len()];
            types.iter().for_each(|&t| parts[usize::from(t)] = 1);
            self.offer(Cut { parts, denominator: 2 });
        }
    }

    fn offer(&mut self, cut: Cut) {
        self.work += self.solution.len() as u64 * 4;
        let taken: f64 = self.solution.iter().map(|(bar, x)| cut.takes(bar.items) as f64 * x).sum();
        let violation = taken - cut.most(self.demand) as f64;
        if violation > WORTH && !self.known.contains(&cut) {
            let support = cut.parts.iter().filter(|&&u| u > 0).count();
            self.cuts.push((violation / (1.0 + support as f64).sqrt(), cut));
        }
    }
}
