//! A whole estimate with the preview budget, as while somebody types, and its stages one by one.
//! Run with `cargo bench --bench estimate`.

use divan::{Bencher, black_box};
use hitchwright::{
    demo,
    domain::{
        estimate::{Estimate, estimate},
        labour,
        measure::{Length, Mass},
        nesting::{Budget, cutting, unwatched},
        pricing,
        shop::{Rack, ShopBook},
        strength,
        trailer::{self, Assumed, Load, SideForm, Spec, TowingVehicle},
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

/// The usual trailer of the promise: about 60 members, four loads, two vehicles, some hundred loading cases.
fn usual() -> Spec {
    let mut spec = Spec::default();
    spec.design.bed.length = Length::from_mm(3000.0);
    spec.design.frame.largest_pitch = Some(Length::from_mm(100.0));
    spec.design.sides.form = SideForm::Rails;
    let mass = |kg| Some(Mass::from_kg(kg));
    spec.need.towing_vehicles = [("car", 1500.0), ("van", 1900.0)]
        .map(|(name, kerb)| TowingVehicle {
            name: name.into(),
            kerb: mass(kerb),
            gross: mass(kerb + 700.0),
            limit_unbraked: mass(750.0),
            coupling_limit: mass(90.0),
            coupling_height: Some(Length::from_mm(430.0)),
            ..TowingVehicle::default()
        })
        .to_vec();
    spec.need.loads = (1..=4)
        .map(|n| Load {
            name: format!("crate {n}"),
            mass: Mass::from_kg(100.0),
            length: Length::from_mm(500.0),
            width: Length::from_mm(500.0),
            ..Load::default()
        })
        .collect();
    spec
}

/// Promised: less than 20 ms on one core, with every check.
#[divan::bench]
fn preview_of_a_usual_trailer(bencher: Bencher) {
    let (book, spec) = (ShopBook::demo(), usual());
    let of = preview(&spec, &book);
    let (members, cases) = (of.trailer.members.len(), of.strength.cases);
    assert!((55..=65).contains(&members) && (90..=120).contains(&cases), "{members} members, {cases} cases");
    bencher.bench(|| preview(black_box(&spec), &book));
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

    /// Strength with every check, of each demo job.
    #[divan::bench(args = demo_jobs())]
    fn examine(bencher: Bencher, job: &Job) {
        let book = ShopBook::demo();
        let of = preview(&job.spec, &book);
        bencher.bench(|| strength::examine(&of.spec, &of.trailer, &of.weights, &book.policy.strength, &mut Vec::new()));
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

/// The analysis as the frame grows: it is long and narrow, so its cost must grow hardly faster than its members.
mod growing {
    use hitchwright::domain::strength::frame::{Beam, BeamLoad, End, Frame, Load, Node, Solver, Stiffness};

    use trailer::Load as Carried;

    use super::*;

    /// RHS 60×40×3.
    const TUBE: Stiffness = Stiffness {
        e: 210_000.0,
        g: 81_000.0,
        area: 541.0,
        iy: 253_800.0,
        iz: 134_400.0,
        j: 292_800.0,
        shear: Some([216.0, 324.5]),
    };
    /// As many unit loads as four loads of a trip and the trailer bring.
    const LOADS: usize = 30;

    /// Two rails with a rung at every node: three members for each bay.
    fn ladder(members: usize) -> Frame {
        let rungs = members / 3;
        let mut frame = Frame::default();
        for rung in 0..rungs {
            for y in [-600.0, 600.0] {
                let held = rung % 10 == 0;
                frame.nodes.push(Node {
                    place: [300.0 * rung as f64, y, 0.0],
                    held: [rung == 0, rung == 0, held, false, false, false],
                });
            }
        }
        let mut join = |a: usize, b: usize| {
            let end = |node| End { node, ..End::default() };
            frame.beams.push(Beam { ends: [end(a), end(b)], up: [0.0, 0.0, 1.0], stiffness: TUBE });
        };
        for rung in 0..rungs {
            join(2 * rung, 2 * rung + 1);
            if rung > 0 {
                join(2 * rung - 2, 2 * rung);
                join(2 * rung - 1, 2 * rung + 1);
            }
        }
        frame
    }

    #[divan::bench(args = [60, 120, 240, 360, 480, 600])]
    fn frame_of_members(bencher: Bencher, members: usize) {
        let frame = ladder(members);
        let load = |nth: usize| Load {
            beams: vec![BeamLoad::Point {
                beam: nth * 2 % frame.beams.len(),
                at: 100.0,
                force: [0.0, 0.0, -1000.0],
                moment: [0.0; 3],
            }],
            ..Load::default()
        };
        let loads: Vec<Load> = (0..LOADS).map(load).collect();
        bencher.bench(|| {
            let solver = Solver::new(black_box(&frame)).expect("a frame that stands");
            loads.iter().map(|load| solver.solve(load)).collect::<Vec<_>>()
        });
    }

    /// Strength with every check of trailers with a cross-member at each 100 mm of a bed of so many millimetres.
    #[divan::bench(args = [1500, 2000, 4000, 8000])]
    fn trailer_of_length(bencher: Bencher, bed_mm: u32) {
        let book = ShopBook::demo();
        let mut spec = Spec::default();
        spec.design.bed.length = Length::from_mm(f64::from(bed_mm));
        spec.design.frame.largest_pitch = Some(Length::from_mm(100.0));
        spec.need.loads = (1..=4)
            .map(|n| Carried {
                name: format!("crate {n}"),
                mass: Mass::from_kg(120.0),
                length: Length::from_mm(500.0),
                width: Length::from_mm(500.0),
                ..Carried::default()
            })
            .collect();
        let of = preview(&spec, &book);
        bencher.bench(|| strength::examine(&of.spec, &of.trailer, &of.weights, &book.policy.strength, &mut Vec::new()));
    }
}
