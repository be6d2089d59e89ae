//! A bar problem in whole numbers, read from its definition alone.

use rust_decimal::Decimal;

use crate::{
    measure::{Money, Tenths},
    nesting::{
        bars::{Problem, Stock},
        check::bars::taken,
        proof::bars::{SCALE, Tree},
    },
};

/// 1 km; no bar, part, kerf or trim is longer.
const MOST_LENGTH: i64 = 10_000_000;
const MOST_PARTS: u64 = 100_000;
const MOST_PRICE: i128 = 1_000_000;

/// Parts of one charged length.
pub struct Length {
    /// Charged length + kerf.
    pub weight: i64,
    pub demand: u64,
}

/// Pieces that are alike.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// Offered length + kerf: holds parts whose weights sum to at most this.
    pub bears: i64,
    pub cost: i128,
    /// Of one tenth of kept remainder.
    pub worth: i128,
}

pub struct Kind {
    pub piece: Piece,
    /// Never above the number of parts, as each bar of a plan holds one.
    pub quantity: u64,
}

pub struct Figures {
    kerf: i64,
    keep: i64,
    /// Longest first, as in the proof.
    pub lengths: Vec<Length>,
    /// The proof's, then every other piece that can hold a part.
    pub kinds: Vec<Kind>,
    /// Number of parts.
    pub parts: u64,
}

impl Figures {
    pub fn read(problem: &Problem, tree: &Tree) -> Result<Self, String> {
        for (name, length) in
            [("kerf_mm", problem.kerf), ("end_trim_mm", problem.end_trim), ("keep_offcut_mm", problem.keep_offcut)]
        {
            within(name, length, 0)?;
        }
        let (kerf, keep) = (problem.kerf.0, problem.keep_offcut.0.max(1));
        let lengths = lengths(problem, tree, kerf)?;
        let parts = lengths.iter().map(|length| length.demand).sum();
        let kinds = kinds(problem, tree, parts)?;
        let mut figures = Self { kerf, keep, lengths, kinds, parts };
        let lightest = figures.lightest();
        // Pieces that hold nothing are in no plan; the proof's own stay, so that its numbering does.
        let named = tree.kinds.len();
        let mut place = 0;
        figures.kinds.retain(|kind| {
            place += 1;
            place <= named || (kind.quantity > 0 && kind.piece.bears >= lightest)
        });
        Ok(figures)
    }

    pub fn lightest(&self) -> i64 {
        self.lengths.last().map_or(0, |length| length.weight)
    }

    /// The longest weight used that still leaves a remainder to keep.
    pub fn longest_kept(&self, piece: Piece) -> i64 {
        piece.bears - self.kerf - self.keep
    }

    /// Cost of the piece less the whole offered length's worth: what a kept use of weight w costs, less w × worth.
    pub fn base(&self, piece: Piece) -> i128 {
        piece.cost - piece.worth * i128::from(piece.bears - self.kerf)
    }

    /// Net cost of a piece of which so much weight is used. Never falls when more is used.
    pub fn cost(&self, piece: Piece, used: i64) -> i128 {
        if used <= self.longest_kept(piece) { self.base(piece) + piece.worth * i128::from(used) } else { piece.cost }
    }

    /// Kinds that a plan can use.
    pub fn usable(&self) -> impl Iterator<Item = &Kind> {
        self.usable_places().map(|(_, kind)| kind)
    }

    pub fn usable_places(&self) -> impl Iterator<Item = (usize, &Kind)> {
        let lightest = self.lightest();
        let usable = move |kind: &Kind| kind.quantity > 0 && kind.piece.bears >= lightest;
        self.kinds.iter().enumerate().filter(move |(_, kind)| usable(kind))
    }

    /// The most bars of each kind in a plan that costs less than the goal: a bar costs at least what it costs with the
    /// shortest part on it, where that is never below nought.
    pub fn most_bars(&self, goal: i128) -> Vec<u64> {
        let lightest = self.lightest();
        let least = |kind: &Kind| self.cost(kind.piece, lightest);
        let dear = self.usable().all(|kind| least(kind) >= 0);
        let most = |kind: &Kind| {
            let affordable = goal.max(0) / least(kind).max(1);
            if dear { u64::try_from(affordable).unwrap_or(u64::MAX).min(kind.quantity) } else { kind.quantity }
        };
        self.kinds.iter().map(most).collect()
    }

    /// Every net cost is a multiple of this: of the costs' and worths' greatest common divisor.
    pub fn lattice(&self) -> i128 {
        let all = self.usable().flat_map(|kind| [kind.piece.cost, kind.piece.worth]);
        all.fold(0, gcd).max(1)
    }

    /// No plan costs more: the dearest pieces, one for each part.
    pub fn everything(&self) -> i128 {
        let dearest = self.usable().map(|kind| (-kind.piece.cost, kind.quantity));
        -least_sum(dearest.collect(), self.parts)
    }

    /// What the material alone costs: no piece gives length cheaper than its best ratio of cost to weight used. The ratio
    /// is monotone up to the longest kept use and falls after it, so it is least at one of three uses.
    pub fn by_material(&self) -> i128 {
        let weight: i128 = self.lengths.iter().map(|l| i128::from(l.weight) * i128::from(l.demand)).sum();
        let lightest = self.lightest();
        let uses = self.usable().flat_map(|kind| {
            let piece = kind.piece;
            let uses = [piece.bears, self.longest_kept(piece), lightest];
            uses.into_iter().filter(move |used| (lightest..=piece.bears).contains(used)).map(move |used| {
                let cost = self.cost(piece, used) * weight;
                let used = i128::from(used.max(1));
                cost.div_euclid(used) + i128::from(cost.rem_euclid(used) != 0)
            })
        });
        uses.min().unwrap_or(0)
    }
}

/// The least Σ amount over at most `most` items, of which each may be taken so many times; only what lowers it is taken.
pub fn least_sum(mut items: Vec<(i128, u64)>, most: u64) -> i128 {
    items.retain(|&(amount, _)| amount < 0);
    items.sort_unstable();
    let (mut sum, mut left) = (0, most);
    for (amount, times) in items {
        let times = times.min(left);
        sum += amount * i128::from(times);
        left -= times;
    }
    sum
}

fn gcd(a: i128, b: i128) -> i128 {
    if b == 0 { a } else { gcd(b, a % b) }
}

fn within(field: &str, length: Tenths, least: i64) -> Result<(), String> {
    if (least..=MOST_LENGTH).contains(&length.0) {
        Ok(())
    } else {
        Err(format!("{field}: {length} mm is out of range, so nothing is proven of this problem"))
    }
}

fn lengths(problem: &Problem, tree: &Tree, kerf: i64) -> Result<Vec<Length>, String> {
    let mut by_length = std::collections::BTreeMap::<i64, u64>::new();
    for (place, part) in problem.parts.iter().enumerate() {
        within(&format!("parts[{place}].length_mm"), part.length, 1)?;
        let tilts = part.mitre.iter().flat_map(|mitre| mitre.ends);
        if tilts.into_iter().any(|end| !(0.0..=75.0).contains(&end.angle_deg)) {
            return Err(format!("parts[{place}].ends: an angle is not from 0 to 75"));
        }
        if part.quantity > 0 {
            *by_length.entry(taken(part, kerf)).or_default() += u64::from(part.quantity);
        }
    }
    if by_length.values().sum::<u64>() > MOST_PARTS {
        return Err(format!("parts: more than {MOST_PARTS}, so nothing is proven of this problem"));
    }
    let ours: Vec<i64> = by_length.keys().rev().copied().collect();
    let theirs: Vec<i64> = tree.lengths.iter().map(|length| length.0).collect();
    if ours != theirs {
        return Err("lengths_mm: are not the problem's charged lengths, longest first".into());
    }
    let length = |(charged, demand)| Length { weight: charged + kerf, demand };
    Ok(by_length.into_iter().rev().map(length).collect())
}

fn kinds(problem: &Problem, tree: &Tree, parts: u64) -> Result<Vec<Kind>, String> {
    let mut left: std::collections::BTreeMap<&str, (Piece, u64)> = std::collections::BTreeMap::new();
    let priced = problem.stock.iter().filter(|stock| stock.cost.is_some()).count();
    if priced != 0 && priced != problem.stock.len() {
        return Err("stock: some has a cost and some has none".into());
    }
    for (place, stock) in problem.stock.iter().enumerate() {
        let quantity = stock.quantity.map_or(parts, |n| u64::from(n).min(parts));
        if left.insert(stock.id.as_str(), (piece(problem, stock, place)?, quantity)).is_some() {
            return Err(format!("stock[{place}].id: \"{}\" stands twice", stock.id));
        }
    }
    let mut kinds = Vec::new();
    for (at, ids) in tree.kinds.iter().enumerate() {
        let mut kind: Option<Kind> = None;
        for id in ids {
            let Some((piece, quantity)) = left.remove(id.as_str()) else {
                return Err(format!("kinds[{at}]: \"{id}\" is not in the problem's stock, or stands twice"));
            };
            match &mut kind {
                None => kind = Some(Kind { piece, quantity }),
                Some(kind) if kind.piece == piece => kind.quantity = (kind.quantity + quantity).min(parts),
                Some(_) => return Err(format!("kinds[{at}]: \"{id}\" is not like the first of its kind")),
            }
        }
        kinds.push(kind.ok_or_else(|| format!("kinds[{at}]: is empty"))?);
    }
    kinds.extend(left.into_values().map(|(piece, quantity)| Kind { piece, quantity }));
    Ok(kinds)
}

fn piece(problem: &Problem, stock: &Stock, place: usize) -> Result<Piece, String> {
    within(&format!("stock[{place}].length_mm"), stock.length, 1)?;
    let trim = stock.end_trim.unwrap_or(problem.end_trim);
    within(&format!("stock[{place}].end_trim_mm"), trim, 0)?;
    let (cost, worth) = match stock.cost {
        Some(cost) => (
            exact(&format!("stock[{place}].cost"), cost)?,
            // The worth is of a metre; a tenth of a millimetre is 10⁻⁴ of it.
            exact(&format!("stock[{place}].offcut_value_per_m"), stock.offcut_value_per_m)? / 10_000,
        ),
        // Unpriced: a bar costs its length in mm.
        None => (i128::from(stock.length.0) * 10_i128.pow(SCALE - 1), 0),
    };
    Ok(Piece { bears: stock.length.0 - trim.0 + problem.kerf.0, cost, worth })
}

/// A price of at most 4 decimals in [`SCALE`].
fn exact(field: &str, price: Money) -> Result<i128, String> {
    let price = price.0.normalize();
    if price.is_sign_negative() && !price.is_zero() || price > Decimal::from(MOST_PRICE as i64) || price.scale() > 4 {
        return Err(format!("{field}: {price} is not a price from 0 to {MOST_PRICE} with up to 4 decimals"));
    }
    Ok(price.mantissa() * 10_i128.pow(SCALE - price.scale()))
}
