//! First plans: fill bar after bar, always taking the piece that costs least for the length it gives.
//!
//! *Sequential value correction*: a length that ended on a dear bar is worth more in the next round, so that it is placed
//! sooner and better. The rounds differ only by these values; there is no random number.

use super::model::{Column, Model};
use crate::nesting::Meter;

/// A plan: columns with how many bars are cut so.
pub(super) type Plan = Vec<(Column, u32)>;

/// Each column belongs to its own kind and is small, so the sum is exact.
pub(super) fn cost(plan: &Plan) -> i128 {
    plan.iter().map(|(column, count)| i128::from(column.cost) * i128::from(*count)).sum()
}

/// Parts and pieces that are not yet spoken for.
#[derive(Clone)]
pub(super) struct Left {
    pub demand: Vec<u32>,
    pub stock: Vec<u32>,
}

impl Left {
    pub fn all(model: &Model) -> Self {
        Self {
            demand: model.types.iter().map(|t| t.demand).collect(),
            stock: model.kinds.iter().map(|k| k.quantity).collect(),
        }
    }

    pub fn done(&self) -> bool {
        self.demand.iter().all(|&n| n == 0)
    }

    /// How many bars can still be cut like this.
    pub fn times(&self, column: &Column) -> u32 {
        let most = column.items.iter().map(|&(t, n)| self.demand[usize::from(t)] / n.max(1)).min().unwrap_or(0);
        most.min(self.stock[column.kind as usize])
    }

    pub fn take(&mut self, column: &Column, times: u32) {
        for &(t, n) in &column.items {
            self.demand[usize::from(t)] -= n * times;
        }
        self.stock[column.kind as usize] -= times;
    }
}

/// Plans by greedy filling, the best of up to `rounds`; `None` where no round placed every part.
pub(super) fn best(model: &Model, rounds: u32, meter: &mut Meter) -> Option<Plan> {
    let mut values: Vec<f64> = model.types.iter().map(|t| t.weight as f64).collect();
    let mut best: Option<(i128, Plan)> = None;
    for round in 0..rounds {
        let plan = complete(model, Left::all(model), &values, round % 3, meter);
        match plan {
            Ok(plan) => {
                correct(model, &mut values, &plan);
                let cost = cost(&plan);
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, plan));
                }
            }
            Err(left) => {
                for (value, &n) in values.iter_mut().zip(&left.demand) {
                    if n > 0 {
                        *value *= 1.5;
                    }
                }
            }
        }
        if !meter.goes_on() {
            break;
        }
    }
    best.map(|(_, plan)| plan)
}

/// Moves each value halfway to what its length cost in this plan, the more so on badly filled bars.
fn correct(model: &Model, values: &mut [f64], plan: &Plan) {
    for (column, _) in plan {
        let dear = column.cost as f64 / column.used.max(1) as f64;
        let kind = &model.kinds[column.kind as usize];
        let fair = kind.cost as f64 / kind.bears.max(1) as f64;
        let factor = if fair > 0.0 { (dear / fair).clamp(0.5, 2.0) } else { 1.0 };
        for &(t, _) in &column.items {
            let value = &mut values[usize::from(t)];
            let weight = model.types[usize::from(t)].weight as f64;
            *value = 0.5 * *value + 0.5 * weight.powf(1.02) * factor;
        }
    }
}

/// Fills pieces until every part is placed; `Err` gives what could not be.
pub(super) fn complete(
    model: &Model,
    mut left: Left,
    values: &[f64],
    style: u32,
    meter: &mut Meter,
) -> Result<Plan, Left> {
    let mut order: Vec<u16> = (0..model.types.len() as u16).collect();
    let density = |t: u16| values[usize::from(t)] / model.types[usize::from(t)].weight.max(1) as f64;
    match style {
        // Heaviest first is how the types are sorted.
        0 => {}
        1 => order.sort_by(|&a, &b| density(b).total_cmp(&density(a)).then(a.cmp(&b))),
        _ => order.sort_by(|&a, &b| values[usize::from(b)].total_cmp(&values[usize::from(a)]).then(a.cmp(&b))),
    }
    let mut plan = Plan::new();
    while !left.done() {
        let mut choice: Option<(f64, Column)> = None;
        for kind in 0..model.kinds.len() {
            if left.stock[kind] == 0 {
                continue;
            }
            meter.spend(model.types.len() as u64 / 2 + 2);
            let items = fill(model, &left.demand, &order, model.kinds[kind].bears);
            if items.is_empty() {
                continue;
            }
            let column = model.column(kind, items);
            let gain: f64 =
                column.items.iter().map(|&(t, n)| values[usize::from(t)] * f64::from(n)).sum::<f64>().max(1e-9);
            let dear = column.cost as f64 / gain;
            if choice.as_ref().is_none_or(|(least, _)| dear < *least) {
                choice = Some((dear, column));
            }
        }
        let Some((_, column)) = choice else { return Err(left) };
        let times = left.times(&column).max(1);
        left.take(&column, times);
        plan.push((column, times));
    }
    Ok(plan)
}

/// First fit in this order, then one exchange: the last part taken for the longest that fits in its place.
fn fill(model: &Model, demand: &[u32], order: &[u16], bears: i64) -> Vec<(u16, u32)> {
    let mut room = bears;
    let mut items: Vec<(u16, u32)> = Vec::new();
    for &t in order {
        let weight = model.types[usize::from(t)].weight;
        if demand[usize::from(t)] == 0 || weight > room {
            continue;
        }
        let n = demand[usize::from(t)].min(u32::try_from(room / weight.max(1)).unwrap_or(u32::MAX));
        room -= weight * i64::from(n);
        items.push((t, n));
    }
    items.sort_unstable();
    items
}
