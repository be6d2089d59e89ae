//! Every guillotine plan of a small problem: which parts share a sheet, and how each piece is divided.
//!
//! For one sheet: `kept(dx, dy, S)` is the greatest area of kept remainders when exactly the parts S are sawn from a piece.
//! Where a cut may run: with the tree of cuts fixed, the kept area is linear in the places of all cuts across one axis, so
//! some best plan has every cut at a distance from an end of its piece that is a chain of part sizes, least kept sizes and
//! kerfs. These places, and both ways of sharing the parts, are tried. Of a piece that keeps at most one remainder all cuts
//! can be moved away from it, as far as the parts allow: then chains of parts alone suffice.

use std::{collections::HashMap, rc::Rc};

use super::{
    Axis,
    fill::{Layout, Rect, Saw, Spot},
    first::Plan,
    model::{Model, Type},
    shapes::{Shapes, within},
};
use crate::nesting::Meter;

/// More sets of parts than this are not tabulated.
const MOST_SETS: usize = 4_096;
/// More entries than this are not remembered (some 100 MB).
const MOST_KNOWN: usize = 1_000_000;

/// More ways to take a set out of a set than this are not counted through.
const MOST_PAIRS: u64 = 10_000_000;
/// No plan costs so much.
const NEVER: i128 = i128::MAX / 4;

/// More pieces that keep too little are not listed for one set.
const MOST_SHORT: usize = 64;

/// A set of parts: how many of each type, as a number in mixed radix.
type Set = usize;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Piece {
    dx: i64,
    dy: i64,
    set: Set,
    /// Direction and stage of the cut that made it; both nought where stages do not matter.
    axis: Option<Axis>,
    stage: u32,
}

#[derive(Clone, Copy, Debug)]
enum Way {
    /// The piece is the part, or it is empty.
    Whole,
    /// Divided so far from its start: the parts before the cut and those behind it.
    Cut(Axis, i64, Set, Set),
}

/// What is known of a piece.
#[derive(Clone, Copy, Debug)]
enum Known {
    /// The greatest kept area, and how it comes about.
    Best(i64, Way),
    /// It is below this.
    Below(i64),
}

pub(super) struct Exact<'a, 'm, 'w> {
    model: &'a Model,
    meter: &'m mut Meter<'w>,
    sets: Vec<Vec<u32>>,
    radix: Vec<usize>,
    areas: Vec<i64>,
    known: Vec<HashMap<Piece, Known>>,
    /// By kind and set: pieces (and all smaller ones) that keep less than so much.
    short: Vec<Vec<Vec<(i64, i64, i64)>>>,
    chains: HashMap<(usize, Axis, Set, bool), Rc<Vec<i64>>>,
    /// By kind.
    shapes: Vec<Shapes>,
    /// What each set costs at least on sheets of its own.
    least: Vec<i128>,
    /// What a plan must undercut, and the best that does: kind and set of each sheet.
    upper: i128,
    best: Option<Vec<(usize, Set)>>,
    out: bool,
}

pub(super) enum Outcome {
    /// The best plan that undercuts the limit.
    Better(Plan),
    /// Proven that none does.
    NoBetter,
    /// Too large, or the budget ended.
    Open,
}

/// Searches for the best plan that costs less than `upper`.
pub(super) fn search(model: &Model, upper: i128, meter: &mut Meter<'_>) -> (Outcome, bool) {
    let mut size = 1_usize;
    let mut radix = Vec::new();
    for t in &model.types {
        radix.push(size);
        size = size.saturating_mul(t.demand as usize + 1);
    }
    // The tables of all sets take their time too.
    let tables = size.saturating_mul(4 * (model.types.len() + 2 * model.kinds.len()));
    if size > MOST_SETS || !meter.spend(tables as u64) {
        return (Outcome::Open, false);
    }
    let sets: Vec<Vec<u32>> = (0..size)
        .map(|set| model.types.iter().zip(&radix).map(|(t, r)| (set / r % (t.demand as usize + 1)) as u32).collect())
        .collect();
    let area = |set: &Vec<u32>| set.iter().zip(&model.types).map(|(&n, t)| i64::from(n) * t.area()).sum();
    let areas = sets.iter().map(area).collect();
    let known = model.kinds.iter().map(|_| HashMap::new()).collect();
    let short = model.kinds.iter().map(|_| vec![Vec::new(); size]).collect();
    let shapes = model.kinds.iter().map(|kind| Shapes::new(model, kind, &sets, &radix, meter)).collect::<Option<_>>();
    let Some(shapes) = shapes else { return (Outcome::Open, false) };
    let (chains, least, out) = (HashMap::new(), Vec::new(), false);
    let mut exact =
        Exact { model, meter, sets, radix, areas, known, short, chains, shapes, least, upper, best: None, out };
    if !exact.tabulate() {
        return (Outcome::Open, false);
    }
    let mut stock: Vec<u32> = model.kinds.iter().map(|k| k.quantity).collect();
    exact.share(size - 1, (usize::MAX, 0), &mut stock, 0, &mut Vec::new());
    let whole = !exact.out;
    match exact.best.take() {
        Some(sheets) => {
            let plan = sheets.iter().map(|&(kind, set)| exact.layout(kind, set)).collect();
            (Outcome::Better(plan), whole)
        }
        None if whole => (Outcome::NoBetter, true),
        None => (Outcome::Open, false),
    }
}

impl Exact<'_, '_, '_> {
    /// Gives what is left to sheets; the next sheet holds the first part that is left.
    fn share(
        &mut self,
        left: Set,
        last: (usize, Set),
        stock: &mut Vec<u32>,
        cost: i128,
        sheets: &mut Vec<(usize, Set)>,
    ) {
        if left == 0 {
            if cost < self.upper {
                self.upper = cost;
                self.meter.net_cost = Some(cost);
                self.best = Some(sheets.clone());
            }
            return;
        }
        let Some(first) = self.sets[left].iter().position(|&n| n > 0) else { return };
        self.meter.spend(left as u64);
        // Largest sets first: they leave least.
        for set in (1..=left).rev() {
            if self.sets[set][first] == 0 || !self.within(set, left) {
                continue;
            }
            for kind in 0..self.model.kinds.len() {
                if self.out || !self.meter.goes_on() {
                    self.out = true;
                    return;
                }
                // Two sheets in a row that both could come first do so in one order only.
                if stock[kind] == 0 || (last.1 == set && kind > last.0) {
                    continue;
                }
                self.meter.spend(4);
                let rest = self.least[left - set];
                if cost + self.least_on(kind, set) + rest >= self.upper {
                    continue;
                }
                let sheet = &self.model.kinds[kind];
                let whole = Piece { dx: sheet.length, dy: sheet.width, set, axis: None, stage: 0 };
                // So much must be kept that the plan comes out below the best one.
                let need = if sheet.value > 0 {
                    let over = cost + sheet.cost + rest - self.upper;
                    i64::try_from(over.div_euclid(sheet.value) + 1).unwrap_or(i64::MAX).max(0)
                } else {
                    0
                };
                let Some(kept) = self.kept(kind, whole, need) else { continue };
                let one = sheet.cost - sheet.value * i128::from(kept);
                stock[kind] -= 1;
                sheets.push((kind, set));
                self.share(left - set, (kind, set), stock, cost + one, sheets);
                sheets.pop();
                stock[kind] += 1;
            }
        }
    }

    fn within(&self, set: Set, of: Set) -> bool {
        self.sets[set].iter().zip(&self.sets[of]).all(|(a, b)| a <= b)
    }

    /// What a sheet with these parts costs at least, by what it can keep.
    fn least_on(&self, kind: usize, set: Set) -> i128 {
        let sheet = &self.model.kinds[kind];
        let whole = Piece { dx: sheet.length, dy: sheet.width, set, axis: None, stage: 0 };
        if !self.gives(kind, &whole) {
            return NEVER;
        }
        sheet.cost - sheet.value * i128::from(self.most(kind, &whole))
    }

    /// What every set costs at least: the cheapest way to share it out that [`Self::least_on`] allows. Whether there was time.
    fn tabulate(&mut self) -> bool {
        let pairs = (self.model.types.iter())
            .map(|t| u64::from(t.demand + 1) * u64::from(t.demand + 2) / 2)
            .fold(1, u64::saturating_mul);
        let singly = (self.sets.len() * self.model.kinds.len()) as u64 * 4;
        if pairs > MOST_PAIRS || !self.meter.spend(singly) || !self.meter.spend(pairs) {
            return false;
        }
        let kinds = 0..self.model.kinds.len();
        let on_one = |set: Set| kinds.clone().map(|kind| self.least_on(kind, set)).min().unwrap_or(NEVER);
        let on_one: Vec<i128> = (0..self.sets.len()).map(on_one).collect();
        let mut least = vec![0; self.sets.len()];
        for set in 1..self.sets.len() {
            let Some(first) = self.sets[set].iter().position(|&n| n > 0) else { continue };
            let with_first = within(&self.sets[set], &self.radix).filter(|&one| self.sets[one][first] > 0);
            let shared = with_first.map(|one| on_one[one].saturating_add(least[set - one]));
            let best = shared.min().unwrap_or(NEVER);
            least[set] = best.min(NEVER);
        }
        self.least = least;
        true
    }

    /// The greatest kept area if it is at least `need`; `None` where it is less or the piece cannot give the parts.
    fn kept(&mut self, kind: usize, piece: Piece, need: i64) -> Option<i64> {
        if piece.set == 0 {
            return Some(self.most(kind, &piece)).filter(|&kept| kept >= need);
        }
        match self.known[kind].get(&piece) {
            Some(&Known::Best(kept, _)) => return Some(kept).filter(|&kept| kept >= need),
            Some(&Known::Below(limit)) if limit <= need => return None,
            _ => {}
        }
        // A larger piece keeps no less, where stages do not matter.
        let unlimited = self.model.max_stages == u32::MAX;
        let short = &self.short[kind][piece.set];
        if unlimited && short.iter().any(|&(dx, dy, limit)| piece.dx <= dx && piece.dy <= dy && limit <= need) {
            return None;
        }
        self.meter.spend(short.len() as u64 / 8);
        let found = self.divide(kind, piece, need);
        if self.out {
            return None;
        }
        if self.known[kind].len() >= MOST_KNOWN {
            self.out = true;
            return None;
        }
        if found.is_none() && unlimited {
            let short = &mut self.short[kind][piece.set];
            short.retain(|&(dx, dy, limit)| dx > piece.dx || dy > piece.dy || limit < need);
            if short.len() < MOST_SHORT {
                short.push((piece.dx, piece.dy, need));
            }
        }
        let known = found.map_or(Known::Below(need), |(kept, way)| Known::Best(kept, way));
        self.known[kind].insert(piece, known);
        found.map(|(kept, _)| kept)
    }

    /// At most so much of a piece can be kept; of an empty one, exactly.
    fn most(&self, kind: usize, piece: &Piece) -> i64 {
        let model = self.model;
        let spare = piece.dx * piece.dy - self.areas[piece.set];
        if model.kinds[kind].value == 0 || !model.keeps(piece.dx, piece.dy) || spare < model.keep.0 * model.keep.1 {
            return 0;
        }
        // The largest remainder beside each part.
        let kept = |dx: i64, dy: i64| if model.keeps(dx, dy) { dx * dy } else { 0 };
        let beside = |t: &Type| {
            let ways = t.sizes(&model.kinds[kind]).filter(|&(dx, dy, _)| dx <= piece.dx && dy <= piece.dy);
            let largest = |(dx, dy, _): (i64, i64, bool)| {
                kept(piece.dx - dx - model.kerf, piece.dy).max(kept(piece.dx, piece.dy - dy - model.kerf))
            };
            ways.map(largest).max().unwrap_or(0)
        };
        let types = model.types.iter().zip(&self.sets[piece.set]).filter(|(_, n)| **n > 0);
        let one = types.map(|(t, _)| beside(t)).min().unwrap_or(spare);
        if one == 0 || self.keeps_one(piece) { one.min(spare) } else { spare }
    }

    /// Whether there is no room for two remainders.
    fn keeps_one(&self, piece: &Piece) -> bool {
        piece.dx * piece.dy - self.areas[piece.set] < 2 * self.model.keep.0 * self.model.keep.1
    }

    fn divide(&mut self, kind: usize, piece: Piece, need: i64) -> Option<(i64, Way)> {
        let spare = piece.dx * piece.dy - self.areas[piece.set];
        let most = self.most(kind, &piece);
        if spare < 0 || most < need || !self.gives(kind, &piece) {
            return None;
        }
        if spare == 0 && self.is_part(kind, &piece) {
            return Some((0, Way::Whole)).filter(|_| need == 0);
        }
        // What the next find must exceed.
        let mut best: Option<(i64, Way)> = None;
        let mut beat = need - 1;
        for axis in [Axis::X, Axis::Y] {
            let stage = if self.model.max_stages == u32::MAX {
                0
            } else {
                let stage = if piece.axis == Some(axis) { piece.stage } else { piece.stage + 1 };
                if stage > self.model.max_stages {
                    continue;
                }
                stage
            };
            let made_by = (stage > 0).then_some(axis);
            let (size, across) = if axis == Axis::X { (piece.dx, piece.dy) } else { (piece.dy, piece.dx) };
            let sized = |size: i64, set: Set| {
                let (dx, dy) = if axis == Axis::X { (size, across) } else { (across, size) };
                Piece { dx, dy, set, axis: made_by, stage }
            };
            self.meter.spend(piece.set as u64 / 2);
            for one in (1..=piece.set).rev() {
                let other = piece.set - one;
                // A mirrored piece is as good, so each pair of sets is tried in one order.
                if one < other {
                    break;
                }
                if !self.within(one, piece.set) {
                    continue;
                }
                let several = !self.keeps_one(&piece);
                let Some(tight) = self.tight(kind, axis, (one, other), (size, across)) else { continue };
                let unlimited = self.model.max_stages == u32::MAX;
                let places =
                    if unlimited && !several { tight } else { self.places(kind, axis, one, other, size, several) };
                if !self.meter.spend(10 + places.len() as u64 * 2) {
                    self.out = true;
                    return None;
                }
                for at in places {
                    let behind = (size - at - self.model.kerf).max(0);
                    if (other != 0 && behind == 0)
                        || at * across < self.areas[one]
                        || behind * across < self.areas[other]
                    {
                        continue;
                    }
                    let (first, second) = (sized(at, one), sized(behind, other));
                    let (most_first, most_second) = (self.most(kind, &first), self.most(kind, &second));
                    if most_first + most_second <= beat {
                        continue;
                    }
                    self.meter.spend(20);
                    let Some(a) = self.kept(kind, first, (beat + 1 - most_second).max(0)) else { continue };
                    let b = if behind > 0 { self.kept(kind, second, (beat + 1 - a).max(0)) } else { Some(0) };
                    if let Some(b) = b
                        && a + b > beat
                    {
                        beat = a + b;
                        best = Some((beat, Way::Cut(axis, at, one, other)));
                    }
                    if self.out {
                        return None;
                    }
                    if beat >= most {
                        return best;
                    }
                }
            }
        }
        best
    }

    /// Where a cut runs that leaves one side no more than its parts need in any number of stages; `None` where there is
    /// no room for both.
    fn tight(&self, kind: usize, axis: Axis, (one, other): (Set, Set), (size, across): (i64, i64)) -> Option<Vec<i64>> {
        let shapes = &self.shapes[kind];
        let least = |set: Set| if axis == Axis::X { shapes.length(set, across) } else { shapes.width(set, across) };
        let (before, behind) = (least(one)?, least(other)?);
        if other == 0 {
            return (before < size).then(|| vec![before]);
        }
        let last = size - self.model.kerf - behind;
        (before <= last).then(|| if before == last { vec![before] } else { vec![before, last] })
    }

    /// Where a cut may run that leaves `one` before it and `other` behind it.
    fn places(&mut self, kind: usize, axis: Axis, one: Set, other: Set, size: i64, several: bool) -> Vec<i64> {
        let kerf = self.model.kerf;
        let before = self.chain(kind, axis, one, several);
        let behind = self.chain(kind, axis, other, several);
        let mut places: Vec<i64> = before.iter().copied().take_while(|&at| at < size).collect();
        places.extend(behind.iter().map(|&b| size - kerf - b).filter(|&at| at > 0 && at < size));
        places.sort_unstable();
        places.dedup();
        places
    }

    /// Lengths that parts of a set, and remainders of least kept size where there are several, make in a row with a kerf
    /// between them.
    fn chain(&mut self, kind: usize, axis: Axis, set: Set, several: bool) -> Rc<Vec<i64>> {
        if let Some(known) = self.chains.get(&(kind, axis, set, several)) {
            return known.clone();
        }
        let sheet = &self.model.kinds[kind];
        let kerf = self.model.kerf;
        let whole = if axis == Axis::X { sheet.length } else { sheet.width };
        let mut sums = vec![0];
        let widen = |sums: &mut Vec<i64>, sizes: &[i64]| {
            let more: Vec<i64> = (sums.iter())
                .flat_map(|&sum| sizes.iter().map(move |&size| sum + size + kerf))
                .filter(|&sum| sum <= whole + kerf)
                .collect();
            sums.extend(more);
            sums.sort_unstable();
            sums.dedup();
        };
        for (t, &n) in self.model.types.iter().zip(&self.sets[set]) {
            let sizes: Vec<i64> = t.sizes(sheet).map(|(dx, dy, _)| if axis == Axis::X { dx } else { dy }).collect();
            for _ in 0..n {
                widen(&mut sums, &sizes);
            }
        }
        if sheet.value > 0 && several {
            loop {
                let before = sums.len();
                widen(&mut sums, &[self.model.keep.0, self.model.keep.1]);
                if sums.len() == before {
                    break;
                }
            }
        }
        self.meter.spend(sums.len() as u64);
        let chain: Rc<Vec<i64>> = Rc::new(sums.into_iter().map(|sum| sum - kerf).filter(|&s| s > 0).collect());
        self.chains.insert((kind, axis, set, several), chain.clone());
        chain
    }

    /// Whether cuts in any number of stages give the parts.
    fn gives(&self, kind: usize, piece: &Piece) -> bool {
        self.shapes[kind].length(piece.set, piece.dy).is_some_and(|least| least <= piece.dx)
    }

    fn is_part(&self, kind: usize, piece: &Piece) -> bool {
        let only = self.radix.iter().position(|&r| r == piece.set);
        let sheet = &self.model.kinds[kind];
        only.is_some_and(|t| self.model.types[t].sizes(sheet).any(|(dx, dy, _)| (dx, dy) == (piece.dx, piece.dy)))
    }

    /// The sheet as it was decided.
    fn layout(&mut self, kind: usize, set: Set) -> Layout {
        let sheet = &self.model.kinds[kind];
        let mut layout = Layout { kind, placed: Vec::new(), cuts: Vec::new(), kept: Vec::new(), cost: 0 };
        let piece = Piece { dx: sheet.length, dy: sheet.width, set, axis: None, stage: 0 };
        self.lay(kind, piece, (0, 0), None, 0, &mut layout);
        let worth: i128 = layout.kept.iter().map(|r| i128::from(r.area()) * sheet.value).sum();
        layout.cost = sheet.cost - worth;
        layout
    }

    fn lay(
        &self,
        kind: usize,
        piece: Piece,
        (x, y): (i64, i64),
        made_by: Option<Axis>,
        made_at: u32,
        layout: &mut Layout,
    ) {
        let rect = Rect { x, y, dx: piece.dx, dy: piece.dy };
        if piece.set == 0 {
            if rect.dx > 0 && rect.dy > 0 && self.model.keeps(rect.dx, rect.dy) {
                layout.kept.push(rect);
            }
            return;
        }
        let Some(&Known::Best(_, way)) = self.known[kind].get(&piece) else { return };
        match way {
            Way::Whole => {
                let Some(t) = self.radix.iter().position(|&r| r == piece.set) else { return };
                let sheet = &self.model.kinds[kind];
                let lies = self.model.types[t].sizes(sheet).find(|&(dx, dy, _)| (dx, dy) == (rect.dx, rect.dy));
                layout.placed.push(Spot { t, rect, turned: lies.is_some_and(|(_, _, turned)| turned) });
            }
            Way::Cut(axis, at, one, other) => {
                let stage = if made_by == Some(axis) { made_at } else { made_at + 1 };
                let limited = self.model.max_stages != u32::MAX;
                let child = |dx: i64, dy: i64, set: Set| Piece {
                    dx,
                    dy,
                    set,
                    axis: limited.then_some(axis),
                    stage: if limited { stage } else { 0 },
                };
                let size = if axis == Axis::X { rect.dx } else { rect.dy };
                let behind = size - at - self.model.kerf;
                let start = if axis == Axis::X { x } else { y };
                layout.cuts.push(Saw { stage, piece: rect, axis, at: start + at });
                let (first, second, place) = match axis {
                    Axis::X => (child(at, rect.dy, one), child(behind, rect.dy, other), (x + at + self.model.kerf, y)),
                    Axis::Y => (child(rect.dx, at, one), child(rect.dx, behind, other), (x, y + at + self.model.kerf)),
                };
                self.lay(kind, first, (x, y), Some(axis), stage, layout);
                if behind > 0 {
                    self.lay(kind, second, place, Some(axis), stage, layout);
                }
            }
        }
    }
}
