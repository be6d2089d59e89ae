//! What is not known is named by the check that needs it, never taken as holding; and a trailer that is wrong in many ways says all of them.

use std::collections::{BTreeMap, BTreeSet};

use hitchwright::domain::{
    estimate::{Estimate, estimate},
    measure::{Length, Mass},
    nesting::{Budget, unwatched},
    shop::{Goods, PartClass, Rack, ShopBook},
    steel::SheetMaterial,
    trailer::{
        Brakes, ChainPurpose, CouplingForm, DrawbarForm, Footing, Load, LoadKind, Placed, RampForm, Spec, StrapMethod,
        Suspension, TowingVehicle, Trip,
        fields::{entered, walk},
    },
    working::{Area, Verdict},
};
use serde_json::Value;

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
            "towing limit, unbraked (van)",
            |spec| spec.need.towing_vehicles[0].limit_unbraked = None,
            demo,
        ),
        (
            "towing/coupling/van",
            "limit on the coupling (van)",
            |spec| spec.need.towing_vehicles[0].coupling_limit = None,
            demo,
        ),
        (
            "towing/train/van",
            "vehicle and trailer together (van)",
            |spec| spec.need.towing_vehicles[0].train = None,
            demo,
        ),
        ("towing/train/van", "kerb mass (van)", |spec| spec.need.towing_vehicles[0].kerb = None, demo),
        ("towing/ratio/van", "kerb mass (van)", |spec| spec.need.towing_vehicles[0].kerb = None, demo),
        ("towing/width/van", "width of its body (van)", |spec| spec.need.towing_vehicles[0].body_width = None, demo),
        (
            "towing/d-value",
            "gross mass of the towing vehicle (van)",
            |spec| spec.need.towing_vehicles[0].gross = None,
            demo,
        ),
        (
            "gear/axle",
            "mass of the axle taken",
            |spec| spec.design.running_gear.suspension = Suspension::FromVehicle,
            demo,
        ),
        ("gear/sag", "spring rate", |spec| spec.design.running_gear.suspension = Suspension::FromVehicle, demo),
        ("gear/bump", "spring rate", |spec| spec.design.running_gear.suspension = Suspension::FromVehicle, demo),
        ("gear/frequency", "spring rate", |spec| spec.design.running_gear.suspension = Suspension::FromVehicle, demo),
        ("gear/damper", "damper, open", |spec| spec.design.running_gear.suspension = Suspension::FromVehicle, demo),
        (
            "gear/leaf-stress",
            "leaves of one spring",
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
        ("restraint/slide/quad", "the rating of one strap", |spec| spec.need.loads[0].held.strap_rating = None, demo),
        (
            "restraint/slide/quad",
            "hand tension of one strap",
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
        // Class 1 asks for 8.9 kN, a chain marked for 750 kg breaks at 7.4 kN or later.
        (
            "towing/chain-recommended",
            "the breaking load of Safety chain",
            |spec| {
                spec.need.usage.region = "us".into();
                (spec.design.towing.chains, spec.design.towing.coupling) =
                    (ChainPurpose::Secondary, CouplingForm::Ball2);
            },
            || without(PartClass::SafetyChain, "breaking_load_kn"),
        ),
        ("towing/coupler-strength", "a coupling of the class table", |spec| spec.need.usage.region = "us".into(), demo),
    ]
}

fn json(spec: &Spec) -> Value {
    serde_json::to_value(spec).expect("JSON")
}

/// Trailers with much that may be left out: as an Australian would order it, and an American.
fn full() -> [(&'static str, Spec); 3] {
    let fill = |spec: &mut Spec| {
        let kg = |kg| Some(Mass::from_kg(kg));
        let van = &mut spec.need.towing_vehicles[0];
        (van.coupling_height, van.rear_overhang, van.uplift_limit) = (Some(mm(430.0)), Some(mm(1100.0)), kg(60.0));
        (van.coupling_least, van.brake_controller) = (kg(20.0), true);
        spec.need.loads[0].steepest_deg = Some(25.0);
        let loading = &mut spec.design.loading;
        (loading.ramp, loading.ramp_width, loading.prop_stands) = (RampForm::Hinged, mm(1300.0), 2);
        spec.design.towing.chains = ChainPurpose::Secondary;
    };
    let plain = known();
    let mut australian = known();
    fill(&mut australian);
    australian.need.usage.region = "au".into();
    let held = &mut australian.need.loads[0].held;
    (held.method, held.footing, held.strap_tension) =
        (StrapMethod::OverTop, Footing::SawnTimber, Some(Mass::from_kg(250.0)));
    australian.design.running_gear.suspension = Suspension::Leaf;
    let mut american = known();
    fill(&mut american);
    american.need.usage.region = "us".into();
    let gear = &mut american.design.running_gear;
    (gear.brakes, gear.suspension) = (Brakes::Electric, Suspension::CoilLinks);
    american.design.towing.coupling = CouplingForm::Ball2;
    [("plain", plain), ("australian", australian), ("american", american)]
}

type Verdicts = BTreeMap<String, (Verdict, Option<f64>)>;

fn verdicts(estimate: &Estimate) -> Verdicts {
    let checks = estimate.checks.iter().filter(|check| !check.key.starts_with("road/"));
    checks.map(|check| (check.key.clone(), (check.verdict.clone(), check.capacity))).collect()
}

/// The same area and the same load or vehicle.
fn stands_for(one: &str, other: &str) -> bool {
    let ends = |key: &str| Some((key.split_once('/')?.0.to_owned(), key.rsplit_once('/')?.1.to_owned()));
    ends(one) == ends(other)
}

/// What is wrong when an input was left out: a check that is gone, holds where it did not, or does not say where to enter what it lacks.
fn wrong(what: &str, document: &Value, before: &Verdicts, after: &Verdicts) -> Vec<String> {
    let mut wrong = Vec::new();
    // A part that nothing in the rate book is any more takes its checks with it, and its mass: that it is missing is said, and holds the quote back.
    let lacks_part = |key: &String| key.starts_with("part/") && !before.contains_key(key);
    let says_so = after.keys().any(lacks_part);
    for (key, (was, _)) in before.iter().filter(|(key, _)| !says_so && !IF_ANY.contains(&key.as_str())) {
        match after.get(key).map(|(is, _)| is) {
            // One check may stand for all of its load: restraint/slide/quad for restraint/points/quad.
            None if after.iter().any(|(of, (is, _))| stands_for(of, key) && matches!(is, Verdict::CannotTell(_))) => {}
            None => wrong.push(format!("{what}: {key} is gone, which was {was:?}")),
            Some(Verdict::Holds) if *was != Verdict::Holds => {
                wrong.push(format!("{what}: {key} holds, which was {was:?}"))
            }
            _ => {}
        }
    }
    for (key, (is, _)) in after {
        if let Verdict::CannotTell(missing) = is
            && entered(missing, document).is_none()
        {
            wrong.push(format!("{what}: {key} needs {missing}: where?"));
        }
    }
    wrong
}

/// Warnings that are there only where there is something to warn of.
const IF_ANY: [&str; 1] = ["strength/tension-face"];

/// Without these a check has nothing to compare, and says nothing on purpose.
const NOTHING_TO_CHECK: [&str; 2] = [
    // Only some makers state a least load.
    "coupling_least: towing/least-coupling/van is gone",
    // A machine of which no steepest slope is known is judged by the usual angle of ramps, as its sentence says.
    "steepest_deg: loading/ramp-angle",
];

/// Every optional field of a spec and every figure of every part, left out one by one.
#[test]
fn an_input_left_out_never_makes_a_check_hold_or_go() {
    let mut found = Vec::new();
    for (name, spec) in full() {
        let document = json(&spec);
        let demo = ShopBook::demo();
        let before = verdicts(&worked(&spec, &demo));
        let mut paths = Vec::new();
        walk(&document, |_, path| paths.push(path));
        let (mut fields, mut figures) = (0, 0);
        for path in paths {
            let mut without = document.clone();
            match without.pointer_mut(&format!("/{}", path.replace('.', "/"))) {
                Some(value) if !value.is_null() => *value = Value::Null,
                _ => continue,
            }
            // What is not optional is not read without its value.
            let Ok(spec) = serde_json::from_value::<Spec>(without.clone()) else { continue };
            fields += 1;
            if let Ok(estimate) = estimate(&spec, &demo, &Rack::default(), Budget::preview(), &mut unwatched) {
                found.extend(wrong(&format!("{name} without {path}"), &without, &before, &verdicts(&estimate)));
            }
        }
        let known: BTreeSet<(PartClass, String)> = worked(&spec, &demo)
            .trailer
            .fittings
            .iter()
            .filter_map(|fitting| Some((fitting.class, fitting.part.item.as_ref()?)))
            .flat_map(|(class, item)| {
                item.attributes.keys().map(move |figure| (class, figure.clone())).collect::<Vec<_>>()
            })
            .collect();
        for (class, figure) in known {
            figures += 1;
            let estimate = worked(&spec, &without(class, &figure));
            found.extend(wrong(
                &format!("{name}, {} without {figure}", class.word()),
                &document,
                &before,
                &verdicts(&estimate),
            ));
        }
        assert!(fields >= 12 && figures >= 15, "{name}: {fields} fields, {figures} figures");
    }
    found.retain(|said| !NOTHING_TO_CHECK.iter().any(|known| said.contains(known)));
    assert!(found.is_empty(), "{found:#?}");
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
            Some((Verdict::CannotTell(missing), says))
                if missing.contains(lacks) && !says.is_empty() && entered(missing, &json(&spec)).is_some() => {}
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
