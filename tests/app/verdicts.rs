//! What is not known is named by the check that needs it, never taken as holding; and a trailer that is wrong in many ways says all of them.

use std::collections::BTreeSet;

use hitchwright::domain::{
    estimate::{Estimate, estimate},
    measure::{Length, Mass},
    nesting::{Budget, unwatched},
    shop::{Goods, PartClass, Rack, ShopBook},
    steel::SheetMaterial,
    trailer::{
        Brakes, ChainPurpose, CouplingForm, DrawbarForm, Footing, Load, LoadKind, Placed, RampForm, Spec, StrapMethod,
        Suspension, TowingVehicle, Trip,
    },
    working::{Area, Verdict},
};

fn worked(spec: &Spec, book: &ShopBook) -> Estimate {
    estimate(spec, book, &Rack::default(), Budget::preview(), &mut unwatched)
        .unwrap_or_else(|faults| panic!("{faults}"))
}

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

fn quad() -> Load {
    let mut load = Load {
        name: "quad".into(),
        kind: LoadKind::Quad,
        mass: Mass::from_kg(320.0),
        length: mm(2000.0),
        width: mm(1150.0),
        height: mm(1200.0),
        centre_height: Some(mm(480.0)),
        wheelbase: Some(mm(1270.0)),
        track: Some(mm(900.0)),
        ground_clearance: Some(mm(200.0)),
        ..Load::default()
    };
    load.held.straps = 4;
    load.held.strap_rating = Some(Mass::from_kg(500.0));
    load.held.chocks = true;
    load
}

fn vehicle() -> TowingVehicle {
    let kg = |kg| Some(Mass::from_kg(kg));
    TowingVehicle {
        name: "van".into(),
        kerb: kg(1900.0),
        gross: kg(2800.0),
        train: kg(4500.0),
        limit_braked: kg(2000.0),
        limit_unbraked: kg(750.0),
        coupling_limit: kg(100.0),
        body_width: Some(mm(1900.0)),
        ..TowingVehicle::default()
    }
}

/// A trailer of which everything is known.
fn known() -> Spec {
    let mut spec = Spec::default();
    spec.need.loads = vec![quad()];
    spec.need.towing_vehicles = vec![vehicle()];
    spec
}

/// The demo's book without one figure of all parts of a class.
fn without(class: PartClass, figure: &str) -> ShopBook {
    let mut book = ShopBook::demo();
    for item in &mut book.rates.items {
        if let Goods::Part { class: of, attributes, .. } = &mut item.goods
            && *of == class
        {
            attributes.remove(figure);
        }
    }
    book
}

/// A check, what it lacks, and how the spec or the book came to lack it.
type Row = (&'static str, &'static str, fn(&mut Spec), fn() -> ShopBook);

fn plain(_: &mut Spec) {}

fn rows() -> Vec<Row> {
    let demo: fn() -> ShopBook = ShopBook::demo;
    vec![
        ("balance/coupling-share", "a load", |spec| spec.need.loads.clear(), demo),
        ("towing/vehicle", "a towing vehicle", |spec| spec.need.towing_vehicles.clear(), demo),
        (
            "towing/mass/van",
            "unbraked towing limit of van",
            |spec| spec.need.towing_vehicles[0].limit_unbraked = None,
            demo,
        ),
        (
            "towing/coupling/van",
            "limit on the coupling of van",
            |spec| spec.need.towing_vehicles[0].coupling_limit = None,
            demo,
        ),
        (
            "towing/train/van",
            "largest mass with its trailer of van",
            |spec| spec.need.towing_vehicles[0].train = None,
            demo,
        ),
        ("towing/train/van", "kerb mass of van", |spec| spec.need.towing_vehicles[0].kerb = None, demo),
        ("towing/ratio/van", "kerb mass of van", |spec| spec.need.towing_vehicles[0].kerb = None, demo),
        ("towing/width/van", "body width of van", |spec| spec.need.towing_vehicles[0].body_width = None, demo),
        ("towing/d-value", "gross mass of van", |spec| spec.need.towing_vehicles[0].gross = None, demo),
        (
            "gear/axle",
            "mass and rating of the axle taken",
            |spec| spec.design.running_gear.suspension = Suspension::FromVehicle,
            demo,
        ),
        ("gear/sag", "spring rate", |spec| spec.design.running_gear.suspension = Suspension::FromVehicle, demo),
        ("gear/bump", "spring rate", |spec| spec.design.running_gear.suspension = Suspension::FromVehicle, demo),
        ("gear/frequency", "spring rate", |spec| spec.design.running_gear.suspension = Suspension::FromVehicle, demo),
        ("gear/damper", "dampers", |spec| spec.design.running_gear.suspension = Suspension::FromVehicle, demo),
        (
            "gear/leaf-stress",
            "leaves",
            |spec| spec.design.running_gear.suspension = Suspension::Leaf,
            || without(PartClass::LeafSpring, "leaves"),
        ),
        ("strength/deck", "the strength of", |spec| spec.design.deck.material = SheetMaterial::ExpandedMetal, demo),
        (
            "strength/ramp-sheet",
            "the strength of",
            |spec| {
                spec.design.loading.ramp = RampForm::Hinged;
                spec.design.loading.ramp_sheet = SheetMaterial::ExpandedMetal;
            },
            demo,
        ),
        (
            "strength/ramp-stile",
            "a load on wheels",
            |spec| {
                spec.design.loading.ramp = RampForm::Hinged;
                let load = &mut spec.need.loads[0];
                (load.kind, load.wheelbase, load.track) = (LoadKind::Box, None, None);
            },
            demo,
        ),
        (
            "loading/crest/quad",
            "its clearance above the ground",
            |spec| {
                spec.design.loading.ramp = RampForm::Hinged;
                spec.need.loads[0].ground_clearance = None;
            },
            demo,
        ),
        ("strength/coupling-bolts", "bolts with a strength class", plain, || without(PartClass::BoltSet, "class")),
        (
            "strength/tilting",
            "a method for angles that tilt",
            |spec| spec.design.frame.cross_member = "angle 60x60x6".parse().expect("a section"),
            demo,
        ),
        ("restraint/slide/quad", "the rating of its straps", |spec| spec.need.loads[0].held.strap_rating = None, demo),
        (
            "restraint/slide/quad",
            "hand tension of its straps",
            |spec| {
                let held = &mut spec.need.loads[0].held;
                (held.method, held.footing, held.strap_tension) = (StrapMethod::OverTop, Footing::SawnTimber, None);
            },
            demo,
        ),
        ("towing/d-value", "a coupling that suits in the rate book", plain, || {
            without(PartClass::Coupling, "d_value_kn")
        }),
        ("towing/static-load", "a coupling that suits in the rate book", plain, || {
            without(PartClass::Coupling, "static_load_kg")
        }),
        (
            "towing/chain",
            "a chain that suits in the rate book",
            |spec| spec.design.towing.chains = ChainPurpose::Secondary,
            || without(PartClass::SafetyChain, "rating_kg"),
        ),
        (
            "towing/shackle",
            "a shackle that suits in the rate book",
            |spec| spec.design.towing.chains = ChainPurpose::Secondary,
            || without(PartClass::Shackle, "rating_kg"),
        ),
    ]
}

/// With all inputs none of these checks lacks anything; with one left out it cannot tell, and names it in its verdict.
#[test]
fn a_missing_input_is_named_and_never_holds() {
    let mut wrong = Vec::new();
    for (key, lacks, change, book) in rows() {
        let mut spec = known();
        change(&mut spec);
        let estimate = match estimate(&spec, &book(), &Rack::default(), Budget::preview(), &mut unwatched) {
            Ok(estimate) => estimate,
            Err(faults) => {
                wrong.push(format!("{key} without {lacks}: {faults}"));
                continue;
            }
        };
        let found = estimate.checks.iter().find(|check| check.key == key);
        match found.map(|check| (&check.verdict, &check.says)) {
            Some((Verdict::CannotTell(missing), says)) if missing.contains(lacks) && !says.is_empty() => {}
            other => wrong.push(format!("{key} without {lacks}: {other:?}")),
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    let estimate = worked(&known(), &ShopBook::demo());
    let keys: BTreeSet<&str> = rows().iter().map(|row| row.0).filter(|key| *key != "towing/vehicle").collect();
    let lacking = estimate
        .checks
        .iter()
        .filter(|check| keys.contains(check.key.as_str()) && matches!(check.verdict, Verdict::CannotTell(_)));
    let lacking: Vec<_> = lacking.map(|check| (&check.key, &check.verdict)).collect();
    assert!(lacking.is_empty(), "{lacking:?}");
}

/// Much too heavy for tube, tyres, vehicle and straps.
pub fn wrong_in_many_ways() -> Spec {
    let mut spec = known();
    let kg = |kg| Some(Mass::from_kg(kg));
    spec.need.loads[0].mass = Mass::from_kg(900.0);
    spec.need.loads[0].held.straps = 0;
    let van = &mut spec.need.towing_vehicles[0];
    (van.limit_unbraked, van.coupling_limit, van.kerb) = (kg(500.0), kg(30.0), kg(900.0));
    spec.design.running_gear.brakes = Brakes::None;
    spec.design.running_gear.wheel.load_index = 62;
    spec.design.towing.chains = ChainPurpose::None;
    spec.design.towing.coupling = CouplingForm::Ball50;
    let light = || "rhs 40x20x2".parse().expect("a section");
    (spec.design.frame.side_rail, spec.design.frame.end_rail, spec.design.frame.cross_member) =
        (light(), light(), light());
    spec.design.drawbar.section = "rhs 60x40x2".parse().expect("a section");
    spec
}

/// Stove in front on one trip, tank at the rear on the other.
pub fn fighting() -> Spec {
    let load = |name: &str| Load {
        name: name.into(),
        mass: Mass::from_kg(320.0),
        length: mm(600.0),
        width: mm(600.0),
        ..Load::default()
    };
    let trip = |name: &str, load: &str, along: f64| Trip {
        name: name.into(),
        carries: vec![Placed { load: load.into(), along: Some(mm(along)), across: Some(mm(0.0)), ..Placed::default() }],
    };
    let mut spec = Spec::default();
    spec.design.drawbar.form = DrawbarForm::Pole;
    spec.need.loads = vec![load("stove"), load("tank")];
    spec.need.trips = vec![trip("to the fair", "stove", 700.0), trip("to the spring", "tank", 1500.0)];
    spec
}

#[test]
fn six_failures_stand_beside_one_price() {
    let estimate = worked(&wrong_in_many_ways(), &ShopBook::demo());
    let failing: Vec<_> = estimate.checks.iter().filter(|check| check.verdict == Verdict::Fails).collect();
    let keys: Vec<&str> = failing.iter().map(|check| check.key.as_str()).collect();
    assert!(failing.len() >= 6, "{keys:?}");
    for area in [Area::Strength, Area::Gear, Area::Towing, Area::Restraint] {
        assert!(failing.iter().any(|check| Area::of(&check.key) == area), "nothing fails in {area:?}: {keys:?}");
    }
    // It is priced all the same, and held back with every reason.
    assert!(!estimate.build_up.lines.is_empty());
    let blocks = estimate.blocks();
    for check in &failing {
        assert!(blocks.iter().any(|block| block.contains(&check.says)), "{} does not hold it back", check.key);
    }
}
