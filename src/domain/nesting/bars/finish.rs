//! The last step of a proof: with every column listed that can belong to a better plan, a tree search over them.
//!
//! A node either uses the column that the relaxation likes best once more, or never again. Bounds are in integers, as in
//! the relaxation; columns whose reduced cost closes the gap are barred below a node.

use super::{
    first::{self, Left, Plan},
    lp::{Lp, Outcome},
    model::{Column, Model},
    relax::{Limit, Rows, most_bars},
};
use crate::domain::nesting::Meter;

struct Finish<'a, 'm, 'w> {
    model: &'a Model,
    rows: Rows,
    columns: Vec<Column>,
    excuses: usize,
    /// What a plan must undercut.
    upper: i128,
    best: Option<Plan>,
    nodes_left: u64,
    /// Whether every branch was followed to its end.
    whole: bool,
    meter: &'m mut Meter<'w>,
}

/// Searches all plans for what is left that use these columns alone and cost less than `upper`. Returns the best, and
/// whether the search was whole.
pub(super) fn finish(
    model: &Model,
    left: &Left,
    limits: &[Limit],
    columns: Vec<Column>,
    upper: i128,
    nodes: u64,
    meter: &mut Meter<'_>,
) -> (Option<Plan>, bool) {
    let rows = Rows::new(model, left, limits);
    let mut lp = rows.program(left);
    rows.add_excuses(&mut lp, upper.clamp(1, 1_i128 << 100));
    let excuses = lp.barred.len();
    for column in &columns {
        rows.add(&mut lp, column);
    }
    let mut search = Finish { model, rows, columns, excuses, upper, best: None, nodes_left: nodes, whole: true, meter };
    search.visit(lp, left.clone(), 0, &mut Vec::new());
    (search.best, search.whole)
}

impl Finish<'_, '_, '_> {
    fn visit(&mut self, mut lp: Lp, left: Left, fixed: i128, taken: &mut Vec<usize>) {
        // Depth first; a loop follows the "never again" branch, so that only bars taken deepen the stack.
        loop {
            if self.nodes_left == 0 || !self.meter.goes_on() {
                self.whole = false;
                return;
            }
            self.nodes_left -= 1;
            let outcome = lp.dual();
            self.meter.spend(lp.take_work() / 8 + 50);
            let bound = fixed + self.bound(&mut lp, &left, fixed);
            if self.model.up_to_lattice(bound) >= self.upper {
                return;
            }
            if outcome == Outcome::Infeasible {
                // Excuses make every node solvable: floats have gone astray here.
                self.whole = false;
                return;
            }
            let solution = lp.solution();
            let excused = solution.iter().any(|&(j, _)| j < self.excuses);
            let fractional = solution.iter().any(|&(_, x)| (x - x.round()).abs() > 1e-6);
            if !excused && !fractional {
                self.offer(taken, &solution);
                if self.model.up_to_lattice(bound) >= self.upper {
                    return;
                }
            }
            let choice = (solution.iter().filter(|&&(j, _)| j >= self.excuses))
                .max_by(|(i, x), (j, y)| x.total_cmp(y).then(j.cmp(i)))
                .map(|&(j, _)| j);
            let Some(j) = choice else {
                // Nothing but excuses below the bound: impossible with exact prices, so do not claim it.
                self.whole = false;
                return;
            };
            let place = j - self.excuses;
            let column = self.columns[place].clone();
            if left.times(&column) > 0 {
                let (child, left) = self.after(&lp, &left, &column);
                taken.push(place);
                let fixed = fixed + i128::from(column.cost);
                if left.done() {
                    self.offer(taken, &[]);
                } else {
                    self.visit(child, left, fixed, taken);
                }
                taken.pop();
            }
            lp.barred[j] = true;
        }
    }

    /// The program when this column was taken once.
    fn after(&mut self, lp: &Lp, left: &Left, column: &Column) -> (Lp, Left) {
        let (mut lp, mut left) = (lp.clone(), left.clone());
        left.take(column, 1);
        let types = self.model.types.len();
        for &(t, n) in &column.items {
            lp.rhs[usize::from(t)] -= f64::from(n);
        }
        for (place, limit) in self.rows.limits.iter().enumerate() {
            if limit.kinds.contains(&(column.kind as usize)) {
                lp.rhs[types + place] += if limit.at_least { -1.0 } else { 1.0 };
            }
        }
        for (place, column) in self.columns.iter().enumerate() {
            if left.times(column) == 0 {
                lp.barred[self.excuses + place] = true;
            }
        }
        lp.refresh();
        self.meter.spend(self.columns.len() as u64 + 200);
        (lp, left)
    }

    /// A proven bound for what is left; bars columns that close the gap to `upper`.
    fn bound(&mut self, lp: &mut Lp, left: &Left, fixed: i128) -> i128 {
        let (prices, promise) = self.rows.prices(self.model, lp);
        let mut least = vec![0_i64; self.model.kinds.len()];
        let mut work = 0;
        let reduced: Vec<i64> = (self.columns.iter().enumerate())
            .map(|(place, column)| {
                if lp.barred[self.excuses + place] {
                    return i64::MAX;
                }
                work += column.items.len() as u64;
                let value: i64 = column.items.iter().map(|&(t, n)| prices.types[usize::from(t)] * i64::from(n)).sum();
                let reduced = column.cost + prices.kinds[column.kind as usize] - value;
                let least = &mut least[column.kind as usize];
                *least = (*least).min(reduced);
                reduced
            })
            .collect();
        self.meter.spend((work + reduced.len() as u64) / 4);
        let short: i128 = least.iter().zip(most_bars(left)).map(|(&l, n)| i128::from(l) * n).sum();
        let bound = (promise + short).max(0);
        let gap = self.upper - fixed - bound;
        for (place, &reduced) in reduced.iter().enumerate() {
            if reduced > 0 && i128::from(reduced) >= gap && !lp.is_basic(self.excuses + place) {
                lp.barred[self.excuses + place] = true;
            }
        }
        bound
    }

    fn offer(&mut self, taken: &[usize], solution: &[(usize, f64)]) {
        let mut plan: Plan = taken.iter().map(|&place| (self.columns[place].clone(), 1)).collect();
        for &(j, x) in solution {
            if let Some(place) = j.checked_sub(self.excuses) {
                plan.push((self.columns[place].clone(), x.round() as u32));
            }
        }
        let Some(plan) = exact(self.model, plan) else { return };
        let cost = first::cost(&plan);
        if cost < self.upper {
            self.upper = cost;
            self.meter.net_cost = Some(cost);
            self.best = Some(plan);
        }
    }
}

/// The plan without parts beyond the demand; `None` where it lacks parts or uses more pieces than there are. Taking a part
/// off a bar never makes it dearer.
pub(super) fn exact(model: &Model, plan: Plan) -> Option<Plan> {
    let mut surplus: Vec<i64> = model.types.iter().map(|t| -i64::from(t.demand)).collect();
    let mut stock: Vec<i64> = model.kinds.iter().map(|k| i64::from(k.quantity)).collect();
    for (column, count) in &plan {
        for &(t, n) in &column.items {
            surplus[usize::from(t)] += i64::from(n) * i64::from(*count);
        }
        stock[column.kind as usize] -= i64::from(*count);
    }
    if surplus.iter().any(|&n| n < 0) || stock.iter().any(|&n| n < 0) {
        return None;
    }
    let mut bars: std::collections::BTreeMap<Column, u32> = std::collections::BTreeMap::new();
    for (column, count) in plan {
        for _ in 0..count {
            let over = column.items.iter().any(|&(t, _)| surplus[usize::from(t)] > 0);
            let bar = if over {
                let mut items = column.items.clone();
                for (t, n) in &mut items {
                    let off = i64::from(*n).min(surplus[usize::from(*t)]);
                    surplus[usize::from(*t)] -= off;
                    *n -= off as u32;
                }
                items.retain(|&(_, n)| n > 0);
                if items.is_empty() {
                    continue;
                }
                model.column(column.kind as usize, items)
            } else {
                column.clone()
            };
            *bars.entry(bar).or_default() += 1;
        }
    }
    Some(bars.into_iter().collect())
}
