use std::collections::{BTreeMap, BTreeSet};

use serde_json::json;

use super::*;
use crate::{
    form::Hand,
    limits,
    measure::{Grouping, Length, Mass, Money, MoneyStyle, Units},
    trailer::{FreeFitting, FreeLine, Load, OfferOption, OptionChange, Placed, Spec, TowingVehicle, Trip},
};

fn pounds() -> MoneyStyle {
    MoneyStyle {
        currency_code: "GBP".into(),
        symbol: "£".into(),
        symbol_before: true,
        decimals: 2,
        group: Grouping::Western,
        decimal_mark: '.',
        group_mark: ',',
    }
}

/// The default spec with one item in every list.
fn full() -> Spec {
    let mut spec = Spec::default();
    spec.need.loads = vec![Load { name: "hive".into(), mass: Mass::from_kg(165.0), ..Load::default() }];
    spec.need.trips =
        vec![Trip { name: "out".into(), carries: vec![Placed { load: "hive".into(), ..Placed::default() }] }];
    spec.need.towing_vehicles = vec![TowingVehicle::default()];
    spec.design.fittings.free = vec![FreeFitting { name: "rack".into(), count: 2, ..FreeFitting::default() }];
    spec.offer.free_lines = vec![FreeLine { text: "sign".into(), price: Money::ZERO }];
    let changes = vec![OptionChange { field: "design.finish.system".into(), to: "galvanised".into() }];
    spec.offer.options = vec![OfferOption { name: "zinc".into(), changes, ..OfferOption::default() }];
    spec
}

fn typed(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
    pairs.iter().map(|(path, text)| ((*path).to_owned(), (*text).to_owned())).collect()
}

/// Pages of their own.
const NOT_IN_THE_FORM: [&str; 2] = ["offer.overruled", "offer.answers"];

fn leaves(value: &Value, path: &str, found: &mut BTreeSet<String>) {
    let child = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    match value {
        _ if NOT_IN_THE_FORM.contains(&path) => {}
        Value::Object(map) => map.iter().for_each(|(name, value)| leaves(value, &child(name), found)),
        Value::Array(items) => {
            items.iter().enumerate().for_each(|(at, item)| leaves(item, &child(&at.to_string()), found))
        }
        _ => assert!(found.insert(path.to_owned())),
    }
}

#[test]
fn every_leaf_of_a_spec_has_a_field_and_every_field_a_leaf() {
    let document = serde_json::to_value(full()).unwrap();
    let mut wanted = BTreeSet::new();
    leaves(&document, "", &mut wanted);
    let mut offered = BTreeSet::new();
    walk(&document, |_, path| assert!(offered.insert(path.clone()), "{path} twice"));
    assert_eq!(offered, wanted);
}

#[test]
fn every_range_has_its_field_and_every_condition_another_field() {
    for row in limits::LIMITS {
        let path = row.key.replace('*', "0");
        let field = field_at(&path).unwrap_or_else(|| panic!("no field for {}", row.key));
        assert_eq!((field.label, field.kind), (row.name, row.kind));
    }
    let document = serde_json::to_value(full()).unwrap();
    walk(&document, |field, path| {
        assert_ne!(field.label, field.path, "no range for {path}");
        if let Some((other, words)) = field.shown_when {
            let other = field_at(&other.replace('*', "0")).expect(other);
            match other.kind {
                Kind::Choice(known) => {
                    assert!(words.iter().all(|word| known.iter().any(|(name, _)| name == word)), "{path}")
                }
                Kind::Flag => assert!(words.iter().all(|word| ["yes", "no"].contains(word)), "{path}"),
                Kind::Count => {}
                _ => panic!("{path} depends on a figure"),
            }
        }
    });
}

#[test]
fn what_is_written_is_read_back_identically() {
    let money = pounds();
    let mut spec = full();
    spec.need.loads[0].length = Length::from_mm(1_234.567_891);
    spec.need.loads[0].mass = Mass::from_kg(74.842_741_05);
    spec.design.running_gear.share = 0.1 + 0.2;
    spec.design.running_gear.spring_rate_n_per_mm = Some(92.9);
    spec.offer.margin_percent = Some("22.75".parse().unwrap());
    spec.offer.free_lines[0].price = Money("-1234.5678".parse().unwrap());
    for units in [Units::Metric, Units::Imperial] {
        let hand = Hand { units, money: &money };
        let texts = write(&spec, hand);
        let back = read(&texts, &Spec::default(), hand);
        assert_eq!(back.faults, vec![]);
        assert_eq!(back.spec, spec);
        assert_eq!(back.texts, texts);
    }
    let hand = Hand { units: Units::Imperial, money: &money };
    assert_eq!(write(&spec, hand)["need.loads.0.mass"], "165 lb");
}

#[test]
fn only_what_is_there_is_changed_and_all_faults_come_at_once() {
    let money = pounds();
    let hand = Hand { units: Units::Metric, money: &money };
    let texts = typed(&[
        ("design.bed.length", "8 ft"),
        ("design.bed.width", "wide"),
        ("design.bed.height", ""),
        ("design.frame.side_rail", "rhs 60x40x30"),
        ("design.frame.grade", "S1000"),
        ("design.running_gear.wheel.load_index", "79.5"),
        ("design.towing.coupling", "hook"),
        ("need.use.marine", "no"),
        ("token", "not ours"),
    ]);
    let back = read(&texts, &full(), hand);
    assert_eq!(back.spec.design.bed.length, Length::from_mm(2438.4));
    assert_eq!(back.spec.design.bed.width, full().design.bed.width);
    assert_eq!(back.spec.need, full().need);
    let fields: Vec<&str> = back.faults.iter().map(|fault| fault.field.as_str()).collect();
    assert_eq!(
        fields,
        [
            "design.bed.width",
            "design.frame.side_rail",
            "design.frame.grade",
            "design.running_gear.wheel.load_index",
            "design.towing.coupling"
        ]
    );
    assert_eq!(
        back.faults[0].to_string(),
        "Bed width (design.bed.width): “wide” is not a length: type one such as 1830, 1.83 m, \
         6' 2 1/2\", 3/16 in or 10 SWG; type a value from 500 mm to 2500 mm"
    );
}

#[test]
fn items_are_numbered_without_gaps_and_a_missing_one_is_removed() {
    let money = pounds();
    let hand = Hand { units: Units::Metric, money: &money };
    let mut spec = full();
    spec.need.loads = ["a", "b", "c"].map(|name| Load { name: name.into(), ..Load::default() }).to_vec();
    spec.need.trips.push(Trip {
        name: "home".into(),
        carries: vec![Placed::default(), Placed { turned: true, ..Placed::default() }],
    });
    let texts = typed(&[
        ("need.loads", "3"),
        ("need.loads.0.name", "a"),
        ("need.loads.2.mass", "heavy"),
        ("need.loads.7.name", "new"),
        ("need.trips.1.carries.1.load", "a"),
        ("offer.free_lines", "1"),
    ]);
    let back = read(&texts, &spec, hand);
    let names: Vec<&str> = back.spec.need.loads.iter().map(|load| load.name.as_str()).collect();
    assert_eq!(names, ["a", "c", "new"]);
    assert_eq!(back.faults[0].field, "need.loads.1.mass");
    assert_eq!(back.texts["need.loads.1.mass"], "heavy");
    assert_eq!(back.texts["need.loads.2.name"], "new");
    assert_eq!(back.spec.need.trips.len(), 1);
    assert_eq!(back.spec.need.trips[0].name, "home");
    assert_eq!(back.spec.need.trips[0].carries, [Placed { load: "a".into(), turned: true, ..Placed::default() }]);
    assert!(back.spec.offer.free_lines.is_empty(), "listed without items: all were removed");
    assert_eq!(back.spec.design.fittings.free, spec.design.fittings.free, "not spoken of");
}

#[test]
fn too_many_items_are_refused() {
    let money = pounds();
    let hand = Hand { units: Units::Metric, money: &money };
    let texts = (0..60).map(|at| (format!("need.loads.{at}.name"), format!("load {at}"))).collect();
    let back = read(&texts, &Spec::default(), hand);
    assert_eq!(back.spec.need.loads.len(), limits::MOST_ITEMS);
    assert_eq!(back.faults[0].field, "need.loads");
}

#[test]
fn a_field_is_shown_when_it_matters() {
    let document = serde_json::to_value(full()).unwrap();
    let shown = |path: &str| field_at(path).unwrap().is_shown(path, &document);
    assert!(shown("design.drawbar.included_angle_deg"));
    assert!(!shown("design.drawbar.reach"));
    assert!(!shown("design.running_gear.spacing"));
    assert!(shown("need.loads.0.mass"));
    assert_eq!(field_at("need.loads.0.colour"), None);
    assert_eq!(json!(document["need"]["loads"][0]["mass"]), json!(165.0));
}
