//! The least reduced cost of any way to cut a piece, exactly: a bounded knapsack over whole lengths for the parts that no
//! limit asks about, and a search over the numbers of those that one does.

use super::figures::{Figures, Piece};

/// What counts as a step of work; a recheck ends after so many, about a minute's.
pub const MOST_STEPS: u64 = 10_000_000_000;

/// Different lengths that are decided one below the other.
pub const DEEPEST: usize = 1_000;

/// A limit above the leaf, as far as one kind of piece is concerned.
#[derive(Clone)]
pub struct Limit<'a> {
    /// By kind.
    pub counts: &'a [bool],
    /// Only bars whose remainder is kept, or only those whose is not.
    pub kept: Option<bool>,
    /// (length, at least so many).
    pub holding: &'a [(u32, u32)],
    pub price: i128,
}

impl Limit<'_> {
    pub fn counts(&self, kind: usize) -> bool {
        self.counts.get(kind).is_some_and(|&counts| counts)
    }

    /// Whether a bar with these parts, counts.
    pub fn holds(&self, kept: bool, held: &[(u32, u32)]) -> bool {
        let holds = |&(length, least): &(u32, u32)| least == 0 || held.iter().any(|&(t, n)| t == length && n >= least);
        self.kept.is_none_or(|wanted| wanted == kept) && self.holding.iter().all(holds)
    }
}

#[derive(Debug)]
pub struct TooMuchWork;

/// Best values by weight: each entry is heavier and worth more than the one before; the first is nothing at all.
#[derive(Clone)]
pub struct Frontier(Vec<(i64, i128)>);

impl Frontier {
    pub fn empty() -> Self {
        Self(vec![(0, 0)])
    }

    pub fn len(&self) -> usize {
        self.0.len()
    }

    pub fn add(
        &mut self,
        weight: i64,
        price: i128,
        most: u64,
        within: i64,
        steps: &mut u64,
    ) -> Result<(), TooMuchWork> {
        let mut left = most.min((within / weight.max(1)).max(0).unsigned_abs());
        let mut lot = 1;
        while left > 0 && price > 0 {
            let n = lot.min(left);
            left -= n;
            lot *= 2;
            self.add_once(weight * n as i64, price * i128::from(n), within);
            *steps += self.0.len() as u64;
            if *steps > MOST_STEPS {
                return Err(TooMuchWork);
            }
        }
        Ok(())
    }

    fn add_once(&mut self, weight: i64, price: i128, within: i64) {
        let mut all: Vec<(i64, i128)> = Vec::with_capacity(self.0.len() * 2);
        let mut with =
            self.0.iter().map(|&(w, v)| (w + weight, v + price)).take_while(|&(w, _)| w <= within).peekable();
        for &entry in &self.0 {
            while let Some(other) = with.next_if(|other| other.0 <= entry.0) {
                push(&mut all, other);
            }
            push(&mut all, entry);
        }
        with.for_each(|other| push(&mut all, other));
        self.0 = all;
    }

    /// Number of entries up to this weight.
    fn up_to(&self, weight: i64) -> usize {
        self.0.partition_point(|&(w, _)| w <= weight)
    }
}

fn push(all: &mut Vec<(i64, i128)>, entry: (i64, i128)) {
    if let Some(last) = all.last_mut() {
        if last.1 >= entry.1 {
            return;
        }
        if last.0 == entry.0 {
            *last = entry;
            return;
        }
    }
    all.push(entry);
}

/// A frontier as seen by pieces of one worth.
pub struct View<'a> {
    frontier: &'a Frontier,
    /// Least weight × worth − value among the entries so far, with and without the first (which is nothing at all).
    kept: Vec<[i128; 2]>,
}

/// Above anything that a sum of prices reaches.
const NEVER: i128 = i128::MAX / 4;

impl<'a> View<'a> {
    pub fn new(frontier: &'a Frontier, worth: i128) -> Self {
        let mut least = [NEVER; 2];
        let kept = (frontier.0.iter().enumerate())
            .map(|(at, &(weight, value))| {
                let net = worth * i128::from(weight) - value;
                least = [least[0].min(net), if at > 0 { least[1].min(net) } else { NEVER }];
                least
            })
            .collect();
        Self { frontier, kept }
    }

    /// Least net cost less value of a piece that already holds `used`, filled up from this frontier, when its remainder
    /// is not kept, and when it is; with `empty` the filling may not be nothing. A lighter filling stands in for one that
    /// keeps no remainder: that is no dearer, so the least is a bound there and exact over both.
    pub fn least(&self, figures: &Figures, piece: Piece, used: i64, empty: bool) -> [i128; 2] {
        let from = usize::from(empty);
        let full = match self.frontier.up_to(piece.bears - used) {
            full if full > from => piece.cost - self.frontier.0[full - 1].1,
            _ => NEVER,
        };
        let kept = match self.frontier.up_to(figures.longest_kept(piece) - used) {
            kept if kept > from => figures.base(piece) + piece.worth * i128::from(used) + self.kept[kept - 1][from],
            _ => NEVER,
        };
        [full, kept]
    }
}

/// The least reduced cost of each kind, or nought where no way of cutting it is below.
pub fn least(
    figures: &Figures,
    prices: &[i128],
    limits: &[Limit<'_>],
    steps: &mut u64,
) -> Result<Vec<i128>, TooMuchWork> {
    let within = figures.usable().map(|kind| kind.piece.bears).max().unwrap_or(0);
    let mut asked: Vec<usize> = limits.iter().flat_map(|l| l.holding).map(|&(length, _)| length as usize).collect();
    asked.sort_unstable();
    asked.dedup();
    if asked.len() > DEEPEST {
        return Err(TooMuchWork);
    }
    let add = |frontier: &mut Frontier, place: usize, steps: &mut u64| {
        let length = &figures.lengths[place];
        frontier.add(length.weight, prices[place], length.demand, within, steps)
    };
    // The last is of all that no limit asks about; each before it adds one that some limit does.
    let mut frontier = Frontier::empty();
    for place in (0..figures.lengths.len()).filter(|place| asked.binary_search(place).is_err()) {
        add(&mut frontier, place, steps)?;
    }
    let mut frontiers = vec![frontier];
    for &place in asked.iter().rev() {
        let mut wider = frontiers[frontiers.len() - 1].clone();
        add(&mut wider, place, steps)?;
        frontiers.push(wider);
    }
    frontiers.reverse();
    let mut worths: Vec<i128> = figures.usable().map(|kind| kind.piece.worth).collect();
    worths.sort_unstable();
    worths.dedup();
    let mut least = vec![0; figures.kinds.len()];
    // (piece, limits that count it): kinds that agree in both have one answer.
    let mut known: Vec<(Piece, Vec<usize>, i128)> = Vec::new();
    for worth in worths {
        let views: Vec<View<'_>> = frontiers.iter().map(|frontier| View::new(frontier, worth)).collect();
        *steps += frontiers.iter().map(|frontier| frontier.0.len() as u64).sum::<u64>();
        known.clear();
        for (kind, least) in figures.kinds.iter().zip(&mut least).enumerate().filter_map(|(at, (kind, least))| {
            (kind.piece.worth == worth && kind.quantity > 0).then_some(((at, kind), least))
        }) {
            let (at, kind) = kind;
            let here: Vec<usize> = (0..limits.len()).filter(|&l| limits[l].counts(at)).collect();
            *steps += (limits.len() + known.len()) as u64;
            if let Some((_, _, same)) = known.iter().find(|(p, l, _)| *p == kind.piece && *l == here) {
                *least = *same;
                continue;
            }
            let limits: Vec<&Limit<'_>> = here.iter().map(|&l| &limits[l]).collect();
            let mut search =
                Search { figures, prices, asked: &asked, views: &views, limits, piece: kind.piece, least: 0, steps };
            let mut counts = vec![0; asked.len()];
            search.extend(0, 0, 0, &mut counts)?;
            *least = search.least;
            known.push((kind.piece, here, *least));
        }
    }
    Ok(least)
}

struct Search<'a> {
    figures: &'a Figures,
    prices: &'a [i128],
    /// Lengths that some limit asks about, in order.
    asked: &'a [usize],
    /// Of what may still be added when so many of `asked` are decided.
    views: &'a [View<'a>],
    limits: Vec<&'a Limit<'a>>,
    piece: Piece,
    least: i128,
    steps: &'a mut u64,
}

impl Search<'_> {
    /// Decides how many of the next asked length lie on the bar; the depth is at most the number of those.
    fn extend(&mut self, at: usize, used: i64, value: i128, counts: &mut [u64]) -> Result<(), TooMuchWork> {
        *self.steps += 1 + self.limits.len() as u64;
        if *self.steps > MOST_STEPS {
            return Err(TooMuchWork);
        }
        let decided = at == self.asked.len();
        let mut rewards = [0; 2];
        for limit in &self.limits {
            let reward = self.reward(limit, at, counts);
            for kept in [false, true] {
                if limit.kept.is_none_or(|wanted| wanted == kept) {
                    rewards[usize::from(kept)] += reward;
                }
            }
        }
        let empty = used == 0 && decided;
        let [full, kept] = self.views[at].least(self.figures, self.piece, used, empty);
        let mut best = (full - rewards[0]).min(kept - rewards[1]) - value;
        if empty {
            // A bar holds at least one part, even one that nobody pays for.
            let lone = (0..self.figures.lengths.len()).filter(|place| self.asked.binary_search(place).is_err());
            for place in lone {
                let weight = self.figures.lengths[place].weight;
                if weight <= self.piece.bears {
                    let kept = weight <= self.figures.longest_kept(self.piece);
                    let cost = self.figures.cost(self.piece, weight) - rewards[usize::from(kept)];
                    best = best.min(cost - self.prices[place]);
                }
            }
            *self.steps += self.figures.lengths.len() as u64;
        }
        // Before all is decided this is only a promise; a promise that is no better ends the branch.
        if best >= self.least {
            return Ok(());
        }
        if decided {
            self.least = best;
            return Ok(());
        }
        let place = self.asked[at];
        let (length, price) = (&self.figures.lengths[place], self.prices[place]);
        let fits = length.demand.min(((self.piece.bears - used) / length.weight).max(0).unsigned_abs());
        for n in (0..=fits).rev() {
            // One more of a part that nobody pays for only helps to reach what a limit asks.
            if price <= 0 && n > 0 && !self.asks(place, n) {
                continue;
            }
            counts[at] = n;
            self.extend(at + 1, used + length.weight * n as i64, value + price * i128::from(n), counts)?;
        }
        Ok(())
    }

    fn asks(&self, place: usize, n: u64) -> bool {
        n == 1 || self.limits.iter().flat_map(|l| l.holding).any(|&(t, m)| t as usize == place && u64::from(m) == n)
    }

    /// What a limit adds to the value of a bar; the most that it may add while some numbers are open.
    fn reward(&self, limit: &Limit<'_>, at: usize, counts: &[u64]) -> i128 {
        let mut open = false;
        for &(length, least) in limit.holding {
            match self.asked.binary_search(&(length as usize)) {
                Ok(place) if place < at => {
                    if counts[place] < u64::from(least) {
                        return 0;
                    }
                }
                _ => open |= least > 0,
            }
        }
        if open { limit.price.max(0) } else { limit.price }
    }
}
