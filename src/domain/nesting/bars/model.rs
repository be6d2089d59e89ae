//! The problem in integers: equal lengths grouped into types, equal pieces into kinds.
//!
//! Money is in 10⁻¹⁰ of the currency: a price has 4 decimals, and a remainder of one tenth (10⁻⁴ m) at a worth of 4
//! decimals a metre has 8; two more keep what is lost by rounding prices to integers below the least difference of two
//! plans. With kerf k, a part *weighs* its charged length + k and a piece *bears* its offered length + k,
//! so that a pattern fits when its weights sum to at most what the piece bears.

use std::collections::{BTreeMap, HashSet};

use super::{Part, Problem, rows::Bar};
use crate::{
    measure::Tenths,
    nesting::{Fault, ten_thousandths},
};

/// Decimals of the integer money.
pub(super) const SCALE: u32 = 10;

/// 1 km of bar, a million for a piece, a hundred thousand parts: far past any shop, and every sum below fits.
const MOST_LENGTH: i64 = 10_000_000;
const MOST_COST: i64 = 1_000_000;
const MOST_PARTS: u64 = 100_000;
const MOST_LINES: usize = 20_000;

/// Parts of one charged length.
#[derive(Debug)]
pub(super) struct Type {
    pub weight: i64,
    pub demand: u32,
    /// Places in the problem's list of parts, with quantity.
    pub parts: Vec<(usize, u32)>,
}

/// Pieces that are alike in all that matters to a plan.
#[derive(Clone, Debug)]
pub(super) struct Kind {
    /// What the pieces bear: offered length + kerf.
    pub bears: i64,
    pub cost: i64,
    /// Worth of one tenth of kept remainder.
    pub value: i64,
    /// Never above the number of parts: a plan needs no more.
    pub quantity: u32,
    /// Whether `quantity` can bind.
    pub limited: bool,
    /// Places in the problem's list of stock, with quantity.
    pub stock: Vec<(usize, u32)>,
}

#[derive(Debug)]
pub(super) struct Model {
    pub kerf: i64,
    /// The least remainder that is kept, at least one tenth.
    pub keep: i64,
    /// Heaviest first.
    pub types: Vec<Type>,
    pub kinds: Vec<Kind>,
    /// Number of parts in all.
    pub count: u32,
    /// Every net cost is a multiple of this.
    pub lattice: i64,
}

/// A way to cut one piece. Its cost is what the piece costs less the worth of a kept remainder; relaxations within limits
/// know columns that throw theirs away too.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Column {
    pub kind: u32,
    /// (type, how many), types ascending.
    pub items: Vec<(u16, u32)>,
    pub used: i64,
    pub cost: i64,
}

impl Column {
    /// A remainder that was thrown away, though it is worth something, is not kept.
    pub fn bar(&self, model: &Model) -> Bar<'_> {
        let (place, kind) = (self.kind as usize, &model.kinds[self.kind as usize]);
        let kept = if kind.value > 0 { self.cost < kind.cost } else { model.keeps(place, self.used) };
        Bar { kind: place, kept, items: &self.items }
    }
}

impl Model {
    pub fn new(problem: &Problem) -> Result<Self, Fault> {
        check_lengths(problem)?;
        let kerf = problem.kerf.0;
        let keep = problem.keep_offcut.0.max(1);
        let mut by_length: BTreeMap<i64, Vec<(usize, u32)>> = BTreeMap::new();
        let mut ids = HashSet::new();
        let mut count = 0_u64;
        for (place, part) in problem.parts.iter().enumerate() {
            unique(&mut ids, &part.id, format!("parts[{place}].id"))?;
            count += u64::from(part.quantity);
            if part.quantity > 0 {
                by_length.entry(charged(part, kerf)).or_default().push((place, part.quantity));
            }
        }
        if count > MOST_PARTS {
            return Err(Fault::new("parts", format!("{count} parts; a plan takes up to {MOST_PARTS}")));
        }
        let count = count as u32;
        let types: Vec<Type> = by_length
            .into_iter()
            .rev()
            .map(|(charged, parts)| Type { weight: charged + kerf, demand: parts.iter().map(|&(_, n)| n).sum(), parts })
            .collect();
        if types.len() > usize::from(u16::MAX) {
            return Err(Fault::new("parts", "more than 65,535 different lengths"));
        }
        let kinds = kinds(problem, count, types.last().map(|t| t.weight), keep)?;
        let lattice = kinds.iter().flat_map(|k| [k.cost, k.value]).fold(0, gcd).max(1);
        Ok(Self { kerf, keep, types, kinds, count, lattice })
    }

    /// Whether the remainder of a piece of which so much weight is used goes to the rack.
    pub fn keeps(&self, kind: usize, used: i64) -> bool {
        self.kinds[kind].bears - self.kerf - used >= self.keep
    }

    /// Net cost of one piece of this kind of which so much weight is used.
    pub fn cost(&self, kind: usize, used: i64) -> i64 {
        let kind = &self.kinds[kind];
        let remainder = kind.bears - self.kerf - used;
        if remainder >= self.keep { kind.cost - kind.value * remainder } else { kind.cost }
    }

    pub fn column(&self, kind: usize, items: Vec<(u16, u32)>) -> Column {
        let used = items.iter().map(|&(t, n)| self.types[usize::from(t)].weight * i64::from(n)).sum();
        Column { kind: kind as u32, used, cost: self.cost(kind, used), items }
    }

    /// The least money, on the lattice of net costs, that is at least this.
    pub fn up_to_lattice(&self, bound: i128) -> i128 {
        let lattice = i128::from(self.lattice);
        bound.div_euclid(lattice) * lattice + if bound.rem_euclid(lattice) == 0 { 0 } else { lattice }
    }
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}

/// What a part takes of the bar's length: long point + for each mitred end (kerf / cos a − kerf), rounded up to a tenth.
pub(super) fn charged(part: &Part, kerf: i64) -> i64 {
    let Some(mitre) = &part.mitre else { return part.length.0 };
    let kerf = kerf as f64;
    // Only 0° and 60° give a whole number here; the guard keeps these from rising by a tenth through the cosine's last bit.
    let extra: f64 = mitre.ends.iter().map(|end| kerf / end.angle_deg.to_radians().cos() - kerf).sum();
    part.length.0 + (extra - 1e-7).ceil().max(0.0) as i64
}

fn unique<'a>(ids: &mut HashSet<&'a str>, id: &'a str, field: String) -> Result<(), Fault> {
    if id.is_empty() {
        return Err(Fault::new(field, "is empty; every line needs an id"));
    }
    if !ids.insert(id) {
        return Err(Fault::new(field, format!("\"{id}\" stands twice; ids are unique")));
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
    within(|| "end_trim_mm".into(), problem.end_trim, 0)?;
    within(|| "keep_offcut_mm".into(), problem.keep_offcut, 0)?;
    for (name, lines) in [("stock", problem.stock.len()), ("parts", problem.parts.len())] {
        if lines > MOST_LINES {
            return Err(Fault::new(name, format!("{lines} lines; a problem takes up to {MOST_LINES}")));
        }
    }
    for (place, part) in problem.parts.iter().enumerate() {
        within(|| format!("parts[{place}].length_mm"), part.length, 1)?;
        let Some(mitre) = &part.mitre else { continue };
        within(|| format!("parts[{place}].section_depth_mm"), mitre.section_depth, 1)?;
        within(|| format!("parts[{place}].section_width_mm"), mitre.section_width, 1)?;
        for (end, cut) in mitre.ends.iter().enumerate() {
            if !(0.0..=75.0).contains(&cut.angle_deg) {
                let field = format!("parts[{place}].ends[{end}].angle_deg");
                return Err(Fault::new(field, format!("{}; must be from 0 to 75", cut.angle_deg)));
            }
        }
    }
    Ok(())
}

fn kinds(problem: &Problem, count: u32, lightest: Option<i64>, keep: i64) -> Result<Vec<Kind>, Fault> {
    let priced = problem.stock.iter().filter(|s| s.cost.is_some()).count();
    if priced != 0 && priced != problem.stock.len() {
        let place = problem.stock.iter().position(|s| s.cost.is_none()).unwrap_or(0);
        return Err(Fault::new(format!("stock[{place}].cost"), "is missing; give a cost for all stock or for none"));
    }
    let mut ids = HashSet::new();
    let mut kinds: Vec<Kind> = Vec::new();
    for (place, stock) in problem.stock.iter().enumerate() {
        unique(&mut ids, &stock.id, format!("stock[{place}].id"))?;
        within(|| format!("stock[{place}].length_mm"), stock.length, 1)?;
        let trim = stock.end_trim.unwrap_or(problem.end_trim);
        within(|| format!("stock[{place}].end_trim_mm"), trim, 0)?;
        let field = format!("stock[{place}].offcut_value_per_m");
        let value = ten_thousandths(&field, stock.offcut_value_per_m, MOST_COST)?;
        let (cost, value) = match stock.cost {
            Some(cost) => (ten_thousandths(&format!("stock[{place}].cost"), cost, MOST_COST)? * 1_000_000, value * 100),
            None => (stock.length.0 * 1_000_000_000, 0),
        };
        let offers = stock.length.0 - trim.0;
        let bears = offers + problem.kerf.0;
        refuse_worth_above_cost(place, i128::from(offers), value, cost, lightest, bears - problem.kerf.0, keep)?;
        let wanted = stock.quantity.unwrap_or(count).min(count);
        if wanted == 0 || lightest.is_none_or(|least| least > bears) {
            continue;
        }
        match kinds.iter_mut().find(|k| (k.bears, k.cost, k.value) == (bears, cost, value)) {
            Some(kind) => {
                kind.quantity = kind.quantity.saturating_add(wanted).min(count);
                kind.stock.push((place, wanted));
            }
            None => {
                let stock = vec![(place, wanted)];
                kinds.push(Kind { bears, cost, value, quantity: wanted, limited: true, stock });
            }
        }
    }
    for kind in &mut kinds {
        kind.limited = kind.quantity < count;
    }
    Ok(kinds)
}

/// Nobody buys steel to make offcuts. A price is a rounded figure, so a whole piece may be worth half a hundredth more
/// than it costs, as long as no cut piece is.
fn refuse_worth_above_cost(
    place: usize,
    offers: i128,
    value: i64,
    cost: i64,
    lightest: Option<i64>,
    bears: i64,
    keep: i64,
) -> Result<(), Fault> {
    let whole = offers * i128::from(value) - i128::from(cost);
    let longest_left = lightest.map_or(0, |least| bears - least);
    let left = if longest_left >= keep { i128::from(longest_left) * i128::from(value) - i128::from(cost) } else { 0 };
    if whole > 5 * 10_i128.pow(SCALE - 3) || left > 0 {
        return Err(Fault::new(
            format!("stock[{place}].offcut_value_per_m"),
            "the whole piece would be worth more than its cost as an offcut; lower the worth or raise the cost",
        ));
    }
    Ok(())
}
