//! Sheets of the shop's kind: several sizes and offcuts with a price and a worth, kerf, trims, grain; the floors, sides,
//! ramps and small plates of trailers. All parameters are invented.

use hitchwright_domain::{
    measure::{Money, Tenths},
    nesting::panels::{self, CutClass, PartGrain, SheetGrain},
};
use rust_decimal::Decimal;

use super::{
    problem::{Family, Problem, What},
    random::Random,
};

const OWN: &str = "own construction, parameters invented";

pub const FAMILIES: [Family; 2] = [
    Family {
        name: "shop-sheets",
        source: OWN,
        size: 40,
        problem: |seed| of("shop-sheets", CutClass::Guillotine, seed),
    },
    Family {
        name: "shop-sheets-free",
        source: OWN,
        size: 40,
        problem: |seed| of("shop-sheets-free", CutClass::Free, seed),
    },
];

/// Sizes sold, in mm.
const SIZES: [(i64, i64); 4] = [(2000, 1000), (2440, 1220), (2500, 1250), (3000, 1500)];

/// By turns one trailer, a few, a week's work and a month's; the same sheets and parts for both classes of cuts.
fn of(family: &str, cuts: CutClass, seed: u64) -> Problem {
    let mut random = Random::of("shop-sheets", seed);
    let trailers = [1, 3, 8, 20][(seed as usize - 1) % 4];
    // Board has a grain and is dearer to buy small; sheet metal has none.
    let board = random.int(0, 1) == 0;
    let grain = if board { SheetGrain::Length } else { SheetGrain::None };
    let (square_metre, worth) = (random.int(1_200, 4_500), random.int(35, 60));
    let mut stock: Vec<(i64, i64, i64, Option<u32>)> = Vec::new();
    let sold: Vec<(i64, i64)> = SIZES.into_iter().filter(|size| *size == SIZES[3] || random.int(0, 2) > 0).collect();
    for (length, width) in sold {
        let cost = length * width * square_metre / 1_000_000 * random.int(95, 106) / 100;
        stock.push((length, width, cost, None));
    }
    for _ in 0..random.int(0, 2 + trailers / 2) {
        let (length, width) = (random.int(600, 2000), random.int(300, 1200));
        stock.push((length, width, length * width * square_metre / 1_000_000 * worth / 100, Some(1)));
    }
    let stock = stock.into_iter().enumerate().map(|(at, (length, width, cents, quantity))| panels::Stock {
        id: format!("{}-{}", if quantity.is_some() { "rack" } else { "new" }, at + 1),
        length: Tenths(length * 10),
        width: Tenths(width * 10),
        cost: Some(Money(Decimal::new(cents, 2))),
        quantity,
        grain,
        offcut_value_per_m2: Money(Decimal::new(square_metre * worth / 100, 2)),
    });
    let mut parts = Vec::new();
    for _ in 0..trailers {
        let (bed, wide) = (random.int(1500, 2900), random.int(1000, 1450));
        let along = if board { PartGrain::Length } else { PartGrain::Any };
        // The floor in one piece or two, two long and two short sides, a ramp for some, small plates.
        let floors = random.int(1, 2);
        parts.push((bed / floors, wide.min(1230), floors, along));
        let high = random.int(250, 450);
        parts.push((bed.min(2430), high, 2, PartGrain::Any));
        parts.push((wide, high, 2, PartGrain::Any));
        if random.int(0, 1) == 1 {
            parts.push((wide - 40, random.int(700, 1000), 1, PartGrain::Any));
        }
        for _ in 0..random.int(0, 2) {
            parts.push((random.int(80, 400), random.int(60, 250), 2 * random.int(1, 4), PartGrain::Any));
        }
    }
    let parts = parts.into_iter().enumerate().map(|(at, (length, width, quantity, grain))| panels::Part {
        id: format!("P{}", at + 1),
        length: Tenths(length * 10),
        width: Tenths(width * 10),
        quantity: quantity as u32,
        grain,
    });
    let problem = panels::Problem {
        kerf: Tenths(if board { 32 } else { random.int(10, 30) }),
        edge_trim: Tenths(50),
        keep_offcut: [Tenths(6_000), Tenths(3_000)],
        cuts,
        max_stages: None,
        stock: stock.collect(),
        parts: parts.collect(),
    };
    Problem { family: family.into(), name: format!("t{trailers}-{seed}"), what: What::Panels(problem), least: None }
}
