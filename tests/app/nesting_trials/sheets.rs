//! Panels to 5 parts: guillotine cuts with stages and kept remainders, and free cuts; grain, kerf, trims, several kinds.

use hitchwright::domain::{
    measure::Tenths,
    nesting::{
        check,
        panels::{self, CutClass, Part, PartGrain, Problem, SheetGrain, Stock},
    },
};

use super::*;

fn problem(cuts: CutClass, worth: bool) -> impl Strategy<Value = Problem> {
    let grain = prop_oneof![2 => Just(PartGrain::Any), 1 => Just(PartGrain::Length), 1 => Just(PartGrain::Width)];
    let sheet_grain = prop_oneof![Just(SheetGrain::Length), Just(SheetGrain::Width), Just(SheetGrain::None)];
    let quantity = proptest::option::weighted(0.5, 0_u32..3);
    let sheet = (4_i64..14, 4_i64..14, 1_i64..900, 0_i64..=100, quantity, sheet_grain);
    let part = (1_i64..9, 1_i64..9, 1_u32..3, grain);
    let stages = proptest::option::weighted(0.3, 1_u32..4);
    let (sheets, parts) = (proptest::collection::vec(sheet, 1..4), proptest::collection::vec(part, 1..=5));
    (0_i64..3, 0_i64..2, (0_i64..6, 0_i64..6), sheets, parts, any::<bool>(), stages).prop_map(
        move |(kerf, trim, keep, stock, lines, priced, stages)| {
            let mut left = 5;
            let mut parts = Vec::new();
            for (at, (length, width, quantity, grain)) in lines.into_iter().enumerate() {
                let quantity = quantity.min(left);
                left -= quantity;
                parts.push(Part {
                    id: format!("P{at}"),
                    length: Tenths(length),
                    width: Tenths(width),
                    quantity,
                    grain,
                });
            }
            let stock = stock.into_iter().enumerate();
            Problem {
                kerf: Tenths(kerf),
                edge_trim: Tenths(trim),
                keep_offcut: [Tenths(keep.0), Tenths(keep.1)],
                cuts,
                max_stages: stages.filter(|_| cuts == CutClass::Guillotine),
                stock: stock
                    .map(|(at, (length, width, cost, share, quantity, grain))| Stock {
                        id: format!("S{at}"),
                        length: Tenths(length),
                        width: Tenths(width),
                        cost: priced.then(|| four_decimals(cost)),
                        quantity,
                        grain,
                        // A square tenth is 10⁻⁸ m²: the whole sheet is worth at most its cost.
                        offcut_value_per_m2: Money(Decimal::from(if worth {
                            cost * share * 100 / (length * width)
                        } else {
                            0
                        })),
                    })
                    .collect(),
                parts,
            }
        },
    )
}

/// The sizes in which a part may lie on a sheet: its own, turned, or both.
fn sizes(part: &Part, sheet: SheetGrain) -> Vec<(i64, i64)> {
    let (drawn, turned) = ((part.length.0, part.width.0), (part.width.0, part.length.0));
    match (part.grain, sheet) {
        (PartGrain::Any, _) | (_, SheetGrain::None) => vec![drawn, turned],
        (PartGrain::Length, SheetGrain::Length) | (PartGrain::Width, SheetGrain::Width) => vec![drawn],
        _ => vec![turned],
    }
}

fn each(problem: &Problem) -> Vec<&Part> {
    problem.parts.iter().flat_map(|p| std::iter::repeat_n(p, p.quantity as usize)).collect()
}

fn trimmed(problem: &Problem, stock: &Stock) -> (i64, i64) {
    (stock.length.0 - 2 * problem.edge_trim.0, stock.width.0 - 2 * problem.edge_trim.0)
}

/// Every cut at every tenth, with every share of the parts: the greatest kept area, by the piece's size, the set of parts
/// sawn from it, the direction of the cut that made it and the stage.
struct Saw<'a> {
    kerf: i64,
    keep: (i64, i64),
    most_stages: Option<u32>,
    sizes: Vec<Vec<(i64, i64)>>,
    areas: &'a [i64],
    /// Unknown, impossible, or an area.
    known: Vec<i32>,
    side: i64,
}

const UNKNOWN: i32 = -2;
const IMPOSSIBLE: i32 = -1;

impl Saw<'_> {
    fn kept(&mut self, (dx, dy): (i64, i64), parts: u32, last: Option<bool>, stage: u32) -> Option<i64> {
        if parts == 0 {
            // Sawing up what is left never keeps more of it.
            let kept = dx.max(dy) >= self.keep.0 && dx.min(dy) >= self.keep.1;
            return Some(if kept { dx * dy } else { 0 });
        }
        if self.areas[parts as usize] > dx * dy {
            return None;
        }
        let place = self.place(dx, dy, parts, last, stage);
        if self.known[place] == UNKNOWN {
            let best = self.best((dx, dy), parts, last, stage);
            self.known[place] = best.map_or(IMPOSSIBLE, |area| area as i32);
        }
        (self.known[place] != IMPOSSIBLE).then(|| i64::from(self.known[place]))
    }

    fn place(&self, dx: i64, dy: i64, parts: u32, last: Option<bool>, stage: u32) -> usize {
        // Where stages are not limited they make no difference, nor does the direction.
        let (made, stage) = match self.most_stages {
            None => (0, 0),
            Some(_) => (last.map_or(0, |along_x| 1 + usize::from(along_x)), stage as usize),
        };
        let side = self.side as usize + 1;
        (((stage * 3 + made) * side + dx as usize) * side + dy as usize) * 32 + parts as usize
    }

    fn best(&mut self, (dx, dy): (i64, i64), parts: u32, last: Option<bool>, stage: u32) -> Option<i64> {
        let mut best = None;
        if parts.count_ones() == 1 && self.sizes[parts.trailing_zeros() as usize].contains(&(dx, dy)) {
            best = Some(0);
        }
        for along_x in [true, false] {
            let next = if last == Some(along_x) { stage } else { stage + 1 };
            if self.most_stages.is_some_and(|most| next > most) {
                continue;
            }
            let size = if along_x { dx } else { dy };
            let piece = |size: i64| if along_x { (size, dy) } else { (dx, size) };
            for at in 1..size {
                let behind = size - at - self.kerf;
                // Every share of the parts, by counting down through the subsets.
                let mut before = parts;
                loop {
                    let rest = parts & !before;
                    let first = self.kept(piece(at), before, Some(along_x), next);
                    let second = match first {
                        None => None,
                        Some(_) if behind > 0 => self.kept(piece(behind), rest, Some(along_x), next),
                        Some(_) => (rest == 0).then_some(0),
                    };
                    if let (Some(a), Some(b)) = (first, second) {
                        best = best.max(Some(a + b));
                    }
                    if before == 0 {
                        break;
                    }
                    before = (before - 1) & parts;
                }
            }
        }
        best
    }
}

/// For each kind and set of parts the greatest kept area of one sheet.
fn sawn(problem: &Problem, stock: &Stock, parts: &[&Part], areas: &[i64]) -> Vec<Option<i64>> {
    let inside = trimmed(problem, stock);
    let [a, b] = problem.keep_offcut.map(|t| t.0);
    let side = inside.0.max(inside.1).max(0);
    let stages = problem.max_stages.map_or(1, |most| most as usize + 1);
    let mut saw = Saw {
        kerf: problem.kerf.0,
        keep: (a.max(b), a.min(b)),
        most_stages: problem.max_stages,
        sizes: parts.iter().map(|part| sizes(part, stock.grain)).collect(),
        areas,
        known: vec![UNKNOWN; stages * 3 * (side as usize + 1).pow(2) * 32],
        side,
    };
    let one = |set: u32| {
        if inside.0 <= 0 || inside.1 <= 0 { None } else { saw.kept(inside, set, None, 0) }
    };
    (0..areas.len() as u32).map(one).collect()
}

/// Which sets of parts lie on one sheet with free cuts.
fn lying(problem: &Problem, stock: &Stock, parts: &[&Part], areas: &[i64]) -> Vec<Option<i64>> {
    let inside = trimmed(problem, stock);
    let kerf = problem.kerf.0;
    let sizes: Vec<_> = parts.iter().map(|part| sizes(part, stock.grain)).collect();
    let one = |set: u32| {
        let of: Vec<&[(i64, i64)]> = (0..parts.len()).filter(|at| set >> at & 1 == 1).map(|at| &*sizes[at]).collect();
        if inside.0 <= 0 || inside.1 <= 0 || areas[set as usize] > inside.0 * inside.1 {
            return None;
        }
        let places = [places(&of, kerf, inside.0, |size| size.0), places(&of, kerf, inside.1, |size| size.1)];
        lay(&of, &places, inside, kerf, &mut Vec::new()).then_some(0)
    };
    (0..areas.len() as u32).map(one).collect()
}

/// Any layout can be pushed left and down until each part lies against others or the edge, so that a coordinate is a sum
/// of sizes and kerfs of other parts (Herz 1972, "Recursive computational procedure for two-dimensional stock cutting").
fn places(parts: &[&[(i64, i64)]], kerf: i64, inside: i64, side: impl Fn(&(i64, i64)) -> i64) -> Vec<i64> {
    let mut sums = std::collections::BTreeSet::from([0]);
    for sizes in parts {
        let before: Vec<i64> = sums.iter().copied().collect();
        sums.extend(before.iter().flat_map(|sum| sizes.iter().map(|size| sum + side(size) + kerf).collect::<Vec<_>>()));
    }
    sums.into_iter().filter(|&sum| sum < inside).collect()
}

fn lay(
    parts: &[&[(i64, i64)]],
    places: &[Vec<i64>; 2],
    inside: (i64, i64),
    kerf: i64,
    laid: &mut Vec<[i64; 4]>,
) -> bool {
    let Some((sizes, rest)) = parts.split_first() else { return true };
    for &(dx, dy) in *sizes {
        for &x in places[0].iter().filter(|&x| x + dx <= inside.0) {
            for &y in places[1].iter().filter(|&y| y + dy <= inside.1) {
                let apart = |other: &[i64; 4]| {
                    x + dx + kerf <= other[0]
                        || other[0] + other[2] + kerf <= x
                        || y + dy + kerf <= other[1]
                        || other[1] + other[3] + kerf <= y
                };
                if laid.iter().all(apart) {
                    laid.push([x, y, dx, dy]);
                    let found = lay(rest, places, inside, kerf, laid);
                    laid.pop();
                    if found {
                        return true;
                    }
                }
            }
        }
    }
    false
}

/// The least net cost over every sharing of the parts among sheets, in 10⁻¹².
fn least(problem: &Problem) -> Option<i128> {
    let parts = each(problem);
    let all = (1_u32 << parts.len()) - 1;
    let area = |set: u32| {
        (0..parts.len()).filter(|at| set >> at & 1 == 1).map(|at| parts[at].length.0 * parts[at].width.0).sum()
    };
    let areas: Vec<i64> = (0..=all).map(area).collect();
    let cost: Vec<Vec<Option<i128>>> = (problem.stock.iter())
        .map(|stock| {
            let kept = match problem.cuts {
                CutClass::Guillotine => sawn(problem, stock, &parts, &areas),
                CutClass::Free => lying(problem, stock, &parts, &areas),
            };
            let cost = |kept: i64| match stock.cost {
                Some(cost) => in_units(cost, 12) - i128::from(kept) * in_units(stock.offcut_value_per_m2, 4),
                // Unpriced: a sheet costs its area in mm².
                None => i128::from(stock.length.0 * stock.width.0) * 10_000_000_000,
            };
            kept.into_iter().map(|kept| kept.map(cost)).collect()
        })
        .collect();
    let mut best = None;
    share(problem, &cost, all, &mut vec![0; problem.stock.len()], 0, &mut best);
    best
}

fn in_units(money: Money, decimals: u32) -> i128 {
    let mut money = money.0;
    money.rescale(decimals);
    money.mantissa()
}

fn share(
    problem: &Problem,
    cost: &[Vec<Option<i128>>],
    left: u32,
    used: &mut Vec<u32>,
    sum: i128,
    best: &mut Option<i128>,
) {
    if left == 0 {
        *best = Some(best.map_or(sum, |least| least.min(sum)));
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
                share(problem, cost, left & !on_sheet, used, sum + one, best);
                used[kind] -= 1;
            }
        }
        if more == 0 {
            break;
        }
        more = (more - 1) & rest;
    }
}

fn trial(cases: (u32, u32), problems: impl Strategy<Value = Problem>, what: &str, most_open: u32) {
    let (quick, full) = (Counts::default(), Counts::default());
    runner(cases.0, cases.1)
        .run(&problems, |problem| {
            let truth = least(&problem);
            for (budget, counts) in [(Budget::of_units(2_000), &quick), (Budget::of_units(1_000_000), &full)] {
                let answer = panels::solve(&problem, budget, &mut unwatched).map_err(refused)?;
                prop_assert_eq!(check::panel_plan(&problem, &answer), Vec::<String>::new(), "{:?}", answer);
                counts.judge(answer.status, answer.net_cost, answer.lower_bound, truth, 12)?;
            }
            Ok(())
        })
        .unwrap();
    quick.sum_up(&format!("{what}, 2,000 units"), 1_000);
    full.sum_up(&format!("{what}, 1,000,000 units"), most_open);
}

#[test]
fn sawn_sheets_of_up_to_5_parts_agree_with_trying_everything() {
    trial((600, 100_000), problem(CutClass::Guillotine, true), "guillotine", 10);
}

/// Without a worth of remainders: how much of a free layout can be kept is not tried out here.
#[test]
fn free_sheets_of_up_to_5_parts_agree_with_trying_everything() {
    trial((1_000, 100_000), problem(CutClass::Free, false), "free", 150);
}

/// With a worth: every sawn plan is a free plan too, so no bound may be above the least sawn one.
#[test]
fn free_plans_have_no_bound_above_the_least_sawn_plan() {
    runner(150, 20_000)
        .run(&problem(CutClass::Free, true), |problem| {
            let answer = panels::solve(&problem, Budget::of_units(100_000), &mut unwatched).map_err(refused)?;
            prop_assert_eq!(check::panel_plan(&problem, &answer), Vec::<String>::new(), "{:?}", answer);
            let sawn = least(&Problem { cuts: CutClass::Guillotine, ..problem.clone() });
            if let (Some(bound), Some(sawn)) = (answer.lower_bound, sawn) {
                prop_assert!(bound.0 <= Decimal::from_i128_with_scale(sawn, 12), "every sawn plan is a free plan");
            }
            Ok(())
        })
        .unwrap();
}
