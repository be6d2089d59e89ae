//! Rechecks the measures by which a panel plan's bound is proven: [`crate::nesting::proof::panels`] says why they do.

use rust_decimal::Decimal;

use super::{Proven, pricing::MOST_STEPS};
use crate::{
    measure::{Money, Tenths},
    nesting::{
        Status,
        panels::{Answer, CutClass, PartGrain, Problem, SheetGrain},
        proof::{
            digest,
            panels::{BoundProof, Function, Measure, Proof},
        },
    },
};

/// Decimals of the money: 4 of a price, 8 of a square tenth in m².
const SCALE: u32 = 12;
const MOST_LENGTH: i64 = 1_000_000;
const MOST_PARTS: u64 = 10_000;
const MOST_CELLS: usize = 8_000_000;

struct Type {
    length: i64,
    width: i64,
    grain: PartGrain,
    demand: u64,
}

struct Kind {
    length: i64,
    width: i64,
    grain: SheetGrain,
    /// Cost of a sheet of which all that is not a part is kept; above nought, and what it is below.
    fixed: i128,
    negative: i128,
    /// Nought where nothing can be kept.
    worth: i128,
    quantity: u64,
}

/// Rechecks the proof of a panel plan.
///
/// # Errors
/// Why it does not prove what the answer claims.
pub fn panel_proof(problem: &Problem, answer: &Answer, proof: &Proof) -> Result<Proven, String> {
    if proof.problem != digest(problem) {
        return Err("the proof is about another problem (its SHA-256 differs)".into());
    }
    let measures = match &proof.bound {
        BoundProof::Searched => return Ok(Proven::Searched),
        BoundProof::Measures(measures) => measures,
    };
    if answer.status == Status::Infeasible {
        return Err("measures bound what a plan costs; they do not prove that there is none".into());
    }
    let claimed = answer.lower_bound.ok_or("lower_bound: is missing; without it nothing is claimed")?;
    let types = types(problem)?;
    let kinds = kinds(problem, &types)?;
    let mut steps = 0;
    let mut weighed = Vec::new();
    for (at, measure) in measures.iter().enumerate() {
        let one = weigh(problem, measure, &types, &kinds, &mut steps);
        weighed.push(one.map_err(|why| format!("measures[{at}]: {why}"))?);
    }
    let bound = match cover(&types, &kinds, &weighed) {
        Some(bound) => bound,
        // The sheets do not suffice: there is no plan, so none that costs less.
        None => return Ok(Proven::NoPlan),
    };
    let bound = Decimal::try_from_i128_with_scale(bound, SCALE).map_err(|_| "the figures are too large")?.normalize();
    if bound < claimed.0 {
        return Err(format!("the measures prove only {bound}; the answer claims {}", claimed.0));
    }
    Ok(Proven::CostsAtLeast(Money(claimed.0)))
}

fn within(field: String, length: Tenths, least: i64) -> Result<i64, String> {
    if (least..=MOST_LENGTH).contains(&length.0) {
        Ok(length.0)
    } else {
        Err(format!("{field}: {length} mm is out of range, so nothing is proven of this problem"))
    }
}

/// The different parts: largest area first, then longer, then wider, then by grain.
fn types(problem: &Problem) -> Result<Vec<Type>, String> {
    within("kerf_mm".into(), problem.kerf, 0)?;
    within("edge_trim_mm".into(), problem.edge_trim, 0)?;
    let mut types: Vec<Type> = Vec::new();
    for (place, part) in problem.parts.iter().enumerate() {
        let length = within(format!("parts[{place}].length_mm"), part.length, 1)?;
        let width = within(format!("parts[{place}].width_mm"), part.width, 1)?;
        let demand = u64::from(part.quantity);
        match types.iter_mut().find(|t| (t.length, t.width, t.grain) == (length, width, part.grain)) {
            Some(one) => one.demand += demand,
            None if demand > 0 => types.push(Type { length, width, grain: part.grain, demand }),
            None => {}
        }
    }
    if types.iter().map(|t| t.demand).sum::<u64>() > MOST_PARTS {
        return Err(format!("parts: more than {MOST_PARTS}, so nothing is proven of this problem"));
    }
    types.sort_by_key(|t| (-(t.length * t.width), -t.length, -t.width, t.grain));
    Ok(types)
}

fn kinds(problem: &Problem, types: &[Type]) -> Result<Vec<Kind>, String> {
    let parts: u64 = types.iter().map(|t| t.demand).sum();
    let exact = |field: String, price: Money| {
        let price = price.0.normalize();
        let sound = (price.is_zero() || !price.is_sign_negative()) && price.scale() <= 4;
        if !sound || price > Decimal::from(1_000_000) {
            return Err(format!("{field}: {price} is not a price from 0 to 1,000,000 with up to 4 decimals"));
        }
        Ok(price.mantissa() * 10_i128.pow(SCALE - price.scale()))
    };
    let mut kinds = Vec::new();
    for (place, stock) in problem.stock.iter().enumerate() {
        let (length, width) = (
            within(format!("stock[{place}].length_mm"), stock.length, 1)? - 2 * problem.edge_trim.0,
            within(format!("stock[{place}].width_mm"), stock.width, 1)? - 2 * problem.edge_trim.0,
        );
        let (cost, worth) = match stock.cost {
            Some(cost) => (
                exact(format!("stock[{place}].cost"), cost)?,
                // Of a square tenth, 10⁻⁸ m².
                exact(format!("stock[{place}].offcut_value_per_m2"), stock.offcut_value_per_m2)? / 100_000_000,
            ),
            // Unpriced: a sheet costs its area in mm².
            None => (i128::from(stock.length.0) * i128::from(stock.width.0) * 10_i128.pow(SCALE - 2), 0),
        };
        let quantity = stock.quantity.map_or(parts, |n| u64::from(n).min(parts));
        let mut kind = Kind { length, width, grain: stock.grain, fixed: cost, negative: 0, worth: 0, quantity };
        if room_to_keep(problem, types, &kind) {
            let fixed = cost - worth * i128::from(length) * i128::from(width);
            (kind.fixed, kind.negative, kind.worth) = (fixed.max(0), fixed.min(0), worth);
        }
        if kind.quantity > 0 && types.iter().any(|t| ways(t, &kind).next().is_some()) {
            kinds.push(kind);
        }
    }
    Ok(kinds)
}

/// Whether some part leaves room on the sheet, beyond a kerf, for a remainder that is large enough.
fn room_to_keep(problem: &Problem, types: &[Type], kind: &Kind) -> bool {
    let [one, other] = problem.keep_offcut.map(|side| side.0.max(1));
    let room = |x: i64, y: i64| x.min(y) >= one.min(other) && x.max(y) >= one.max(other);
    let kerf = problem.kerf.0;
    let mut lying = types.iter().flat_map(|t| ways(t, kind));
    lying.any(|(dx, dy)| room(kind.length - dx - kerf, kind.width) || room(kind.length, kind.width - dy - kerf))
}

/// The sides along x and y in which a part may lie on a sheet that it fits.
fn ways<'a>(part: &'a Type, sheet: &'a Kind) -> impl Iterator<Item = (i64, i64)> + 'a {
    let along = |grain| matches!((part.grain, grain), (PartGrain::Any, _) | (_, SheetGrain::None));
    let same = matches!(
        (part.grain, sheet.grain),
        (PartGrain::Length, SheetGrain::Length) | (PartGrain::Width, SheetGrain::Width)
    );
    let free = along(sheet.grain);
    let drawn = (free || same).then_some((part.length, part.width));
    let turned = (free || !same).then_some((part.width, part.length));
    drawn.into_iter().chain(turned).filter(|&(dx, dy)| dx <= sheet.length && dy <= sheet.width)
}

/// A measure in figures: what the parts have in all, and the most that a sheet of each kind holds.
struct Weighed {
    wanted: i128,
    holds: Vec<i128>,
}

fn weigh(
    problem: &Problem,
    measure: &Measure,
    types: &[Type],
    kinds: &[Kind],
    steps: &mut u64,
) -> Result<Weighed, String> {
    let kerf = problem.kerf.0;
    match measure {
        Measure::Area => {
            let grown = |l: i64, w: i64| i128::from(l + kerf) * i128::from(w + kerf);
            Ok(Weighed {
                wanted: types.iter().map(|t| grown(t.length, t.width) * i128::from(t.demand)).sum(),
                holds: kinds.iter().map(|k| grown(k.length, k.width)).collect(),
            })
        }
        Measure::Functions { length, width } => {
            let long = kinds.iter().map(|k| k.length + kerf).max().unwrap_or(1);
            let wide = kinds.iter().map(|k| k.width + kerf).max().unwrap_or(1);
            permitted(*length, long)?;
            permitted(*width, wide)?;
            let value = |x: i64, y: i64| of(*length, x + kerf, long) * of(*width, y + kerf, wide);
            let least = |t: &Type| kinds.iter().flat_map(|k| ways(t, k)).map(|(x, y)| value(x, y)).min().unwrap_or(0);
            Ok(Weighed {
                wanted: types.iter().map(|t| least(t) * i128::from(t.demand)).sum(),
                holds: kinds.iter().map(|k| value(k.length, k.width)).collect(),
            })
        }
        Measure::Prices(_) if problem.cuts == CutClass::Free => Err("prices hold for guillotine cuts alone".into()),
        Measure::Prices(prices) if prices.len() != types.len() => {
            Err(format!("{} prices are given, {} are needed", prices.len(), types.len()))
        }
        Measure::Prices(prices) => {
            if prices.iter().any(|&price| !(0..=1_000_000_000_000).contains(&price)) {
                return Err("a price is below 0 or above 10¹²".into());
            }
            let mut holds = Vec::new();
            for kind in kinds {
                holds.push(knapsack(kerf, prices, types, kind, steps)?);
            }
            let wanted = prices.iter().zip(types).map(|(&p, t)| i128::from(p) * i128::from(t.demand)).sum();
            Ok(Weighed { wanted, holds })
        }
    }
}

/// The range of a function's parameter in which it is superadditive.
fn permitted(function: Function, whole: i64) -> Result<(), String> {
    let right = match function {
        Function::Itself => true,
        Function::Threshold { k } | Function::Halves { k } => k > 0 && k <= whole / 2,
        Function::Steps { k } => (1..=1_000_000).contains(&k),
    };
    if right { Ok(()) } else { Err(format!("{function:?} is not superadditive up to {whole} tenths of a mm")) }
}

fn of(function: Function, x: i64, whole: i64) -> i128 {
    let (x, c) = (i128::from(x), i128::from(whole));
    match function {
        Function::Itself => x,
        Function::Threshold { k } => {
            let k = i128::from(k);
            if x < k {
                0
            } else if x > c - k {
                c
            } else {
                x
            }
        }
        Function::Steps { k } => {
            let (k, times) = (i128::from(k), (i128::from(k) + 1) * x);
            if times % c == 0 { x * k } else { times / c * c }
        }
        Function::Halves { k } => {
            let k = i128::from(k);
            match (2 * x).cmp(&c) {
                std::cmp::Ordering::Less => x / k * 2,
                std::cmp::Ordering::Equal => c / k,
                std::cmp::Ordering::Greater => (c / k - (c - x) / k) * 2,
            }
        }
    }
}

/// The greatest price of parts that guillotine cuts give from one sheet, each part as often as one likes.
fn knapsack(kerf: i64, prices: &[i64], types: &[Type], kind: &Kind, steps: &mut u64) -> Result<i128, String> {
    let all: Vec<Vec<(i64, i64)>> =
        types.iter().map(|t| ways(t, kind).map(|(x, y)| (x + kerf, y + kerf)).collect()).collect();
    let sides = |side: fn(&(i64, i64)) -> i64| all.iter().map(|ways| ways.iter().map(side).collect()).collect();
    let xs = sums(sides(|way| way.0), types, kind.length + kerf);
    let ys = sums(sides(|way| way.1), types, kind.width + kerf);
    let much = || "the table of cuts is too large to recheck".to_owned();
    if xs.len().saturating_mul(ys.len()) > MOST_CELLS {
        return Err(much());
    }
    let floor = |sums: &[i64], x: i64| sums.partition_point(|&sum| sum <= x) - 1;
    let mut best = vec![0_i128; xs.len() * ys.len()];
    for (ways, &price) in all.iter().zip(prices) {
        for &(x, y) in ways {
            let cell = floor(&xs, x) * ys.len() + floor(&ys, y);
            best[cell] = best[cell].max(i128::from(price));
        }
    }
    for i in 0..xs.len() {
        for j in 0..ys.len() {
            let mut most = best[i * ys.len() + j];
            if i > 0 {
                most = most.max(best[(i - 1) * ys.len() + j]);
            }
            if j > 0 {
                most = most.max(best[i * ys.len() + j - 1]);
            }
            for a in (1..i).take_while(|&a| 2 * xs[a] <= xs[i]) {
                *steps += 1;
                most = most.max(best[a * ys.len() + j] + best[floor(&xs[..i], xs[i] - xs[a]) * ys.len() + j]);
            }
            for b in (1..j).take_while(|&b| 2 * ys[b] <= ys[j]) {
                *steps += 1;
                most = most.max(best[i * ys.len() + b] + best[i * ys.len() + floor(&ys[..j], ys[j] - ys[b])]);
            }
            best[i * ys.len() + j] = most;
        }
        if *steps > MOST_STEPS / 4 {
            return Err(much());
        }
    }
    Ok(best.last().copied().unwrap_or(0))
}

/// Sums of sides up to the whole, of each part at most as many as are asked for.
fn sums(sides: Vec<Vec<i64>>, types: &[Type], whole: i64) -> Vec<i64> {
    let whole = usize::try_from(whole).unwrap_or(0);
    let mut reached = vec![false; whole + 1];
    reached[0] = true;
    for (sides, part) in sides.iter().zip(types) {
        // How many of this part the sum needs at least.
        let mut needs = vec![u64::MAX; whole + 1];
        for sum in 0..=whole {
            if reached[sum] {
                needs[sum] = 0;
                continue;
            }
            for &side in sides {
                let before = usize::try_from(side).ok().and_then(|side| sum.checked_sub(side));
                if let Some(before) = before.map(|before| needs[before]).filter(|&n| n < part.demand) {
                    needs[sum] = needs[sum].min(before + 1);
                }
            }
        }
        reached = needs.into_iter().map(|n| n <= part.demand).collect();
    }
    (0..=whole).filter(|&sum| reached[sum]).map(|sum| sum as i64).collect()
}

/// The least cost of sheets that suffice in every measure; `None` where all there are do not.
fn cover(types: &[Type], kinds: &[Kind], weighed: &[Weighed]) -> Option<i128> {
    let area: i128 = types.iter().map(|t| i128::from(t.length) * i128::from(t.width) * i128::from(t.demand)).sum();
    let negative: i128 = kinds.iter().map(|k| k.negative * i128::from(k.quantity)).sum();
    let mut sheets: Vec<Sheets> = Vec::new();
    for (at, kind) in kinds.iter().enumerate() {
        let holds: Vec<i128> = weighed.iter().map(|w| w.holds[at]).collect();
        let one = Sheets {
            holds,
            fixed: kind.fixed,
            area: i128::from(kind.length) * i128::from(kind.width),
            worth: kind.worth,
            quantity: i128::from(kind.quantity),
        };
        match sheets.iter_mut().find(|s| s.alike(&one)) {
            Some(same) => same.quantity += one.quantity,
            None => sheets.push(one),
        }
    }
    let cap = sheets.iter().map(|s| s.worth + s.fixed / s.area).min().unwrap_or(0);
    for sheet in &mut sheets {
        sheet.worth = sheet.worth.min(cap);
    }
    // Whatever sheets are taken, the parts take at least what they would from all that there are.
    let all: Vec<i128> = sheets.iter().map(|s| s.quantity).collect();
    let lost_at_least = lost(&sheets, &all, area);
    let wanted: Vec<i128> = weighed.iter().map(|w| w.wanted).collect();
    let reach = |m: usize| sheets.iter().map(|s| s.holds[m] * s.quantity).sum::<i128>();
    if (0..wanted.len()).any(|m| reach(m) < wanted[m]) {
        return None;
    }
    if let Some(first) = (!wanted.is_empty()).then_some(0) {
        sheets.sort_by(|a, b| (a.fixed * b.holds[first]).cmp(&(b.fixed * a.holds[first])));
    }
    let mut search =
        Cheapest { sheets: &sheets, taken: vec![0; sheets.len()], area, least: lost_at_least, best: None, steps: 0 };
    search.extend(0, &wanted, 0);
    let least = if search.steps < MOST_COVERS {
        search.best?
    } else {
        // Too many sets to try: the dearest of what each measure asks when sheets could be split.
        (0..wanted.len()).map(|m| split(&sheets, m, wanted[m])).max().unwrap_or(0) + lost_at_least
    };
    Some(least + negative)
}

const MOST_COVERS: u64 = 5_000_000;

struct Sheets {
    holds: Vec<i128>,
    fixed: i128,
    area: i128,
    /// What a square tenth of part takes from the worth of the remainders, and no more than a further sheet for it would cost.
    worth: i128,
    quantity: i128,
}

impl Sheets {
    fn alike(&self, other: &Self) -> bool {
        (&self.holds, self.fixed, self.area, self.worth) == (&other.holds, other.fixed, other.area, other.worth)
    }
}

struct Cheapest<'a> {
    sheets: &'a [Sheets],
    taken: Vec<i128>,
    /// Of all parts, and what it takes from the worth at least.
    area: i128,
    least: i128,
    best: Option<i128>,
    steps: u64,
}

impl Cheapest<'_> {
    fn extend(&mut self, at: usize, wanted: &[i128], cost: i128) {
        self.steps += 1 + (self.sheets.len() - at) as u64 / 8;
        if self.steps >= MOST_COVERS {
            return;
        }
        if wanted.iter().all(|&w| w <= 0) {
            let cost = cost + lost(self.sheets, &self.taken, self.area);
            self.best = Some(self.best.map_or(cost, |best| best.min(cost)));
            return;
        }
        let Some(sheet) = self.sheets.get(at) else { return };
        let rest = &self.sheets[at..];
        let least = cost + self.least;
        if self.best.is_some_and(|best| (0..wanted.len()).any(|m| least + split(rest, m, wanted[m]) >= best)) {
            return;
        }
        let needs = wanted.iter().zip(&sheet.holds).filter(|&(&w, &holds)| w > 0 && holds > 0);
        let most = needs.map(|(w, holds)| (w + holds - 1) / holds).max().unwrap_or(0).min(sheet.quantity);
        for n in (0..=most).rev() {
            let left: Vec<i128> = wanted.iter().zip(&sheet.holds).map(|(w, holds)| w - n * holds).collect();
            self.taken[at] = n;
            self.extend(at + 1, &left, cost + n * sheet.fixed);
            self.taken[at] = 0;
        }
    }
}

/// The least worth that the parts take from these sheets: no sheet gives more than its area, the least worth first.
fn lost(sheets: &[Sheets], taken: &[i128], area: i128) -> i128 {
    let mut taken: Vec<(i128, i128)> =
        sheets.iter().zip(taken).map(|(sheet, n)| (sheet.worth, sheet.area * n)).collect();
    taken.sort_unstable();
    let mut left = area;
    let mut lost = 0;
    for (worth, area) in taken {
        let here = area.min(left);
        lost += here * worth;
        left -= here;
    }
    // More area than the sheets have: no plan uses these alone, and any price per area that is not too high will do.
    lost + left * sheets.iter().map(|sheet| sheet.worth).min().unwrap_or(0)
}

/// What one measure costs when sheets can be split, rounded down.
fn split(sheets: &[Sheets], measure: usize, mut wanted: i128) -> i128 {
    let mut order: Vec<&Sheets> = sheets.iter().filter(|s| s.holds[measure] > 0).collect();
    order.sort_by(|a, b| (a.fixed * b.holds[measure]).cmp(&(b.fixed * a.holds[measure])));
    let mut cost = 0;
    for sheet in order {
        if wanted <= 0 {
            break;
        }
        let held = (sheet.holds[measure] * sheet.quantity).min(wanted);
        cost += held * sheet.fixed / sheet.holds[measure];
        wanted -= held;
    }
    cost
}
