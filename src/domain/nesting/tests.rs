//! Cases whose answer is known: worked by hand, or published.

use std::ops::ControlFlow;

use super::*;
use crate::measure::Tenths;

fn bars_of(text: &str) -> bars::Answer {
    let read = json::read_bars(text).unwrap();
    let answer = bars::solve(&read.problem, Budget::full(), &mut unwatched).unwrap();
    assert_eq!(check::bar_plan(&read.problem, &answer), Vec::<String>::new());
    answer
}

fn panels_of(text: &str) -> panels::Answer {
    let read = json::read_panels(text).unwrap();
    let answer = panels::solve(&read.problem, Budget::of_units(1_000_000), &mut unwatched).unwrap();
    assert_eq!(check::panel_plan(&read.problem, &answer), Vec::<String>::new());
    answer
}

fn amount(text: &str) -> Option<Money> {
    Some(Money(text.parse().unwrap()))
}

/// By hand: four of 1234.5 with four kerfs on 5990 leave 1042.0, worth 1.042 · 3.40 = 3.5428; two of 900 with two kerfs on
/// 1820 leave 15.0, scrap: 41.20 − 3.5428 + 6.22 = 43.8772. All six do not fit one bar (6738 + 5 kerfs > 5990).
#[test]
fn a_new_bar_and_an_offcut() {
    let text = r#"{ "kerf_mm": 2.5, "end_trim_mm": 10, "keep_offcut_mm": 500,
        "stock": [
          {"id": "new-6000", "length_mm": 6000, "cost": "41.20", "quantity": null, "offcut_value_per_m": "3.40"},
          {"id": "rack-17", "length_mm": 1830, "cost": "6.22", "quantity": 1, "offcut_value_per_m": "3.40"} ],
        "parts": [ {"id": "A1", "length_mm": 1234.5, "quantity": 4}, {"id": "M2", "length_mm": 900, "quantity": 2} ],
        "time_limit_ms": 1000 }"#;
    let answer = bars_of(text);
    assert_eq!((answer.status, answer.net_cost), (Status::Optimal, amount("43.8772")));
    assert_eq!((answer.plan[0].remainder, answer.plan[0].kept), (Tenths(10_420), true));
    assert_eq!((answer.plan[1].remainder, answer.plan[1].kept), (Tenths(150), false));
}

/// 5,600 mm rolls; 73 are least: the worked example of "Cutting stock problem", Wikipedia (from memory; the material bound
/// of 407,160 / 5,600 = 72.7 agrees).
#[test]
fn the_roll_example_needs_73() {
    let demand = [
        (1380, 22),
        (1520, 25),
        (1560, 12),
        (1710, 14),
        (1820, 18),
        (1880, 18),
        (1930, 20),
        (2000, 10),
        (2050, 12),
        (2100, 14),
        (2140, 16),
        (2150, 18),
        (2200, 20),
    ];
    let parts = demand.iter().map(|&(mm, n)| bars::Part::square(format!("R{mm}"), Tenths(mm * 10), n)).collect();
    let problem = bars::Problem { stock: vec![plain("roll", 56_000, None)], parts, ..Default::default() };
    let answer = bars::solve(&problem, Budget::full(), &mut unwatched).unwrap();
    assert_eq!((answer.status, answer.bars), (Status::Optimal, 73));
    assert_eq!(answer.net_cost, amount("408800"));
}

/// Triplets (Falkenauer 1996, "A hybrid grouping genetic algorithm for bin packing"): three parts fill each bar without
/// waste, so the least number of bars is known from how they are made.
#[test]
fn triplets_fill_every_bar() {
    let mut state = 12_345_u64;
    let mut draw = |from: i64, to: i64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        from + ((state >> 33) as i64) % (to - from)
    };
    let mut lengths = Vec::new();
    for _ in 0..20 {
        let first = draw(3_800, 4_900);
        let second = draw(2_500, (10_000 - first) / 2);
        lengths.extend([first, second, 10_000 - first - second]);
    }
    let parts = (lengths.iter().enumerate()).map(|(i, &l)| bars::Part::square(format!("T{i}"), Tenths(l), 1)).collect();
    let problem = bars::Problem { stock: vec![plain("bar", 10_000, None)], parts, ..Default::default() };
    let answer = bars::solve(&problem, Budget::full(), &mut unwatched).unwrap();
    assert_eq!((answer.status, answer.bars), (Status::Optimal, 20));
}

fn plain(id: &str, length: i64, quantity: Option<u32>) -> bars::Stock {
    bars::Stock {
        id: id.into(),
        length: Tenths(length),
        cost: None,
        quantity,
        offcut_value_per_m: Money::ZERO,
        end_trim: None,
    }
}

#[test]
fn what_cannot_be_cut_says_why() {
    let of = |lengths: &[i64], stock: Vec<bars::Stock>| {
        let parts = lengths.iter().enumerate().map(|(i, &l)| bars::Part::square(format!("P{i}"), Tenths(l), 1));
        let problem = bars::Problem { kerf: Tenths(20), stock, parts: parts.collect(), ..Default::default() };
        let answer = bars::solve(&problem, Budget::full(), &mut unwatched).unwrap();
        assert_eq!(check::bar_plan(&problem, &answer), Vec::<String>::new());
        (answer.status, answer.unplaced.first().map(|u| u.why.clone()).unwrap_or_default())
    };
    let one = || vec![plain("S", 1_000, Some(1))];
    assert_eq!(of(&[1_001], one()), (Status::Infeasible, "longer than any stock".into()));
    // 700 + 700 are two bars' worth; 300 + 300 + 300 + 120 with kerfs is 80 + 20 too long; 490 + 491 fits but for the kerf.
    assert!(of(&[700, 700], one()).1.contains("places for 1, 1 too few"));
    assert!(of(&[300, 300, 300, 120], one()).1.contains("8.0 mm"), "{:?}", of(&[300, 300, 300, 120], one()));
    assert_eq!(of(&[490, 490], one()).0, Status::Optimal);
    assert_eq!(of(&[490, 491], one()).0, Status::Infeasible);
    // Six of 400 and three of 200 against three bars: two 400s leave 180, so the 200s find no place. Areas alone fit.
    let three = vec![plain("S", 1_000, Some(3))];
    let parts = [400, 400, 400, 400, 400, 400, 200];
    assert_eq!(of(&parts, three).0, Status::Infeasible);
    assert_eq!(of(&[], Vec::new()).0, Status::Optimal);
    assert_eq!(of(&[10], Vec::new()).0, Status::Infeasible);
}

/// Two rails with 45° ends, long points on one side, flipped against each other: one cut for two ends. By hand: 50 · tan 45°
/// + 2.5 / cos 45° − 2.5 = 51.03, down to 51.0; each rail is charged 2400 + 2 · 1.0355, up to 2402.1.
#[test]
fn mitred_rails_share_a_cut() {
    let text = |flip: bool| {
        format!(
            r#"{{ "kerf_mm": 2.5, "stock": [{{"id": "S", "length_mm": 6000}}], "parts": [{{"id": "R1", "length_mm": 2400,
            "quantity": 2, "section_depth_mm": 100, "section_width_mm": 50, "may_flip": {flip}, "ends": [
            {{"angle_deg": 45, "plane": "width", "long_point": "top"}},
            {{"angle_deg": 45, "plane": "width", "long_point": "top"}}]}}] }}"#
        )
    };
    let answer = bars_of(&text(true));
    assert_eq!(answer.plan[0].shared_gain, Tenths(510));
    assert_eq!(answer.plan[0].remainder, Tenths(60_000 - 2 * 24_021 - 2 * 25));
    let laid = answer.plan[0].laid.as_ref().unwrap();
    assert!(laid[0].shares_next && laid[0].flipped != laid[1].flipped);
    assert_eq!(bars_of(&text(false)).plan[0].shared_gain, Tenths(0));
}

/// By hand: two lie one above the other (605 … 608.2 … 1208.2), one is turned beside them; the strip behind it is 628.6 ×
/// 1210, worth 0.760606 m² · 8 = 6.084848. That no plan keeps more is proven by the search.
#[test]
fn three_deck_parts_on_one_sheet() {
    let text = r#"{ "kerf_mm": 3.2, "edge_trim_mm": 5, "keep_offcut_mm": [300, 300], "cuts": "guillotine", "max_stages": null,
        "stock": [ {"id": "ply-2440", "length_mm": 2440, "width_mm": 1220, "cost": "62.00", "quantity": null,
                    "grain": "length", "offcut_value_per_m2": "8"} ],
        "parts": [ {"id": "D1", "length_mm": 1195, "width_mm": 600, "quantity": 3, "grain": "any"} ],
        "time_limit_ms": 2000 }"#;
    let answer = panels_of(text);
    assert_eq!((answer.status, answer.net_cost), (Status::Optimal, amount("55.915152")));
    assert_eq!(answer.plan[0].remainders[0].length, Tenths(6_286));
}

/// Four parts round an empty middle, the least packing that no cut from edge to edge can part, or round a fifth: one sheet
/// when cut freely.
#[test]
fn a_pinwheel_is_free_but_not_sawn() {
    for middle in ["", r#", {"id": "B", "length_mm": 1, "width_mm": 1}"#] {
        let text = |cuts: &str| {
            format!(
                r#"{{ "cuts": "{cuts}", "stock": [{{"id": "S", "length_mm": 5, "width_mm": 5}}], "parts": [
                {{"id": "A", "length_mm": 3, "width_mm": 2, "quantity": 4}}{middle}] }}"#
            )
        };
        assert_eq!(
            (panels_of(&text("guillotine")).sheets, panels_of(&text("guillotine")).status),
            (2, Status::Optimal)
        );
        let free = panels_of(&text("free"));
        assert!(free.lower_bound <= amount("25") && free.net_cost >= amount("25"));
    }
}

#[test]
fn faults_name_their_field() {
    let fault =
        |text: &str| json::read_bars(text).map(|read| bars::solve(&read.problem, Budget::preview(), &mut unwatched));
    let line = |text: &str| match fault(text) {
        Err(fault) | Ok(Err(fault)) => fault.to_string(),
        Ok(Ok(answer)) => format!("{answer:?}"),
    };
    let stock = r#""stock": [{"id": "S", "length_mm": 6000, "cost": "10"}]"#;
    let parts = r#""parts": [{"id": "P", "length_mm": 10}]"#;
    assert!(line("nonsense").starts_with("not JSON"));
    assert_eq!(line("[]"), "[] is not an object with fields");
    assert_eq!(line(&format!("{{{stock}}}")), "parts: is missing");
    assert_eq!(line(&format!("{{{stock}, {parts}, \"kerf\": 2}}")), "kerf: is not a field that is known here");
    assert_eq!(line(&format!("{{{stock}, {parts}, \"kerf_mm\": 1, \"kerf_mm\": 2}}")), "kerf_mm: stands twice");
    assert_eq!(line(&format!("{{{stock}, {parts}, \"kerf_mm\": \"2\"}}")), "kerf_mm: \"2\" is not a length in mm");
    assert_eq!(line(&format!("{{{stock}, {parts}, \"kerf_mm\": -2}}")), "kerf_mm: -2.0 mm; must be 0 or more");
    let with = |field: &str| format!(r#"{{{stock}, "parts": [{{"id": "P", "length_mm": 10, {field}}}]}}"#);
    assert_eq!(line(&with("\"quantity\": 1.5")), "parts[0].quantity: 1.5 is not a whole number, 0 or more");
    let of = |field: &str| format!(r#"{{"stock": [{{"id": "S", "length_mm": 6000, {field}}}], {parts}}}"#);
    assert!(line(&of("\"cost\": \"1.23456\"")).starts_with("stock[0].cost: 1.23456 has more than 4 decimals"));
    assert!(line(&of("\"cost\": \"-1\"")).starts_with("stock[0].cost: -1 is negative"));
    let worth = line(&of("\"cost\": \"10\", \"offcut_value_per_m\": \"2\""));
    assert!(worth.starts_with("stock[0].offcut_value_per_m: the whole piece would be worth more"), "{worth}");
    let some = r#""stock": [{"id": "S", "length_mm": 6000, "cost": "10"}, {"id": "T", "length_mm": 6000}]"#;
    assert!(line(&format!("{{{some}, {parts}}}")).starts_with("stock[1].cost: is missing"));
}

#[test]
fn roundings_are_noted() {
    let read = json::read_bars(
        r#"{"kerf_mm": 2.51, "stock": [{"id": "S", "length_mm": 6000.09}], "parts": [{"id": "P", "length_mm": 10.01}]}"#,
    )
    .unwrap();
    assert_eq!((read.problem.kerf, read.problem.stock[0].length), (Tenths(26), Tenths(60_000)));
    assert_eq!(read.problem.parts[0].length, Tenths(101));
    assert_eq!(read.notes.len(), 3);
    assert!(read.notes.contains(&"stock[0].length_mm: 6000.09 mm rounded down to 6000.0 mm".to_owned()));
}

#[test]
fn a_caller_that_stops_the_search_gets_the_best_so_far_and_is_told() {
    let parts = (0..60).map(|i| bars::Part::square(format!("P{i}"), Tenths(6_000 + i * 371), 1)).collect();
    let problem =
        bars::Problem { kerf: Tenths(25), stock: vec![plain("S", 61_000, None)], parts, ..Default::default() };
    let mut looks = 0;
    let mut watch = |_: Progress| {
        looks += 1;
        if looks > 1 { ControlFlow::Break(Stopped::Cancelled) } else { ControlFlow::Continue(()) }
    };
    let answer = bars::solve(&problem, Budget::full(), &mut watch).unwrap();
    assert_eq!(check::bar_plan(&problem, &answer), Vec::<String>::new());
    assert!(answer.status == Status::Optimal || answer.stopped == Some(Stopped::Cancelled), "{answer:?}");
}

/// Two parts to a bar. Two with a long point above and two with one below are charged alike; handed out as listed, no bar
/// would hold a pair whose ends meet. By hand each exchanged pair frees 50 + 2.5 · (√2 − 1) = 51.0 mm.
#[test]
fn parts_charged_alike_change_bars_to_share_a_cut() {
    let part = |id: &str, point: &str| {
        format!(
            r#"{{"id": "{id}", "length_mm": 2900, "section_depth_mm": 100, "section_width_mm": 50, "may_flip": false,
                "ends": [{{"angle_deg": 0}}, {{"angle_deg": 45, "plane": "width", "long_point": "{point}"}}]}}"#
        )
    };
    let parts = [part("P1", "top"), part("P2", "top"), part("Q1", "bottom"), part("Q2", "bottom")].join(",");
    let answer = bars_of(&format!(
        r#"{{"kerf_mm": 2.5, "stock": [{{"id": "new", "length_mm": 6000, "cost": "40"}}], "parts": [{parts}]}}"#
    ));
    assert_eq!(answer.status, Status::Optimal);
    assert_eq!(answer.plan.iter().map(|bar| bar.shared_gain).collect::<Vec<_>>(), [Tenths(510); 2], "{answer:?}");
}

/// Three bars of 1,000 mm: two hold the parts of 600 mm, which leave no room for 400.1; the third holds two of the three.
/// The part of 10 mm has nothing to do with it.
#[test]
fn only_parts_that_matter_are_named() {
    let answer = bars_of(
        r#"{"kerf_mm": 0, "stock": [{"id": "rack", "length_mm": 1000, "cost": "5", "quantity": 3}],
            "parts": [{"id": "L", "length_mm": 600, "quantity": 2}, {"id": "M", "length_mm": 400.1, "quantity": 3},
              {"id": "S", "length_mm": 10}]}"#,
    );
    assert_eq!(answer.status, Status::Infeasible);
    assert!(answer.unplaced.iter().all(|one| one.part != "S"), "{answer:?}");
}
