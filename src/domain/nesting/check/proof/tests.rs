//! Proofs made by hand, proofs spoilt, and pricing against trying every way of cutting.

use super::{
    super::super::{
        json,
        proof::{
            self,
            bars::{Prices, Recorder},
        },
    },
    figures::Piece,
    *,
};
use crate::measure::Tenths;

/// One unit of money in a proof.
const ONE: i64 = 10_i64.pow(SCALE);

/// Ten of 100 mm fill ten long bars at 10. 48, 47 and 46 mm: two fit a long bar, one the short at 9. By hand: 10 + 9 for
/// these is least, as three parts need two bars and two short ones hold only two: 119 in all. The relaxation says 115 (each
/// pair half a bar).
const PAIRS: &str = r#"{ "stock": [
      {"id": "long", "length_mm": 100, "cost": "10"}, {"id": "short", "length_mm": 50, "cost": "9"} ],
    "parts": [ {"id": "d", "length_mm": 100, "quantity": 10},
      {"id": "a", "length_mm": 48}, {"id": "b", "length_mm": 47}, {"id": "c", "length_mm": 46} ] }"#;

fn problem(text: &str) -> Problem {
    json::read_bars(text).unwrap().problem
}

/// An answer that claims this bound and nothing else.
fn claims(bound: &str) -> Answer {
    let text = format!(
        r#"{{"status": "feasible", "net_cost": null, "lower_bound": "{bound}", "gap": null, "plan": [], "unplaced": [],
            "notes": [], "bars": 0, "patterns": 0, "stopped": null}}"#
    );
    json::read_bar_plan(&text).unwrap()
}

fn recorder(problem: &Problem) -> Recorder {
    let mut lengths: Vec<Tenths> = problem.parts.iter().map(|part| part.length).collect();
    lengths.sort();
    lengths.dedup();
    lengths.reverse();
    let kinds = problem.stock.iter().map(|stock| vec![stock.id.clone()]).collect();
    Recorder::new(digest(problem), lengths, kinds)
}

fn whole(parts: &[i64], limits: &[i64]) -> Prices {
    let whole = |prices: &[i64]| prices.iter().map(|price| price * ONE).collect();
    Prices { parts: whole(parts), limits: whole(limits), ..Prices::default() }
}

fn prices(parts: &[i64], limits: &[i64]) -> Node {
    Node::Prices(whole(parts, limits))
}

fn bars(kinds: &[u32], holding: &[(u32, u32)], count: u32) -> Split {
    Split { kinds: kinds.to_vec(), holding: holding.to_vec(), count, ..Split::default() }
}

/// Long bars that hold b: none, or at least one; then those that hold a and b.
fn pairs() -> (Problem, Tree) {
    let problem = problem(PAIRS);
    let mut proof = recorder(&problem);
    let [none, some] = proof.split(Recorder::ROOT, bars(&[0], &[(2, 1)], 0));
    proof.close(none, prices(&[10, 5, 9, 5], &[-4]));
    let [apart, together] = proof.split(some, bars(&[0], &[(1, 1), (2, 1)], 0));
    proof.close(apart, prices(&[10, 9, 9, 1], &[0, -8]));
    proof.close(together, prices(&[10, 1, 1, 9], &[0, 8]));
    (problem, proof.into_tree())
}

fn proven(bound: &str) -> Result<Proven, String> {
    Ok(Proven::CostsAtLeast(Money(bound.parse().unwrap())))
}

#[test]
fn a_tree_of_cases_proves_what_the_relaxation_cannot() {
    let (problem, tree) = pairs();
    assert_eq!(bar_proof(&problem, &claims("119"), &tree), proven("119"));
    let refused = bar_proof(&problem, &claims("119.01"), &tree).unwrap_err();
    assert_eq!(refused, "nodes[1]: this case proves only 119; the answer claims 119.01");
    let said = bar_proof(&problem, &claims("119"), &tree).unwrap().to_string();
    assert_eq!(said, "No plan from this stock costs less than 119.");
}

/// The same by a list and a cut: a, b and c with the multiplier ½ say that at most one bar holds two of them. At prices
/// of 5 the relaxation proves 115 and leaves ways within 3 of it (below 119): short bars with one part are out of reach of
/// none (9 − 5 = 4 is above), so only pairs and nothing else remain, of which the cut takes one: no plan.
#[test]
fn a_list_and_a_cut_prove_it_without_a_branch() {
    let problem = problem(PAIRS);
    let mut proof = recorder(&problem);
    let half = proof.cut(proof::bars::Cut { parts: vec![(1, 1), (2, 1), (3, 1)], denominator: 2 });
    let listed = Prices { list: true, ..whole(&[10, 5, 5, 5], &[]) };
    let case = proof.priced(Recorder::ROOT, listed.clone());
    proof.close(case, Node::Prices(Prices { cuts: vec![(half, -10 * ONE)], ..whole(&[10, 10, 10, 10], &[]) }));
    let tree = proof.into_tree();
    assert_eq!(bar_proof(&problem, &claims("119"), &tree), proven("119"));
    let spoil = |change: &dyn Fn(&mut Tree)| {
        let mut spoilt = tree.clone();
        change(&mut spoilt);
        bar_proof(&problem, &claims("119"), &spoilt).unwrap_err()
    };
    let last = |change: fn(&mut Prices)| {
        move |tree: &mut Tree| {
            if let Some(Node::Prices(prices)) = tree.nodes.last_mut() {
                change(prices);
            }
        }
    };
    spoil(&last(|prices| prices.cuts.clear()));
    spoil(&last(|prices| prices.cuts[0].1 *= -1));
    spoil(&last(|prices| prices.cuts[0].1 /= 2));
    spoil(&last(|prices| prices.cuts[0].0 = 1));
    spoil(&|tree| tree.cuts.clear());
    spoil(&|tree| tree.cuts[0].denominator = 3);
    spoil(&|tree| tree.cuts[0].denominator = 0);
    spoil(&|tree| tree.cuts[0].parts[0].1 = 2);
    spoil(&|tree| tree.cuts[0].parts.truncate(2));
    let unlisted = spoil(&|tree| tree.nodes[0] = Node::Prices(Prices { list: false, then: Some(1), ..listed.clone() }));
    assert_eq!(unlisted, "nodes[1]: prices.cuts: cuts need a list above them");
    // Cheaper prices leave more ways; then short bars are on the list and the cut does not close the case.
    spoil(&|tree| tree.nodes[0] = Node::Prices(Prices { list: true, then: Some(1), ..whole(&[10, 4, 4, 4], &[]) }));
}

#[test]
fn every_integer_changed_for_the_worse_is_refused() {
    let (problem, tree) = pairs();
    let refused = |tree: &Tree, what: &str| {
        let verdict = bar_proof(&problem, &claims("119"), tree);
        assert!(verdict.is_err(), "{what}: {verdict:?}");
    };
    for place in 0..tree.nodes.len() {
        let Node::Prices(right) = &tree.nodes[place] else { continue };
        for (at, by) in (0..4).flat_map(|at| [(at, -ONE), (at, ONE)]) {
            let mut spoilt = tree.clone();
            let mut prices = right.clone();
            prices.parts[at] += by;
            spoilt.nodes[place] = Node::Prices(prices);
            refused(&spoilt, &format!("nodes[{place}].parts[{at}] by {by}"));
        }
        // A price that counts bars: of an upper limit of nought only towards nought is it worse.
        for at in (0..right.limits.len()).filter(|&at| right.limits[at] != 0) {
            let mut spoilt = tree.clone();
            let mut prices = right.clone();
            prices.limits[at] += if prices.limits[at] < 0 { ONE } else { -ONE };
            spoilt.nodes[place] = Node::Prices(prices);
            refused(&spoilt, &format!("nodes[{place}].limits[{at}]"));
            let mut spoilt = tree.clone();
            let mut prices = right.clone();
            prices.limits[at] *= -1;
            spoilt.nodes[place] = Node::Prices(prices);
            refused(&spoilt, &format!("nodes[{place}].limits[{at}] with the wrong sign"));
        }
        for leaf in [Node::Open, Node::Nothing] {
            let mut spoilt = tree.clone();
            spoilt.nodes[place] = leaf;
            refused(&spoilt, &format!("nodes[{place}] without its prices"));
        }
    }
    for place in [0, 2] {
        let spoil = |change: &dyn Fn(&mut Split)| {
            let mut spoilt = tree.clone();
            if let Node::Split(split) = &mut spoilt.nodes[place] {
                change(split);
            }
            spoilt
        };
        refused(&spoil(&|split| split.count += 1), "another count");
        refused(&spoil(&|split| split.kinds = vec![7]), "an unknown kind");
        refused(&spoil(&|split| split.kinds = vec![1]), "another kind");
        refused(&spoil(&|split| split.holding[0] = (9, 1)), "an unknown length");
        refused(&spoil(&|split| split.at_least = split.at_most), "one case twice");
        refused(&spoil(&|split| std::mem::swap(&mut split.at_least, &mut split.at_most)), "cases exchanged");
        refused(&spoil(&|split| split.at_most = place as u32), "a case of itself");
        refused(&spoil(&|split| split.at_least = 99), "a missing case");
    }
    let mut spoilt = tree.clone();
    spoilt.nodes.pop();
    refused(&spoilt, "a missing branch");
    let mut spoilt = tree.clone();
    spoilt.nodes.push(Node::Open);
    refused(&spoilt, "a case that belongs to no split");
    let mut spoilt = tree.clone();
    spoilt.lengths.reverse();
    refused(&spoilt, "other lengths");
    let mut spoilt = tree.clone();
    spoilt.kinds = vec![vec!["long".into(), "short".into()]];
    refused(&spoilt, "unlike pieces as one kind");
    let mut spoilt = tree.clone();
    spoilt.kinds[1] = vec!["long".into()];
    refused(&spoilt, "a piece twice");
    refused(&Tree::default(), "nothing at all");
}

#[test]
fn a_proof_of_another_problem_is_refused() {
    let (mut problem, tree) = pairs();
    problem.parts[0].quantity = 2;
    let why = bar_proof(&problem, &claims("119"), &tree).unwrap_err();
    assert_eq!(why, "the proof is about another problem (its SHA-256 differs)");
}

/// Even with the right name on it, a wrong proof proves nothing false: with long bars at half the cost 60 is the truth.
#[test]
fn the_figures_are_the_problems_own() {
    let (_, mut tree) = pairs();
    let cheap = problem(&PAIRS.replace("\"10\"", "\"5\""));
    tree.problem = digest(&cheap);
    assert!(bar_proof(&cheap, &claims("60.01"), &tree).is_err());
}

/// Five parts of 40 mm, two to a bar of 100 mm: 2.5 bars are 250, and bars of 100 mm cost multiples of 100.
#[test]
fn a_bound_rises_to_the_lattice_of_costs() {
    let problem = problem(
        r#"{"stock": [{"id": "s", "length_mm": 100}], "parts": [{"id": "p", "length_mm": 40, "quantity": 5}]}"#,
    );
    let mut proof = recorder(&problem);
    proof.close(Recorder::ROOT, prices(&[50], &[]));
    assert_eq!(bar_proof(&problem, &claims("300"), &proof.clone().into_tree()), proven("300"));
    // The material alone: 5 × 40 = 200 mm are two bars.
    proof.close(Recorder::ROOT, Node::Open);
    assert_eq!(bar_proof(&problem, &claims("200"), &proof.into_tree()), proven("200"));
}

/// Two bars hold four of five parts: at a price that nobody pays every leaf lies above the cost of all stock.
#[test]
fn that_there_is_no_plan_can_be_proven() {
    let text = r#"{"stock": [{"id": "s", "length_mm": 100, "quantity": 2}],
        "parts": [{"id": "p", "length_mm": 40, "quantity": 5}]}"#;
    let none = problem(text);
    let mut answer = claims("0");
    (answer.status, answer.lower_bound) = (Status::Infeasible, None);
    let mut proof = recorder(&none);
    proof.close(Recorder::ROOT, prices(&[1000], &[]));
    assert_eq!(bar_proof(&none, &answer, &proof.clone().into_tree()), Ok(Proven::NoPlan));
    proof.close(Recorder::ROOT, prices(&[40], &[]));
    assert!(bar_proof(&none, &answer, &proof.into_tree()).is_err(), "two bars may cost what all stock costs");
    let enough = problem(&text.replace("\"quantity\": 2", "\"quantity\": 3"));
    let mut proof = recorder(&enough);
    proof.close(Recorder::ROOT, prices(&[1000], &[]));
    assert!(bar_proof(&enough, &answer, &proof.into_tree()).is_err());
}

/// Cases that counting closes: three bars of a kind of which there are two; more than a wider limit allows.
#[test]
fn plain_counting_closes_a_case() {
    let text = r#"{"stock": [{"id": "s", "length_mm": 100, "quantity": 2}, {"id": "t", "length_mm": 100, "cost": null}],
        "parts": [{"id": "p", "length_mm": 40, "quantity": 5}]}"#;
    let problem = problem(text);
    let close = |kinds: Vec<u32>, holding: Vec<(u32, u32)>, count: u32| {
        let mut proof = recorder(&problem);
        let [_, more] = proof.split(Recorder::ROOT, bars(&kinds, &holding, count));
        proof.close(more, Node::Nothing);
        bar_proof(&problem, &claims("200"), &proof.into_tree())
    };
    assert!(close(vec![0], vec![], 2).is_ok());
    assert!(close(vec![0], vec![], 1).is_err());
    assert!(close(vec![0, 1], vec![(0, 2)], 2).is_ok(), "five parts are two on a bar twice");
    assert!(close(vec![0, 1], vec![(0, 2)], 1).is_err());
    assert!(close(vec![0, 1], vec![(0, 3)], 0).is_ok(), "no bar bears three");
    let mut proof = recorder(&problem);
    let [few, _] = proof.split(Recorder::ROOT, bars(&[0, 1], &[], 2));
    let [_, more] = proof.split(few, bars(&[1], &[], 2));
    proof.close(more, Node::Nothing);
    assert!(bar_proof(&problem, &claims("200"), &proof.into_tree()).is_ok());
}

#[test]
fn figures_at_the_edge_of_their_range_neither_panic_nor_prove() {
    let (problem, tree) = pairs();
    for extreme in [i64::MIN, i64::MAX] {
        for place in [1, 3, 4] {
            let mut spoilt = tree.clone();
            if let Node::Prices(prices) = &mut spoilt.nodes[place] {
                prices.parts.fill(extreme);
                prices.limits.fill(extreme);
            }
            assert!(bar_proof(&problem, &claims("119"), &spoilt).is_err());
        }
    }
    let mut spoilt = tree;
    for node in &mut spoilt.nodes {
        if let Node::Split(split) = node {
            split.count = u32::MAX;
        }
    }
    assert!(bar_proof(&problem, &claims("119"), &spoilt).is_err());
}

/// Two thousand splits one below the other: no recursion follows them.
#[test]
fn a_deep_tree_is_no_trouble() {
    let problem = problem(PAIRS);
    let mut proof = recorder(&problem);
    let mut case = Recorder::ROOT;
    for _ in 0..2_000 {
        let [few, more] = proof.split(case, bars(&[0], &[], 13));
        proof.close(more, Node::Nothing);
        case = few;
    }
    assert_eq!(bar_proof(&problem, &claims("12"), &proof.into_tree()), proven("12"));
}

/// The next of a row of numbers below `most`, the same on every machine.
fn next(seed: &mut u64, most: i64) -> i64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    ((*seed >> 33) % most as u64) as i64
}

#[test]
fn the_least_reduced_cost_agrees_with_trying_every_way() {
    let mut seed = 11;
    for _ in 0..3_000 {
        let roll = &mut seed;
        let kinds = 1 + next(roll, 3);
        let stock: Vec<String> = (0..kinds)
            .map(|at| {
                let (length, cost) = (100 + next(roll, 200), 5 + next(roll, 40));
                let worth = next(roll, cost * 1000 / length);
                format!(
                    r#"{{"id": "s{at}", "length_mm": {length}, "cost": "{cost}", "offcut_value_per_m": "{worth}"}}"#
                )
            })
            .collect();
        let mut lengths: Vec<i64> = (0..1 + next(roll, 4)).map(|_| 20 + next(roll, 90)).collect();
        lengths.sort_unstable();
        lengths.dedup();
        lengths.reverse();
        let parts: Vec<String> = (lengths.iter().enumerate())
            .map(|(at, length)| {
                let quantity = 1 + next(roll, 3);
                format!(r#"{{"id": "p{at}", "length_mm": {length}, "quantity": {quantity}}}"#)
            })
            .collect();
        let text = format!(
            r#"{{"kerf_mm": {}, "keep_offcut_mm": {}, "stock": [{}], "parts": [{}]}}"#,
            next(roll, 4),
            next(roll, 80),
            stock.join(","),
            parts.join(",")
        );
        let problem = problem(&text);
        let figures = Figures::read(&problem, &recorder(&problem).into_tree()).unwrap();
        let prices: Vec<i128> = lengths.iter().map(|_| i128::from(next(roll, 20) - 4) * i128::from(ONE)).collect();
        let given: Vec<_> = (0..next(roll, 4))
            .map(|_| {
                let counts: Vec<bool> = (0..kinds).map(|_| next(roll, 2) == 0).collect();
                let holding: Vec<(u32, u32)> = (0..next(roll, 3))
                    .map(|_| (next(roll, lengths.len() as i64) as u32, next(roll, 3) as u32))
                    .collect();
                let kept = [None, None, Some(false), Some(true)][next(roll, 4) as usize];
                (counts, kept, holding, i128::from(next(roll, 20) - 10) * i128::from(ONE))
            })
            .collect();
        let limits: Vec<Limit<'_>> = given
            .iter()
            .map(|(counts, kept, holding, price)| Limit { counts, kept: *kept, holding, price: *price })
            .collect();
        let found = pricing::least(&figures, &prices, &limits, &mut 0).ok().unwrap();
        for (place, kind) in figures.kinds.iter().enumerate() {
            let mut least = 0;
            every_way(&figures, kind.piece, place, &prices, &limits, &mut Vec::new(), &mut |reduced| {
                least = least.min(reduced);
            });
            let says = format!("kind {place} of {text}, prices {prices:?}, limits {given:?}");
            assert!(found[place] <= least, "{says}");
            // Where limits ask about remainders, a lighter bar may stand in for a full one.
            assert!(found[place] == least || limits.iter().any(|limit| limit.kept.is_some()), "{says}");
        }
        let gap = i128::from(next(roll, 30) * ONE);
        let measure = Measure { parts: &prices, limits: &limits, cuts: &[] };
        let listed = list(&figures, &measure, &found, gap, &mut 0).unwrap();
        let mut ways = 0;
        for (place, kind) in figures.kinds.iter().enumerate() {
            every_way(&figures, kind.piece, place, &prices, &limits, &mut Vec::new(), &mut |reduced| {
                ways += usize::from(reduced <= gap + found[place]);
            });
        }
        assert_eq!(listed.len(), ways, "ways of {text}, prices {prices:?}, limits {given:?}");
        let again = listed.least(figures.kinds.len(), &measure, &mut 0).unwrap();
        assert!(again.iter().zip(&found).all(|(listed, any)| listed >= any));
        if limits.iter().all(|limit| limit.kept.is_none()) {
            assert_eq!(again, found);
        }
    }
}

fn every_way(
    figures: &Figures,
    piece: Piece,
    place: usize,
    prices: &[i128],
    limits: &[Limit<'_>],
    counts: &mut Vec<u64>,
    see: &mut dyn FnMut(i128),
) {
    if counts.len() < figures.lengths.len() {
        for n in 0..=figures.lengths[counts.len()].demand {
            counts.push(n);
            every_way(figures, piece, place, prices, limits, counts, see);
            counts.pop();
        }
        return;
    }
    let used: i64 = counts.iter().zip(&figures.lengths).map(|(&n, length)| n as i64 * length.weight).sum();
    if used == 0 || used > piece.bears {
        return;
    }
    let value: i128 = counts.iter().zip(prices).map(|(&n, price)| i128::from(n) * price).sum();
    let kept = used <= figures.longest_kept(piece);
    let extra: i128 = limits
        .iter()
        .filter(|limit| limit.counts[place] && limit.kept.is_none_or(|wanted| wanted == kept))
        .filter(|limit| limit.holding.iter().all(|&(t, n)| counts[t as usize] >= u64::from(n)))
        .map(|limit| limit.price)
        .sum();
    see(figures.cost(piece, used) - value - extra);
}
