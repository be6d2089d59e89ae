//! Small problems for the tests beside each file.

use std::collections::HashMap;

use super::{CutClass, Part, PartGrain, Problem, SheetGrain, Stock, first::Dice, model::Model};
use crate::{
    measure::{Money, Tenths},
    nesting::{Budget, Meter, unwatched},
};

/// Unpriced sheets (length, width, how many) and parts (length, width, how many) in tenths, parts not turned.
pub(super) fn problem(kerf: i64, sheets: &[(i64, i64, Option<u32>)], parts: &[(i64, i64, u32)]) -> Problem {
    let stock = sheets.iter().enumerate().map(|(at, &(length, width, quantity))| Stock {
        id: format!("S{at}"),
        length: Tenths(length),
        width: Tenths(width),
        cost: None,
        quantity,
        grain: SheetGrain::Length,
        offcut_value_per_m2: Money::ZERO,
    });
    let parts = parts.iter().enumerate().map(|(at, &(length, width, quantity))| Part {
        id: format!("P{at}"),
        length: Tenths(length),
        width: Tenths(width),
        quantity,
        grain: PartGrain::Length,
    });
    Problem {
        kerf: Tenths(kerf),
        edge_trim: Tenths(0),
        keep_offcut: [Tenths(0); 2],
        cuts: CutClass::Guillotine,
        max_stages: None,
        stock: stock.collect(),
        parts: parts.collect(),
    }
}

pub(super) fn model(kerf: i64, sheets: &[(i64, i64, Option<u32>)], parts: &[(i64, i64, u32)]) -> Model {
    Model::new(&problem(kerf, sheets, parts)).unwrap()
}

/// Parts by chance, with sides up to `most`.
pub(super) fn parts(dice: &mut Dice, kinds: u64, most: u64, each: u64) -> Vec<(i64, i64, u32)> {
    let mut side = |most: u64| 1 + dice.below(most) as i64;
    (0..kinds).map(|_| (side(most), side(most), side(each) as u32)).collect()
}

/// Runs with a meter that never ends.
pub(super) fn metered<T>(work: impl FnOnce(&mut Meter) -> T) -> T {
    work(&mut Meter::new(Budget::full(), super::model::SCALE, &mut unwatched))
}

/// Whether some tree of cuts, at whatever tenths, gives exactly these parts of each type from a piece.
pub(super) struct Trees<'m> {
    model: &'m Model,
    known: HashMap<(i64, i64, Vec<u32>), bool>,
}

impl<'m> Trees<'m> {
    pub fn new(model: &'m Model) -> Self {
        Self { model, known: HashMap::new() }
    }

    pub fn give(&mut self, dx: i64, dy: i64, parts: &[u32]) -> bool {
        if parts.iter().all(|&n| n == 0) {
            return true;
        }
        if dx <= 0 || dy <= 0 {
            return false;
        }
        let key = (dx, dy, parts.to_vec());
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let kind = &self.model.kinds[0];
        let one = parts.iter().sum::<u32>() == 1;
        let is_part = one
            && parts
                .iter()
                .zip(&self.model.types)
                .any(|(&n, t)| n == 1 && t.sizes(kind).any(|(x, y, _)| (x, y) == (dx, dy)));
        let kerf = self.model.kerf;
        let given = is_part
            || all_within(parts).into_iter().any(|some| {
                let rest: Vec<u32> = parts.iter().zip(&some).map(|(all, some)| all - some).collect();
                (1..dx).any(|at| self.give(at, dy, &some) && self.give(dx - at - kerf, dy, &rest))
                    || (1..dy).any(|at| self.give(dx, at, &some) && self.give(dx, dy - at - kerf, &rest))
            });
        self.known.insert(key, given);
        given
    }
}

/// Every set of parts that a set contains, itself and the empty one too.
pub(super) fn all_within(parts: &[u32]) -> Vec<Vec<u32>> {
    parts.iter().fold(vec![Vec::new()], |sets, &n| {
        sets.iter().flat_map(|set| (0..=n).map(move |here| [&set[..], &[here]].concat())).collect()
    })
}
