//! The best pattern of one sheet at given prices of the parts, each as often as one likes: Gilmore and Gomory,
//! "Multistage cutting stock problems of two and more dimensions", 1965, over sums of grown sides (the normal patterns of
//! Herz, 1972, and of Christofides and Whitlock, 1977).

use super::{
    Axis,
    fill::{Layout, Rect, Saw, Spot},
    model::Model,
};
use crate::nesting::Meter;

/// More places than this in both directions together are not tabulated (16 MB).
const MOST_CELLS: usize = 4_000_000;

/// A part as it may lie: places of its grown sides in the two lists of sums.
struct Item {
    t: usize,
    i: usize,
    j: usize,
    turned: bool,
}

pub(super) struct Knapsack {
    kind: usize,
    xs: Vec<i64>,
    ys: Vec<i64>,
    items: Vec<Item>,
    /// For each place: (a cut before its half, the place of what is left behind).
    halves_x: Vec<Vec<(u16, u16)>>,
    halves_y: Vec<Vec<(u16, u16)>>,
    /// Greatest value of each piece, lengths outside.
    values: Vec<i32>,
    /// Units of one run.
    pub work: u64,
}

impl Knapsack {
    /// `None` where there are too many sums, or one run would take more than so many units or than are left.
    pub fn new(model: &Model, kind: usize, most_work: u64, meter: &mut Meter) -> Option<Self> {
        let sheet = &model.kinds[kind];
        let kerf = model.kerf;
        let ways =
            |t: usize| model.types[t].sizes(sheet).filter(|&(dx, dy, _)| dx <= sheet.length && dy <= sheet.width);
        let mut sums = |whole: i64, side: fn(&(i64, i64, bool)) -> i64| {
            let sides = (0..model.types.len()).map(|t| {
                let sides: Vec<i64> = ways(t).map(|way| side(&way) + kerf).collect();
                (sides, model.types[t].demand)
            });
            sums(sides, whole, meter)
        };
        let xs = sums(sheet.length + kerf, |way| way.0)?;
        let ys = sums(sheet.width + kerf, |way| way.1)?;
        if xs.len() * ys.len() > MOST_CELLS {
            return None;
        }
        let pairs = |sums: &[i64]| {
            let cuts = |whole: &i64| sums.partition_point(|cut| 2 * cut <= *whole) as u64 - 1;
            sums.iter().map(cuts).sum::<u64>()
        };
        let (pairs_x, pairs_y) = (pairs(&xs), pairs(&ys));
        let work = pairs_x * ys.len() as u64 / 25 + pairs_y * xs.len() as u64 / 10 + 50;
        let tables = (pairs_x + pairs_y + (xs.len() * ys.len()) as u64) / 8;
        if work > most_work || tables + work > meter.left() || !meter.spend(tables) {
            return None;
        }
        let items = (0..model.types.len())
            .flat_map(|t| ways(t).map(move |way| (t, way)))
            .filter_map(|(t, (dx, dy, turned))| {
                let (i, j) = (xs.binary_search(&(dx + kerf)).ok()?, ys.binary_search(&(dy + kerf)).ok()?);
                Some(Item { t, i, j, turned })
            })
            .collect();
        let (halves_x, halves_y) = (halves(&xs), halves(&ys));
        let values = vec![0; xs.len() * ys.len()];
        Some(Self { kind, xs, ys, items, halves_x, halves_y, values, work })
    }

    /// How many parts a sheet can hold at most, by length and width of the smallest.
    pub fn most_parts(&self) -> i64 {
        let along = self.items.iter().map(|item| self.xs[item.i]).min().unwrap_or(1);
        let across = self.items.iter().map(|item| self.ys[item.j]).min().unwrap_or(1);
        let last = |sums: &[i64]| sums.last().copied().unwrap_or(0);
        (last(&self.xs) / along.max(1)) * (last(&self.ys) / across.max(1))
    }

    /// The greatest value of a pattern; `None` when the meter ended the run.
    pub fn run(&mut self, prices: &[i32], meter: &mut Meter) -> Option<i32> {
        let ny = self.ys.len();
        self.values.fill(0);
        for item in &self.items {
            let cell = &mut self.values[item.i * ny + item.j];
            *cell = (*cell).max(prices[item.t]);
        }
        let each = self.work / self.xs.len() as u64;
        for i in 0..self.xs.len() {
            let (before, rest) = self.values.split_at_mut(i * ny);
            let row = &mut rest[..ny];
            if i > 0 {
                let smaller = &before[(i - 1) * ny..];
                row.iter_mut().zip(smaller).for_each(|(to, &from)| *to = (*to).max(from));
            }
            for &(a, b) in &self.halves_x[i] {
                let first = &before[usize::from(a) * ny..][..ny];
                let second = &before[usize::from(b) * ny..][..ny];
                for ((to, &one), &two) in row.iter_mut().zip(first).zip(second) {
                    *to = (*to).max(one + two);
                }
            }
            let mut most = 0;
            for j in 0..ny {
                most = most.max(row[j]);
                for &(a, b) in &self.halves_y[j] {
                    most = most.max(row[usize::from(a)] + row[usize::from(b)]);
                }
                row[j] = most;
            }
            if !meter.spend(each) {
                return None;
            }
        }
        self.values.last().copied()
    }

    /// How the best pattern is sawn: with more of a part than is wanted, if that is best.
    pub fn layout(&self, model: &Model, prices: &[i32]) -> Layout {
        let mut layout = Layout { kind: self.kind, placed: Vec::new(), cuts: Vec::new(), kept: Vec::new(), cost: 0 };
        let sheet = &model.kinds[self.kind];
        let whole = Rect { x: 0, y: 0, dx: sheet.length, dy: sheet.width };
        let place = (self.xs.len() - 1, self.ys.len() - 1);
        self.lay(model, prices, place, whole, (None, 0), &mut layout);
        layout
    }

    fn lay(
        &self,
        model: &Model,
        prices: &[i32],
        (mut i, mut j): (usize, usize),
        piece: Rect,
        made: (Option<Axis>, u32),
        layout: &mut Layout,
    ) {
        let ny = self.ys.len();
        let at = |i: usize, j: usize| self.values[i * ny + j];
        let value = at(i, j);
        if value == 0 {
            return;
        }
        // The smallest piece of the same value.
        while i > 0 && at(i - 1, j) == value {
            i -= 1;
        }
        while j > 0 && at(i, j - 1) == value {
            j -= 1;
        }
        let stage = |axis: Axis| if made.0 == Some(axis) { made.1 } else { made.1 + 1 };
        if let Some(item) = self.items.iter().find(|item| (item.i, item.j) == (i, j) && prices[item.t] == value) {
            let (dx, dy) = (self.xs[i] - model.kerf, self.ys[j] - model.kerf);
            let mut rest = (piece, made);
            for (axis, spare, at) in [(Axis::X, piece.dx - dx, piece.x + dx), (Axis::Y, piece.dy - dy, piece.y + dy)] {
                if spare > 0 {
                    let stage = if rest.1.0 == Some(axis) { rest.1.1 } else { rest.1.1 + 1 };
                    layout.cuts.push(Saw { stage, piece: rest.0, axis, at });
                    let before = if axis == Axis::X { Rect { dx, ..rest.0 } } else { Rect { dy, ..rest.0 } };
                    rest = (before, (Some(axis), stage));
                }
            }
            layout.placed.push(Spot { t: item.t, rect: Rect { dx, dy, ..piece }, turned: item.turned });
            return;
        }
        let kerf = model.kerf;
        for &(a, b) in &self.halves_x[i] {
            let (a, b) = (usize::from(a), usize::from(b));
            if at(a, j) + at(b, j) == value {
                let dx = self.xs[a] - kerf;
                layout.cuts.push(Saw { stage: stage(Axis::X), piece, axis: Axis::X, at: piece.x + dx });
                let made = (Some(Axis::X), stage(Axis::X));
                self.lay(model, prices, (a, j), Rect { dx, ..piece }, made, layout);
                let behind = Rect { x: piece.x + dx + kerf, dx: piece.dx - dx - kerf, ..piece };
                return self.lay(model, prices, (b, j), behind, made, layout);
            }
        }
        for &(a, b) in &self.halves_y[j] {
            let (a, b) = (usize::from(a), usize::from(b));
            if at(i, a) + at(i, b) == value {
                let dy = self.ys[a] - kerf;
                layout.cuts.push(Saw { stage: stage(Axis::Y), piece, axis: Axis::Y, at: piece.y + dy });
                let made = (Some(Axis::Y), stage(Axis::Y));
                self.lay(model, prices, (i, a), Rect { dy, ..piece }, made, layout);
                let behind = Rect { y: piece.y + dy + kerf, dy: piece.dy - dy - kerf, ..piece };
                return self.lay(model, prices, (i, b), behind, made, layout);
            }
        }
    }
}

/// All sums of grown sides up to the whole, each type as often as it is wanted; `None` if there are too many, or no time.
fn sums(types: impl Iterator<Item = (Vec<i64>, u32)>, whole: i64, meter: &mut Meter) -> Option<Vec<i64>> {
    let mut sums = vec![0];
    for (sides, demand) in types {
        let fresh_enough = |sum: &i64| *sum <= whole;
        let mut last = sums.clone();
        for _ in 0..demand {
            let more = last.iter().flat_map(|sum| sides.iter().map(move |side| sum + side));
            let mut more: Vec<i64> = more.filter(fresh_enough).filter(|sum| sums.binary_search(sum).is_err()).collect();
            more.sort_unstable();
            more.dedup();
            if more.is_empty() {
                break;
            }
            sums.extend(&more);
            sums.sort_unstable();
            let work = (sums.len() + 4 * more.len()) as u64;
            if sums.len() > usize::from(u16::MAX) / 4 || !meter.spend(work) {
                return None;
            }
            last = more;
        }
    }
    Some(sums)
}

/// For each sum, the cuts up to its half, with the greatest sum that fits behind.
fn halves(sums: &[i64]) -> Vec<Vec<(u16, u16)>> {
    let of = |&whole: &i64| {
        let mut behind = sums.len();
        let mut pairs: Vec<(u16, u16)> = Vec::new();
        for (a, &cut) in sums.iter().enumerate().skip(1).take_while(|(_, cut)| **cut * 2 <= whole) {
            while behind > 0 && sums[behind - 1] > whole - cut {
                behind -= 1;
            }
            pairs.push((a as u16, (behind - 1) as u16));
        }
        pairs
    };
    sums.iter().map(of).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use super::*;
    use crate::nesting::panels::{first::Dice, small};

    /// The recursion of Gilmore and Gomory at every tenth of the grown piece.
    fn most(model: &Model, prices: &[i32], (x, y): (i64, i64), known: &mut HashMap<(i64, i64), i32>) -> i32 {
        if let Some(&most) = known.get(&(x, y)) {
            return most;
        }
        let kerf = model.kerf;
        let fits = |t: &super::super::model::Type| t.length + kerf <= x && t.width + kerf <= y;
        let mut best = model.types.iter().zip(prices).filter(|(t, _)| fits(t)).map(|(_, &p)| p).max().unwrap_or(0);
        for cut in 1..x {
            best = best.max(most(model, prices, (cut, y), known) + most(model, prices, (x - cut, y), known));
        }
        for cut in 1..y {
            best = best.max(most(model, prices, (x, cut), known) + most(model, prices, (x, y - cut), known));
        }
        known.insert((x, y), best);
        best
    }

    #[test]
    fn no_pattern_is_worth_more() {
        let mut dice = Dice::new();
        for _ in 0..60 {
            // Demands so large that they bind no sum.
            let kerf = dice.below(3) as i64;
            let parts: Vec<(i64, i64, u32)> =
                small::parts(&mut dice, 3, 7, 1).into_iter().map(|(l, w, _)| (l, w, 20)).collect();
            let model = small::model(kerf, &[(14, 11, None)], &parts);
            let prices: Vec<i32> = model.types.iter().map(|t| t.area() as i32 + dice.below(9) as i32).collect();
            let whole = (14 + kerf, 11 + kerf);
            let best = most(&model, &prices, whole, &mut HashMap::new());
            let (value, layout) = small::metered(|meter| {
                let mut knapsack = Knapsack::new(&model, 0, u64::MAX, meter).unwrap();
                (knapsack.run(&prices, meter).unwrap(), knapsack.layout(&model, &prices))
            });
            assert_eq!(value, best, "{parts:?} at {prices:?}, kerf {kerf}");
            assert_eq!(layout.placed.iter().map(|spot| prices[spot.t]).sum::<i32>(), best);
        }
    }

    #[test]
    fn sums_hold_each_part_as_often_as_it_is_wanted() {
        let of =
            |types: Vec<(Vec<i64>, u32)>, whole| small::metered(|meter| sums(types.into_iter(), whole, meter)).unwrap();
        assert_eq!(of(vec![(vec![3], 2), (vec![5], 1)], 12), [0, 3, 5, 6, 8, 11]);
        // A part that may be turned: either side each time.
        assert_eq!(of(vec![(vec![2, 3], 2)], 10), [0, 2, 3, 4, 5, 6]);
    }
}
