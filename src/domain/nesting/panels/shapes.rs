//! The least pieces from which guillotine cuts in any number of stages give a set of parts: for each set the sizes of which
//! none can be made smaller (shape functions, Otten 1983 and Stockmeyer 1983, here with a kerf and the parts turned).
//!
//! Two neighbours in a piece of height h need their least lengths at that height and a kerf; the least length changes only
//! at heights of the one or the other, so the sizes of two sets together are found by going through both lists once.

use super::model::{Kind, Model};
use crate::nesting::Meter;

pub(super) struct Shapes {
    /// By set: length rising, width falling; none where no cuts give the set from a sheet.
    least: Vec<Vec<(i64, i64)>>,
}

impl Shapes {
    /// For all sets in mixed radix; `None` when the work allowed ends.
    pub fn new(model: &Model, kind: &Kind, sets: &[Vec<u32>], radix: &[usize], meter: &mut Meter) -> Option<Self> {
        let mut shapes = Self { least: vec![Vec::new(); sets.len()] };
        let inside = |&(dx, dy): &(i64, i64)| dx <= kind.length && dy <= kind.width;
        for (set, parts) in sets.iter().enumerate().skip(1) {
            let mut found: Vec<(i64, i64)> = Vec::new();
            if let Some(t) = radix.iter().position(|&one| one == set) {
                found.extend(model.types[t].sizes(kind).map(|(dx, dy, _)| (dx, dy)).filter(inside));
            } else {
                let mut work = 10;
                for one in within(parts, radix).take_while(|&one| 2 * one <= set) {
                    let (a, b) = (&shapes.least[one], &shapes.least[set - one]);
                    work += 2 + 2 * (a.len() + b.len()) as u64;
                    if !a.is_empty() && !b.is_empty() {
                        found.extend(beside(a, b, model.kerf).filter(inside));
                        found.extend(above(a, b, model.kerf).filter(inside));
                    }
                }
                if !meter.spend(work + 4 * found.len() as u64) {
                    return None;
                }
            }
            shapes.least[set] = smallest(found);
        }
        Some(shapes)
    }

    /// The least length of a piece of this width that gives the set.
    pub fn length(&self, set: usize, width: i64) -> Option<i64> {
        if set == 0 {
            return Some(0);
        }
        let least = &self.least[set];
        least.get(least.partition_point(|&(_, dy)| dy > width)).map(|&(dx, _)| dx)
    }

    /// The least width of a piece of this length that gives the set.
    pub fn width(&self, set: usize, length: i64) -> Option<i64> {
        if set == 0 {
            return Some(0);
        }
        let least = &self.least[set];
        least.partition_point(|&(dx, _)| dx <= length).checked_sub(1).map(|at| least[at].1)
    }
}

/// All sets but the empty one that a set contains, as numbers, rising.
pub(super) fn within<'a>(set: &'a [u32], radix: &'a [usize]) -> impl Iterator<Item = usize> + 'a {
    let mut taken = vec![0_u32; set.len()];
    let mut one = 0;
    std::iter::from_fn(move || {
        let t = (0..set.len()).find(|&t| taken[t] < set[t])?;
        for lower in 0..t {
            one -= taken[lower] as usize * radix[lower];
            taken[lower] = 0;
        }
        taken[t] += 1;
        one += radix[t];
        Some(one)
    })
}

/// Both side by side along the length.
fn beside<'a>(a: &'a [(i64, i64)], b: &'a [(i64, i64)], kerf: i64) -> impl Iterator<Item = (i64, i64)> + 'a {
    let at = |list: &[(i64, i64)], width: i64| list.get(list.partition_point(|&(_, dy)| dy > width)).map(|s| s.0);
    a.iter().chain(b).filter_map(move |&(_, dy)| Some((at(a, dy)? + kerf + at(b, dy)?, dy)))
}

/// Both one above the other.
fn above<'a>(a: &'a [(i64, i64)], b: &'a [(i64, i64)], kerf: i64) -> impl Iterator<Item = (i64, i64)> + 'a {
    let at = |list: &[(i64, i64)], length: i64| {
        list.partition_point(|&(dx, _)| dx <= length).checked_sub(1).map(|at| list[at].1)
    };
    a.iter().chain(b).filter_map(move |&(dx, _)| Some((dx, at(a, dx)? + kerf + at(b, dx)?)))
}

/// Those that contain no other: length rising, width falling.
fn smallest(mut sizes: Vec<(i64, i64)>) -> Vec<(i64, i64)> {
    sizes.sort_unstable();
    let mut least = i64::MAX;
    sizes.retain(|&(_, dy)| {
        let smaller = dy < least;
        least = least.min(dy);
        smaller
    });
    sizes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nesting::panels::{
        PartGrain,
        first::Dice,
        small::{self, Trees},
    };

    /// Every set of up to five parts, on every width: no tree of cuts gives it from a shorter piece.
    #[test]
    fn no_smaller_piece_gives_a_set() {
        let mut dice = Dice::new();
        for _ in 0..40 {
            let kerf = dice.below(2) as i64;
            let mut problem = small::problem(kerf, &[(9, 8, None)], &small::parts(&mut dice, 3, 4, 2));
            problem.parts[0].grain = PartGrain::Any;
            let model = Model::new(&problem).unwrap();
            let mut radix = Vec::new();
            let mut size = 1;
            for t in &model.types {
                radix.push(size);
                size *= t.demand as usize + 1;
            }
            let of = |set: usize| -> Vec<u32> {
                model.types.iter().zip(&radix).map(|(t, r)| (set / r % (t.demand as usize + 1)) as u32).collect()
            };
            let sets: Vec<Vec<u32>> = (0..size).map(of).collect();
            let kind = &model.kinds[0];
            let shapes = small::metered(|meter| Shapes::new(&model, kind, &sets, &radix, meter)).unwrap();
            let mut trees = Trees::new(&model);
            for (set, parts) in sets.iter().enumerate().skip(1) {
                for width in 1..=kind.width {
                    let least = (1..=kind.length).find(|&length| trees.give(length, width, parts));
                    assert_eq!(
                        shapes.length(set, width),
                        least,
                        "{parts:?} of {:?} on {width}, kerf {kerf}",
                        problem.parts
                    );
                }
                for length in 1..=kind.length {
                    let least = (1..=kind.width).find(|&width| trees.give(length, width, parts));
                    assert_eq!(shapes.width(set, length), least);
                }
            }
        }
    }
}
