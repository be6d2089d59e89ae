//! From columns to a plan: exactly the parts that are asked for.

use std::collections::BTreeMap;

use super::{
    first::Plan,
    model::{Column, Model},
};

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
    let mut bars: BTreeMap<Column, u32> = BTreeMap::new();
    for (column, count) in plan {
        for _ in 0..count {
            let mut items = column.items.clone();
            for (t, n) in &mut items {
                let off = i64::from(*n).min(surplus[usize::from(*t)]);
                surplus[usize::from(*t)] -= off;
                *n -= off as u32;
            }
            items.retain(|&(_, n)| n > 0);
            if !items.is_empty() {
                // Made anew: a column of a relaxation may have thrown its remainder away.
                *bars.entry(model.column(column.kind as usize, items)).or_default() += 1;
            }
        }
    }
    Some(bars.into_iter().collect())
}
