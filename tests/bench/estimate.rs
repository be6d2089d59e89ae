//! A whole estimate with the preview budget, as while somebody types, and its stages one by one.
//! Run with `cargo bench --bench estimate`.

use divan::{Bencher, black_box};
use hitchwright::{
    demo,
    domain::{
        estimate::{Estimate, estimate},
        labour,
        measure::Mass,
        nesting::{Budget, cutting, unwatched},
        pricing,
        shop::{Rack, ShopBook},
        trailer::{self, Assumed, Load, Spec},
        weights,
    },
};

fn main() {
    divan::main();
}

/// A job of the demo, by the place of its file in the list.
#[derive(Clone, Debug)]
struct Job {
    title: String,
    spec: Spec,
}

impl std::fmt::Display for Job {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.title)
    }
}

fn demo_jobs() -> Vec<Job> {
    let jobs = demo::jobs().expect("the demo's jobs");
    jobs.into_iter().map(|job| Job { title: job.title, spec: job.spec }).collect()
}

/// The job with the most members.
fn busiest() -> Spec {
    let members = |job: &Job| preview(&job.spec, &ShopBook::demo()).trailer.members.len();
    demo_jobs().into_iter().max_by_key(members).expect("a job").spec
}

fn preview(spec: &Spec, book: &ShopBook) -> Estimate {
    estimate(spec, book, &Rack::default(), Budget::preview(), &mut unwatched).expect("an estimate")
}

/// Promised: less than 20 ms on one core.
#[divan::bench(args = demo_jobs())]
fn preview_of_the_demo(bencher: Bencher, job: &Job) {
    let book = ShopBook::demo();
    bencher.bench(|| preview(black_box(&job.spec), &book));
}

/// The same as when a revision is issued.
#[divan::bench(args = demo_jobs(), sample_count = 5)]
fn full_of_the_demo(bencher: Bencher, job: &Job) {
    let book = ShopBook::demo();
    bencher.bench(|| estimate(&job.spec, &book, &Rack::default(), Budget::full(), &mut unwatched));
}

/// Each load is a trip of its own as well: a loading case each.
#[divan::bench(args = [1, 2, 4, 8, 16, 32])]
fn preview_with_loads(bencher: Bencher, loads: u32) {
    let book = ShopBook::demo();
    let mut spec = Spec::default();
    let each = Mass::from_kg(480.0 / f64::from(loads));
    spec.need.loads = (1..=loads).map(|n| Load { name: format!("crate {n}"), mass: each, ..Load::default() }).collect();
    bencher.bench(|| preview(black_box(&spec), &book));
}

mod stage {
    use super::*;

    fn assumed(of: &Estimate) -> Assumed {
        Assumed::guess(
            of.weights.gross_kg,
            of.weights.demand().coupling_kg,
            of.weights.axle_x_mm,
            of.spec.design.running_gear.axles,
        )
    }

    #[divan::bench]
    fn build(bencher: Bencher) {
        let (book, spec) = (ShopBook::demo(), busiest());
        let assumed = assumed(&preview(&spec, &book));
        bencher.bench(|| trailer::build(black_box(&spec), &book, &assumed));
    }

    #[divan::bench]
    fn weigh(bencher: Bencher) {
        let spec = busiest();
        let of = preview(&spec, &ShopBook::demo());
        bencher.bench(|| weights::weigh(black_box(&spec), &of.trailer));
    }

    #[divan::bench]
    fn take_off(bencher: Bencher) {
        let spec = busiest();
        let of = preview(&spec, &ShopBook::demo());
        bencher.bench(|| trailer::take_off(black_box(&spec), &of.trailer));
    }

    #[divan::bench]
    fn plan(bencher: Bencher) {
        let (book, spec) = (ShopBook::demo(), busiest());
        let of = preview(&spec, &book);
        let (count, budget) = (spec.need.count, Budget::preview());
        bencher
            .bench(|| cutting::plan(black_box(&of.take_off), count, &book, &Rack::default(), budget, &mut unwatched));
    }

    #[divan::bench]
    fn hours(bencher: Bencher) {
        let (book, spec) = (ShopBook::demo(), busiest());
        let of = preview(&spec, &book);
        bencher.bench(|| labour::hours(black_box(&spec), &of.take_off, &of.cutting, &book.norms));
    }

    #[divan::bench]
    fn price(bencher: Bencher) {
        let (book, spec) = (ShopBook::demo(), busiest());
        let of = preview(&spec, &book);
        bencher.bench(|| pricing::build_up(black_box(&spec), &of.take_off, &of.cutting, &of.hours, &book));
    }
}
