//! Replays a finished plan and finds all its faults. Written from the problem's definition alone: it shares no code with
//! the solvers, so a mistake there is seen here.
//!
//! A plan alone cannot show that its bound is true, only that bound, gap and status agree with each other; with the
//! [`super::proof`] that the solver recorded, the bound is rechecked too.

use std::collections::HashMap;

use rust_decimal::Decimal;

use super::{Status, Stopped, Unplaced};
use crate::measure::Money;

mod bars;
mod panels;
mod proof;

pub use bars::check as bar_plan;
pub use panels::check as panel_plan;
pub use proof::{Proven, bar_proof, panel_proof};

/// What both kinds of answers claim about themselves.
struct Claims<'a> {
    status: Status,
    net_cost: Option<Money>,
    lower_bound: Option<Money>,
    gap: Option<f64>,
    stopped: Option<Stopped>,
    unplaced: &'a [Unplaced],
    planned: bool,
}

fn claims(claims: &Claims<'_>, recomputed: Decimal, demand: &HashMap<&str, u64>, faults: &mut Vec<String>) {
    let has_plan = matches!(claims.status, Status::Optimal | Status::Feasible);
    if !has_plan {
        if claims.planned || claims.net_cost.is_some() || claims.gap.is_some() {
            faults.push("status: there is no plan by the status, yet plan, net_cost or gap is given".into());
        }
        if claims.status == Status::Infeasible && (claims.unplaced.is_empty() || claims.lower_bound.is_some()) {
            faults.push("unplaced: an infeasible problem names its parts and has no lower_bound".into());
        }
        for line in claims.unplaced {
            if demand.get(line.part.as_str()).is_none_or(|&n| u64::from(line.quantity) > n) {
                faults.push(format!("unplaced: {} × {} is not asked for", line.quantity, line.part));
            }
        }
        return;
    }
    if !claims.unplaced.is_empty() {
        faults.push("unplaced: a plan places every part".into());
    }
    let (Some(net), Some(bound), Some(gap)) = (claims.net_cost, claims.lower_bound, claims.gap) else {
        faults.push("net_cost, lower_bound and gap are given with a plan".into());
        return;
    };
    if net.0 != recomputed {
        faults.push(format!("net_cost: {} is stated, the plan costs {}", net.0, recomputed.normalize()));
    }
    if bound.0 > net.0 {
        faults.push(format!("lower_bound: {} is above the net cost {}", bound.0, net.0));
    }
    if (claims.status == Status::Optimal) != (bound.0 == net.0) {
        faults.push("status: optimal means that net cost and bound are equal".into());
    }
    if claims.status == Status::Optimal && claims.stopped == Some(Stopped::Budget) {
        faults.push("stopped: an optimal plan was not stopped by its budget".into());
    }
    let share = if net.0 == bound.0 {
        Decimal::ZERO
    } else if net.0.is_zero() {
        Decimal::ONE
    } else {
        net.0.saturating_sub(bound.0).checked_div(net.0.abs()).unwrap_or(Decimal::MAX).round_dp(7)
    };
    let stated = Decimal::try_from(gap).unwrap_or(Decimal::MAX);
    if stated > Decimal::from(1_000_000) || stated.saturating_sub(share).abs() > Decimal::new(5, 6) {
        faults.push(format!("gap: {gap} is stated, it is {share}"));
    }
}

/// Parts cut against parts asked for, and pieces used against pieces there are.
fn tally(
    what: &str,
    have: &HashMap<&str, u64>,
    most: &HashMap<&str, Option<u64>>,
    exact: bool,
    faults: &mut Vec<String>,
) {
    let mut ids: Vec<&&str> = have.keys().chain(most.keys()).collect();
    ids.sort();
    ids.dedup();
    for id in ids {
        let n = have.get(*id).copied().unwrap_or(0);
        match most.get(*id) {
            None => faults.push(format!("{what} \"{id}\" is not in the problem")),
            Some(Some(limit)) if n > *limit || (exact && n != *limit) => {
                faults.push(format!("{what} \"{id}\": {n} in the plan, {limit} in the problem"));
            }
            _ => {}
        }
    }
}
