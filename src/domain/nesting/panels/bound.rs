//! What no plan can undercut, by measures of which no sheet holds more than its own: [`crate::nesting::proof::panels`]
//! says why that makes a bound.

use super::model::{Kind, Model, Type};
use crate::nesting::{
    Meter,
    proof::panels::{Function, Measure},
};

/// Nodes of the small search for the cheapest set of sheets.
const MOST_NODES: u32 = 20_000;
/// More parameters of one function than this are not tried.
const MOST_FUNCTIONS: usize = 160;

/// A measure in figures: what the parts have in all, and each kind of sheet.
pub(super) struct Weighed {
    /// Of a part of each type.
    pub each: Vec<i128>,
    pub demand: i128,
    pub capacity: Vec<i128>,
}

impl Weighed {
    pub fn new(model: &Model, each: Vec<i128>, capacity: Vec<i128>) -> Self {
        let demand = each.iter().zip(&model.types).map(|(each, t)| each * i128::from(t.demand)).sum();
        Self { each, demand, capacity }
    }
}

/// The least that any plan costs, from all these measures together; `None` where the sheets there are do not suffice.
pub(super) fn cover(model: &Model, weighed: &[Weighed]) -> Option<i128> {
    let real: i128 = model.types.iter().map(|t| i128::from(t.area()) * i128::from(t.demand)).sum();
    let fixed: Vec<i128> = model.kinds.iter().map(fixed).collect();
    // A price is a rounded figure, so the fixed part may be a hair below nought: then every such sheet counts.
    let negative: i128 = model.kinds.iter().zip(&fixed).map(|(k, f)| f.min(&0) * i128::from(k.quantity)).sum();
    let mut sheets: Vec<Offer> = (0..model.kinds.len())
        .map(|k| Offer {
            holds: weighed.iter().map(|w| w.capacity[k]).collect(),
            fixed: fixed[k].max(0),
            quantity: model.kinds[k].quantity,
            area: i128::from(model.kinds[k].length * model.kinds[k].width),
            value: model.kinds[k].value,
        })
        .collect();
    // No area costs more than a further sheet for it would, so that a further sheet never pays.
    let most = sheets.iter().map(|s| s.value + s.fixed / s.area.max(1)).min().unwrap_or(0);
    sheets.iter_mut().for_each(|s| s.value = s.value.min(most));
    let wanted: Vec<i128> = weighed.iter().map(|w| w.demand).collect();
    let first = |s: &Offer| s.holds.first().copied().unwrap_or(1);
    sheets.sort_by(|a, b| (a.fixed * first(b)).cmp(&(b.fixed * first(a))));
    if (0..wanted.len()).any(|m| sheets.iter().map(|s| s.holds[m] * i128::from(s.quantity)).sum::<i128>() < wanted[m]) {
        return None;
    }
    let all: Vec<i128> = sheets.iter().map(|s| i128::from(s.quantity)).collect();
    let least = spread(&sheets, &all, real);
    let mut search = Cheapest { sheets: &sheets, real, least, counts: Vec::new(), best: None, nodes: 0 };
    search.extend(&wanted, 0);
    if search.nodes >= MOST_NODES {
        let fixed = (0..wanted.len()).map(|m| relaxed(&sheets, m, wanted[m])).max();
        search.best = Some(fixed.unwrap_or(0) + least);
    }
    Some(search.best? + negative)
}

/// What a sheet costs when all that it does not give as parts is kept.
pub(super) fn fixed(kind: &Kind) -> i128 {
    kind.cost - kind.value * i128::from(kind.length * kind.width)
}

struct Offer {
    /// In each measure.
    holds: Vec<i128>,
    fixed: i128,
    quantity: u32,
    area: i128,
    /// What a square tenth of part costs beyond that.
    value: i128,
}

/// Fixed cost of what one measure still wants when sheets could be split: rounded down.
fn relaxed(sheets: &[Offer], measure: usize, mut wanted: i128) -> i128 {
    let mut order: Vec<&Offer> = sheets.iter().filter(|s| s.holds[measure] > 0).collect();
    order.sort_by(|a, b| (a.fixed * b.holds[measure]).cmp(&(b.fixed * a.holds[measure])));
    let mut cost = 0;
    for sheet in order {
        if wanted <= 0 {
            break;
        }
        let holds = sheet.holds[measure];
        let whole = (wanted / holds).min(i128::from(sheet.quantity));
        cost += whole * sheet.fixed;
        wanted -= whole * holds;
        if wanted > 0 && whole < i128::from(sheet.quantity) {
            return cost + wanted * sheet.fixed / holds;
        }
    }
    cost
}

/// The cheapest set of sheets that suffices.
struct Cheapest<'a> {
    sheets: &'a [Offer],
    /// Area of all parts, and the least that it costs on any sheets.
    real: i128,
    least: i128,
    /// How many of the first kinds are taken.
    counts: Vec<i128>,
    best: Option<i128>,
    nodes: u32,
}

impl Cheapest<'_> {
    fn extend(&mut self, wanted: &[i128], fixed: i128) {
        self.nodes += 1;
        if wanted.iter().all(|&w| w <= 0) {
            let cost = fixed + spread(self.sheets, &self.counts, self.real);
            self.best = Some(self.best.map_or(cost, |b| b.min(cost)));
            return;
        }
        let left = self.sheets.get(self.counts.len()..).unwrap_or_default();
        let Some(first) = left.first() else { return };
        let too_dear = |b: i128| (0..wanted.len()).any(|m| fixed + relaxed(left, m, wanted[m]) + self.least >= b);
        if self.nodes >= MOST_NODES || self.best.is_some_and(too_dear) {
            return;
        }
        let needed = wanted.iter().zip(&first.holds).filter(|(_, holds)| **holds > 0);
        let needed = needed.map(|(w, holds)| (w + holds - 1).div_euclid(*holds)).max().unwrap_or(0);
        let most = needed.clamp(0, i128::from(first.quantity));
        for n in (0..=most).rev() {
            let left: Vec<i128> = wanted.iter().zip(&first.holds).map(|(w, holds)| w - n * holds).collect();
            self.counts.push(n);
            self.extend(&left, fixed + n * first.fixed);
            self.counts.pop();
        }
    }
}

/// What the area of the parts costs on so many of the first kinds of sheets: the cheapest first.
fn spread(sheets: &[Offer], counts: &[i128], mut area: i128) -> i128 {
    let mut taken: Vec<(&Offer, i128)> = sheets.iter().zip(counts.iter().copied()).collect();
    taken.retain(|&(_, n)| n > 0);
    taken.sort_by_key(|(sheet, _)| sheet.value);
    let mut cost = 0;
    for (sheet, n) in taken {
        let here = (n * sheet.area).min(area);
        cost += here * sheet.value;
        area -= here;
    }
    // More area than they have: no plan uses these alone, so any price that is not too high will do.
    cost + area * sheets.iter().map(|sheet| sheet.value).min().unwrap_or(0)
}

/// The longest grown length and the widest grown width of any kind.
fn whole(kinds: &[Kind], kerf: i64) -> (i64, i64) {
    let length = kinds.iter().map(|k| k.length).max().unwrap_or(0) + kerf;
    let width = kinds.iter().map(|k| k.width).max().unwrap_or(0) + kerf;
    (length.max(1), width.max(1))
}

/// Grown sizes of a type as it may lie on any of these kinds on which it fits so, each once.
fn sizes(kinds: &[Kind], kerf: i64, t: &Type) -> Vec<(i64, i64)> {
    let mut sizes: Vec<(i64, i64)> = (kinds.iter())
        .flat_map(|kind| t.sizes(kind).filter(|&(dx, dy, _)| dx <= kind.length && dy <= kind.width))
        .map(|(dx, dy, _)| (dx + kerf, dy + kerf))
        .collect();
    sizes.sort_unstable();
    sizes.dedup();
    sizes
}

pub(super) fn area(model: &Model) -> Weighed {
    let kerf = model.kerf;
    let grown = |l: i64, w: i64| i128::from(l + kerf) * i128::from(w + kerf);
    let each = model.types.iter().map(|t| grown(t.length, t.width)).collect();
    Weighed::new(model, each, model.kinds.iter().map(|k| grown(k.length, k.width)).collect())
}

/// The pair of functions by which the parts need most of the largest of these kinds; it measures those that fit one of them.
pub(super) fn functions(model: &Model, kinds: &[Kind], thorough: bool, meter: &mut Meter) -> (Measure, Weighed) {
    let (length, width) = whole(kinds, model.kerf);
    let sizes: Vec<Vec<(i64, i64)>> = model.types.iter().map(|t| sizes(kinds, model.kerf, t)).collect();
    let flat: Vec<(i64, i64)> = sizes.iter().flatten().copied().collect();
    let along = candidates(flat.iter().map(|s| s.0), length, thorough);
    let across = candidates(flat.iter().map(|s| s.1), width, thorough);
    // Values as shares of the whole: floats rank, integers prove.
    let share = |f: Function, x: i64, whole: i64| f.of(x, whole) as f64 / f.of(whole, whole).max(1) as f64;
    let table = |all: &[Function], whole: i64, side: fn(&(i64, i64)) -> i64| -> Vec<Vec<f64>> {
        all.iter().map(|&f| flat.iter().map(|s| share(f, side(s), whole)).collect()).collect()
    };
    let (x, y) = (table(&along, length, |s| s.0), table(&across, width, |s| s.1));
    meter.spend(((along.len() + across.len()) * flat.len()) as u64);
    let mut best = (f64::NEG_INFINITY, 0, 0);
    for (i, fx) in x.iter().enumerate() {
        for (j, fy) in y.iter().enumerate() {
            let mut at = 0;
            let mut sum = 0.0;
            for (t, ways) in model.types.iter().zip(&sizes) {
                let here = at..at + ways.len();
                at = here.end;
                let least = here.map(|w| fx[w] * fy[w]).fold(f64::INFINITY, f64::min);
                sum += if least.is_finite() { least * f64::from(t.demand) } else { 0.0 };
            }
            if sum > best.0 + 1e-9 {
                best = (sum, i, j);
            }
        }
        if !meter.spend((y.len() * flat.len()) as u64 / 8) {
            break;
        }
    }
    let (fx, fy) = (along[best.1], across[best.2]);
    let product = |x: i64, y: i64| i128::from(fx.of(x, length)) * i128::from(fy.of(y, width));
    let least = |ways: &Vec<(i64, i64)>| ways.iter().map(|&(x, y)| product(x, y)).min().unwrap_or(0);
    let capacity = kinds.iter().map(|k| product(k.length + model.kerf, k.width + model.kerf)).collect();
    let weighed = Weighed::new(model, sizes.iter().map(least).collect(), capacity);
    (Measure::Functions { length: fx, width: fy }, weighed)
}

/// Functions whose values change at a side that there is.
fn candidates(sides: impl Iterator<Item = i64>, whole: i64, thorough: bool) -> Vec<Function> {
    let mut all = vec![Function::Itself];
    all.extend((1..=if thorough { 20 } else { 6 }).map(|k| Function::Steps { k }));
    if thorough {
        let mut at: Vec<i64> = sides.flat_map(|x| [x, whole - x + 1]).filter(|&k| k > 0 && k <= whole / 2).collect();
        at.sort_unstable();
        at.dedup();
        let step = at.len() / (MOST_FUNCTIONS / 2) + 1;
        let at = at.into_iter().step_by(step);
        all.extend(at.flat_map(|k| [Function::Threshold { k }, Function::Halves { k }]));
    }
    all
}

/// A part that fits no sheet in any way it may lie.
pub(super) fn fits_none(t: &Type, kinds: &[Kind]) -> bool {
    !kinds.iter().any(|kind| t.fits(kind))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nesting::panels::{first::Dice, small};

    /// The cheapest numbers of sheets that suffice in each measure, by trying all; sheets are worth nothing when cut.
    fn by_trying(model: &Model, weighed: &[Weighed]) -> Option<i128> {
        let most: Vec<u32> = model.kinds.iter().map(|k| k.quantity).collect();
        let suffices = |n: &[u32], w: &Weighed| {
            n.iter().zip(&w.capacity).map(|(&n, c)| i128::from(n) * c).sum::<i128>() >= w.demand
        };
        let sets = small::all_within(&most).into_iter().filter(|n| weighed.iter().all(|w| suffices(n, w)));
        sets.map(|n| n.iter().zip(&model.kinds).map(|(&n, k)| i128::from(n) * k.cost).sum()).min()
    }

    #[test]
    fn the_cover_is_the_cheapest_set_of_sheets_that_suffices() {
        let mut dice = Dice::new();
        for _ in 0..200 {
            let sheets = [(9, 8, Some(3)), (7, 5, Some(2)), (12, 4, Some(2))];
            let model = small::model(dice.below(2) as i64, &sheets, &small::parts(&mut dice, 4, 6, 2));
            let (_, functions) = small::metered(|meter| functions(&model, &model.kinds, true, meter));
            let weighed = [area(&model), functions];
            assert_eq!(cover(&model, &weighed), by_trying(&model, &weighed));
        }
    }

    /// L2 of Martello and Toth, "Knapsack Problems", 1990, chapter 8: for each α ≤ c/2 the items above c − α and those above
    /// c/2 need a bin each, and those from α on fill what these leave.
    fn martello_toth(c: i64, items: &[i64]) -> i64 {
        let of = |alpha: i64| {
            let large = items.iter().filter(|&&w| w > c - alpha).count() as i64;
            let middle: Vec<i64> = items.iter().copied().filter(|&w| w <= c - alpha && 2 * w > c).collect();
            let rest: i64 = items.iter().filter(|&&w| 2 * w <= c && w >= alpha).sum();
            let room = middle.len() as i64 * c - middle.iter().sum::<i64>();
            large + middle.len() as i64 + ((rest - room + c - 1).div_euclid(c)).max(0)
        };
        (0..=c / 2).map(of).max().unwrap_or(0)
    }

    /// Fekete and Schepers 2001 (theorem on U⁽ᵏ⁾, from memory): the thresholds alone give L2. Strips as wide as the sheet
    /// make it a problem of one dimension.
    #[test]
    fn thresholds_are_no_weaker_than_martello_and_toth() {
        let mut dice = Dice::new();
        for _ in 0..200 {
            let items: Vec<i64> = (0..8).map(|_| 1 + dice.below(30) as i64).collect();
            let parts: Vec<(i64, i64, u32)> = items.iter().map(|&w| (w, 1, 1)).collect();
            let model = small::model(0, &[(30, 1, None)], &parts);
            let (_, weighed) = small::metered(|meter| functions(&model, &model.kinds, true, meter));
            let sheets = cover(&model, &[weighed]).unwrap() / model.kinds[0].cost;
            assert!(sheets >= i128::from(martello_toth(30, &items)), "{sheets} for {items:?}");
        }
    }
}
