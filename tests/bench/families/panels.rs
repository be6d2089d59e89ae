//! Rectangles on equal sheets, unpriced: the ten published classes of two-dimensional bin packing, here cut by guillotine
//! cuts, parts not turned. Only their parameters are published; the sizes drawn here are our own.
//!
//! Classes 1 to 6: Berkey and Wang, "Two-dimensional finite bin-packing algorithms", 1987. Classes 7 to 10: Martello and
//! Vigo, "Exact solution of the two-dimensional finite bin packing problem", 1998. Each with 20, 40, 60, 80 and 100 parts.

use hitchwright_domain::{
    measure::{Money, Tenths},
    nesting::panels,
};

use super::{
    problem::{Family, Problem, What},
    random::Random,
};

const BERKEY_WANG: &str = "Berkey, Wang 1987";
const MARTELLO_VIGO: &str = "Martello, Vigo 1998";

pub const FAMILIES: [Family; 10] = [
    Family { name: "berkey-wang-1", source: BERKEY_WANG, size: 50, problem: |seed| of(1, seed) },
    Family { name: "berkey-wang-2", source: BERKEY_WANG, size: 50, problem: |seed| of(2, seed) },
    Family { name: "berkey-wang-3", source: BERKEY_WANG, size: 50, problem: |seed| of(3, seed) },
    Family { name: "berkey-wang-4", source: BERKEY_WANG, size: 50, problem: |seed| of(4, seed) },
    Family { name: "berkey-wang-5", source: BERKEY_WANG, size: 50, problem: |seed| of(5, seed) },
    Family { name: "berkey-wang-6", source: BERKEY_WANG, size: 50, problem: |seed| of(6, seed) },
    Family { name: "martello-vigo-7", source: MARTELLO_VIGO, size: 50, problem: |seed| of(7, seed) },
    Family { name: "martello-vigo-8", source: MARTELLO_VIGO, size: 50, problem: |seed| of(8, seed) },
    Family { name: "martello-vigo-9", source: MARTELLO_VIGO, size: 50, problem: |seed| of(9, seed) },
    Family { name: "martello-vigo-10", source: MARTELLO_VIGO, size: 50, problem: |seed| of(10, seed) },
];

/// Seeds 1 to 5 are the five sizes of the first round, 6 to 10 those of the second, and so on.
fn of(class: u8, seed: u64) -> Problem {
    let n = 20 * ((seed - 1) % 5 + 1) as usize;
    let family = FAMILIES[usize::from(class) - 1].name;
    Problem {
        family: family.into(),
        name: format!("c{class}n{n}-{seed}"),
        what: What::Panels(problem(class, n, seed)),
        least: None,
    }
}

/// A unit of the published sizes is a millimetre.
pub fn problem(class: u8, n: usize, seed: u64) -> panels::Problem {
    let mut random = Random::of(&format!("panels-{class}-{n}"), seed);
    let side = match class {
        1 => 10,
        2 => 30,
        3 => 40,
        6 => 300,
        _ => 100,
    };
    let parts = (1..=n).map(|at| {
        let (width, length) = size(class, side, &mut random);
        panels::Part {
            id: format!("P{at}"),
            length: Tenths(length * 10),
            width: Tenths(width * 10),
            quantity: 1,
            grain: panels::PartGrain::Length,
        }
    });
    let sheet = panels::Stock {
        id: "sheet".into(),
        length: Tenths(side * 10),
        width: Tenths(side * 10),
        cost: None,
        quantity: None,
        grain: panels::SheetGrain::Length,
        offcut_value_per_m2: Money::ZERO,
    };
    panels::Problem {
        kerf: Tenths(0),
        edge_trim: Tenths(0),
        keep_offcut: [Tenths(0); 2],
        cuts: panels::CutClass::Guillotine,
        max_stages: None,
        parts: parts.collect(),
        stock: vec![sheet],
    }
}

/// Width and height as the papers call them.
fn size(class: u8, side: i64, random: &mut Random) -> (i64, i64) {
    let most = match class {
        1 | 2 => 10,
        3 | 4 => 35,
        5 | 6 => 100,
        _ => return typed(class, side, random),
    };
    (random.int(1, most), random.int(1, most))
}

/// Four types of parts: wide, high, large and small; a class draws 70 % of its parts from one of them.
fn typed(class: u8, side: i64, random: &mut Random) -> (i64, i64) {
    let usual = i64::from(class) - 6;
    let draw = random.int(1, 10);
    let kind = match draw {
        1..=3 => (1..=4).filter(|kind| *kind != usual).nth(draw as usize - 1).unwrap_or(usual),
        _ => usual,
    };
    // Whole numbers from two thirds of the side on.
    let (half, long) = (side / 2, (2 * side + 2) / 3);
    match kind {
        1 => (random.int(long, side), random.int(1, half)),
        2 => (random.int(1, half), random.int(long, side)),
        3 => (random.int(half, side), random.int(half, side)),
        _ => (random.int(1, half), random.int(1, half)),
    }
}
