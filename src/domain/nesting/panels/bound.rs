//! What no plan can undercut, by area and by how many sheets the parts need.
//!
//! On a sheet that offers area A at cost c and holds parts of area u, remainders are worth at most v · (A − u): the sheet
//! costs at least f + v · u with f = c − v · A. So a plan costs at least v · U + Σ n f over the sheets it uses, v being
//! the least worth of any kind. Which sheets it must use: with every part and sheet grown by a kerf, areas must suffice;
//! and dual-feasible functions of both sides give a least number of sheets.

use super::model::{Kind, Model, Type};

/// Nodes of the small search for the cheapest set of sheets.
const MOST_NODES: u32 = 20_000;

pub(super) fn by_area(model: &Model) -> i128 {
    let kerf = model.kerf;
    let value = model.kinds.iter().map(|k| k.value).min().unwrap_or(0);
    let real: i128 = model.types.iter().map(|t| i128::from(t.area()) * i128::from(t.demand)).sum();
    let grown: i128 = (model.types.iter())
        .map(|t| i128::from(t.length + kerf) * i128::from(t.width + kerf) * i128::from(t.demand))
        .sum();
    let mut sheets: Vec<Offer> = (model.kinds.iter())
        .map(|k| Offer {
            area: i128::from(k.length + kerf) * i128::from(k.width + kerf),
            fixed: k.cost - k.value * i128::from(k.length * k.width),
            quantity: k.quantity,
        })
        .collect();
    sheets.sort_by(|a, b| (a.fixed * b.area).cmp(&(b.fixed * a.area)));
    // A price is a rounded figure, so the fixed part may be a hair below nought: then every such sheet counts.
    let negative: i128 = sheets.iter().map(|s| s.fixed.min(0) * i128::from(s.quantity)).sum();
    for sheet in &mut sheets {
        sheet.fixed = sheet.fixed.max(0);
    }
    let least = i128::from(least_sheets(model));
    let mut nodes = 0;
    let mut best = None;
    cheapest(&sheets, grown, least, 0, &mut best, &mut nodes);
    let fixed = if nodes >= MOST_NODES { relaxed(&sheets, grown, 0) } else { best.unwrap_or(0) };
    value * real + fixed + negative
}

struct Offer {
    area: i128,
    fixed: i128,
    quantity: u32,
}

/// Fixed cost of the area still wanted when sheets could be split: rounded down.
fn relaxed(sheets: &[Offer], mut area: i128, already: i128) -> i128 {
    let mut cost = already;
    for sheet in sheets {
        if area <= 0 {
            break;
        }
        let whole = (area / sheet.area.max(1)).min(i128::from(sheet.quantity));
        cost += whole * sheet.fixed;
        area -= whole * sheet.area;
        if area > 0 && whole < i128::from(sheet.quantity) {
            return cost + area * sheet.fixed / sheet.area.max(1);
        }
    }
    cost
}

fn cheapest(sheets: &[Offer], area: i128, count: i128, cost: i128, best: &mut Option<i128>, nodes: &mut u32) {
    *nodes += 1;
    if area <= 0 && count <= 0 {
        *best = Some(best.map_or(cost, |b| b.min(cost)));
        return;
    }
    let Some((first, rest)) = sheets.split_first() else { return };
    if *nodes >= MOST_NODES || best.is_some_and(|b| relaxed(sheets, area, cost) >= b) {
        return;
    }
    let by_area = (area + first.area - 1).div_euclid(first.area.max(1));
    let most = by_area.max(count).clamp(0, i128::from(first.quantity));
    for n in (0..=most).rev() {
        cheapest(rest, area - n * first.area, count - n, cost + n * first.fixed, best, nodes);
    }
}

/// The least number of sheets by products of dual-feasible functions: u⁽ᵏ⁾ (Fekete and Schepers, 2001) of each side.
/// A part that may be turned counts the lesser of both ways, and every sheet counts as the largest.
pub(super) fn least_sheets(model: &Model) -> u32 {
    let length = model.kinds.iter().map(|k| k.length).max().unwrap_or(0) + model.kerf;
    let width = model.kinds.iter().map(|k| k.width).max().unwrap_or(0) + model.kerf;
    if length <= 0 || width <= 0 {
        return 0;
    }
    let mut most = u32::from(model.count > 0);
    for kx in 0..=6 {
        for ky in 0..=6 {
            // Both functions map to sixtieths × k; the product is compared with the product of both wholes.
            let (whole_x, whole_y) = (i128::from(kx.max(1)), i128::from(ky.max(1)));
            let mut sum = Ratio(0);
            for t in &model.types {
                let size = (model.kinds.iter())
                    .flat_map(|kind| t.sizes(kind).filter(|&(dx, dy, _)| dx <= kind.length && dy <= kind.width))
                    .map(|(dx, dy, _)| {
                        Ratio::of(stepped(dx + model.kerf, length, kx), whole_x * i128::from(length))
                            .times(stepped(dy + model.kerf, width, ky), whole_y * i128::from(width))
                    })
                    .min();
                sum.0 += size.map_or(0, |s| s.0 * i128::from(t.demand));
            }
            most = most.max(sum.whole());
        }
    }
    most
}

/// u⁽ᵏ⁾ in units of 1 / (k · whole): x itself where (k + 1) x is a multiple of the whole, else ⌊(k + 1) x⌋ / k; k = 0 is x.
fn stepped(x: i64, whole: i64, k: i64) -> i128 {
    if k == 0 {
        return i128::from(x);
    }
    let scaled = i128::from(x) * i128::from(k + 1);
    let whole = i128::from(whole);
    if scaled % whole == 0 { i128::from(x) * i128::from(k) } else { (scaled / whole) * whole }
}

/// A share in 2⁻⁴⁰, always rounded down, so that sums of shares are safe bounds.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Ratio(i128);

impl Ratio {
    fn of(part: i128, whole: i128) -> Self {
        Self((part << 40) / whole.max(1))
    }

    fn times(self, part: i128, whole: i128) -> Self {
        Self(self.0 * part / whole.max(1))
    }

    /// Rounded up; a hair (the roundings) above a whole number does not count.
    fn whole(self) -> u32 {
        u32::try_from((self.0 + (1 << 40) - 1) >> 40).unwrap_or(u32::MAX)
    }
}

/// A part that fits no sheet in any way it may lie.
pub(super) fn fits_none(t: &Type, kinds: &[Kind]) -> bool {
    !kinds.iter().any(|kind| t.fits(kind))
}
