//! Cutting plans of usual sizes. Run with `cargo bench --bench nesting`.

use divan::Bencher;
use hitchwright_domain::{
    measure::{Money, Tenths},
    nesting::{Budget, bars, panels, unwatched},
};
use rust_decimal::Decimal;

fn main() {
    divan::main();
}

fn money(hundredths: i64) -> Money {
    Money(Decimal::new(hundredths, 2))
}

/// One section of a trailer: rails, cross-members, posts; new bars and a few offcuts. Invented figures.
fn trailer_section() -> bars::Problem {
    let stock = |id: &str, length: i64, cost: i64, quantity: Option<u32>| bars::Stock {
        id: id.into(),
        length: Tenths(length),
        cost: Some(money(cost)),
        quantity,
        offcut_value_per_m: money(340),
        end_trim: None,
    };
    let parts = [("rail", 24_000, 2), ("end", 12_000, 2), ("cross", 11_000, 5), ("post", 4_525, 8), ("lug", 1_205, 12)];
    bars::Problem {
        kerf: Tenths(25),
        end_trim: Tenths(100),
        keep_offcut: Tenths(5_000),
        stock: vec![
            stock("new-6000", 60_000, 4_120, None),
            stock("new-7500", 75_000, 5_190, None),
            stock("rack-1", 18_300, 622, Some(1)),
            stock("rack-2", 26_400, 897, Some(1)),
        ],
        parts: parts.map(|(id, length, quantity)| bars::Part::square(id, Tenths(length), quantity)).to_vec(),
    }
}

fn deck() -> panels::Problem {
    let part = |id: &str, length: i64, width: i64, quantity: u32| panels::Part {
        id: id.into(),
        length: Tenths(length),
        width: Tenths(width),
        quantity,
        grain: panels::PartGrain::Any,
    };
    panels::Problem {
        kerf: Tenths(32),
        edge_trim: Tenths(50),
        keep_offcut: [Tenths(3_000); 2],
        cuts: panels::CutClass::Guillotine,
        max_stages: None,
        stock: vec![panels::Stock {
            id: "sheet".into(),
            length: Tenths(24_400),
            width: Tenths(12_200),
            cost: Some(money(6_200)),
            quantity: None,
            grain: panels::SheetGrain::Length,
            offcut_value_per_m2: money(800),
        }],
        parts: vec![part("deck", 11_950, 6_000, 3), part("front", 12_000, 4_000, 1)],
    }
}

#[divan::bench(args = [Budget::preview().units(), Budget::full().units()])]
fn bars_of_a_trailer_section(bencher: Bencher, units: u64) {
    let problem = trailer_section();
    bencher.bench(|| bars::solve(&problem, Budget::of_units(units), &mut unwatched));
}

#[divan::bench(args = [Budget::preview().units(), Budget::full().units()])]
fn panels_of_a_deck(bencher: Bencher, units: u64) {
    let problem = deck();
    bencher.bench(|| panels::solve(&problem, Budget::of_units(units), &mut unwatched));
}
