//! The problem in integers: equal rectangles grouped into types, equal sheets into kinds.
//!
//! Money is in 10⁻¹² of the currency: a square tenth is 10⁻⁸ m² and a worth has 4 decimals.

use std::collections::HashSet;

use super::{CutClass, PartGrain, Problem, SheetGrain};
use crate::{
    measure::Tenths,
    nesting::{Fault, ten_thousandths},
};

pub(super) const SCALE: u32 = 12;

/// 100 m of sheet, a million for a piece, ten thousand parts.
const MOST_LENGTH: i64 = 1_000_000;
const MOST_COST: i64 = 1_000_000;
const MOST_PARTS: u64 = 10_000;
const MOST_LINES: usize = 5_000;

#[derive(Debug)]
pub(super) struct Type {
    pub length: i64,
    pub width: i64,
    pub grain: PartGrain,
    pub demand: u32,
    /// Places in the problem's list of parts, with quantity.
    pub parts: Vec<(usize, u32)>,
}

#[derive(Debug)]
pub(super) struct Kind {
    /// The trimmed sheet.
    pub length: i64,
    pub width: i64,
    pub cost: i128,
    /// Worth of one square tenth of kept remainder; nought where no remainder can be kept beside any part.
    pub value: i128,
    pub grain: SheetGrain,
    /// Never above the number of parts.
    pub quantity: u32,
    pub stock: Vec<(usize, u32)>,
}

#[derive(Debug)]
pub(super) struct Model {
    pub kerf: i64,
    pub trim: i64,
    /// Longer and shorter side of the least kept remainder, at least one tenth each.
    pub keep: (i64, i64),
    pub class: CutClass,
    pub max_stages: u32,
    /// Largest area first.
    pub types: Vec<Type>,
    pub kinds: Vec<Kind>,
    pub count: u32,
}

/// How a type may lie on a kind: as drawn, turned.
pub(super) fn lies(part: PartGrain, sheet: SheetGrain) -> [bool; 2] {
    match (part, sheet) {
        (PartGrain::Any, _) | (_, SheetGrain::None) => [true, true],
        (PartGrain::Length, SheetGrain::Length) | (PartGrain::Width, SheetGrain::Width) => [true, false],
        (PartGrain::Length, SheetGrain::Width) | (PartGrain::Width, SheetGrain::Length) => [false, true],
    }
}

impl Type {
    pub fn area(&self) -> i64 {
        self.length * self.width
    }

    /// The sizes along x and y in which it may lie on this kind, with whether it is turned; a square lies one way.
    pub fn sizes(&self, kind: &Kind) -> impl Iterator<Item = (i64, i64, bool)> + use<> {
        let [drawn, turned] = lies(self.grain, kind.grain);
        let (l, w) = (self.length, self.width);
        let drawn = drawn.then_some((l, w, false));
        let turned = (turned && (l != w || drawn.is_none())).then_some((w, l, true));
        drawn.into_iter().chain(turned)
    }

    pub fn fits(&self, kind: &Kind) -> bool {
        self.sizes(kind).any(|(dx, dy, _)| dx <= kind.length && dy <= kind.width)
    }
}

impl Kind {
    /// Whether a remainder of least kept size has room, a kerf apart, beside some part.
    fn keeps_beside(&self, types: &[Type], (long, short): (i64, i64), kerf: i64) -> bool {
        let beside = |(rx, ry): (i64, i64), (dx, dy, _): (i64, i64, bool)| {
            let (along, across) = (rx + kerf + dx <= self.length, ry + kerf + dy <= self.width);
            (along && ry.max(dy) <= self.width) || (across && rx.max(dx) <= self.length)
        };
        let rests = [(long, short), (short, long)];
        types.iter().flat_map(|t| t.sizes(self)).any(|way| rests.iter().any(|&rest| beside(rest, way)))
    }
}

impl Model {
    pub fn new(problem: &Problem) -> Result<Self, Fault> {
        check_lengths(problem)?;
        let mut ids = HashSet::new();
        let mut types: Vec<Type> = Vec::new();
        let mut count = 0_u64;
        for (place, part) in problem.parts.iter().enumerate() {
            unique(&mut ids, &part.id, || format!("parts[{place}].id"))?;
            count += u64::from(part.quantity);
            if count > MOST_PARTS {
                return Err(Fault::new("parts", format!("more than {MOST_PARTS} parts in one plan")));
            }
            if part.quantity == 0 {
                continue;
            }
            let (length, width, grain) = (part.length.0, part.width.0, part.grain);
            match types.iter_mut().find(|t| (t.length, t.width, t.grain) == (length, width, grain)) {
                Some(t) => {
                    t.demand += part.quantity;
                    t.parts.push((place, part.quantity));
                }
                None => types.push(Type {
                    length,
                    width,
                    grain,
                    demand: part.quantity,
                    parts: vec![(place, part.quantity)],
                }),
            }
        }
        types.sort_by_key(|t| (-t.area(), -t.length, -t.width, t.grain));
        let [a, b] = problem.keep_offcut.map(|t| t.0.max(1));
        let keep = (a.max(b), a.min(b));
        let mut kinds = kinds(problem, count as u32, &types, keep)?;
        for kind in kinds.iter_mut().filter(|kind| !kind.keeps_beside(&types, keep, problem.kerf.0)) {
            kind.value = 0;
        }
        Ok(Self {
            kerf: problem.kerf.0,
            trim: problem.edge_trim.0,
            keep,
            class: problem.cuts,
            max_stages: problem.max_stages.unwrap_or(u32::MAX),
            types,
            kinds,
            count: count as u32,
        })
    }

    pub fn keeps(&self, length: i64, width: i64) -> bool {
        length.max(width) >= self.keep.0 && length.min(width) >= self.keep.1
    }
}

fn unique<'a>(ids: &mut HashSet<&'a str>, id: &'a str, field: impl Fn() -> String) -> Result<(), Fault> {
    if id.is_empty() {
        return Err(Fault::new(field(), "is empty; every line needs an id"));
    }
    if !ids.insert(id) {
        return Err(Fault::new(field(), format!("\"{id}\" stands twice; ids are unique")));
    }
    Ok(())
}

fn within(field: impl Fn() -> String, length: Tenths, least: i64) -> Result<(), Fault> {
    if length.0 < least {
        let rule = if least == 0 { "0 or more" } else { "more than 0" };
        return Err(Fault::new(field(), format!("{length} mm; must be {rule}")));
    }
    if length.0 > MOST_LENGTH {
        return Err(Fault::new(field(), format!("{length} mm; must be at most {} mm", Tenths(MOST_LENGTH))));
    }
    Ok(())
}

fn check_lengths(problem: &Problem) -> Result<(), Fault> {
    within(|| "kerf_mm".into(), problem.kerf, 0)?;
    within(|| "edge_trim_mm".into(), problem.edge_trim, 0)?;
    for (place, side) in problem.keep_offcut.iter().enumerate() {
        within(|| format!("keep_offcut_mm[{place}]"), *side, 0)?;
    }
    if problem.max_stages == Some(0) {
        return Err(Fault::new("max_stages", "0; must be 1 or more, or null for any number"));
    }
    if problem.max_stages.is_some() && problem.cuts == CutClass::Free {
        return Err(Fault::new("max_stages", "only guillotine cuts have stages; leave it null with free cuts"));
    }
    for (name, lines) in [("stock", problem.stock.len()), ("parts", problem.parts.len())] {
        if lines > MOST_LINES {
            return Err(Fault::new(name, format!("{lines} lines; a problem takes up to {MOST_LINES}")));
        }
    }
    for (place, part) in problem.parts.iter().enumerate() {
        within(|| format!("parts[{place}].length_mm"), part.length, 1)?;
        within(|| format!("parts[{place}].width_mm"), part.width, 1)?;
    }
    Ok(())
}

fn kinds(problem: &Problem, count: u32, types: &[Type], keep: (i64, i64)) -> Result<Vec<Kind>, Fault> {
    let priced = problem.stock.iter().filter(|s| s.cost.is_some()).count();
    if priced != 0 && priced != problem.stock.len() {
        let place = problem.stock.iter().position(|s| s.cost.is_none()).unwrap_or(0);
        return Err(Fault::new(format!("stock[{place}].cost"), "is missing; give a cost for all stock or for none"));
    }
    let smallest = types.iter().map(Type::area).min().unwrap_or(0);
    let mut ids = HashSet::new();
    let mut kinds: Vec<Kind> = Vec::new();
    for (place, stock) in problem.stock.iter().enumerate() {
        unique(&mut ids, &stock.id, || format!("stock[{place}].id"))?;
        within(|| format!("stock[{place}].length_mm"), stock.length, 1)?;
        within(|| format!("stock[{place}].width_mm"), stock.width, 1)?;
        let field = format!("stock[{place}].offcut_value_per_m2");
        let value = i128::from(ten_thousandths(&field, stock.offcut_value_per_m2, MOST_COST)?);
        let (cost, value) = match stock.cost {
            Some(cost) => {
                (i128::from(ten_thousandths(&format!("stock[{place}].cost"), cost, MOST_COST)?) * 100_000_000, value)
            }
            // Square tenths are hundredths of mm².
            None => (i128::from(stock.length.0 * stock.width.0) * 10_000_000_000, 0),
        };
        let length = (stock.length.0 - 2 * problem.edge_trim.0).max(0);
        let width = (stock.width.0 - 2 * problem.edge_trim.0).max(0);
        // A price is a rounded figure: a whole sheet may be worth half a hundredth more than it costs, a cut one never.
        let whole = i128::from(length * width) * value - cost;
        let largest_left = if length.max(width) >= keep.0 { (length * width - smallest).max(0) } else { 0 };
        if whole > 5_000_000_000 || i128::from(largest_left) * value > cost {
            let why =
                "the whole sheet would be worth more than its cost as an offcut; lower the worth or raise the cost";
            return Err(Fault::new(field, why));
        }
        let wanted = stock.quantity.unwrap_or(count).min(count);
        if wanted == 0 || length == 0 || width == 0 {
            continue;
        }
        let grain = stock.grain;
        match kinds
            .iter_mut()
            .find(|k| (k.length, k.width, k.cost, k.value, k.grain) == (length, width, cost, value, grain))
        {
            Some(kind) => {
                kind.quantity = kind.quantity.saturating_add(wanted).min(count);
                kind.stock.push((place, wanted));
            }
            None => {
                kinds.push(Kind { length, width, cost, value, grain, quantity: wanted, stock: vec![(place, wanted)] })
            }
        }
    }
    kinds.retain(|kind| types.iter().any(|t| t.fits(kind)));
    Ok(kinds)
}
