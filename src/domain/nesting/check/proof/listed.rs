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
pub struct List {
    kinds: Vec<u32>,
    costs: Vec<i128>,
    starts: Vec<u32>,
    held: Vec<(u32, u32)>,
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
    fn reduced(&self, kind: usize, cost: i128, held: &[(u32, u32)], enough: i128, steps: &mut u64) -> i128 {
        let value: i128 = held.iter().map(|&(t, n)| self.parts[t as usize] * i128::from(n)).sum();
        let mut reduced = cost - value;
        *steps += held.len() as u64 + self.limits.len() as u64 + 1;
        for limit in self.limits {
            if limit.counts(kind) && limit.holds(held) {
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

    fn held(&self, way: u32) -> (usize, i128, &[(u32, u32)]) {
        let (list, at) = (&self.list, way as usize);
        let end = list.starts.get(at + 1).map_or(list.held.len(), |&end| end as usize);
        (list.kinds[at] as usize, list.costs[at], &list.held[list.starts[at] as usize..end])
    }

    /// The least reduced cost of each kind, or nought where none is below.
    pub fn least(&self, kinds: usize, measure: &Measure<'_>, steps: &mut u64) -> Result<Vec<i128>, TooMuchWork> {
        let mut least = vec![0; kinds];
        for &way in self.ways.iter() {
            let (kind, cost, held) = self.held(way);
            least[kind] = least[kind].min(measure.reduced(kind, cost, held, 0, steps));
        }
        if *steps > MOST_STEPS { Err(TooMuchWork) } else { Ok(least) }
    }

    /// The ways whose reduced cost is at most the gap above the least of their kind.
    pub fn within(&self, measure: &Measure<'_>, least: &[i128], gap: i128, steps: &mut u64) -> Self {
        let stays = |way: &u32| {
            let (kind, cost, held) = self.held(*way);
            let enough = gap + least[kind];
            measure.reduced(kind, cost, held, enough, &mut *steps) <= enough
        };
        let ways: Vec<u32> = self
            .ways
            .iter()
            .copied()
            .filter({
                let mut stays = stays;
                move |way| stays(way)
            })
            .collect();
        let ways = if ways.len() == self.ways.len() { Rc::clone(&self.ways) } else { Rc::new(ways) };
        Self { list: Rc::clone(&self.list), ways }
    }

    /// Leaves out every bar that counts in this limit: there is none.
    pub fn without(&self, limit: &Limit<'_>, steps: &mut u64) -> Self {
        *steps += self.ways.len() as u64;
        let stays = |way: &u32| {
            let (kind, _, held) = self.held(*way);
            !(limit.counts(kind) && limit.holds(held))
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
    let mut list = List { kinds: Vec::new(), costs: Vec::new(), starts: Vec::new(), held: Vec::new() };
    for worth in worths {
        let views: Vec<View<'_>> = frontiers.iter().map(|frontier| View::new(frontier, worth)).collect();
        for (kind, _) in figures.usable_places().filter(|(_, kind)| kind.piece.worth == worth) {
            // The most that limits may add to the value of a bar of this kind.
            let rewards = measure.limits.iter().filter(|limit| limit.counts(kind));
            let rewards = rewards.map(|l| if l.holding.is_empty() { l.price } else { l.price.max(0) }).sum();
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
    let ways = Rc::new((0..list.kinds.len() as u32).collect());
    Ok(Listed { list: Rc::new(list), ways })
}

struct Lister<'a> {
    figures: &'a Figures,
    measure: &'a Measure<'a>,
    views: &'a [View<'a>],
    kind: usize,
    rewards: i128,
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
            let cost = self.figures.cost(piece, used);
            if self.measure.reduced(self.kind, cost, &self.held, self.enough, self.steps) <= self.enough {
                if self.list.kinds.len() >= MOST_WAYS || self.list.held.len() >= MOST_HELD {
                    return Err(TooMuchWork);
                }
                self.list.kinds.push(self.kind as u32);
                self.list.costs.push(cost);
                self.list.starts.push(self.list.held.len() as u32);
                self.list.held.extend_from_slice(&self.held);
            }
        }
        for next in at..self.figures.lengths.len() {
            *self.steps += 4;
            if *self.steps > MOST_STEPS {
                return Err(TooMuchWork);
            }
            // The promise of all lengths from here on, none of them included.
            if self.views[next].least(self.figures, piece, used, false) - value - self.rewards > self.enough {
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
