//! One sheet filled by a beam search over guillotine trees: of all partly filled sheets of one depth the most promising few
//! are gone on with. A step gives a part to a free piece and divides the piece in one of the two orders, or leaves the piece
//! as a remainder; what a state promises is what it has and what its free pieces could still give.

use std::collections::HashSet;

use super::{
    Axis,
    fill::{Layout, Piece, Rect, Saw, Spot},
    model::Model,
};

/// A part as it may lie on a kind: its type, size along x and y, whether turned.
#[derive(Clone, Copy, Debug)]
struct Way {
    t: usize,
    dx: i64,
    dy: i64,
    turned: bool,
}

/// A partly filled sheet.
#[derive(Clone, Debug)]
struct State {
    free: Vec<Piece>,
    left: Vec<u32>,
    /// Worth of the parts placed and the remainders kept.
    value: f64,
    /// The same and what the free pieces promise.
    promise: f64,
    /// Its last step among all steps.
    step: Option<usize>,
    sum: u64,
}

/// What was done with a piece; `None` of a part leaves it.
#[derive(Clone, Copy, Debug)]
struct Step {
    before: Option<usize>,
    piece: Piece,
    part: Option<(Way, Axis)>,
}

/// A step that could be taken from a state.
#[derive(Clone, Copy, Debug)]
struct Move {
    /// Among all moves of its depth.
    place: usize,
    state: usize,
    part: Option<(Way, Axis)>,
    value: f64,
    promise: f64,
    sum: u64,
}

/// What the sheet is filled for: the value of a part of each type, and of a square tenth of remainder.
pub(super) struct Prices<'a> {
    pub parts: &'a [f64],
    pub kept: f64,
    /// The value of a square tenth of part, on average.
    pub area: f64,
}

/// Fills sheets of one kind after another.
pub(super) struct Beam<'m> {
    model: &'m Model,
    /// By kind.
    ways: Vec<Vec<Way>>,
    work: u64,
}

impl<'m> Beam<'m> {
    pub fn new(model: &'m Model) -> Self {
        let ways = |kind| {
            let types = model.types.iter().enumerate();
            types.flat_map(|(t, of)| of.sizes(kind).map(move |(dx, dy, turned)| Way { t, dx, dy, turned })).collect()
        };
        Self { model, ways: model.kinds.iter().map(ways).collect(), work: 0 }
    }

    /// Units since last taken.
    pub fn take_work(&mut self) -> u64 {
        std::mem::take(&mut self.work)
    }

    /// The most valuable filling of one sheet with wanted parts that the search finds; `width` states are gone on with.
    pub fn fill(&mut self, kind: usize, wanted: &[u32], prices: &Prices, width: usize) -> Layout {
        let sheet = &self.model.kinds[kind];
        let whole = Piece { rect: Rect { x: 0, y: 0, dx: sheet.length, dy: sheet.width }, stage: 0, axis: None };
        let ways: Vec<Way> = self.ways[kind].iter().filter(|way| wanted[way.t] > 0).copied().collect();
        let least = smallest(&ways);
        let mut steps: Vec<Step> = Vec::new();
        let first = State {
            free: vec![whole],
            left: wanted.to_vec(),
            value: 0.0,
            promise: self.promise(&whole, &least, prices),
            step: None,
            sum: 0,
        };
        let mut beam = vec![first];
        let mut best: Option<State> = None;
        while !beam.is_empty() {
            let mut moves: Vec<Move> = Vec::new();
            for (at, state) in beam.iter_mut().enumerate() {
                self.moves(at, state, &ways, &least, prices, &mut moves);
            }
            let order = |a: &Move, b: &Move| b.promise.total_cmp(&a.promise).then(a.place.cmp(&b.place));
            if moves.len() > 4 * width {
                moves.select_nth_unstable_by(4 * width, order);
                moves.truncate(4 * width);
            }
            moves.sort_unstable_by(order);
            let mut seen = HashSet::new();
            let mut next: Vec<State> = Vec::with_capacity(width);
            for step in moves {
                if next.len() >= width {
                    break;
                }
                if !seen.insert((step.sum, step.promise.to_bits())) {
                    continue;
                }
                let state = self.taken(&beam[step.state], &step, &least, prices, &mut steps);
                if !state.free.is_empty() {
                    next.push(state);
                } else if best.as_ref().is_none_or(|best| state.value > best.value) {
                    best = Some(state);
                }
            }
            self.work += next.len() as u64 * (20 + wanted.len() as u64 / 8);
            beam = next;
        }
        self.layout(kind, best.and_then(|state| state.step), &steps)
    }

    /// What a free piece promises: filled like the average where a part has room, else its worth as a remainder.
    fn promise(&self, piece: &Piece, least: &[(i64, i64)], prices: &Prices) -> f64 {
        let Rect { dx, dy, .. } = piece.rect;
        let kept = if self.model.keeps(dx, dy) { prices.kept } else { 0.0 };
        let filled = if least.iter().any(|&(x, y)| x <= dx && y <= dy) { prices.area } else { 0.0 };
        piece.rect.area() as f64 * kept.max(filled)
    }

    /// Everything that can be done with the smallest free piece of a state, which is its last.
    fn moves(
        &mut self,
        at: usize,
        state: &mut State,
        ways: &[Way],
        least: &[(i64, i64)],
        prices: &Prices,
        moves: &mut Vec<Move>,
    ) {
        let smallest = (0..state.free.len()).min_by_key(|&i| state.free[i].rect.area()).unwrap_or(0);
        let last = state.free.len() - 1;
        state.free.swap(smallest, last);
        let piece = state.free[last];
        let before = state.promise - self.promise(&piece, least, prices);
        let Rect { dx: across, dy: up, .. } = piece.rect;
        let kept = if self.model.keeps(across, up) { piece.rect.area() as f64 * prices.kept } else { 0.0 };
        let name = |r: &Rect| mix((r.dx as u64) << 32 ^ r.dy as u64);
        let there = moves.len();
        let mut push = |part: Option<(Way, Axis)>, value: f64, promise: f64, sum: u64| {
            let sum = state.sum.wrapping_add(sum).wrapping_sub(name(&piece.rect));
            let (place, value, promise) = (moves.len(), state.value + value, before + promise);
            moves.push(Move { place, state: at, part, value, promise, sum });
        };
        // A sheet is taken for a part.
        if piece.stage > 0 {
            push(None, kept, kept, 0);
        }
        for way in ways.iter().filter(|way| state.left[way.t] > 0 && way.dx <= across && way.dy <= up) {
            let value = prices.parts[way.t];
            for axis in [Axis::X, Axis::Y] {
                let Some(rest) = self.divided(&piece, way, axis) else { continue };
                let promise: f64 = rest.iter().flatten().map(|piece| self.promise(piece, least, prices)).sum();
                let sum = rest.iter().flatten().fold(mix(way.t as u64), |sum, p| sum.wrapping_add(name(&p.rect)));
                push(Some((*way, axis)), value, value + promise, sum);
            }
        }
        self.work += 2 + ways.len() as u64 / 4 + 4 * (moves.len() - there) as u64;
    }

    /// What is left of a piece when a part is cut from its corner, first across this axis; `None` where the stages do not
    /// allow it, or where the other order comes to the same.
    fn divided(&self, piece: &Piece, way: &Way, first: Axis) -> Option<[Option<Piece>; 2]> {
        let (rx, ry) = (piece.rect.dx - way.dx, piece.rect.dy - way.dy);
        let [one, other] = if first == Axis::X { [rx, ry] } else { [ry, rx] };
        if one == 0 {
            // A piece that is the part needs no cut; one cut alone is tried once, under its own axis.
            return (other == 0 && first == Axis::X).then_some([None, None]);
        }
        let stage = piece.next_stage(first);
        if stage + u32::from(other > 0) > self.model.max_stages {
            return None;
        }
        let r = piece.rect;
        let kerf = self.model.kerf;
        let right = Rect { x: r.x + way.dx + kerf, dx: rx - kerf, ..r };
        let above = Rect { y: r.y + way.dy + kerf, dy: ry - kerf, ..r };
        let (behind, second) = match first {
            Axis::X => (right, Rect { dx: way.dx, ..above }),
            Axis::Y => (above, Rect { dy: way.dy, ..right }),
        };
        let next = if first == Axis::X { Axis::Y } else { Axis::X };
        let there = |rect: Rect, stage: u32, axis: Axis| {
            (rect.dx > 0 && rect.dy > 0).then_some(Piece { rect, stage, axis: Some(axis) })
        };
        Some([there(behind, stage, first), there(second, stage + 1, next)])
    }

    fn taken(&self, from: &State, step: &Move, least: &[(i64, i64)], prices: &Prices, steps: &mut Vec<Step>) -> State {
        let mut state = State { value: step.value, promise: step.promise, sum: step.sum, ..from.clone() };
        let Some(piece) = state.free.pop() else { return state };
        steps.push(Step { before: from.step, piece, part: step.part });
        state.step = Some(steps.len() - 1);
        if let Some((way, axis)) = step.part {
            state.left[way.t] -= 1;
            for rest in self.divided(&piece, &way, axis).into_iter().flatten().flatten() {
                if least.iter().any(|&(x, y)| x <= rest.rect.dx && y <= rest.rect.dy) {
                    state.free.push(rest);
                } else {
                    state.value += self.promise(&rest, &[], prices);
                    steps.push(Step { before: state.step, piece: rest, part: None });
                    state.step = Some(steps.len() - 1);
                }
            }
        }
        state
    }

    fn layout(&self, kind: usize, mut at: Option<usize>, steps: &[Step]) -> Layout {
        let sheet = &self.model.kinds[kind];
        let mut layout = Layout { kind, placed: Vec::new(), cuts: Vec::new(), kept: Vec::new(), cost: 0 };
        let mut taken: Vec<&Step> = Vec::new();
        while let Some(step) = at.map(|at| &steps[at]) {
            taken.push(step);
            at = step.before;
        }
        for step in taken.into_iter().rev() {
            let Some((way, first)) = step.part else {
                if self.model.keeps(step.piece.rect.dx, step.piece.rect.dy) {
                    layout.kept.push(step.piece.rect);
                }
                continue;
            };
            let mut piece = step.piece;
            for axis in [first, if first == Axis::X { Axis::Y } else { Axis::X }] {
                let r = piece.rect;
                let (spare, at) = match axis {
                    Axis::X => (r.dx - way.dx, r.x + way.dx),
                    Axis::Y => (r.dy - way.dy, r.y + way.dy),
                };
                if spare > 0 {
                    let stage = piece.next_stage(axis);
                    layout.cuts.push(Saw { stage, piece: r, axis, at });
                    let rect = if axis == Axis::X { Rect { dx: way.dx, ..r } } else { Rect { dy: way.dy, ..r } };
                    piece = Piece { rect, stage, axis: Some(axis) };
                }
            }
            layout.placed.push(Spot { t: way.t, rect: piece.rect, turned: way.turned });
        }
        let worth: i128 = layout.kept.iter().map(|r| i128::from(r.area()) * sheet.value).sum();
        layout.cost = sheet.cost - worth;
        layout
    }
}

/// The sizes of which no other is smaller both ways.
fn smallest(ways: &[Way]) -> Vec<(i64, i64)> {
    let mut sizes: Vec<(i64, i64)> = ways.iter().map(|way| (way.dx, way.dy)).collect();
    sizes.sort_unstable();
    let mut least = i64::MAX;
    sizes.retain(|&(_, dy)| {
        let smaller = dy < least;
        least = least.min(dy);
        smaller
    });
    sizes
}

/// Spreads a number over 64 bits, so that sums tell states apart (the finaliser of Steele, Lea and Flood's SplitMix64, 2014).
fn mix(n: u64) -> u64 {
    let mut z = n.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nesting::panels::{
        first::Dice,
        small::{self, Trees, all_within},
    };

    /// A beam that drops nothing finds the most valuable parts that any tree of cuts gives.
    #[test]
    fn an_endless_beam_finds_the_best_filling() {
        let mut dice = Dice::new();
        for _ in 0..40 {
            let model = small::model(dice.below(2) as i64, &[(6, 5, None)], &small::parts(&mut dice, 3, 4, 2));
            let each: Vec<f64> = model.types.iter().map(|t| t.area() as f64 + dice.below(5) as f64).collect();
            let wanted: Vec<u32> = model.types.iter().map(|t| t.demand).collect();
            let value = |parts: &[u32]| -> f64 { parts.iter().zip(&each).map(|(&n, v)| f64::from(n) * v).sum() };
            let mut trees = Trees::new(&model);
            let given = all_within(&wanted).into_iter().filter(|parts| trees.give(6, 5, parts));
            let best = given.map(|parts| value(&parts)).fold(0.0, f64::max);
            let layout = Beam::new(&model).fill(0, &wanted, &Prices { parts: &each, kept: 0.0, area: 1.0 }, 20_000);
            let mut placed = vec![0; wanted.len()];
            layout.placed.iter().for_each(|spot| placed[spot.t] += 1);
            assert!(value(&placed) == best, "{placed:?} of {wanted:?} are worth {}, {best} is best", value(&placed));
        }
    }
}
