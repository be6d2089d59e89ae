//! A better plan from a good one: a few of its bars are planned anew, with the pieces that are left, and the rest stays.
//!
//! Large neighbourhood search (Shaw 1998): which bars is drawn by lot, those that cost most above what their parts are
//! worth the likeliest. The lot is the same every time.

use super::{
    first::{self, Left, Plan},
    lp::Dice,
    model::{Column, Kind, Model, Type},
    tree::Tree,
};
use crate::domain::nesting::Meter;

/// Parts that are planned anew at once, and the work that is spent on them.
const PARTS: u32 = 36;
const BARS: usize = 12;
const WORK: u64 = 3_000_000;

/// Tries until so many in a row found nothing. `prices` say what a part of each type is worth.
pub(super) fn improve(
    model: &Model,
    plan: &Plan,
    prices: &[i64],
    (dice, failures): (&mut Dice, u32),
    meter: &mut Meter,
) -> Option<Plan> {
    let mut bars: Vec<Column> = plan.iter().flat_map(|(c, n)| std::iter::repeat_n(c.clone(), *n as usize)).collect();
    let known = (meter.net_cost, meter.lower_bound);
    let (mut better, mut failed) = (false, 0);
    while failed < failures && meter.goes_on() && bars.len() > 1 {
        let chosen = draw(&mut bars, prices, dice);
        meter.spend(bars.len() as u64);
        let (rest, part) = bars.split_at(bars.len() - chosen);
        match anew(model, rest, part, meter) {
            Some(new) => {
                bars.truncate(bars.len() - chosen);
                bars.extend(new);
                (better, failed) = (true, 0);
            }
            None => failed += 1,
        }
    }
    (meter.net_cost, meter.lower_bound) = known;
    if !better {
        return None;
    }
    let mut plan: std::collections::BTreeMap<Column, u32> = std::collections::BTreeMap::new();
    bars.into_iter().for_each(|bar| *plan.entry(bar).or_default() += 1);
    let plan: Plan = plan.into_iter().collect();
    meter.net_cost = Some(first::cost(&plan));
    Some(plan)
}

/// Moves bars drawn by lot to the end and returns how many these are.
fn draw(bars: &mut Vec<Column>, prices: &[i64], dice: &mut Dice) -> usize {
    let above = |bar: &Column| {
        let worth: i64 = bar.items.iter().map(|&(t, n)| prices[usize::from(t)].saturating_mul(i64::from(n))).sum();
        bar.cost.saturating_sub(worth)
    };
    bars.sort_by_cached_key(above);
    let (mut chosen, mut parts) = (0, 0);
    while chosen < bars.len() && chosen < BARS && (parts < PARTS || chosen < 2) {
        let open = bars.len() - chosen;
        // Half of the draws favour the dear end.
        let lot = 2.0 * dice.throw() - 1.0;
        let lot = if chosen % 2 == 0 { 1.0 - lot * lot * lot } else { lot };
        let at = ((open as f64 * lot) as usize).min(open - 1);
        let bar = bars.remove(at);
        parts += bar.items.iter().map(|&(_, n)| n).sum::<u32>();
        bars.push(bar);
        chosen += 1;
    }
    chosen
}

/// The bars `part` planned anew beside `rest`; `None` where nothing better was found.
fn anew(model: &Model, rest: &[Column], part: &[Column], meter: &mut Meter) -> Option<Vec<Column>> {
    let mut stock = Left::all(model).stock;
    rest.iter().for_each(|bar| stock[bar.kind as usize] = stock[bar.kind as usize].saturating_sub(1));
    let (small, types, kinds) = excerpt(model, part, &stock);
    let narrow = |bar: &Column| {
        let items = bar.items.iter().map(|&(t, n)| Some((types.binary_search(&t).ok()? as u16, n)));
        Some((small.column(kinds.iter().position(|&k| k == bar.kind)?, items.collect::<Option<_>>()?), 1))
    };
    let now: Plan = part.iter().map(narrow).collect::<Option<_>>()?;
    let cost = first::cost(&now);
    let mut tree = Tree::new(&small, Some(now), 0);
    meter.within(WORK, |meter| tree.grow(meter));
    if tree.upper >= cost {
        return None;
    }
    let widen = |column: Column| {
        let items = column.items.iter().map(|&(t, n)| (types[usize::from(t)], n)).collect();
        model.column(kinds[column.kind as usize] as usize, items)
    };
    let bars = tree.best?.into_iter().flat_map(|(c, n)| std::iter::repeat_n(c, n as usize));
    Some(bars.map(widen).collect())
}

/// The problem of cutting these bars' parts from this stock, with its types and kinds in the whole problem's terms.
fn excerpt(model: &Model, part: &[Column], stock: &[u32]) -> (Model, Vec<u16>, Vec<u32>) {
    let mut demand = vec![0_u32; model.types.len()];
    part.iter().flat_map(|bar| &bar.items).for_each(|&(t, n)| demand[usize::from(t)] += n);
    let places: Vec<u16> = (0..demand.len() as u16).filter(|&t| demand[usize::from(t)] > 0).collect();
    let types: Vec<Type> = (places.iter())
        .map(|&t| Type {
            weight: model.types[usize::from(t)].weight,
            demand: demand[usize::from(t)],
            parts: Vec::new(),
        })
        .collect();
    let count = demand.iter().sum();
    let lightest = types.last().map_or(0, |t| t.weight);
    let usable = |k: &u32| stock[*k as usize] > 0 && model.kinds[*k as usize].bears >= lightest;
    let chosen: Vec<u32> = (0..stock.len() as u32).filter(usable).collect();
    let kinds = (chosen.iter())
        .map(|&k| {
            let kind = &model.kinds[k as usize];
            let quantity = stock[k as usize].min(count);
            Kind { quantity, limited: quantity < count, stock: Vec::new(), ..kind.clone() }
        })
        .collect();
    (Model { kerf: model.kerf, keep: model.keep, types, kinds, count, lattice: model.lattice }, places, chosen)
}
