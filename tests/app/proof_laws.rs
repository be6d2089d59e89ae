//! Laws of proofs: whatever a proof says, what its recheck accepts is true.
//!
//! Problems are small enough to try every plan; the proofs are random, so nearly all of them are bad. None may prove more
//! than the truth, and none may make the recheck panic.

use hitchwright::domain::{
    measure::{Money, Tenths},
    nesting::{
        Budget, Status, bars,
        check::{self, Proven},
        json, panels,
        proof::{
            Proof,
            bars::{Cut, Node, Prices, Recorder, Split},
            digest,
        },
        unwatched,
    },
};
use proptest::{
    prelude::*,
    test_runner::{Config, RngAlgorithm, TestRng, TestRunner},
};
use rust_decimal::Decimal;

fn runner(cases: u32) -> TestRunner {
    let cases = if std::env::var_os("HITCHWRIGHT_LONG").is_some() { cases * 200 } else { cases };
    let config = Config { cases, failure_persistence: None, max_shrink_iters: 4_000, ..Config::default() };
    TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &[3; 32]))
}

fn problem() -> impl Strategy<Value = bars::Problem> {
    let stock = (60_i64..400, 10_i64..60, 0_i64..=100, proptest::option::of(1_u32..3));
    let stock = proptest::collection::vec(stock, 1..3);
    let parts = proptest::collection::vec((20_i64..200, 1_u32..3), 1..4);
    (0_i64..6, 0_i64..150, stock, parts).prop_map(|(kerf, keep, stock, parts)| bars::Problem {
        kerf: Tenths(kerf),
        end_trim: Tenths(0),
        keep_offcut: Tenths(keep),
        stock: (stock.into_iter().enumerate())
            .map(|(at, (length, cost, share, quantity))| bars::Stock {
                id: format!("S{at}"),
                length: Tenths(length),
                cost: Some(Money(Decimal::from(cost))),
                quantity,
                // Per metre; the whole piece is worth at most its cost.
                offcut_value_per_m: Money(Decimal::from(cost * share * 100 / length)),
                end_trim: None,
            })
            .collect(),
        parts: (parts.into_iter().enumerate())
            .map(|(at, (length, quantity))| bars::Part::square(format!("P{at}"), Tenths(length), quantity))
            .collect(),
    })
}

/// The least net cost by trying every way of sharing the parts out; `None` when there is none.
fn truth(problem: &bars::Problem) -> Option<Decimal> {
    let parts = problem.parts.iter().flat_map(|p| std::iter::repeat_n(p.length.0, p.quantity as usize)).collect();
    share_out(problem, parts, &mut Vec::new())
}

fn share_out(problem: &bars::Problem, mut parts: Vec<i64>, bars: &mut Vec<(usize, Vec<i64>)>) -> Option<Decimal> {
    let Some(part) = parts.pop() else {
        return bars.iter().map(|(kind, held)| net_cost(problem, *kind, held)).sum();
    };
    let mut best: Option<Decimal> = None;
    for at in 0..bars.len() + problem.stock.len() {
        let fresh = at.checked_sub(bars.len());
        if let Some(kind) = fresh {
            let used = bars.iter().filter(|(k, _)| *k == kind).count();
            if problem.stock[kind].quantity.is_some_and(|n| used >= n as usize) {
                continue;
            }
            bars.push((kind, vec![part]));
        } else {
            bars[at].1.push(part);
        }
        let bar = if fresh.is_some() { bars.len() - 1 } else { at };
        if net_cost(problem, bars[bar].0, &bars[bar].1).is_some() {
            best = [best, share_out(problem, parts.clone(), bars)].into_iter().flatten().min();
        }
        if fresh.is_some() {
            bars.pop();
        } else {
            bars[at].1.pop();
        }
    }
    best
}

fn net_cost(problem: &bars::Problem, kind: usize, held: &[i64]) -> Option<Decimal> {
    let (stock, kerf) = (&problem.stock[kind], problem.kerf.0);
    let (sum, n) = (held.iter().sum::<i64>(), held.len() as i64);
    if sum + (n - 1) * kerf > stock.length.0 {
        return None;
    }
    let left = (stock.length.0 - sum - n * kerf).max(0);
    let kept = left > 0 && left >= problem.keep_offcut.0;
    let worth = if kept { Decimal::new(left, 4) * stock.offcut_value_per_m.0 } else { Decimal::ZERO };
    Some(stock.cost.unwrap().0 - worth)
}

/// What a random proof does at its next leaf, and with which numbers.
type Choice = (u8, [u32; 4], Vec<i64>, Vec<i64>);

fn choices() -> impl Strategy<Value = Vec<Choice>> {
    let price = prop_oneof![9 => -2_i64..40, 1 => Just(i64::MAX / 10_000_000_000), 1 => Just(1_000_000)];
    let prices = proptest::collection::vec(price.prop_map(|price| price * 10_000_000_000), 3);
    let limits = proptest::collection::vec((-40_i64..40).prop_map(|price| price * 10_000_000_000), 8);
    proptest::collection::vec((0_u8..11, any::<[u32; 4]>(), prices, limits), 1..9)
}

fn random_proof(problem: &bars::Problem, choices: &[Choice]) -> Proof {
    let mut lengths: Vec<Tenths> = problem.parts.iter().map(|part| part.length).collect();
    lengths.sort();
    lengths.dedup();
    lengths.reverse();
    let kinds: Vec<Vec<String>> = problem.stock.iter().map(|stock| vec![stock.id.clone()]).collect();
    let (types, pieces) = (lengths.len() as u32, kinds.len() as u32);
    let mut proof = Recorder::new(digest(problem), lengths, kinds);
    // Leaves that wait, with the senses above them.
    let mut open = vec![(Recorder::ROOT, Vec::<bool>::new())];
    let cut = proof.cut(Cut { parts: (0..types).map(|at| (at, 1)).collect(), denominator: 2 });
    for (what, [a, b, c, d], prices, limits) in choices {
        let Some((case, senses)) = open.pop() else { break };
        let signed = |(at, at_least): (usize, &bool)| limits[at].abs() * if *at_least { 1 } else { -1 };
        let at_prices = Prices {
            parts: prices[..types as usize].to_vec(),
            limits: senses.iter().enumerate().map(signed).collect(),
            ..Prices::default()
        };
        match what {
            0..4 if senses.len() < 6 => {
                let kinds = if a % 3 == 0 { (0..pieces).collect() } else { vec![a % pieces] };
                let kept = [None, None, Some(true), Some(false)][*b as usize / 8 % 4];
                let holding = (0..b % 3).map(|at| ((c + at) % types, d % 3)).collect();
                let [few, more] =
                    proof.split(case, Split { kinds, kept, holding, count: (a / 8) % 3, ..Split::default() });
                open.push((few, [senses.clone(), vec![false]].concat()));
                open.push((more, [senses, vec![true]].concat()));
            }
            4 => proof.close(case, Node::Nothing),
            5 => proof.close(case, Node::Open),
            6..8 => {
                let next = proof.priced(case, Prices { list: a % 4 > 0, ..at_prices });
                open.push((next, senses));
            }
            8 => proof.close(case, Node::Prices(Prices { cuts: vec![(cut, -limits[7].abs())], ..at_prices })),
            _ => proof.close(case, Node::Prices(at_prices)),
        }
    }
    Proof::Bars(proof.into_tree())
}

fn claim(status: Status, bound: Option<Money>) -> bars::Answer {
    bars::Answer {
        status,
        net_cost: None,
        lower_bound: bound,
        gap: None,
        ties: hitchwright::domain::nesting::Ties::Searched,
        plan: Vec::new(),
        unplaced: Vec::new(),
        notes: Vec::new(),
        bars: 0,
        patterns: 0,
        stopped: None,
    }
}

#[test]
fn no_proof_proves_more_than_the_truth() {
    let strong = std::cell::Cell::new(0);
    runner(20_000)
        .run(&(problem(), choices()), |(problem, choices)| {
            let truth = truth(&problem);
            let proof = random_proof(&problem, &choices);
            let read = json::read_proof(&serde_json::to_string(&proof).unwrap()).unwrap();
            prop_assert_eq!(&read, &proof);
            let Proof::Bars(tree) = read else { panic!("not of bars") };
            if let Some(truth) = truth {
                let claims = |bound: Decimal| claim(Status::Feasible, Some(Money(bound)));
                for above in [Decimal::new(1, 8), Decimal::ONE, Decimal::from(1_000_000)] {
                    let verdict = check::bar_proof(&problem, &claims(truth + above), &tree);
                    prop_assert!(verdict.is_err(), "{:?}, {} is the truth", verdict, truth);
                }
                strong.set(strong.get() + u32::from(check::bar_proof(&problem, &claims(truth), &tree).is_ok()));
            }
            if truth.is_some() {
                prop_assert!(check::bar_proof(&problem, &claim(Status::Infeasible, None), &tree).is_err());
            }
            Ok(())
        })
        .unwrap();
    assert!(strong.get() > 100, "some random proofs reach the truth: {}", strong.get());
}

#[test]
fn a_proof_that_cannot_be_read_is_told_in_one_line() {
    let deep = "[".repeat(200_000);
    let long = r#"{"bars": {"problem": "", "lengths_mm": [1e999], "kinds": [], "nodes": []}}"#;
    for text in [
        "",
        "{",
        "[]",
        "null",
        r#"{"panels": 1}"#,
        r#"{"bars": []}"#,
        r#"{"bars": {"problem": "", "lengths_mm": [], "kinds": []}}"#,
        r#"{"bars": {"problem": "", "lengths_mm": [], "kinds": [], "nodes": [{"prices": {"parts": [1.5]}}]}}"#,
        r#"{"bars": {"problem": "", "lengths_mm": [], "kinds": [], "nodes": [{"prices": {"parts": [9223372036854775808]}}]}}"#,
        r#"{"bars": {"problem": "", "lengths_mm": [], "kinds": [], "nodes": [{"split": {"kinds": [-1]}}]}}"#,
        r#"{"bars": {"problem": "", "lengths_mm": [], "kinds": [], "nodes": ["guess"]}}"#,
        r#"{"bars": {"problem": "", "lengths_mm": [], "kinds": [], "nodes": [], "extra": 1}}"#,
        long,
        &deep,
    ] {
        let fault = json::read_proof(text).unwrap_err().to_string();
        assert!(!fault.is_empty() && !fault.contains('\n') && fault.len() < 300, "{fault}");
    }
}

/// Small sheets: what the solver says of its bound holds, and no more than that.
#[test]
fn the_proofs_of_panel_plans_hold() {
    let part = (100_i64..900, 100_i64..900, 1_u32..4);
    let problem = (0_i64..30, 0_i64..20, any::<bool>(), proptest::collection::vec(part, 1..5), 0_i64..=100);
    let (measured, searched) = (std::cell::Cell::new(0), std::cell::Cell::new(0));
    runner(200)
        .run(&problem, |(kerf, trim, free, parts, share)| {
            let stock = [(1_500, 1_000, 40_i64), (1_000, 1_000, 28)].iter().enumerate();
            let problem = panels::Problem {
                kerf: Tenths(kerf),
                edge_trim: Tenths(trim),
                keep_offcut: [Tenths(300), Tenths(300)],
                cuts: if free { panels::CutClass::Free } else { panels::CutClass::Guillotine },
                max_stages: None,
                stock: stock
                    .map(|(at, &(length, width, cost))| panels::Stock {
                        id: format!("S{at}"),
                        length: Tenths(length),
                        width: Tenths(width),
                        cost: Some(Money(Decimal::from(cost))),
                        quantity: None,
                        grain: panels::SheetGrain::Length,
                        offcut_value_per_m2: Money(Decimal::from(cost * share * 1_000_000 / (length * width))),
                    })
                    .collect(),
                parts: (parts.iter().enumerate())
                    .map(|(at, &(length, width, quantity))| panels::Part {
                        id: format!("P{at}"),
                        length: Tenths(length),
                        width: Tenths(width),
                        quantity,
                        grain: if at == 1 { panels::PartGrain::Length } else { panels::PartGrain::Any },
                    })
                    .collect(),
            };
            let (answer, proof) = panels::prove(&problem, Budget::of_units(2_000_000), &mut unwatched)
                .map_err(|fault| TestCaseError::reject(fault.to_string()))?;
            let Some(proof) = proof else { return Ok(()) };
            let text = serde_json::to_string(&Proof::Panels(proof.clone())).unwrap();
            prop_assert_eq!(json::read_proof(&text).unwrap(), Proof::Panels(proof.clone()));
            match check::panel_proof(&problem, &answer, &proof) {
                Ok(Proven::Searched) => searched.set(searched.get() + 1),
                Ok(Proven::CostsAtLeast(bound)) => {
                    prop_assert_eq!(Some(bound), answer.lower_bound);
                    measured.set(measured.get() + 1);
                    // A claim above what a plan costs is never proven.
                    let mut above = answer.clone();
                    above.lower_bound = answer.net_cost.map(|cost| Money(cost.0 + Decimal::new(1, 12)));
                    prop_assert!(check::panel_proof(&problem, &above, &proof).is_err());
                    let mut other = problem.clone();
                    other.parts[0].quantity += 1;
                    prop_assert!(check::panel_proof(&other, &answer, &proof).is_err());
                }
                other => prop_assert!(false, "{:?} of {:?}", other, proof),
            }
            Ok(())
        })
        .unwrap();
    assert!(measured.get() > 20, "{} by measures, {} searched", measured.get(), searched.get());
}

/// What the solver writes down while it searches proves the bound that it states, and that there is no plan.
#[test]
fn the_proofs_of_bar_plans_hold() {
    let stock = (600_i64..1_300, 10_i64..60, 0_i64..=100, proptest::option::of(1_u32..4));
    let stock = proptest::collection::vec(stock, 1..5);
    let parts = proptest::collection::vec((80_i64..700, 1_u32..6), 1..9);
    let (bounds, impossible) = (std::cell::Cell::new(0), std::cell::Cell::new(0));
    runner(400)
        .run(&(0_i64..30, 0_i64..600, stock, parts), |(kerf, keep, stock, parts)| {
            let problem = bars::Problem {
                kerf: Tenths(kerf),
                end_trim: Tenths(10),
                keep_offcut: Tenths(keep),
                stock: (stock.into_iter().enumerate())
                    .map(|(at, (length, cost, share, quantity))| bars::Stock {
                        id: format!("S{at}"),
                        length: Tenths(length),
                        cost: Some(Money(Decimal::new(cost * 100 + share, 2))),
                        quantity,
                        offcut_value_per_m: Money(Decimal::from(cost * share * 100 / length)),
                        end_trim: None,
                    })
                    .collect(),
                parts: (parts.into_iter().enumerate())
                    .map(|(at, (length, quantity))| bars::Part::square(format!("P{at}"), Tenths(length), quantity))
                    .collect(),
            };
            let (answer, proof) = bars::prove(&problem, Budget::of_units(3_000_000), &mut unwatched)
                .map_err(|fault| TestCaseError::reject(fault.to_string()))?;
            prop_assert_eq!(&answer, &bars::solve(&problem, Budget::of_units(3_000_000), &mut unwatched).unwrap());
            let proof = proof.unwrap();
            let verdict = check::bar_proof(&problem, &answer, &proof);
            prop_assert!(verdict.is_ok(), "{:?} of {:?}, {:?}", verdict, problem, answer);
            match verdict.unwrap() {
                Proven::NoPlan => impossible.set(impossible.get() + 1),
                _ => bounds.set(bounds.get() + 1),
            }
            if let (Status::Optimal, Some(cost)) = (answer.status, answer.net_cost) {
                let above = bars::Answer { lower_bound: Some(Money(cost.0 + Decimal::new(1, 8))), ..answer };
                prop_assert!(check::bar_proof(&problem, &above, &proof).is_err());
            }
            Ok(())
        })
        .unwrap();
    assert!(bounds.get() > 50 && impossible.get() > 5, "{} bounds, {} impossible", bounds.get(), impossible.get());
}
