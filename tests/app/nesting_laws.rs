//! Laws of cutting plans of a middling size: every plan is sound, the same twice, and the verifier sees what was tampered with.
//! A slice of fixed seeds runs in seconds, with `HITCHWRIGHT_LONG=1` two hundred times as many.

use hitchwright::domain::{
    measure::{Money, Tenths},
    nesting::{Budget, bars, check, json, panels, unwatched},
};
use proptest::{
    prelude::*,
    test_runner::{Config, RngAlgorithm, TestRng, TestRunner},
};
use rust_decimal::Decimal;

/// A runner with a fixed seed: the same cases everywhere.
fn runner(cases: u32) -> TestRunner {
    let cases = if std::env::var_os("HITCHWRIGHT_LONG").is_some() { cases * 200 } else { cases };
    let (failure_persistence, max_shrink_iters, max_global_rejects) = (None, 4_000, u32::MAX);
    let config = Config { cases, failure_persistence, max_shrink_iters, max_global_rejects, ..Config::default() };
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

/// Soundness of one answer, by the verifier and by conservation of length.
fn bar_answer_is_sound(problem: &bars::Problem, answer: &bars::Answer) -> Result<(), TestCaseError> {
    prop_assert_eq!(check::bar_plan(problem, answer), Vec::<String>::new(), "{:?}", answer);
    let waste = bars::Waste::of(problem, answer);
    prop_assert_eq!(waste.stock.0, waste.parts.0 + waste.kerf.0 + waste.trim.0 + waste.scrap.0 + waste.kept.0);
    prop_assert!([waste.kerf.0, waste.trim.0, waste.scrap.0, waste.kept.0].iter().all(|&n| n >= 0), "{:?}", waste);
    Ok(())
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

fn panel_answer_is_sound(problem: &panels::Problem, answer: &panels::Answer) -> Result<(), TestCaseError> {
    prop_assert_eq!(check::panel_plan(problem, answer), Vec::<String>::new(), "{:?}", answer);
    let waste = panels::Waste::of(problem, answer);
    prop_assert_eq!(waste.stock, waste.parts + waste.kept + waste.trim + waste.kerf + waste.scrap);
    prop_assert!([waste.parts, waste.kept, waste.trim, waste.kerf, waste.scrap].iter().all(|&n| n >= 0), "{:?}", waste);
    Ok(())
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
