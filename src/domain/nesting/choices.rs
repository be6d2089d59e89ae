//! What another choice of stock would cost: each kind of new stock alone, without a kind that the plan uses, without the
//! rack. Every choice is a problem of its own, solved within a small fixed budget, so the same question gives the same answer.

use serde::Serialize;

use super::{Budget, Status, bars, panels, unwatched};
use crate::measure::Money;

/// The work for each choice: some hundredths of a second.
const BUDGET: Budget = Budget::of_units(3_000_000);
/// More choices than this help nobody; and each costs time.
const MOST: usize = 12;

/// One other choice of stock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Choice {
    pub stock: Given,
    pub costs: Costs,
}

/// From what is cut instead.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Given {
    /// From this kind of new stock alone.
    Only(String),
    /// From everything but this kind.
    Without(String),
    /// From new stock alone.
    WithoutRack,
}

/// Net cost of the choice less that of the plan; above nought where the choice is dearer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "sure", content = "more", rename_all = "snake_case")]
pub enum Costs {
    /// Both are proven.
    Exactly(Money),
    /// Proven from below: the choice's bound stands above the plan, how far above it a plan may stay is open.
    AtLeast(Money),
    /// The difference of the two best plans found; one of them is not proven.
    About(Money),
    /// It is proven that the parts cannot be cut so.
    CannotBeCut,
    /// The work allowed gave neither plan nor proof.
    Unknown,
}

/// What both kinds of answer say of their cost.
struct Worth {
    status: Status,
    net: Option<Money>,
    bound: Option<Money>,
}

/// The choices for bars; `rack` says which stock lies on the rack, in the problem's order. None without a plan to compare with.
pub fn of_bars(problem: &bars::Problem, answer: &bars::Answer, rack: &[bool]) -> Vec<Choice> {
    let ids: Vec<&str> = problem.stock.iter().map(|stock| stock.id.as_str()).collect();
    let used: Vec<&str> = answer.plan.iter().map(|bar| bar.stock.as_str()).collect();
    let plan = Worth { status: answer.status, net: answer.net_cost, bound: answer.lower_bound };
    compare(&plan, &ids, &used, rack, |keeps| {
        let mut other = problem.clone();
        other.stock = kept(&problem.stock, keeps);
        let answer = bars::solve(&other, BUDGET, &mut unwatched).ok()?;
        Some(Worth { status: answer.status, net: answer.net_cost, bound: answer.lower_bound })
    })
}

/// The choices for sheets, as [`of_bars`].
pub fn of_panels(problem: &panels::Problem, answer: &panels::Answer, rack: &[bool]) -> Vec<Choice> {
    let ids: Vec<&str> = problem.stock.iter().map(|stock| stock.id.as_str()).collect();
    let used: Vec<&str> = answer.plan.iter().map(|sheet| sheet.stock.as_str()).collect();
    let plan = Worth { status: answer.status, net: answer.net_cost, bound: answer.lower_bound };
    compare(&plan, &ids, &used, rack, |keeps| {
        let mut other = problem.clone();
        other.stock = kept(&problem.stock, keeps);
        let answer = panels::solve(&other, BUDGET, &mut unwatched).ok()?;
        Some(Worth { status: answer.status, net: answer.net_cost, bound: answer.lower_bound })
    })
}

fn kept<S: Clone>(stock: &[S], keeps: &[bool]) -> Vec<S> {
    stock.iter().zip(keeps).filter(|(_, keep)| **keep).map(|(one, _)| one.clone()).collect()
}

fn compare(
    plan: &Worth,
    ids: &[&str],
    used: &[&str],
    rack: &[bool],
    solve: impl Fn(&[bool]) -> Option<Worth>,
) -> Vec<Choice> {
    if plan.net.is_none() {
        return Vec::new();
    }
    let lies = |at: usize| rack.get(at).copied().unwrap_or(false);
    let everything: Vec<bool> = vec![true; ids.len()];
    let mut asked: Vec<Vec<bool>> = vec![everything];
    let mut choices = Vec::new();
    let mut ask = |stock: Given, keeps: Vec<bool>| {
        // A choice that leaves nothing, or that was looked at in other words, tells nothing new.
        if choices.len() < MOST && keeps.contains(&true) && !asked.contains(&keeps) {
            let costs = solve(&keeps).map_or(Costs::Unknown, |other| difference(plan, &other));
            choices.push(Choice { stock, costs });
            asked.push(keeps);
        }
    };
    if used.iter().any(|id| ids.iter().position(|other| other == id).is_some_and(lies)) {
        ask(Given::WithoutRack, (0..ids.len()).map(|at| !lies(at)).collect());
    }
    for (at, id) in ids.iter().enumerate().filter(|(at, _)| !lies(*at)) {
        ask(Given::Only((*id).to_owned()), (0..ids.len()).map(|other| other == at).collect());
    }
    for (at, id) in ids.iter().enumerate().filter(|(at, id)| !lies(*at) && used.contains(id)) {
        ask(Given::Without((*id).to_owned()), (0..ids.len()).map(|other| other != at).collect());
    }
    choices
}

fn difference(plan: &Worth, other: &Worth) -> Costs {
    let proven = plan.status == Status::Optimal;
    match (other.status, plan.net, other.net) {
        (Status::Infeasible, ..) => Costs::CannotBeCut,
        (Status::Optimal, Some(net), Some(others)) if proven => Costs::Exactly(others - net),
        (_, Some(net), Some(others)) => Costs::About(others - net),
        (_, Some(net), None) => match other.bound {
            Some(bound) if bound > net => Costs::AtLeast(bound - net),
            _ => Costs::Unknown,
        },
        _ => Costs::Unknown,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Tenths;

    fn stock(id: &str, mm: i64, cost: i64, quantity: Option<u32>) -> bars::Stock {
        bars::Stock {
            id: id.into(),
            length: Tenths(mm * 10),
            cost: Some(Money(cost.into())),
            quantity,
            offcut_value_per_m: Money::default(),
            end_trim: None,
        }
    }

    /// By hand: three parts of 2 m. One 6 m bar at 12 gives all; 3 m bars at 5 give one each, so three at 15; the rack's
    /// 2 m piece at 1 with two 3 m bars costs 11, which is best.
    #[test]
    fn each_choice_costs_what_it_costs_by_hand() {
        let problem = bars::Problem {
            stock: vec![
                stock("6 m", 6000, 12, None),
                stock("3 m", 3000, 5, None),
                stock("R-1", 2000, 1, Some(1)),
                stock("1 m", 1000, 1, None),
            ],
            parts: vec![bars::Part::square("A", Tenths(20_000), 3)],
            ..bars::Problem::default()
        };
        let answer = bars::solve(&problem, Budget::full(), &mut unwatched).unwrap();
        assert_eq!(answer.net_cost, Some(Money(11.into())));
        let exactly = |more: i64| Costs::Exactly(Money(more.into()));
        let told: Vec<_> = of_bars(&problem, &answer, &[false, false, true, false])
            .into_iter()
            .map(|one| (one.stock, one.costs))
            .collect();
        let expected = [
            (Given::WithoutRack, exactly(1)),
            (Given::Only("6 m".into()), exactly(1)),
            (Given::Only("3 m".into()), exactly(4)),
            (Given::Only("1 m".into()), Costs::CannotBeCut),
            // One bar of 6 m: the rack's piece beside it would only cost more.
            (Given::Without("3 m".into()), exactly(1)),
        ];
        assert_eq!(told, expected);
    }

    /// What is not proven is never called exact.
    #[test]
    fn an_unproven_side_is_worded_so() {
        let worth = |status, net: Option<i64>, bound: Option<i64>| Worth {
            status,
            net: net.map(|n| Money(n.into())),
            bound: bound.map(|n| Money(n.into())),
        };
        let money = |n: i64| Money(n.into());
        let plan = worth(Status::Optimal, Some(10), Some(10));
        assert_eq!(difference(&plan, &worth(Status::Feasible, Some(14), Some(12))), Costs::About(money(4)));
        assert_eq!(difference(&plan, &worth(Status::Undecided, None, Some(12))), Costs::AtLeast(money(2)));
        assert_eq!(difference(&plan, &worth(Status::Undecided, None, Some(9))), Costs::Unknown);
        let loose = worth(Status::Feasible, Some(10), Some(9));
        assert_eq!(difference(&loose, &worth(Status::Optimal, Some(12), Some(12))), Costs::About(money(2)));
    }
}
