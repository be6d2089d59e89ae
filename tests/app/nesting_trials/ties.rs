//! Bars to 6 parts: a plan whose ties are called proven is the handiest of all that cost the least, by going through every plan.

use std::{cell::Cell, cmp::Reverse, collections::HashMap};

use hitchwright::domain::{
    measure::Tenths,
    nesting::{Ties, bars, check},
};

use super::*;

fn problem() -> impl Strategy<Value = bars::Problem> {
    // Few lengths and prices, so that many plans cost the same.
    let stock = (2_u32..9, prop_oneof![Just(None), (1_u32..4).prop_map(Some)], 0_i64..3);
    let part = (1_i64..8, 1_u32..3);
    let worth = any::<bool>();
    (proptest::collection::vec(stock, 1..4), proptest::collection::vec(part, 1..=5), 0_i64..300, worth).prop_map(
        |(stock, lines, keep, worth)| {
            let stock = stock.into_iter().enumerate().map(|(at, (length, quantity, dearer))| bars::Stock {
                id: format!("S{at}"),
                length: Tenths(i64::from(length) * 1_000),
                cost: Some(four_decimals(i64::from(length) * 50_000 + dearer * 10_000)),
                quantity,
                offcut_value_per_m: four_decimals(if worth { 400_000 } else { 0 }),
                end_trim: None,
            });
            let mut left = 6;
            let parts = lines.into_iter().enumerate().map(|(at, (length, quantity))| {
                let quantity = quantity.min(left);
                left -= quantity;
                bars::Part::square(format!("P{at}"), Tenths(length * 500), quantity)
            });
            let parts = parts.collect();
            bars::Problem {
                kerf: Tenths(0),
                end_trim: Tenths(0),
                keep_offcut: Tenths(keep),
                stock: stock.collect(),
                parts,
            }
        },
    )
}

/// Least net cost in 10⁻⁸, then fewest pieces, then fewest patterns, then the longest remainders.
type Order = (i128, usize, usize, Reverse<Vec<i64>>);

/// One bar of a plan: its kind, its parts, what it costs and what of it is kept.
struct Cut {
    kind: usize,
    parts: Vec<usize>,
    cost: i128,
    kept: Option<i64>,
}

fn handiest(problem: &bars::Problem) -> Option<Order> {
    let parts: Vec<usize> =
        problem.parts.iter().enumerate().flat_map(|(at, p)| std::iter::repeat_n(at, p.quantity as usize)).collect();
    let mut best = None;
    go(problem, &parts, (1 << parts.len()) - 1, &mut Vec::new(), &mut best);
    best
}

fn go(problem: &bars::Problem, parts: &[usize], left: u32, plan: &mut Vec<Cut>, best: &mut Option<Order>) {
    if left == 0 {
        let mut kept: Vec<i64> = plan.iter().filter_map(|cut| cut.kept).collect();
        kept.sort_by_key(|&r| Reverse(r));
        let mut patterns: HashMap<(usize, &[usize]), u32> = HashMap::new();
        plan.iter().for_each(|cut| *patterns.entry((cut.kind, &cut.parts)).or_default() += 1);
        let order = (plan.iter().map(|cut| cut.cost).sum(), plan.len(), patterns.len(), Reverse(kept));
        if best.as_ref().is_none_or(|least| order < *least) {
            *best = Some(order);
        }
        return;
    }
    let first = left & left.wrapping_neg();
    for set in (1..=left).filter(|set| set & !left == 0 && set & first != 0) {
        let held: Vec<usize> = (0..parts.len()).filter(|at| set >> at & 1 == 1).map(|at| parts[at]).collect();
        let sum: i64 = held.iter().map(|&at| problem.parts[at].length.0).sum();
        for (kind, stock) in problem.stock.iter().enumerate() {
            let used = plan.iter().filter(|cut| cut.kind == kind).count();
            let remainder = stock.length.0 - sum;
            if remainder < 0 || stock.quantity.is_some_and(|most| used >= most as usize) {
                continue;
            }
            let kept = (remainder > 0 && remainder >= problem.keep_offcut.0).then_some(remainder);
            let units = |money: Money, decimals| {
                let mut money = money.0;
                money.rescale(decimals);
                money.mantissa()
            };
            let worth = i128::from(kept.unwrap_or(0)) * units(stock.offcut_value_per_m, 4);
            let cost = stock.cost.map_or(0, |cost| units(cost, 8)) - worth;
            plan.push(Cut { kind, parts: held.clone(), cost, kept });
            go(problem, parts, left & !set, plan, best);
            plan.pop();
        }
    }
}

#[test]
fn ties_called_proven_are_the_handiest() {
    let (proven, searched, handy) = (Cell::new(0), Cell::new(0), Cell::new(0_u32));
    let add = |count: &Cell<u32>| count.set(count.get() + 1);
    runner(600, 20_000)
        .run(&problem(), |problem| {
            let answer = bars::solve(&problem, Budget::full(), &mut unwatched).map_err(refused)?;
            prop_assert_eq!(check::bar_plan(&problem, &answer), Vec::<String>::new(), "{:?}", answer);
            let Some(truth) = handiest(&problem).filter(|_| answer.status == Status::Optimal) else { return Ok(()) };
            let each = || answer.plan.iter().flat_map(|bar| std::iter::repeat_n(bar, bar.count as usize));
            let mut kept: Vec<i64> = each().filter(|bar| bar.kept).map(|bar| bar.remainder.0).collect();
            kept.sort_by_key(|&r| Reverse(r));
            let order = (each().count(), answer.patterns as usize, Reverse(kept));
            let same = order == (truth.1, truth.2, truth.3.clone());
            if answer.ties == Ties::Proven {
                prop_assert!(same, "{:?} is called proven, {:?} is handier; {:?}", order, truth, answer);
                add(&proven);
            } else {
                add(&searched);
                handy.set(handy.get() + u32::from(same));
            }
            Ok(())
        })
        .unwrap();
    println!("ties: {} proven, {} searched, of which {} the handiest", proven.get(), searched.get(), handy.get());
    assert!(proven.get() > searched.get(), "most small problems are proven");
}
