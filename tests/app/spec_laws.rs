//! Laws of specs: no spec that can be read makes checking, laying out or fitting out panic; every fault names a field of the form;
//! what the form writes it reads back.

use std::sync::LazyLock;

use hitchwright::domain::{
    form::{Hand, Kind},
    limits::LIMITS,
    measure::Units,
    shop::ShopBook,
    trailer::{
        Assumed, Spec, fields,
        fit_out::{fit_out, lamps},
        lay_out, validate, wiring,
    },
};
use proptest::prelude::*;
use serde_json::{Value, json};

static BOOK: LazyLock<ShopBook> = LazyLock::new(ShopBook::demo);

fn settings() -> ProptestConfig {
    ProptestConfig { failure_persistence: None, cases: 128, ..ProptestConfig::default() }
}

/// The default spec with two loads, a trip, a vehicle, a free fitting and a free line.
fn full() -> Value {
    let spec: Spec = serde_json::from_value(json!({
        "need": {
            "loads": [{ "name": "hive", "mass": 165 }, { "name": "stand", "mass": 40, "length": 600 }],
            "trips": [{ "name": "out", "carries": [{ "load": "hive" }, { "load": "stand", "along": 300 }] }],
            "towing_vehicles": [{ "name": "van", "kerb": 1500, "gross": 2100, "body_width": 1900 }],
        },
        "design": { "fittings": { "free": [{ "name": "rack", "count": 1 }] } },
        "offer": { "free_lines": [{ "text": "sign", "price": "12.50" }] },
    }))
    .expect("a spec");
    serde_json::to_value(spec).expect("a spec as JSON")
}

/// Values that people and programs get wrong.
fn odd() -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<u32>().prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        (-10_000.0..10_000.0).prop_map(Value::from),
        prop::sample::select(vec![0.0, -0.0, -1.0, 1e300, -1e300, 1e-300, 4294967295.0]).prop_map(Value::from),
        "[a-z]{0,12}".prop_map(Value::from),
        prop::sample::select(vec![
            "pole",
            "a-frame",
            "loose",
            "hinged",
            "leaf",
            "over",
            "flush",
            "2",
            "shs 80x80x4",
            "chs 1000x1",
            "6082-T6",
            "from-vehicle",
            "over-run",
            "distance"
        ])
        .prop_map(Value::from),
    ]
}

/// Paths of the fields of [`full`].
fn paths() -> Vec<String> {
    let mut paths = Vec::new();
    fields::walk(&full(), |_, path| paths.push(path));
    paths
}

/// A spec with some fields set to odd values; a change that cannot be read is left out.
fn changed(changes: &[(String, Value)]) -> Spec {
    let mut document = full();
    for (path, value) in changes {
        let before = document.clone();
        if let Some(place) = document.pointer_mut(&format!("/{}", path.replace('.', "/"))) {
            *place = value.clone();
        }
        if serde_json::from_value::<Spec>(document.clone()).is_err() {
            document = before;
        }
    }
    serde_json::from_value(document).expect("changes that can be read")
}

fn changes() -> impl Strategy<Value = Vec<(String, Value)>> {
    prop::collection::vec((prop::sample::select(paths()), odd()), 0..20)
}

proptest! {
    #![proptest_config(settings())]

    #[test]
    fn no_spec_makes_the_domain_panic(changes in changes(), gross in any::<f64>(), load in any::<f64>(), axle in any::<f64>()) {
        let spec = changed(&changes);
        if let Err(faults) = validate(&spec) {
            prop_assert!(!faults.0.is_empty());
            for fault in &faults.0 {
                prop_assert!(fields::field_at(&fault.field).is_some(), "{}", fault);
                prop_assert!(!fault.wrong.is_empty() && !fault.right.is_empty() && !fault.label.is_empty());
            }
        }
        let assumed = Assumed::guess(gross, load, axle, 1);
        let layout = lay_out(&spec, &assumed);
        let book = &*BOOK;
        let lamps = lamps(&spec, &layout, gross);
        let fittings = fit_out(&spec, &layout, &book.rates, &assumed, &lamps);
        for fitting in &fittings {
            prop_assert!(fitting.part.need.count.is_finite() && fitting.part.need.count > 0.0);
        }
        let harness = wiring::Harness::of(&spec, &layout, &fittings);
        prop_assert!(harness.runs.iter().all(|run| run.length_mm.is_finite() && run.length_mm >= 0.0));
    }

    /// Every value in its range is written and read back to the identical spec, in either family of units.
    #[test]
    fn what_the_form_writes_it_reads_back(parts in prop::collection::vec(0.0f64..=1.0, LIMITS.len()), imperial in any::<bool>()) {
        let book = &*BOOK;
        let hand = Hand { units: if imperial { Units::Imperial } else { Units::Metric }, money: &book.currency };
        let mut document = full();
        for (limit, part) in LIMITS.iter().zip(parts) {
            let value = limit.least + part * (limit.most - limit.least);
            let path = format!("/{}", limit.key.replace(".*", ".0").replace('.', "/"));
            let Some(place) = document.pointer_mut(&path) else { continue };
            *place = match place {
                Value::String(_) => Value::from(format!("{value:.2}")),
                Value::Number(number) if number.is_u64() => Value::from(value as u64),
                Value::Null if limit.kind == Kind::Count => Value::from(value as u64),
                Value::Null if matches!(limit.kind, Kind::Money | Kind::Percent) => Value::from(format!("{value:.2}")),
                _ => Value::from(value),
            };
        }
        let spec: Spec = serde_json::from_value(document).expect("values in their ranges");
        let back = fields::read(&fields::write(&spec, hand), &Spec::default(), hand);
        prop_assert_eq!(back.faults, vec![]);
        prop_assert_eq!(back.spec, spec);
    }

    /// Whatever is typed into whatever field is read or refused, with the field named.
    #[test]
    fn no_text_makes_reading_a_form_panic(texts in prop::collection::btree_map(prop_oneof![prop::sample::select(paths()), "[a-z.0-9*]{0,30}"], ".{0,20}", 0..12)) {
        let book = &*BOOK;
        let hand = Hand { units: Units::Metric, money: &book.currency };
        let before: Spec = serde_json::from_value(full()).expect("a spec");
        let back = fields::read(&texts, &before, hand);
        for fault in &back.faults {
            prop_assert!(back.texts.contains_key(&fault.field), "{}", fault);
        }
    }
}

/// The demo shop sells every part that a usual trailer asks for.
#[test]
fn the_demo_shop_fits_out_a_usual_trailer() {
    let book = &*BOOK;
    let spec = Spec::default();
    let assumed = Assumed::guess(750.0, 75.0, 2640.0, 1);
    let layout = lay_out(&spec, &assumed);
    let missing: Vec<String> = fit_out(&spec, &layout, &book.rates, &assumed, &lamps(&spec, &layout, assumed.gross_kg))
        .iter()
        .filter(|fitting| fitting.part.item.is_none())
        .map(|fitting| format!("{}: {:?}", fitting.part.need.key, fitting.part.need.requirements))
        .collect();
    assert_eq!(missing, [""; 0]);
}
