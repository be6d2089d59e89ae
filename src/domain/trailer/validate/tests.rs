use serde_json::{Value, json};

use super::*;
use crate::trailer::fields::field_at;

/// The default spec with some fields changed, by path.
fn spec(changes: &[(&str, Value)]) -> Spec {
    let mut document = serde_json::to_value(Spec::default()).unwrap();
    for (path, value) in changes {
        *document.pointer_mut(&format!("/{}", path.replace('.', "/"))).unwrap_or_else(|| panic!("no {path}")) =
            value.clone();
    }
    serde_json::from_value(document).unwrap()
}

fn faults(changes: &[(&str, Value)]) -> Vec<String> {
    match validate(&spec(changes)) {
        Ok(()) => Vec::new(),
        Err(SpecFaults(faults)) => faults.iter().map(|fault| fault.to_string()).collect(),
    }
}

fn load(name: &str, length: f64, width: f64) -> Value {
    json!({ "name": name, "kind": "box", "mass": 100.0, "length": length, "width": width, "height": 900.0 })
}

#[test]
fn the_default_spec_is_sound() {
    assert_eq!(faults(&[]), [""; 0]);
}

#[test]
fn a_field_alone() {
    for (changes, expected) in [
        (
            ("design.bed.length", json!(-1e300)),
            "Bed length (design.bed.length): “-9223372036854.775808 mm” is too small; type a value from 800 mm to 8000 mm",
        ),
        (
            ("design.bed.length", json!(1e300)),
            "Bed length (design.bed.length): “9223372036854.775807 mm” is too large; type a value from 800 mm to 8000 mm",
        ),
        (
            ("design.bed.width", json!(2600)),
            "Bed width (design.bed.width): “2600 mm” is too large; type a value from 500 mm to 2500 mm",
        ),
        (
            ("need.declared_gross", json!(3501)),
            "Declared gross mass (need.declared_gross): “3501 kg” is too large; type a value from 50 kg to 3500 kg, or leave it empty",
        ),
        (
            ("need.count", json!(0)),
            "Identical trailers (need.count): “0” is too small; type a whole number from 1 to 200",
        ),
        (
            ("design.running_gear.axles", json!(3)),
            "Axles (design.running_gear.axles): “3” is too large; type a whole number from 1 to 2",
        ),
        (
            ("design.drawbar.included_angle_deg", json!(70.0)),
            "Angle between the legs (design.drawbar.included_angle_deg): “70” is too large; type a value from 40° to 60°",
        ),
        (
            ("design.running_gear.wheel.load_index", json!(200)),
            "Load index (design.running_gear.wheel.load_index): “200” is too large; type a whole number from 50 to 130",
        ),
        (
            ("design.running_gear.wheel.speed_symbol", json!("XX")),
            "Speed symbol (design.running_gear.wheel.speed_symbol): “XX” is not a speed symbol; type one of: J, K, L, M, N, P, Q, R, S, T, U, H, V, W, Y",
        ),
        (
            ("design.running_gear.wheel.size", json!("")),
            "Tyre size (design.running_gear.wheel.size): nothing was entered; type 1 to 200 characters",
        ),
    ] {
        assert_eq!(faults(&[changes]), [expected]);
    }
    let region = faults(&[("need.use.region", json!("atlantis"))]);
    assert!(
        region[0].starts_with(
            "Region (need.use.region): “atlantis” is not one of the choices; choose one of: Great Britain, "
        ),
        "{region:?}"
    );
    let margin = faults(&[("offer.margin_percent", json!("95"))]);
    assert_eq!(
        margin,
        [
            "Margin on price (offer.margin_percent): “95” is too large; type a value from -50 % to 90 %, or leave it empty"
        ]
    );
}

#[test]
fn fields_of_forms_not_chosen_are_left_alone() {
    assert_eq!(faults(&[("design.drawbar.travel", json!(-5)), ("design.loading.ramp_length", json!(1e9))]), [""; 0]);
    assert_eq!(
        faults(&[("design.drawbar.form", json!("pole")), ("design.drawbar.included_angle_deg", json!(90.0))]),
        [""; 0]
    );
}

#[test]
fn figures_that_are_no_numbers() {
    let mut odd = Spec::default();
    odd.need.usage.max_speed_km_h = f64::NAN;
    odd.design.running_gear.spring_rate_n_per_mm = Some(f64::INFINITY);
    odd.design.finish.coat_um = f64::NEG_INFINITY;
    let SpecFaults(found) = validate(&odd).unwrap_err();
    let found: Vec<(&str, &str)> = found.iter().map(|fault| (fault.field.as_str(), fault.wrong.as_str())).collect();
    assert_eq!(
        found,
        [
            ("need.use.max_speed_km_h", "is not a number"),
            ("design.running_gear.spring_rate_n_per_mm", "is not a number"),
            ("design.finish.coat_um", "is not a number")
        ]
    );
}

/// Changes to the default spec, and the faults they give.
type Case = (Vec<(&'static str, Value)>, Vec<&'static str>);

fn design_cases() -> Vec<Case> {
    let pole = || {
        vec![
            ("design.drawbar.form", json!("pole")),
            ("design.drawbar.reach", json!("rear-rail")),
            ("design.drawbar.telescopic", json!(true)),
            ("design.drawbar.section", json!("shs 80x80x4")),
            ("design.drawbar.inner_section", json!("shs 70x70x3")),
        ]
    };
    let with = |base: Vec<(&'static str, Value)>, more: &[(&'static str, Value)]| [base, more.to_vec()].concat();
    let loose = || vec![("design.loading.ramp", json!("loose")), ("design.running_gear.place_by", json!("share"))];
    vec![
        (
            vec![("design.running_gear.place_by", json!("distance")), ("design.running_gear.distance", json!(2500))],
            vec![
                "Axle place, behind the bed's front (design.running_gear.distance): “2500 mm” puts the axle outside the bed; \
                  place the middle 0 mm to 2400 mm behind the bed's front edge",
            ],
        ),
        (
            vec![
                ("design.running_gear.place_by", json!("share")),
                ("design.running_gear.share", json!(0.9)),
                ("design.running_gear.axles", json!(2)),
            ],
            vec![
                "Axle place, share of the bed (design.running_gear.share): “90 %” puts an axle of the pair outside the bed; \
                  place the middle 380 mm to 2020 mm behind the bed's front edge",
            ],
        ),
        (
            vec![("design.running_gear.axles", json!(2)), ("design.running_gear.spacing", json!(500))],
            vec![
                "Spacing of the axles (design.running_gear.spacing): “500 mm” lets the tyres of the pair touch; \
                  type at least 572 mm with this tyre",
            ],
        ),
        (vec![("design.running_gear.wheel.rim_inches", json!(20))], vec![]),
        (
            vec![("design.running_gear.wheel.rolling_radius", json!(150))],
            vec![
                "Rolling radius (design.running_gear.wheel.rolling_radius): “150 mm” is not more than the radius of the rim, \
                  165.1 mm; measure from the axle's middle to the ground",
            ],
        ),
        (
            with(loose(), &[("design.loading.ramp_length", json!(2400))]),
            vec![
                "Ramp length (design.loading.ramp_length): “2400 mm” is longer than its stowage under the bed; \
                  type at most 2350 mm, or make it hinged",
            ],
        ),
        (
            vec![("design.loading.ramp", json!("hinged")), ("design.loading.ramp_width", json!(1400))],
            vec![
                "Ramp width (design.loading.ramp_width): “1400 mm” is wider than the bed, 1300 mm; type at most 1300 mm",
            ],
        ),
        (
            vec![("design.loading.ramp", json!("loose")), ("design.loading.docking_places", json!(3))],
            vec![
                "Docking places (design.loading.docking_places): “3” need more than the bed's width, 1300 mm; \
                  type at most 2 for a ramp of this width",
            ],
        ),
        (
            vec![("design.running_gear.track", json!(1400))],
            vec![
                "Track (design.running_gear.track): “1400 mm” lets the tyres rub the bed frame; type at least 1477 mm, or leave it empty",
            ],
        ),
        (
            // Frame's underside 60 + 15 below the deck and 276 up: a leaf-sprung beam needs 30 + 80 above the hubs.
            vec![("design.running_gear.suspension", json!("leaf")), ("design.bed.height", json!(440))],
            vec![
                "Bed height (design.bed.height): “440 mm” lets the axle meet the frame before the suspension is on its stop; \
                  type at least 461 mm, or leave it empty",
            ],
        ),
        (
            vec![("design.drawbar.grade", json!("6082-T6"))],
            vec![
                "Grade of the drawbar (design.drawbar.grade): “6082-T6” cannot be welded to the frame's S235: steel is never \
                  welded to aluminium; choose a grade of the same metal for both",
            ],
        ),
        (
            vec![
                ("design.drawbar.grade", json!("6082-T6")),
                ("design.frame.grade", json!("6082-T6")),
                ("design.finish.system", json!("galvanised")),
            ],
            vec![
                "Finish (design.finish.system): “hot-dip galvanised” is for steel, the frame is of aluminium; choose paint, powder coat or none",
            ],
        ),
        (
            vec![("design.deck.fixing", json!("welded"))],
            vec!["Deck is (design.deck.fixing): “welded” is not for wood; choose screwed or bolted"],
        ),
        (
            vec![("design.frame.side_rail", json!("rhs 60x620x8"))],
            vec![
                "Side rails (design.frame.side_rail): “rhs 60x620x8” leaves no room between two of them in the bed's width, \
                  1300 mm; choose a narrower section",
            ],
        ),
        (
            vec![("design.drawbar.length", json!(1500)), ("design.drawbar.included_angle_deg", json!(60.0))],
            // Legs 40 wide at 30°: 23.09 mm from the middle at the nose; (630 − 23.09) / tan 30° + 100 − 40 = 1111.2.
            vec![
                "Angle between the legs (design.drawbar.included_angle_deg): “60” spreads the legs as wide as the side rails \
                  before they reach the bed; choose a smaller angle, or a drawbar of at most 1111.2 mm at this one",
            ],
        ),
        (
            vec![("design.drawbar.coupling_height", json!(800))],
            vec![
                "Coupling height (design.drawbar.coupling_height): “800 mm” is 499 mm above the middle of the drawbar, more than \
                  the coupling's plate bridges; type 51 mm to 551 mm, change the bed's height, or let the drawbar lie differently against the frame",
            ],
        ),
        (pole(), vec![]),
        (
            with(pole(), &[("design.drawbar.inner_section", json!("shs 75x75x3"))]),
            vec![
                "Inner tube (design.drawbar.inner_section): “shs 75x75x3” does not go into the drawbar's tube; choose a tube that \
                  goes into 72 mm × 72 mm with its weld seam, with at most 5 mm of play on each side",
            ],
        ),
        (
            with(pole(), &[("design.drawbar.inner_section", json!("shs 50x50x3"))]),
            vec![
                "Inner tube (design.drawbar.inner_section): “shs 50x50x3” has 10.5 mm of play on each side; choose a tube that \
                  goes into 72 mm × 72 mm with its weld seam, with at most 5 mm of play on each side",
            ],
        ),
        (
            with(pole(), &[("design.drawbar.section", json!("channel 80x40x4"))]),
            vec![
                "Section of the drawbar (design.drawbar.section): “channel 80x40x4” takes no tube inside; choose a hollow section, or no telescope",
            ],
        ),
        (
            with(pole(), &[("design.drawbar.pin_pitch", json!(300)), ("design.drawbar.pin_diameter", json!(36))]),
            vec![
                "Pitch of the pin holes (design.drawbar.pin_pitch): “300 mm” is more than the travel, 200 mm; type at most 200 mm",
                "Diameter of the pin (design.drawbar.pin_diameter): “36 mm” takes more than half of the inner tube's width away; type at most 35 mm",
            ],
        ),
        (
            // The inner tube ends at 100 + 160 + 3000 + 300 = 3560; the pole at 1200 + 0.45 × 2400 + 20 = 2300.
            with(pole(), &[("design.drawbar.reach", json!("cross-member")), ("design.drawbar.travel", json!(3000))]),
            vec![
                "Telescopic travel (design.drawbar.travel): “3000 mm” leaves too little overlap in the drawbar's tube; type at \
                  most 1740 mm, lengthen the drawbar, or let it run to the rear end rail",
            ],
        ),
        (
            vec![
                ("design.towing.coupling_rating", json!(500)),
                ("need.declared_gross", json!(750)),
                ("design.towing.jockey_rating", json!(600)),
            ],
            vec![
                "Rating of the coupling (design.towing.coupling_rating): “500 kg” is less than the declared gross mass, 750 kg; type at least 750 kg, or leave it empty",
                "Rating of the jockey wheel (design.towing.jockey_rating): “600 kg” is more than the rating of the coupling, 500 kg; type what it carries standing: 1.5 times the load on the coupling is usual",
            ],
        ),
    ]
}

#[test]
fn designs_together() {
    for (changes, expected) in design_cases() {
        assert_eq!(faults(&changes), expected, "{changes:?}");
    }
}

fn need_cases() -> Vec<Case> {
    let two = || ("need.loads", json!([load("hive", 1200.0, 800.0), load("stand", 600.0, 500.0)]));
    let trip = |carries: Value| ("need.trips", json!([{ "name": "out", "carries": carries }]));
    vec![
        (
            vec![("need.loads", json!([load("hive", 1200.0, 800.0), load("hive", 600.0, 500.0)]))],
            vec![
                "Name of the load (need.loads.1.name): “hive” is the name of another load too; give every load a name of its own: trips call them by it",
            ],
        ),
        (
            vec![two(), trip(json!([{ "load": "boat" }, { "load": "hive" }, { "load": "hive" }]))],
            vec![
                "Load (need.trips.0.carries.0.load): “boat” is not the name of a load; choose one of: hive, stand",
                "Load (need.trips.0.carries.2.load): “hive” rides twice on this trip; enter a second load with a name of its own, or take one away",
            ],
        ),
        (
            vec![two(), trip(json!([{ "load": "hive", "along": 500.0, "across": 300.0 }]))],
            vec![
                "Place along the bed (need.trips.0.carries.0.along): “500 mm” puts the load over the end of the bed; type a place from 600 mm to 1800 mm",
                "Place across the bed (need.trips.0.carries.0.across): “300 mm” puts the load over the side of the bed; type a place from -250 mm to 250 mm",
            ],
        ),
        (
            vec![
                two(),
                trip(json!([
                    { "load": "hive", "along": 700.0, "across": 0.0 }, { "load": "stand", "along": 1500.0, "across": 0.0 }
                ])),
            ],
            vec![
                "Place along the bed (need.trips.0.carries.1.along): “1500 mm” stands where “hive” stands; move one of them, or let the tool place it",
            ],
        ),
        (
            // 700 + 600 + 300 = 1600: they touch.
            vec![
                two(),
                trip(json!([
                    { "load": "hive", "along": 700.0, "across": 0.0 }, { "load": "stand", "along": 1600.0, "across": 0.0 }
                ])),
            ],
            vec![],
        ),
        (
            vec![("need.loads", json!([load("beam", 3000.0, 200.0)]))],
            vec![
                "Length of the load (need.loads.0.length): “3000 mm” is more than the bed's length, 2400 mm; make the bed larger, or turn the load",
            ],
        ),
        (
            vec![(
                "need.loads",
                json!([{ "name": "hull", "kind": "boat", "mass": 80.0, "length": 5200.0, "width": 1400.0, "height": 600.0 }]),
            )],
            vec![],
        ),
        (
            vec![(
                "need.towing_vehicles",
                json!([{ "kerb": 1500.0, "gross": 1400.0, "limit_braked": 1000.0, "limit_unbraked": 1200.0 }]),
            )],
            vec![
                "Gross mass of the towing vehicle (need.towing_vehicles.0.gross): “1400 kg” is not more than its kerb mass, 1500 kg; type both as its papers say",
                "Towing limit, unbraked (need.towing_vehicles.0.limit_unbraked): “1200 kg” is more than its limit for a braked trailer, 1000 kg; type both as its papers say",
            ],
        ),
        (
            vec![("design.bed.within_vehicle_width", json!(true))],
            vec![
                "Stay narrower than every towing vehicle (design.bed.within_vehicle_width): “yes” cannot be kept: no towing vehicle's body width is known; enter the width of the towing vehicle's body",
            ],
        ),
        (
            // Overall: track 1517 + tyre 157 + guards 40 = 1714.
            vec![
                ("design.bed.within_vehicle_width", json!(true)),
                ("need.towing_vehicles", json!([{ "body_width": 1700.0 }])),
            ],
            vec![
                "Bed width (design.bed.width): “1300 mm” makes the trailer 1714 mm wide, not narrower than the towing vehicle, 1700 mm; type at most 1285 mm, or put the bed over the wheels",
            ],
        ),
        (
            vec![("need.loads", json!([{ "name": "", "mass": 0.0, "length": 500.0, "wheelbase": 700.0 }]))],
            vec![
                "Name of the load (need.loads.0.name): nothing was entered; type 1 to 200 characters",
                "Mass of the load (need.loads.0.mass): “0 kg” is too small; type a value from 0.1 kg to 3500 kg",
                "Wheelbase of the load (need.loads.0.wheelbase): “700 mm” is more than its length, 500 mm; type at most 500 mm",
            ],
        ),
    ]
}

#[test]
fn needs_together() {
    for (changes, expected) in need_cases() {
        assert_eq!(faults(&changes), expected, "{changes:?}");
    }
}

#[test]
fn long_lists_are_refused() {
    let many: Vec<Value> = (0..11).map(|at| load(&format!("box {at}"), 100.0, 100.0)).collect();
    let carries: Vec<Value> = (0..11).map(|at| json!({ "load": format!("box {at}") })).collect();
    let found = faults(&[("need.loads", json!(many)), ("need.trips", json!([{ "carries": carries }]))]);
    assert_eq!(
        found,
        ["Number of items, load on this trip (need.trips.0.carries): 11 items are too many; enter at most 10"]
    );
}

#[test]
fn every_fault_names_a_field_of_the_form() {
    for (changes, _) in design_cases().into_iter().chain(need_cases()) {
        let Err(SpecFaults(found)) = validate(&spec(&changes)) else { continue };
        assert!(found.iter().all(|fault| field_at(&fault.field).is_some()));
    }
}

#[test]
fn faults_are_told_in_the_shops_units() {
    let money = MoneyStyle {
        currency_code: "USD".into(),
        symbol: "$".into(),
        symbol_before: true,
        decimals: 2,
        group: Grouping::Western,
        decimal_mark: '.',
        group_mark: ',',
    };
    let wide = spec(&[("design.loading.ramp", json!("hinged")), ("design.loading.ramp_width", json!(1524.0))]);
    let SpecFaults(found) = validate_shown(&wide, Hand { units: Units::Imperial, money: &money }).unwrap_err();
    assert_eq!(found[0].value, "“60 in”");
}
