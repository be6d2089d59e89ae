//! Laws of cutting plans: every plan is sound, every bound is true, and small problems agree with trying everything.
//!
//! The exhaustive solvers here are written from the problem's definition alone and share nothing with the product. A
//! slice of fixed seeds runs in seconds; `HITCHWRIGHT_LONG=1` runs the long trial.

use std::collections::HashMap;

use hitchwright::domain::{
    measure::{Money, Tenths},
    nesting::{Budget, Status, bars, check, json, panels, unwatched},
};
use proptest::{
    prelude::*,
    test_runner::{Config, RngAlgorithm, TestRng, TestRunner},
};
use rust_decimal::Decimal;

/// A runner with a fixed seed: the same cases everywhere.
fn runner(cases: u32) -> TestRunner {
    let cases = if std::env::var_os("HITCHWRIGHT_LONG").is_some() { cases * 200 } else { cases };
    let config = Config { cases, failure_persistence: None, max_shrink_iters: 4_000, ..Config::default() };
    TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]))
}

fn price(hundredths: i64) -> Money {
    Money(Decimal::new(hundredths, 2))
}

// ---- bars ----

fn bar_stock(priced: bool) -> impl Strategy<Value = bars::Stock> {
    (
        200_i64..2_000,
        1_i64..5_000,
        0_i64..=100,
        proptest::option::weighted(0.6, 0_u32..4),
        proptest::option::of(0_i64..60),
    )
        .prop_map(move |(length, cost, share, quantity, trim)| {
            // A worth a metre so that the whole piece is worth at most its price.
            let value = cost * share * 100 * 100 / length / 100;
            bars::Stock {
                id: String::new(),
                length: Tenths(length),
                cost: priced.then(|| price(cost)),
                quantity,
                offcut_value_per_m: Money(Decimal::new(value, 2)),
                end_trim: trim.map(Tenths),
            }
        })
}

fn bar_problem(most_parts: usize) -> impl Strategy<Value = bars::Problem> {
    any::<bool>().prop_flat_map(move |priced| {
        let stock = proptest::collection::vec(bar_stock(priced), 1..4);
        // Few different lengths, so that equal parts and equal remainders come up.
        let length = prop_oneof![3 => 20_i64..1_500, 1 => Just(333_i64), 1 => Just(500_i64)];
        let parts = proptest::collection::vec(length, 1..=most_parts);
        (0_i64..40, 0_i64..60, 0_i64..800, stock, parts).prop_map(|(kerf, trim, keep, mut stock, parts)| {
            for (at, piece) in stock.iter_mut().enumerate() {
                piece.id = format!("S{at}");
            }
            let parts = parts.iter().enumerate();
            bars::Problem {
                kerf: Tenths(kerf),
                end_trim: Tenths(trim),
                keep_offcut: Tenths(keep),
                stock,
                parts: parts.map(|(at, &length)| bars::Part::square(format!("P{at}"), Tenths(length), 1)).collect(),
            }
        })
    })
}

/// What one bar costs, in ten-thousandths of a ten-thousandth, or `None` when it cannot hold this.
fn bar_cost(problem: &bars::Problem, stock: &bars::Stock, lengths: &[i64]) -> Option<Decimal> {
    let kerf = problem.kerf.0;
    let offered = stock.length.0 - stock.end_trim.unwrap_or(problem.end_trim).0;
    let sum: i64 = lengths.iter().sum();
    let n = lengths.len() as i64;
    if sum + (n - 1) * kerf > offered {
        return None;
    }
    let remainder = (offered - sum - n * kerf).max(0);
    let Some(cost) = stock.cost else { return Some(Decimal::new(stock.length.0, 1)) };
    let kept = remainder > 0 && remainder >= problem.keep_offcut.0;
    let worth = if kept { Decimal::new(remainder, 4) * stock.offcut_value_per_m.0 } else { Decimal::ZERO };
    Some(cost.0 - worth)
}

/// The least net cost by trying every way of sharing the parts out.
fn every_bar_plan(problem: &bars::Problem) -> Option<Decimal> {
    let parts: Vec<i64> =
        problem.parts.iter().flat_map(|p| std::iter::repeat_n(p.length.0, p.quantity as usize)).collect();
    let mut best = None;
    share_out(problem, &parts, &mut Vec::new(), &mut best);
    best
}

fn share_out(problem: &bars::Problem, parts: &[i64], bars: &mut Vec<(usize, Vec<i64>)>, best: &mut Option<Decimal>) {
    let Some((&first, rest)) = parts.split_first() else {
        let cost = bars.iter().map(|(kind, lengths)| bar_cost(problem, &problem.stock[*kind], lengths)).sum();
        if let Some(cost) = cost {
            *best = Some(best.map_or(cost, |least: Decimal| least.min(cost)));
        }
        return;
    };
    for at in 0..bars.len() {
        bars[at].1.push(first);
        if bar_cost(problem, &problem.stock[bars[at].0], &bars[at].1).is_some() {
            share_out(problem, rest, bars, best);
        }
        bars[at].1.pop();
    }
    for (kind, stock) in problem.stock.iter().enumerate() {
        let used = bars.iter().filter(|(k, _)| *k == kind).count();
        if stock.quantity.is_none_or(|n| used < n as usize) && bar_cost(problem, stock, &[first]).is_some() {
            bars.push((kind, vec![first]));
            share_out(problem, rest, bars, best);
            bars.pop();
        }
    }
}

/// Soundness of one answer, by the verifier and by conservation of length.
fn bar_answer_is_sound(problem: &bars::Problem, answer: &bars::Answer) -> Result<(), TestCaseError> {
    prop_assert_eq!(check::bar_plan(problem, answer), Vec::<String>::new(), "{:?}", answer);
    let waste = bars::Waste::of(problem, answer);
    prop_assert_eq!(waste.stock.0, waste.parts.0 + waste.kerf.0 + waste.trim.0 + waste.scrap.0 + waste.kept.0);
    prop_assert!([waste.kerf.0, waste.trim.0, waste.scrap.0, waste.kept.0].iter().all(|&n| n >= 0), "{:?}", waste);
    Ok(())
}

#[test]
fn small_bar_problems_agree_with_trying_everything() {
    let (mut proven, mut impossible) = (0, 0);
    let (done, none) = (&std::cell::Cell::new(0), &std::cell::Cell::new(0));
    runner(300)
        .run(&bar_problem(6), |problem| {
            let truth = every_bar_plan(&problem);
            for budget in [Budget::preview(), Budget::full()] {
                let answer = bars::solve(&problem, budget, &mut unwatched)
                    .map_err(|fault| TestCaseError::reject(fault.to_string()))?;
                bar_answer_is_sound(&problem, &answer)?;
                match (answer.status, truth) {
                    (Status::Optimal, Some(least)) => prop_assert_eq!(answer.net_cost.unwrap().0, least),
                    (Status::Feasible, Some(least)) => {
                        prop_assert!(answer.lower_bound.unwrap().0 <= least && least <= answer.net_cost.unwrap().0)
                    }
                    (Status::Infeasible, None) => none.set(none.get() + 1),
                    (Status::Undecided, _) => {}
                    (status, truth) => prop_assert!(false, "{:?} where the truth is {:?}", status, truth),
                }
                if budget == Budget::full() {
                    prop_assert!(matches!(answer.status, Status::Optimal | Status::Infeasible), "{:?}", answer);
                    done.set(done.get() + 1);
                }
            }
            Ok(())
        })
        .unwrap();
    proven += done.get();
    impossible += none.get();
    assert!(proven > 0 && impossible > 0, "the cases hold both kinds: {proven} proven, {impossible} impossible");
}

#[test]
fn larger_bar_plans_are_sound_and_the_same_twice() {
    runner(25)
        .run(&bar_problem(40), |problem| {
            let solve = || bars::solve(&problem, Budget::of_units(2_000_000), &mut unwatched);
            let answer = solve().map_err(|fault| TestCaseError::reject(fault.to_string()))?;
            bar_answer_is_sound(&problem, &answer)?;
            let text = serde_json::to_string(&answer).unwrap();
            prop_assert_eq!(&text, &serde_json::to_string(&solve().unwrap()).unwrap());
            prop_assert_eq!(json::read_bar_plan(&text).unwrap(), answer);
            Ok(())
        })
        .unwrap();
}

#[test]
fn the_verifier_refuses_bar_plans_that_were_tampered_with() {
    runner(60)
        .run(&(bar_problem(8), 0_usize..9), |(problem, change)| {
            let mut answer = bars::solve(&problem, Budget::preview(), &mut unwatched)
                .map_err(|fault| TestCaseError::reject(fault.to_string()))?;
            let Some(bar) = answer.plan.first_mut() else { return Ok(()) };
            match change {
                0 => bar.count += 1,
                1 => bar.remainder.0 += 1,
                2 => bar.kept = !bar.kept,
                3 => drop(bar.parts.pop()),
                4 => bar.parts[0] = "nobody".into(),
                5 => bar.stock = "nowhere".into(),
                6 => bar.shared_gain.0 += 1,
                7 => answer.net_cost = answer.net_cost.map(|m| Money(m.0 + Decimal::new(1, 8))),
                _ => answer.plan.clear(),
            }
            prop_assert_ne!(check::bar_plan(&problem, &answer), Vec::<String>::new());
            Ok(())
        })
        .unwrap();
}

// ---- panels ----

fn panel_problem(most_parts: usize, cuts: panels::CutClass) -> impl Strategy<Value = panels::Problem> {
    let grain = prop_oneof![
        2 => Just(panels::PartGrain::Any),
        1 => Just(panels::PartGrain::Length),
        1 => Just(panels::PartGrain::Width)
    ];
    let sheet_grain =
        prop_oneof![Just(panels::SheetGrain::Length), Just(panels::SheetGrain::Width), Just(panels::SheetGrain::None)];
    let sheet = (4_i64..14, 4_i64..14, 1_i64..900, 0_i64..=100, proptest::option::weighted(0.5, 0_u32..3), sheet_grain);
    let part = (1_i64..9, 1_i64..9, grain);
    let stages = proptest::option::weighted(0.25, 1_u32..4);
    (
        0_i64..3,
        0_i64..2,
        (0_i64..6, 0_i64..6),
        proptest::collection::vec(sheet, 1..3),
        proptest::collection::vec(part, 1..=most_parts),
        any::<bool>(),
        stages,
    )
        .prop_map(move |(kerf, trim, keep, stock, parts, priced, stages)| panels::Problem {
            kerf: Tenths(kerf),
            edge_trim: Tenths(trim),
            keep_offcut: [Tenths(keep.0), Tenths(keep.1)],
            cuts,
            max_stages: stages.filter(|_| cuts == panels::CutClass::Guillotine),
            stock: (stock.into_iter().enumerate())
                .map(|(at, (length, width, cost, share, quantity, grain))| panels::Stock {
                    id: format!("S{at}"),
                    length: Tenths(length),
                    width: Tenths(width),
                    cost: priced.then(|| Money(Decimal::new(cost, 4))),
                    quantity,
                    grain,
                    offcut_value_per_m2: Money(Decimal::from(cost * share * 100 / (length * width))),
                })
                .collect(),
            parts: (parts.into_iter().enumerate())
                .map(|(at, (length, width, grain))| panels::Part {
                    id: format!("P{at}"),
                    length: Tenths(length),
                    width: Tenths(width),
                    quantity: 1,
                    grain,
                })
                .collect(),
        })
}

/// Size, parts, and the direction and stage of the cut that made the piece.
type Sawn = (i64, i64, u32, Option<bool>, u32);

/// The greatest kept area of a piece from which exactly these parts (a bit set) are sawn, trying every cut at every tenth.
struct Saw<'a> {
    problem: &'a panels::Problem,
    grain: panels::SheetGrain,
    known: HashMap<Sawn, Option<i64>>,
}

impl Saw<'_> {
    fn kept(&mut self, dx: i64, dy: i64, parts: u32, last: Option<bool>, stage: u32) -> Option<i64> {
        if parts == 0 {
            let [a, b] = self.problem.keep_offcut.map(|t| t.0);
            return Some(if dx.max(dy) >= a.max(b) && dx.min(dy) >= a.min(b) { dx * dy } else { 0 });
        }
        if let Some(&known) = self.known.get(&(dx, dy, parts, last, stage)) {
            return known;
        }
        let mut best = None;
        if parts.count_ones() == 1 && self.is(parts.trailing_zeros() as usize, dx, dy) {
            best = Some(0);
        }
        for along_x in [true, false] {
            let next = if last == Some(along_x) { stage } else { stage + 1 };
            if self.problem.max_stages.is_some_and(|most| next > most) {
                continue;
            }
            let size = if along_x { dx } else { dy };
            for at in 1..size {
                let behind = size - at - self.problem.kerf.0;
                // Every share of the parts, by counting down through the subsets.
                let mut before = parts;
                loop {
                    let rest = parts & !before;
                    let piece = |size: i64| if along_x { (size, dy) } else { (dx, size) };
                    let (ax, ay) = piece(at);
                    let first = self.kept(ax, ay, before, Some(along_x), next);
                    let second = if behind > 0 {
                        let (bx, by) = piece(behind);
                        self.kept(bx, by, rest, Some(along_x), next)
                    } else {
                        (rest == 0).then_some(0)
                    };
                    if let (Some(a), Some(b)) = (first, second) {
                        best = Some(best.map_or(a + b, |most: i64| most.max(a + b)));
                    }
                    if before == 0 {
                        break;
                    }
                    before = (before - 1) & parts;
                }
            }
        }
        self.known.insert((dx, dy, parts, last, stage), best);
        best
    }

    fn is(&self, part: usize, dx: i64, dy: i64) -> bool {
        let part = &self.problem.parts[part];
        let drawn = (part.length.0, part.width.0) == (dx, dy);
        let turned = (part.width.0, part.length.0) == (dx, dy);
        match (part.grain, self.grain) {
            (panels::PartGrain::Any, _) | (_, panels::SheetGrain::None) => drawn || turned,
            (panels::PartGrain::Length, panels::SheetGrain::Length)
            | (panels::PartGrain::Width, panels::SheetGrain::Width) => drawn,
            _ => turned,
        }
    }
}

/// The least net cost over every sharing of the parts among sheets and every cut tree.
fn every_sheet_plan(problem: &panels::Problem) -> Option<Decimal> {
    let all = (1_u32 << problem.parts.len()) - 1;
    let mut cost: Vec<Vec<Option<Decimal>>> = Vec::new();
    for stock in &problem.stock {
        let mut saw = Saw { problem, grain: stock.grain, known: HashMap::new() };
        let trim = 2 * problem.edge_trim.0;
        let (dx, dy) = (stock.length.0 - trim, stock.width.0 - trim);
        let one = |parts: u32| {
            let kept = if dx > 0 && dy > 0 && parts > 0 { saw.kept(dx, dy, parts, None, 0)? } else { return None };
            Some(match stock.cost {
                Some(cost) => cost.0 - Decimal::new(kept, 8) * stock.offcut_value_per_m2.0,
                None => Decimal::new(stock.length.0 * stock.width.0, 2),
            })
        };
        cost.push((0..=all).map(one).collect());
    }
    let mut best = None;
    sheets(problem, &cost, all, &mut vec![0; problem.stock.len()], Decimal::ZERO, &mut best);
    best
}

fn sheets(
    problem: &panels::Problem,
    cost: &[Vec<Option<Decimal>>],
    left: u32,
    used: &mut Vec<u32>,
    sum: Decimal,
    best: &mut Option<Decimal>,
) {
    if left == 0 {
        *best = Some(best.map_or(sum, |least: Decimal| least.min(sum)));
        return;
    }
    // The sheet that holds the first part that is left.
    let first = left & left.wrapping_neg();
    let rest = left & !first;
    let mut more = rest;
    loop {
        let on_sheet = first | more;
        for kind in 0..cost.len() {
            if let Some(one) = cost[kind][on_sheet as usize]
                && problem.stock[kind].quantity.is_none_or(|n| used[kind] < n)
            {
                used[kind] += 1;
                sheets(problem, cost, left & !on_sheet, used, sum + one, best);
                used[kind] -= 1;
            }
        }
        if more == 0 {
            break;
        }
        more = (more - 1) & rest;
    }
}

fn panel_answer_is_sound(problem: &panels::Problem, answer: &panels::Answer) -> Result<(), TestCaseError> {
    prop_assert_eq!(check::panel_plan(problem, answer), Vec::<String>::new(), "{:?}", answer);
    let waste = panels::Waste::of(problem, answer);
    prop_assert_eq!(waste.stock, waste.parts + waste.kept + waste.trim + waste.kerf + waste.scrap);
    prop_assert!([waste.parts, waste.kept, waste.trim, waste.kerf, waste.scrap].iter().all(|&n| n >= 0), "{:?}", waste);
    Ok(())
}

#[test]
fn small_panel_problems_agree_with_trying_everything() {
    let counts = &std::cell::Cell::new((0, 0, 0));
    runner(150)
        .run(&panel_problem(4, panels::CutClass::Guillotine), |problem| {
            let truth = every_sheet_plan(&problem);
            for budget in [Budget::preview(), Budget::of_units(3_000_000)] {
                let answer = panels::solve(&problem, budget, &mut unwatched)
                    .map_err(|fault| TestCaseError::reject(fault.to_string()))?;
                panel_answer_is_sound(&problem, &answer)?;
                let (proven, open, none) = counts.get();
                match (answer.status, truth) {
                    (Status::Optimal, Some(least)) => {
                        prop_assert_eq!(answer.net_cost.unwrap().0, least);
                        counts.set((proven + 1, open, none));
                    }
                    (Status::Feasible, Some(least)) => {
                        prop_assert!(answer.lower_bound.unwrap().0 <= least && least <= answer.net_cost.unwrap().0);
                        counts.set((proven, open + 1, none));
                    }
                    (Status::Infeasible, None) => counts.set((proven, open, none + 1)),
                    (Status::Undecided, _) => counts.set((proven, open + 1, none)),
                    (status, truth) => prop_assert!(false, "{:?} where the truth is {:?}", status, truth),
                }
            }
            Ok(())
        })
        .unwrap();
    let (proven, open, none) = counts.get();
    assert!(proven > 4 * open && none > 0, "{proven} proven, {open} open, {none} impossible");
}

#[test]
fn free_panel_plans_are_sound_and_no_dearer_than_sawn_ones() {
    runner(40)
        .run(&panel_problem(4, panels::CutClass::Free), |problem| {
            let free = panels::solve(&problem, Budget::of_units(100_000), &mut unwatched)
                .map_err(|fault| TestCaseError::reject(fault.to_string()))?;
            panel_answer_is_sound(&problem, &free)?;
            let sawn = panels::Problem { cuts: panels::CutClass::Guillotine, ..problem.clone() };
            if let (Some(bound), Some(least)) = (free.lower_bound, every_sheet_plan(&sawn)) {
                prop_assert!(bound.0 <= least, "every sawn plan is a free plan");
            }
            Ok(())
        })
        .unwrap();
}

#[test]
fn larger_panel_plans_are_sound_and_the_same_twice() {
    for cuts in [panels::CutClass::Guillotine, panels::CutClass::Free] {
        runner(15)
            .run(&panel_problem(25, cuts), |problem| {
                let solve = || panels::solve(&problem, Budget::of_units(100_000), &mut unwatched);
                let answer = solve().map_err(|fault| TestCaseError::reject(fault.to_string()))?;
                panel_answer_is_sound(&problem, &answer)?;
                let text = serde_json::to_string(&answer).unwrap();
                prop_assert_eq!(&text, &serde_json::to_string(&solve().unwrap()).unwrap());
                prop_assert_eq!(json::read_panel_plan(&text).unwrap(), answer);
                Ok(())
            })
            .unwrap();
    }
}

#[test]
fn the_verifier_refuses_panel_plans_that_were_tampered_with() {
    runner(80)
        .run(&(panel_problem(6, panels::CutClass::Guillotine), 0_usize..9), |(problem, change)| {
            let mut answer = panels::solve(&problem, Budget::preview(), &mut unwatched)
                .map_err(|fault| TestCaseError::reject(fault.to_string()))?;
            let Some(sheet) = answer.plan.first_mut() else { return Ok(()) };
            match change {
                0 => sheet.count += 1,
                1 => sheet.placed[0].x.0 += 1,
                2 => sheet.placed[0].length.0 += 1,
                3 => drop(sheet.placed.pop()),
                4 => sheet.placed[0].part = "nobody".into(),
                5 => sheet.stock = "nowhere".into(),
                6 if !sheet.cuts.is_empty() => sheet.cuts[0].at.0 += 1,
                7 if !sheet.remainders.is_empty() => sheet.remainders[0].width.0 += 1,
                _ => answer.net_cost = answer.net_cost.map(|m| Money(m.0 - Decimal::new(1, 12))),
            }
            prop_assert_ne!(check::panel_plan(&problem, &answer), Vec::<String>::new());
            Ok(())
        })
        .unwrap();
}

// ---- reading ----

#[test]
fn no_text_makes_the_readers_or_solvers_panic() {
    let word = prop_oneof![
        Just("null".to_owned()),
        Just("-1".to_owned()),
        Just("1e400".to_owned()),
        Just("99999999999999999999".to_owned()),
        Just("\"x\"".to_owned()),
        Just("[]".to_owned()),
        Just("{}".to_owned()),
        Just("true".to_owned()),
        any::<f64>().prop_map(|n| format!("{n:?}")),
        (0_i64..40_000).prop_map(|n| format!("{}.{}", n / 10, n % 10)),
        (0_i64..40_000).prop_map(|n| format!("\"{}.{:02}\"", n / 100, n % 100)),
    ];
    let words = proptest::collection::vec(word, 12);
    runner(300)
        .run(&(words, any::<u32>()), |(words, broken)| {
            // A well-formed problem in which a few fields hold something else.
            let usual = ["2.5", "10", "500", "\"a\"", "6000", "\"41.20\"", "null", "\"3.40\"", "\"p\"", "1234.5", "4", "1000"];
            let pick = |at: usize| if broken >> at & 1 == 1 && broken >> (at + 12) & 1 == 1 { &words[at] } else { usual[at] };
            let bars_text = format!(
                "{{\"kerf_mm\":{},\"end_trim_mm\":{},\"keep_offcut_mm\":{},\"stock\":[{{\"id\":{},\"length_mm\":{},\"cost\":{},\
                 \"quantity\":{},\"offcut_value_per_m\":{}}}],\"parts\":[{{\"id\":{},\"length_mm\":{},\"quantity\":{}}}],\
                 \"time_limit_ms\":{}}}",
                pick(0), pick(1), pick(2), pick(3), pick(4), pick(5), pick(6), pick(7), pick(8), pick(9), pick(10), pick(11),
            );
            match json::read_bars(&bars_text) {
                Ok(read) => {
                    if let Ok(answer) = bars::solve(&read.problem, Budget::preview(), &mut unwatched) {
                        bar_answer_is_sound(&read.problem, &answer)?;
                    }
                }
                Err(fault) => prop_assert!(!fault.to_string().contains('\n'), "{}", fault),
            }
            let panels_text = bars_text
                .replace("end_trim_mm", "edge_trim_mm")
                .replace("offcut_value_per_m", "offcut_value_per_m2")
                .replace("\"length_mm\":", "\"width_mm\":700,\"length_mm\":")
                .replace("\"keep_offcut_mm\":", "\"keep_offcut_mm\":[300,300],\"max_stages\":");
            match json::read_panels(&panels_text) {
                Ok(read) => {
                    if let Ok(answer) = panels::solve(&read.problem, Budget::preview(), &mut unwatched) {
                        panel_answer_is_sound(&read.problem, &answer)?;
                    }
                }
                Err(fault) => prop_assert!(!fault.to_string().contains('\n'), "{}", fault),
            }
            Ok(())
        })
        .unwrap();
}
