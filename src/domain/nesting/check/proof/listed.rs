//! The ways of cutting that a plan below the goal can use, listed and shortened.

use std::rc::Rc;

use super::{
    figures::Figures,
    pricing::{DEEPEST, Frontier, Limit, MOST_STEPS, TooMuchWork, View},
};

/// Ways, and parts on them, that a list takes; entries of all its frontiers.
const MOST_WAYS: usize = 1_500_000;
const MOST_HELD: usize = 20_000_000;
const MOST_ENTRIES: usize = 4_000_000;

/// Every way of cutting that the goal leaves; cases below share it and use some of it.
#[derive(Default)]
pub struct List {
    /// Of each way its kind, whether it keeps its remainder, its net cost, and where its parts begin.
    ways: Vec<(u32, bool, i128, u32)>,
    held: Vec<(u32, u32)>,
}

/// A way to cut a piece.
#[derive(Clone, Copy)]
struct Way<'a> {
    kind: usize,
    kept: bool,
    cost: i128,
    held: &'a [(u32, u32)],
}

/// The ways of a list that are still in use.
#[derive(Clone)]
pub struct Listed {
    list: Rc<List>,
    ways: Rc<Vec<u32>>,
}

/// A cut with its price, ready to be looked up.
pub struct Cut {
    /// Numerators by length.
    pub parts: Vec<u32>,
    pub denominator: u32,
    pub price: i128,
}

impl Cut {
    fn takes(&self, held: &[(u32, u32)]) -> i128 {
        let sum: i128 = held.iter().map(|&(t, n)| i128::from(self.parts[t as usize]) * i128::from(n)).sum();
        sum / i128::from(self.denominator)
    }
}

/// Prices that ways are measured by.
pub struct Measure<'a> {
    pub parts: &'a [i128],
    pub limits: &'a [Limit<'a>],
    pub cuts: &'a [Cut],
}

impl Measure<'_> {
    /// Exact where it is at most `enough`; else anything above that.
    fn reduced(&self, way: Way<'_>, enough: i128, steps: &mut u64) -> i128 {
        let Way { kind, kept, cost, held } = way;
        let value: i128 = held.iter().map(|&(t, n)| self.parts[t as usize] * i128::from(n)).sum();
        let mut reduced = cost - value;
        *steps += held.len() as u64 + self.limits.len() as u64 + 1;
        for limit in self.limits {
            if limit.counts(kind) && limit.holds(kept, held) {
                reduced -= limit.price;
            }
        }
        // A cut only makes a way dearer.
        for cut in self.cuts {
            if reduced > enough {
                break;
            }
            *steps += held.len() as u64;
            reduced -= cut.price * cut.takes(held);
        }
        reduced
    }
}

impl Listed {
    #[cfg(test)]
    pub fn len(&self) -> usize {
        self.ways.len()
    }

    fn way(&self, way: u32) -> Way<'_> {
        let (list, at) = (&self.list, way as usize);
        let (kind, kept, cost, start) = list.ways[at];
        let end = list.ways.get(at + 1).map_or(list.held.len(), |&(.., end)| end as usize);
        Way { kind: kind as usize, kept, cost, held: &list.held[start as usize..end] }
    }

    /// The least reduced cost of each kind, or nought where none is below.
    pub fn least(&self, kinds: usize, measure: &Measure<'_>, steps: &mut u64) -> Result<Vec<i128>, TooMuchWork> {
        let mut least = vec![0; kinds];
        for &way in self.ways.iter() {
            let way = self.way(way);
            least[way.kind] = least[way.kind].min(measure.reduced(way, 0, steps));
        }
        if *steps > MOST_STEPS { Err(TooMuchWork) } else { Ok(least) }
    }

    /// The ways whose reduced cost is at most the gap above the least of their kind.
    pub fn within(&self, measure: &Measure<'_>, least: &[i128], gap: i128, steps: &mut u64) -> Self {
        let mut ways = Vec::new();
        for &place in self.ways.iter() {
            let way = self.way(place);
            let enough = gap + least[way.kind];
            if measure.reduced(way, enough, steps) <= enough {
                ways.push(place);
            }
        }
        let ways = if ways.len() == self.ways.len() { Rc::clone(&self.ways) } else { Rc::new(ways) };
        Self { list: Rc::clone(&self.list), ways }
    }

    /// Leaves out every bar that counts in this limit: there is none.
    pub fn without(&self, limit: &Limit<'_>, steps: &mut u64) -> Self {
        *steps += self.ways.len() as u64;
        let stays = |way: &u32| {
            let way = self.way(*way);
            !(limit.counts(way.kind) && limit.holds(way.kept, way.held))
        };
        Self { list: Rc::clone(&self.list), ways: Rc::new(self.ways.iter().copied().filter(stays).collect()) }
    }
}

/// Every way whose reduced cost is at most the gap above the least of its kind.
pub fn list(
    figures: &Figures,
    measure: &Measure<'_>,
    least: &[i128],
    gap: i128,
    steps: &mut u64,
) -> Result<Listed, TooMuchWork> {
    let lengths = figures.lengths.len();
    let most = figures.usable().map(|kind| kind.piece.bears).max().unwrap_or(0);
    // What may still be added from each length on.
    let mut frontiers = vec![Frontier::empty()];
    let mut entries = 0;
    for place in (0..lengths).rev() {
        let mut wider = frontiers[frontiers.len() - 1].clone();
        let length = &figures.lengths[place];
        wider.add(length.weight, measure.parts[place], length.demand, most, steps)?;
        entries += wider.len();
        if entries > MOST_ENTRIES {
            return Err(TooMuchWork);
        }
        frontiers.push(wider);
    }
    frontiers.reverse();
    let mut worths: Vec<i128> = figures.usable().map(|kind| kind.piece.worth).collect();
    worths.sort_unstable();
    worths.dedup();
    let mut list = List::default();
    for worth in worths {
        let views: Vec<View<'_>> = frontiers.iter().map(|frontier| View::new(frontier, worth)).collect();
        for (kind, _) in figures.usable_places().filter(|(_, kind)| kind.piece.worth == worth) {
            // The most that limits may add to the value of a bar of this kind.
            let rewards = [false, true].map(|kept| {
                let limits = measure.limits.iter().filter(|limit| limit.counts(kind));
                let limits = limits.filter(|limit| limit.kept.is_none_or(|wanted| wanted == kept));
                limits.map(|l| if l.holding.is_empty() { l.price } else { l.price.max(0) }).sum()
            });
            let enough = gap + least[kind];
            let mut search = Lister {
                figures,
                measure,
                views: &views,
                kind,
                rewards,
                enough,
                list: &mut list,
                held: Vec::new(),
                steps,
            };
            search.extend(0, 0, 0)?;
        }
    }
    let ways = Rc::new((0..list.ways.len() as u32).collect());
    Ok(Listed { list: Rc::new(list), ways })
}

struct Lister<'a> {
    figures: &'a Figures,
    measure: &'a Measure<'a>,
    views: &'a [View<'a>],
    kind: usize,
    /// By whether the remainder is kept.
    rewards: [i128; 2],
    enough: i128,
    list: &'a mut List,
    held: Vec<(u32, u32)>,
    steps: &'a mut u64,
}

impl Lister<'_> {
    /// Decides how many of each length from `at` on lie on the bar. Lengths that no longer fit are passed over, so the
    /// depth is at most the number of different lengths on a bar.
    fn extend(&mut self, at: usize, used: i64, value: i128) -> Result<(), TooMuchWork> {
        let piece = self.figures.kinds[self.kind].piece;
        if self.held.len() > DEEPEST {
            return Err(TooMuchWork);
        }
        if !self.held.is_empty() {
            let kept = used <= self.figures.longest_kept(piece);
            let way = Way { kind: self.kind, kept, cost: self.figures.cost(piece, used), held: &self.held };
            if self.measure.reduced(way, self.enough, self.steps) <= self.enough {
                if self.list.ways.len() >= MOST_WAYS || self.list.held.len() >= MOST_HELD {
                    return Err(TooMuchWork);
                }
                self.list.ways.push((self.kind as u32, kept, way.cost, self.list.held.len() as u32));
                self.list.held.extend_from_slice(&self.held);
            }
        }
        for next in at..self.figures.lengths.len() {
            *self.steps += 4;
            if *self.steps > MOST_STEPS {
                return Err(TooMuchWork);
            }
            // The promise of all lengths from here on, none of them included.
            let [full, kept] = self.views[next].least(self.figures, piece, used, false);
            if (full - self.rewards[0]).min(kept - self.rewards[1]) - value > self.enough {
                return Ok(());
            }
            let length = &self.figures.lengths[next];
            let fits = length.demand.min(((piece.bears - used) / length.weight).max(0).unsigned_abs());
            for n in 1..=fits {
                self.held.push((next as u32, n as u32));
                let price = self.measure.parts[next] * i128::from(n);
                self.extend(next + 1, used + length.weight * n as i64, value + price)?;
                self.held.pop();
            }
        }
        Ok(())
    }
}
