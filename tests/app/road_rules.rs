//! What the road rules make of whole estimates.

use hitchwright::domain::{
    estimate::{Estimate, estimate},
    measure::Mass,
    nesting::Budget,
    road::{Outcome, seed},
    roadworthy::{RoadRules, RuleFinding},
    shop::{Rack, ShopBook},
    trailer::{Brakes, Spec, TowingVehicle},
    working::Verdict,
};

fn worked(change: impl FnOnce(&mut Spec)) -> Estimate {
    let mut spec = Spec::default();
    change(&mut spec);
    let mut watch = |_| std::ops::ControlFlow::Continue(());
    let made = estimate(&spec, &ShopBook::demo(), &Rack::default(), Budget::preview(), &mut watch);
    made.unwrap_or_else(|faults| panic!("{faults}"))
}

fn finding<'e>(estimate: &'e Estimate, rule: &str) -> &'e RuleFinding {
    estimate.road.findings.iter().find(|found| found.rule == rule).unwrap_or_else(|| panic!("no {rule}"))
}

fn vehicle(name: &str, kerb: Option<f64>) -> TowingVehicle {
    TowingVehicle { name: name.into(), kerb: kerb.map(Mass::from_kg), ..TowingVehicle::default() }
}

/// Source: DfT text on C&U regs 15–16 as the rule quotes it: unbraked up to half the towing vehicle's kerb mass. 600 kg is more
/// than half of 1,100 kg, not of 1,300 kg.
#[test]
fn the_worst_vehicle_governs_and_its_fail_stands_beside_the_price() {
    let heavy = |vehicles: Vec<TowingVehicle>| {
        worked(|spec| {
            spec.need.declared_gross = Some(Mass::from_kg(600.0));
            spec.need.towing_vehicles = vehicles;
        })
    };
    let made = heavy(vec![vehicle("van", Some(1300.0)), vehicle("hatchback", Some(1100.0))]);
    let found = finding(&made, "gb.brake.o1");
    assert_eq!((found.outcome, found.vehicle.as_deref()), (Outcome::Fail, Some("hatchback")));
    let check = made.checks.iter().find(|check| check.key == "road/gb.brake.o1").expect("the check");
    assert_eq!((check.verdict.clone(), check.capacity), (Verdict::Fails, Some(0.5)));
    assert!(check.says.contains("hatchback"), "{}", check.says);
    assert!(made.blocks().iter().any(|line| line.contains("gb.brake.o1")));

    let made = heavy(vec![vehicle("van", Some(1300.0))]);
    assert!(matches!(finding(&made, "gb.brake.o1").outcome, Outcome::Pass | Outcome::ToFit));
    assert!(made.road.checks().is_empty(), "{:?}", made.road.checks());

    let made = heavy(vec![vehicle("van", Some(1300.0)), vehicle("friend", None)]);
    let found = finding(&made, "gb.brake.o1");
    assert_eq!(found.outcome, Outcome::NeedFact);
    assert_eq!(found.missing[0].field.as_deref(), Some("need.towing_vehicles.1.kerb"));
    let made = heavy(vec![]);
    assert_eq!(finding(&made, "gb.brake.o1").missing[0].field.as_deref(), Some("need.towing_vehicles"));
}

/// An unbraked trailer of 800 kg fails in Great Britain, holds in New Zealand, and asks in the United States.
#[test]
fn the_same_trailer_in_three_regions() {
    let of = |region: &str| {
        worked(|spec| {
            spec.need.usage.region = region.into();
            spec.need.declared_gross = Some(Mass::from_kg(800.0));
            spec.design.running_gear.brakes = Brakes::None;
        })
    };
    let (gb, nz, us) = (of("gb"), of("nz"), of("us"));
    assert_eq!(finding(&gb, "gb.brake.o2").outcome, Outcome::Fail);
    assert_eq!(finding(&nz, "nz.brake.none").outcome, Outcome::Info);
    assert_eq!(finding(&us, "us.cmv.brake").outcome, Outcome::NotApplicable);
    let count = |estimate: &Estimate, key: &str| {
        let fittings = estimate.trailer.fittings.iter().filter(|fitting| fitting.part.need.key == key);
        fittings.map(|fitting| fitting.part.need.count).sum::<f64>()
    };
    let chains = [&gb, &nz, &us].map(|made| count(made, "safety-chain"));
    assert_eq!(chains, [1.0, 1.0, 2.0], "two crossed chains in the United States");
    let markers = [&gb, &nz, &us].map(|made| count(made, "side-marker-side-front-amber"));
    assert_eq!(markers, [0.0, 0.0, 2.0]);
}

#[test]
fn lamps_are_there_where_their_rule_applies_and_nowhere_else() {
    for region in &seed().regions {
        let made = worked(|spec| {
            spec.need.usage.region = region.id.clone();
            let electrics = &mut spec.design.electrics;
            (electrics.fog_lamp, electrics.reverse_lamps) = (false, false);
        });
        for (rule, key) in [
            ("gb.light.front", "front-lamp-front"),
            ("gb.light.fog", "fog-lamp-rear-middle"),
            ("gb.light.rev", "reverse-lamp-rear"),
            ("eu.light.front", "front-lamp-front"),
            ("eu.light.base", "fog-lamp-rear-middle"),
            ("us.light.wide", "outline-lamp-rear-three-red"),
            ("au.light.front", "front-lamp-front"),
            ("nz.light.front", "front-lamp-front"),
        ] {
            let Some(found) = made.road.findings.iter().find(|found| found.rule == rule) else { continue };
            let fitted = made.trailer.fittings.iter().any(|fitting| fitting.part.need.key == key);
            assert_eq!(fitted, found.outcome == Outcome::ToFit, "{}: {rule}", region.id);
        }
    }
}

/// An older revision holds no road rules: it reads as none.
#[test]
fn an_estimate_without_road_rules_still_reads() {
    let mut json = serde_json::to_value(worked(|_| {})).unwrap();
    json.as_object_mut().unwrap().remove("road");
    let read: Estimate = serde_json::from_value(json).unwrap();
    assert_eq!(read.road, RoadRules::default());
}
