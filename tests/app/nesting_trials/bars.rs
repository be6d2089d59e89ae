//! Bars to 8 parts: several kinds, limited numbers, prices, worths, trims, mitres, kept lengths.

use std::collections::HashMap;

use hitchwright::domain::{
    measure::Tenths,
    nesting::{
        bars::{self, End, LongPoint, Mitre, Plane},
        check,
    },
};

use super::*;

/// Angles whose 1 / cos is known, in ten-millionths (trigonometric tables): √3 and √2 in them, not the computer's cosine.
const ANGLES: [(f64, i64); 5] =
    [(0.0, 10_000_000), (22.5, 10_823_922), (30.0, 11_547_005), (45.0, 14_142_136), (60.0, 20_000_000)];

fn stock(priced: bool) -> impl Strategy<Value = bars::Stock> {
    let quantity = proptest::option::weighted(0.6, 0_u32..4);
    // Prices in whole units, hundredths or ten-thousandths: on a lattice and off it.
    let cost = prop_oneof![(1_i64..50).prop_map(|n| n * 10_000), (1_i64..5_000).prop_map(|n| n * 100), 1_i64..500_000];
    (200_i64..2_000, cost, 0_i64..=100, quantity, proptest::option::of(0_i64..60)).prop_map(
        move |(length, cost, share, quantity, trim)| bars::Stock {
            id: String::new(),
            length: Tenths(length),
            cost: priced.then(|| four_decimals(cost)),
            quantity,
            // A worth a metre so that the whole piece is worth at most its price.
            offcut_value_per_m: four_decimals(cost * share * 100 / length),
            end_trim: trim.map(Tenths),
        },
    )
}

fn mitre() -> impl Strategy<Value = Option<Mitre>> {
    let end = (0..ANGLES.len(), any::<bool>(), any::<bool>()).prop_map(|(angle, depth, top)| End {
        angle_deg: ANGLES[angle].0,
        plane: if depth { Plane::Depth } else { Plane::Width },
        long_point: if top { LongPoint::Top } else { LongPoint::Bottom },
    });
    let mitre =
        (20_i64..60, 20_i64..60, any::<bool>(), [end.clone(), end]).prop_map(|(depth, width, may_flip, ends)| Mitre {
            section_depth: Tenths(depth),
            section_width: Tenths(width),
            may_flip,
            ends,
        });
    proptest::option::weighted(0.15, mitre)
}

fn problem() -> impl Strategy<Value = bars::Problem> {
    let part = (prop_oneof![3 => 20_i64..1_500, 1 => Just(333_i64), 1 => Just(500_i64)], 1_u32..3, mitre());
    let parts = proptest::collection::vec(part, 1..=8);
    let stock = any::<bool>().prop_flat_map(|priced| proptest::collection::vec(stock(priced), 1..5));
    (0_i64..40, 0_i64..60, 0_i64..800, stock, parts).prop_map(|(kerf, trim, keep, mut stock, lines)| {
        for (at, piece) in stock.iter_mut().enumerate() {
            piece.id = format!("S{at}");
        }
        let mut left = 8;
        let mut parts = Vec::new();
        for (at, (length, quantity, mitre)) in lines.into_iter().enumerate() {
            let quantity = quantity.min(left);
            left -= quantity;
            parts.push(bars::Part { id: format!("P{at}"), length: Tenths(length), quantity, mitre });
        }
        bars::Problem { kerf: Tenths(kerf), end_trim: Tenths(trim), keep_offcut: Tenths(keep), stock, parts }
    })
}

/// What a part takes of the bar: long point + for each mitred end (kerf / cos a − kerf), rounded up to a tenth.
fn charged(part: &bars::Part, kerf: i64) -> i64 {
    let inverse = |end: &End| ANGLES.iter().find(|a| a.0 == end.angle_deg).map_or(0, |a| a.1);
    let more: i64 = part.mitre.iter().flat_map(|m| &m.ends).map(|end| kerf * (inverse(end) - 10_000_000)).sum();
    part.length.0 + (more + 9_999_999) / 10_000_000
}

/// What a bar with these parts costs, in 10⁻⁸, or nothing where it cannot hold them.
fn cost(problem: &bars::Problem, stock: &bars::Stock, sum: i64, n: i64) -> Option<i128> {
    let kerf = problem.kerf.0;
    let offered = stock.length.0 - stock.end_trim.unwrap_or(problem.end_trim).0;
    if sum + (n - 1) * kerf > offered {
        return None;
    }
    let remainder = offered - sum - n * kerf;
    // Unpriced: a bar costs its length in mm.
    let Some(cost) = stock.cost else { return Some(i128::from(stock.length.0) * 10_000_000) };
    let kept = remainder > 0 && remainder >= problem.keep_offcut.0;
    let worth = if kept { i128::from(remainder) * in_units(stock.offcut_value_per_m, 4) } else { 0 };
    Some(in_units(cost, 8) - worth)
}

fn in_units(money: Money, decimals: u32) -> i128 {
    let mut money = money.0;
    money.rescale(decimals);
    money.mantissa()
}

/// The least net cost over every sharing of the parts among bars, in 10⁻⁸.
struct Every<'a> {
    problem: &'a bars::Problem,
    /// By kind of stock and set of parts.
    cost: Vec<Vec<Option<i128>>>,
    /// Least cost of the set of parts that is left, with so many used of each limited kind.
    known: HashMap<(u32, Vec<u32>), Option<i128>>,
}

impl Every<'_> {
    fn least(problem: &bars::Problem) -> Option<i128> {
        let of = |p: &bars::Part| std::iter::repeat_n(charged(p, problem.kerf.0), p.quantity as usize);
        let parts: Vec<i64> = problem.parts.iter().flat_map(of).collect();
        let held = |set: u32| parts.iter().enumerate().filter(move |(at, _)| set >> at & 1 == 1).map(|(_, c)| c);
        let all = (1 << parts.len()) - 1;
        let one = |stock, set: u32| cost(problem, stock, held(set).sum(), i64::from(set.count_ones()));
        let cost = problem.stock.iter().map(|stock| (0..=all).map(|set| one(stock, set)).collect()).collect();
        Every { problem, cost, known: HashMap::new() }.of(all, vec![0; problem.stock.len()])
    }

    fn of(&mut self, left: u32, used: Vec<u32>) -> Option<i128> {
        if left == 0 {
            return Some(0);
        }
        let key = (left, used);
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let used = &key.1;
        let mut best = None;
        // The bar that holds the first part that is left, with any others.
        let first = left & left.wrapping_neg();
        let mut more = left & !first;
        loop {
            let set = first | more;
            for kind in 0..self.cost.len() {
                let limit = self.problem.stock[kind].quantity;
                let Some(one) = self.cost[kind][set as usize] else { continue };
                if limit.is_some_and(|most| used[kind] >= most) {
                    continue;
                }
                let mut used = used.clone();
                used[kind] += u32::from(limit.is_some());
                if let Some(rest) = self.of(left & !set, used) {
                    best = Some(best.map_or(one + rest, |least: i128| least.min(one + rest)));
                }
            }
            if more == 0 {
                break;
            }
            more = (more - 1) & left & !first;
        }
        self.known.insert(key, best);
        best
    }
}

#[test]
fn bars_of_up_to_8_parts_agree_with_trying_everything() {
    let (quick, full) = (Counts::default(), Counts::default());
    runner(3_000, 100_000)
        .run(&problem(), |problem| {
            let truth = Every::least(&problem);
            for (budget, counts) in [(Budget::of_units(2_000), &quick), (Budget::full(), &full)] {
                let answer = bars::solve(&problem, budget, &mut unwatched).map_err(refused)?;
                prop_assert_eq!(check::bar_plan(&problem, &answer), Vec::<String>::new(), "{:?}", answer);
                counts.judge(answer.status, answer.net_cost, answer.lower_bound, truth, 8)?;
            }
            Ok(())
        })
        .unwrap();
    quick.sum_up("bars, 2,000 units", 1_000);
    full.sum_up("bars, full budget", 0);
}
