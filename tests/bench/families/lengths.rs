//! Bars of many lengths with limited numbers: multiple-length cutting stock as in Belov, Scheithauer, "A cutting plane
//! algorithm for the one-dimensional cutting stock problem with multiple stock lengths", 2002. The parameters are our own.

use hitchwright_domain::{
    measure::{Money, Tenths},
    nesting::bars,
};
use rust_decimal::Decimal;

use super::{
    problem::{Family, Problem, What, stock},
    random::Random,
};

pub const FAMILIES: [Family; 2] = [
    Family {
        name: "lengths",
        source: "as in Belov, Scheithauer 2002, own parameters: a bar costs its length",
        size: 40,
        problem: |seed| several("lengths", seed, false),
    },
    Family {
        name: "lengths-priced",
        source: "as in Belov, Scheithauer 2002, own parameters: priced in cents",
        size: 40,
        problem: |seed| several("lengths-priced", seed, true),
    },
];

/// 20 to 30 lengths from 2 to 10 m, 1 to 8 bars of each (more of the longest until the parts take at most three quarters);
/// 20 to 40 kinds of parts from 0.3 to 4 m, 1 to 10 of each. Priced: 3 to 14 a metre, each length up to 6 % dearer or
/// cheaper. No kerf, no trim, no worth of remainders.
fn several(family: &str, seed: u64, priced: bool) -> Problem {
    let mut random = Random::of(family, seed);
    let kinds = random.int(20, 30);
    let per_metre = random.int(300, 1_400) as f64;
    let mut lengths = std::collections::BTreeSet::new();
    while (lengths.len() as i64) < kinds {
        lengths.insert(random.int(200, 1_000) * 10);
    }
    let mut parts = std::collections::BTreeMap::new();
    for _ in 0..random.int(20, 40) {
        *parts.entry(random.int(300, 4_000)).or_insert(0) += random.int(1, 10);
    }
    let wanted: i64 = parts.iter().map(|(length, n)| length * n).sum();
    let mut bars: Vec<bars::Stock> = Vec::new();
    for &length in lengths.iter().rev() {
        let cents = (per_metre * length as f64 / 1000.0 * (0.94 + 0.12 * random.unit())).round() as i64;
        let cost = priced.then(|| Money(Decimal::new(cents, 2)));
        bars.push(stock(format!("L{length}"), length, cost, Some(random.int(1, 8) as u32)));
    }
    let held =
        |bars: &[bars::Stock]| bars.iter().map(|b| b.length.0 / 10 * i64::from(b.quantity.unwrap_or(0))).sum::<i64>();
    let mut at = 0;
    while held(&bars) * 3 < wanted * 4 {
        bars[at].quantity = bars[at].quantity.map(|n| n + 1);
        at = (at + 1) % 5;
    }
    let n: i64 = parts.values().sum();
    let parts = parts.into_iter().rev().map(|(l, n)| bars::Part::square(format!("P{l}"), Tenths(l * 10), n as u32));
    let problem = bars::Problem { stock: bars, parts: parts.collect(), ..Default::default() };
    Problem { family: family.into(), name: format!("k{kinds}n{n}-{seed}"), what: What::Bars(problem), least: None }
}
