//! The generators of the benchmark's families hold what is published of them, and its readers read the published forms.

use std::collections::BTreeSet;

use hitchwright::domain::nesting::{bars, json};

#[path = "../bench/families/files.rs"]
mod files;
#[path = "../bench/families/identical.rs"]
mod identical;
#[path = "../bench/families/lengths.rs"]
mod lengths;
#[path = "../bench/families/panels.rs"]
mod panels;
#[path = "../bench/families/problem.rs"]
mod problem;
#[path = "../bench/families/random.rs"]
pub mod random;
#[path = "../bench/families/round_up.rs"]
mod round_up;
#[path = "../bench/families/sheets.rs"]
mod sheets;

use problem::{Family, Problem, What};

fn all() -> impl Iterator<Item = Family> {
    let bars = identical::FAMILIES.into_iter().chain(round_up::FAMILIES).chain(lengths::FAMILIES);
    bars.chain(panels::FAMILIES).chain(sheets::FAMILIES)
}

fn bars_of(problem: Problem) -> bars::Problem {
    match problem.what {
        What::Bars(problem) => problem,
        What::Panels(_) => panic!("{} is about panels", problem.name),
    }
}

/// Capacity and weights, in the family's own unit.
fn weights(problem: &bars::Problem) -> (i64, Vec<i64>) {
    let of = |p: &bars::Part| std::iter::repeat_n(p.length.0 / 10, p.quantity as usize);
    (problem.stock[0].length.0 / 10, problem.parts.iter().flat_map(of).collect())
}

fn of(name: &str, seed: u64) -> (i64, Vec<i64>) {
    let family = all().find(|family| family.name == name).expect("a family");
    weights(&bars_of((family.problem)(seed)))
}

fn within(weights: &[i64], least: i64, most: i64) -> bool {
    weights.iter().all(|w| (least..=most).contains(w))
}

/// Worked out with a program of a few lines in another language.
#[test]
fn random_numbers_are_the_same_everywhere() {
    let mut random = random::Random::of("falkenauer-u", 1);
    let drawn: Vec<i64> = (0..8).map(|_| random.int(20, 100)).collect();
    assert_eq!(drawn, [72, 100, 64, 55, 53, 97, 33, 91]);
    assert!((0..1_000).map(|_| random.unit()).all(|n| (0.0..1.0).contains(&n)));
    let picked: BTreeSet<i64> = (0..100).map(|_| *random.pick(&[1, 2, 3])).collect();
    assert_eq!(picked.len(), 3);
}

#[test]
fn families_have_the_published_sizes() {
    for (seed, n) in [(1, 120), (2, 250), (3, 500), (4, 1000)] {
        let (capacity, weights) = of("falkenauer-u", seed);
        assert_eq!((capacity, weights.len()), (150, n));
        assert!(within(&weights, 20, 100));
    }
    for (seed, n) in [(1, 60), (2, 120), (3, 249), (4, 501)] {
        let (capacity, weights) = of("falkenauer-t", seed);
        assert_eq!((capacity, weights.len(), weights.iter().sum::<i64>()), (1000, n, 1000 * n as i64 / 3));
        assert!(within(&weights, 250, 500));
    }
    let sizes: BTreeSet<(usize, i64)> = (1..=36).map(|seed| of("scholl-1", seed)).map(|(c, w)| (w.len(), c)).collect();
    assert_eq!(sizes.len(), 12, "{sizes:?}");
    for seed in 1..=48 {
        let (capacity, weights) = of("scholl-2", seed);
        assert!(capacity == 1000 && within(&weights, 11, 634), "{seed}: {weights:?}");
    }
    let (capacity, weights) = of("scholl-3", 1);
    assert!(capacity == 100_000 && weights.len() == 200 && within(&weights, 20_000, 35_000));
    let (capacity, weights) = of("schwerin", 2);
    assert!(capacity == 1000 && weights.len() == 120 && within(&weights, 150, 200));
    for seed in 1..=20 {
        let (capacity, weights) = of("waescher-gau", seed);
        let spare = (-weights.iter().sum::<i64>()).rem_euclid(capacity);
        assert!(capacity == 10_000 && (57..=239).contains(&weights.len()) && spare <= 50, "{seed}: {spare}");
    }
    for seed in 1..=48 {
        let (capacity, weights) = of("cutgen", seed);
        assert!(capacity == 10_000 && weights.len() <= 1_000 && weights.len() % 10 == 0, "{seed}: {}", weights.len());
    }
}

/// Both leave no waste over the material bound; ANI problems need a bar more than it, AI problems reach it.
#[test]
fn problems_without_the_round_up_property_fill_their_bound() {
    for (name, more) in [("ani", 1), ("ai", 0)] {
        let family = all().find(|family| family.name == name).expect("a family");
        for seed in 1..=8 {
            let problem = (family.problem)(seed);
            let least = i64::from(problem.least.expect("a known least number"));
            let (capacity, weights) = weights(&bars_of(problem));
            assert_eq!(weights.iter().sum::<i64>(), capacity * (least - more), "{name} {seed}");
        }
    }
}

#[test]
fn every_problem_is_written_as_the_commands_read_it_and_made_twice_alike() {
    for family in all() {
        let problem = (family.problem)(2);
        let text = files::written(&problem.what).to_string();
        match &problem.what {
            What::Bars(bars) => assert_eq!(&json::read_bars(&text).unwrap().problem, bars, "{}", problem.name),
            What::Panels(panels) => assert_eq!(&json::read_panels(&text).unwrap().problem, panels, "{}", problem.name),
        }
        assert_eq!(text, files::written(&(family.problem)(2).what).to_string());
        assert_eq!((problem.family.as_str(), family.source.is_empty(), family.size > 0), (family.name, false, true));
    }
}

#[test]
fn published_text_forms_are_read() {
    let read = |text: &str| files::published(text, "files", "one");
    let (capacity, mut packed) = weights(&bars_of(read("3\n100\n60\n40\n60\n").unwrap().remove(0)));
    packed.sort_unstable();
    assert_eq!((capacity, packed), (100, vec![40, 60, 60]));
    let (capacity, stocked) = weights(&bars_of(read("2 100\n60 2\n40 1\n").unwrap().remove(0)));
    assert_eq!((capacity, stocked), (100, vec![60, 60, 40]));
    let many = read(" 2\n u120_00\n 150 3 2\n 100\n 50\n 20\n t60_00\n 100.0 2 1\n 49.5\n 50.5\n").unwrap();
    let parts: Vec<usize> = many.into_iter().map(|problem| weights(&bars_of(problem)).1.len()).collect();
    assert_eq!(parts, [3, 2]);
    for (text, quantity) in [("2\n10 20\n5 6\n7 8\n", 1), ("2\n10 20\n5 6 3\n7 8 3\n", 3)] {
        let What::Panels(sheets) = read(text).unwrap().remove(0).what else { panic!("panels") };
        let first = &sheets.parts[0];
        let sizes = (sheets.stock[0].length.0, sheets.stock[0].width.0, first.length.0, first.width.0, first.quantity);
        assert_eq!(sizes, (200, 100, 60, 50, quantity));
    }
    for text in ["", "x", "3 100 1 2", "-1 5 1", "2 a 3 4"] {
        assert!(read(text).is_err(), "{text:?}");
    }
    let shipped = files::read(std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/problems")));
    assert_eq!(shipped.unwrap().len(), 8);
    assert!(files::read(std::path::Path::new("no/such/file")).is_err());
}
