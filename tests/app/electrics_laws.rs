//! Laws of the wiring, and what the electrics say of a few trailers.

use hitchwright::domain::{
    electrics::Electrics,
    estimate::{Estimate, estimate},
    issued::IssuedQuote,
    measure::{Length, Mass},
    nesting::{Budget, unwatched},
    options::Options,
    shop::{Attribute, Goods, PartClass, Rack, ShopBook},
    trailer::{
        Brakes, Connector, Load, Overruled, Spec, build,
        wiring::{Cable, CoreArea, Harness, LOST_SHARE},
    },
    working::{Check, Verdict},
};
use proptest::prelude::*;

use super::{
    any_spec::{any_spec, guess},
    workings::demo_estimates,
};

fn worked_with(spec: &Spec, book: &ShopBook) -> Estimate {
    estimate(spec, book, &Rack::default(), Budget::preview(), &mut unwatched).expect("a trailer")
}

fn worked(spec: &Spec) -> Estimate {
    worked_with(spec, &ShopBook::demo())
}

fn check<'e>(estimate: &'e Estimate, key: &str) -> &'e Check {
    let own = estimate.checks.iter().filter(|check| check.key.starts_with("electrics/"));
    let keys: Vec<&str> = own.map(|check| check.key.as_str()).collect();
    estimate.checks.iter().find(|check| check.key == key).unwrap_or_else(|| panic!("no {key}: {keys:?}"))
}

/// A trailer with a load so heavy that it is braked by rule, in a region, with a plug.
fn braked(region: &str, brakes: Brakes, connector: Connector) -> Spec {
    let mut spec = Spec::default();
    let load = Load {
        mass: Mass::from_kg(700.0),
        length: Length::from_mm(1500.0),
        width: Length::from_mm(1000.0),
        ..Load::default()
    };
    spec.need.loads = vec![load];
    spec.need.usage.region = region.into();
    spec.design.running_gear.brakes = brakes;
    spec.design.towing.breakaway = brakes != Brakes::None;
    spec.design.electrics.connector = connector;
    spec
}

fn picked(code: &str) -> Overruled {
    Overruled { value: code.into(), reason: "it lies in the shop".into() }
}

#[test]
fn reversing_lamps_that_the_rules_ask_for_need_thirteen_ways() {
    let seven = worked(&braked("gb", Brakes::OverRun, Connector::Seven));
    let pins = check(&seven, "electrics/pins");
    assert_eq!(pins.verdict, Verdict::Fails);
    for words in ["reverse", "gb.light.rev", "13 ways, ISO 11446"] {
        assert!(pins.says.contains(words), "{}", pins.says);
    }
    assert!(seven.electrics.wires.iter().any(|wire| wire.circuit == "reverse" && wire.pin.is_empty()));
    let thirteen = worked(&braked("gb", Brakes::OverRun, Connector::Thirteen));
    assert_eq!(check(&thirteen, "electrics/pins").verdict, Verdict::Holds);
    let reverse = thirteen.electrics.pins.iter().find(|pin| pin.words == "reverse").expect("a pin");
    // By hand: two lamps of 21 W at 12 V.
    assert_eq!((reverse.pin.as_str(), reverse.is_used, reverse.amps), ("8", true, Some(3.5)));
    assert!(thirteen.electrics.pins.iter().any(|pin| pin.pin == "12" && !pin.is_used));
    // Seven circuits and their earth take a cable of eight cores, not of thirteen.
    let cable =
        thirteen.trailer.fittings.iter().find(|fitting| fitting.part.need.key == "cable-plug").expect("a cable");
    assert_eq!(cable.part.item.as_ref().map(|item| item.code.as_str()), Some("CB-8"));
}

/// Ten cores of thirteen: the thin ones for the lamps, the thick ones for the permanent supply, its earth and the common earth.
#[test]
fn a_supply_with_its_own_earth_takes_the_thick_cores() {
    let mut spec = braked("gb", Brakes::OverRun, Connector::Thirteen);
    spec.design.electrics.work_lamp = true;
    let estimate = worked(&spec);
    let area = |circuit: &str| {
        let wire = estimate.electrics.wires.iter().find(|wire| wire.circuit == circuit && wire.from == "plug");
        wire.and_then(|wire| wire.core_mm2)
    };
    let cable =
        estimate.trailer.fittings.iter().find(|fitting| fitting.part.need.key == "cable-plug").expect("a cable");
    let figure = |attribute| cable.part.item.as_ref().and_then(|item| item.figure(attribute));
    assert_eq!(figure("cores"), Some(13.0));
    assert_eq!((area("stop"), area("left turn")), (figure("core_mm2"), figure("core_mm2")));
    for thick in ["permanent supply", "earth of pin 9", "earth of pins 1 to 8"] {
        assert_eq!(area(thick), figure("earth_mm2"), "{thick}");
    }
}

#[test]
fn electric_brakes_follow_the_region() {
    let au = worked(&braked("au", Brakes::Electric, Connector::Seven));
    assert_eq!(check(&au, "electrics/pins").verdict, Verdict::Holds);
    assert_eq!(check(&au, "electrics/plug").verdict, Verdict::Holds);
    assert!(matches!(check(&au, "electrics/drop/service-brakes").verdict, Verdict::Holds | Verdict::Close));
    let charge = check(&au, "electrics/breakaway-charge");
    let Verdict::CannotTell(missing) = &charge.verdict else { panic!("{:?}", charge.verdict) };
    assert!(missing.starts_with("how the breakaway battery is charged: a plug with a pin for it"), "{missing}");
    assert_eq!(au.electrics.pins[4].words, "service brakes");
    let us = worked(&braked("us-tx", Brakes::Electric, Connector::Seven));
    assert_eq!(check(&us, "electrics/breakaway-charge").verdict, Verdict::Holds);
    assert!(us.electrics.wires.iter().any(|wire| wire.to == "breakaway battery" && wire.pin == "4"));
    // No pin of ISO 11446 feeds brakes, and no other plug there does.
    let eu = worked(&braked("eu", Brakes::Electric, Connector::Thirteen));
    assert_eq!(check(&eu, "electrics/pins").verdict, Verdict::Fails);
    assert!(check(&eu, "electrics/pins").says.contains("leave it off"));
    // A plug that is strange there is said.
    let strange = worked(&braked("au", Brakes::OverRun, Connector::Thirteen));
    assert_eq!(check(&strange, "electrics/plug").verdict, Verdict::Close);
    assert!(check(&strange, "electrics/plug").says.contains("7 ways, AS 2513"));
}

#[test]
fn filament_lamps_ask_for_more_copper_than_leds() {
    let chosen = |spec: &Spec| {
        let estimate = worked(spec);
        let cable = estimate.trailer.fittings.iter().find(|fitting| fitting.part.need.key == "cable-plug");
        let item = cable.and_then(|fitting| fitting.part.item.clone()).expect("a cable");
        assert!(matches!(check(&estimate, "electrics/drop/stop").verdict, Verdict::Holds | Verdict::Close));
        (item.figure("core_mm2").expect("an area"), estimate)
    };
    let mut spec = braked("gb", Brakes::None, Connector::Seven);
    spec.need.loads[0].mass = Mass::from_kg(300.0);
    let (led_mm2, led) = chosen(&spec);
    spec.offer.overruled.insert("part/rear-lamp-rear".into(), picked("RL-UN-F"));
    let (filament_mm2, filament) = chosen(&spec);
    assert_eq!((led_mm2, filament_mm2), (1.5, 2.5));
    let stop = |estimate: &Estimate| check(estimate, "electrics/drop/stop").demand.expect("a drop");
    assert!(stop(&filament) > stop(&led));
    // The thin one by hand: too much is lost, and the check says what would do.
    spec.offer.overruled.insert("part/cable-plug".into(), picked("CB-7-1"));
    let thin = worked(&spec);
    let lost = check(&thin, "electrics/drop/stop");
    assert_eq!(lost.verdict, Verdict::Fails);
    assert!(lost.says.contains("2.5 mm²"), "{}", lost.says);
    assert_eq!(check(&thin, "electrics/cores").verdict, Verdict::Close, "thinner than the standard");
    spec.offer.overruled.insert("part/cable-plug".into(), picked("CB-5"));
    assert_eq!(check(&worked(&spec), "electrics/cores").verdict, Verdict::Fails, "five cores for seven");
}

/// A rate book from before the areas: cables are chosen by their cores, and the checks name what is missing.
#[test]
fn a_rate_book_without_areas_cannot_tell() {
    let mut book = ShopBook::demo();
    for item in &mut book.rates.items {
        if let Goods::Part { attributes, .. } = &mut item.goods {
            attributes
                .retain(|name, _| !["core_mm2", "earth_mm2"].contains(&name.as_str()) && !name.ends_with("watts"));
        }
    }
    let estimate = worked_with(&braked("au", Brakes::Electric, Connector::Seven), &book);
    for key in ["electrics/drop/stop", "electrics/drop/service-brakes"] {
        let Verdict::CannotTell(missing) = &check(&estimate, key).verdict else { panic!("{key} tells") };
        assert!(missing.contains("core_mm2") && missing.contains("rate book"), "{missing}");
    }
    assert!(estimate.electrics.lamps.iter().all(|lamp| !lamp.is_known && lamp.watts >= 5.0));
    assert!(estimate.electrics.wires.iter().all(|wire| wire.core_mm2.is_none() && wire.volts.is_none()));
    // Odd figures are no areas.
    for item in &mut book.rates.items {
        if let Goods::Part { class: PartClass::Cable, attributes, .. } = &mut item.goods {
            attributes.insert("core_mm2".into(), Attribute::Figure(0.0));
        }
    }
    let odd = worked_with(&Spec::default(), &book);
    assert!(matches!(check(&odd, "electrics/drop/stop").verdict, Verdict::CannotTell(_)));
    // And no cable at all.
    book.rates.items.retain(|item| !matches!(item.goods, Goods::Part { class: PartClass::Cable, .. }));
    let none = worked_with(&Spec::default(), &book);
    let Verdict::CannotTell(missing) = &check(&none, "electrics/cores").verdict else { panic!("it tells") };
    assert!(missing.contains("plug to junction box"), "{missing}");
}

/// A revision from before the electrics reads, and one of today keeps its wiring table.
#[test]
fn revisions_keep_the_wiring_table_and_older_ones_still_read() {
    let estimate = worked(&braked("gb", Brakes::OverRun, Connector::Thirteen));
    let quote = IssuedQuote::freeze(&estimate, Options::default(), &ShopBook::demo());
    let mut body = serde_json::to_value(&quote).expect("JSON");
    let read: IssuedQuote = serde_json::from_value(body.clone()).expect("a revision");
    assert_eq!(read.estimate.electrics, estimate.electrics);
    assert!(read.estimate.electrics.wires.len() > 10);
    body["estimate"].as_object_mut().expect("an estimate").remove("electrics");
    let older: IssuedQuote = serde_json::from_value(body).expect("an older revision");
    assert_eq!(older.estimate.electrics, Electrics::default());
}

#[test]
fn every_lamp_of_the_demo_is_wired() {
    for (name, estimate) in demo_estimates() {
        let electrics = &estimate.electrics;
        for lamp in &electrics.lamps {
            let wires = electrics.wires.iter().filter(|wire| wire.to.starts_with(&lamp.lamp)).count();
            assert!(wires >= lamp.count && lamp.is_known, "{name}: {} has {wires} wires", lamp.lamp);
        }
        assert!(electrics.wires.iter().all(|wire| !wire.pin.is_empty() && wire.core_mm2.is_some()), "{name}");
        for check in estimate.checks.iter().filter(|check| check.key.starts_with("electrics/")) {
            let fine = matches!(check.verdict, Verdict::Holds | Verdict::Close);
            assert!(fine, "{name}: {}: {}", check.key, check.says);
            let compares = check.key.starts_with("electrics/drop/");
            assert_eq!(check.working.is_some(), compares || check.key == "electrics/cores", "{name}: {}", check.key);
        }
    }
}

/// What a circuit loses at its farthest lamp, with these areas in every cable.
fn lost(harness: &Harness, circuit: usize, area: CoreArea) -> f64 {
    harness.farthest(circuit, &|_| Some(area)).map_or(0.0, |drop| drop.volts())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// For any spec: figures are finite, a longer way loses no less, a thicker core no more, and what is said to be needed is enough.
    #[test]
    fn any_wiring_obeys_ohm(spec in any_spec(), more in 1.0f64..3.0, mm2 in 0.75f64..6.0) {
        let Ok(trailer) = build(&spec, &ShopBook::demo(), &guess(&spec)) else { return Ok(()) };
        let mut checks = Vec::new();
        let electrics = hitchwright::domain::electrics::examine(&spec, &trailer, &mut checks);
        for wire in &electrics.wires {
            let figures = [Some(wire.length_mm), wire.amps, wire.volts, wire.core_mm2];
            prop_assert!(figures.iter().flatten().all(|figure| figure.is_finite() && *figure >= 0.0), "{:?}", wire);
        }
        let harness = Harness::of(&spec, &trailer.layout, &trailer.fittings);
        let mut longer = harness.clone();
        longer.runs.iter_mut().for_each(|run| run.length_mm *= more);
        let needed = harness.needed();
        for circuit in 0..harness.circuits.len() {
            let area = CoreArea::equal(mm2);
            prop_assert!(lost(&longer, circuit, area) >= lost(&harness, circuit, area));
            for thicker in [CoreArea::equal(mm2 * more), CoreArea { core_mm2: mm2 * more, ..area }, CoreArea { earth_mm2: mm2 * more, ..area }] {
                prop_assert!(lost(&harness, circuit, thicker) <= lost(&harness, circuit, area));
            }
            let chosen = |cable| Some(match cable {
                Cable::Plug => needed.plug,
                Cable::Branch(_) => CoreArea::equal(needed.branch_mm2),
                Cable::Brakes => CoreArea::equal(needed.brakes_mm2),
            });
            if harness.circuits[circuit].pin.is_some() && needed.plug.core_mm2 < 10.0 && needed.brakes_mm2 < 10.0 {
                let share = harness.farthest(circuit, &chosen).map_or(0.0, |drop| drop.share());
                prop_assert!(share <= LOST_SHARE, "{}: {}", harness.circuits[circuit].words(), share);
            }
        }
        // What has no pin is said.
        let without = harness.circuits.iter().any(|circuit| circuit.pin.is_none() && !circuit.feeds(hitchwright::domain::plugs::Duty::Charge));
        let pins = checks.iter().find(|check| check.key == "electrics/pins").expect("a check");
        prop_assert_eq!(pins.verdict == Verdict::Fails, without);
    }
}
