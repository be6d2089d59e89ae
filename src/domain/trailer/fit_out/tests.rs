use super::*;
use crate::{
    measure::{Length, Mass},
    shop::{Attribute, Item, Rule},
    steel::SheetMaterial,
    trailer::{
        Brakes, ChainPurpose, Connector, DrawbarForm, FreeFitting, Load, Overruled, RampForm, SideForm, SparePlace,
        Suspension, TowingVehicle,
    },
};

fn layout() -> Layout {
    Layout {
        coupling_height_mm: 430.0,
        drawbar_length_mm: 1200.0,
        bed_front_x_mm: 1200.0,
        bed_rear_x_mm: 3600.0,
        bed_width_mm: 1300.0,
        deck_top_z_mm: 505.0,
        frame_top_z_mm: 490.0,
        frame_bottom_z_mm: 430.0,
        axle_x_mm: 2640.0,
        axles_x_mm: vec![2640.0],
        track_mm: 1517.0,
        axle_z_mm: 276.0,
        wheel_radius_mm: 276.0,
        tyre_width_mm: 157.0,
        overall_length_mm: 3660.0,
        overall_width_mm: 1674.0,
        cross_member_x_mm: vec![1800.0, 2400.0, 3000.0],
        ..Layout::default()
    }
}

fn pair() -> Layout {
    Layout { axles_x_mm: vec![2260.0, 3020.0], ..layout() }
}

const ASSUMED: Assumed = Assumed::guess(750.0, 80.0, 2640.0, 1);

fn book(items: &[&str]) -> RateBook {
    RateBook { day: "2026-01-01".parse().unwrap(), items: items.iter().map(|item| part(item)).collect() }
}

/// `code class price attributes`
fn part(text: &str) -> Item {
    let parts: Vec<&str> = text.splitn(4, ' ').collect();
    let text = format!(
        r#"{{"code":"{}","name":"{0}","class":"part","unit":"each","price":"{}","from":"2026-01-01",
            "goods":{{"kind":"part","class":"{}","mass_kg":3,"attributes":{}}}}}"#,
        parts[0], parts[2], parts[1], parts[3]
    );
    serde_json::from_str(&text).unwrap()
}

fn fitted(spec: &Spec, layout: &Layout) -> Vec<Fitting> {
    fit_out(spec, layout, &book(&[]), &ASSUMED, &lamps(spec, layout, ASSUMED.gross_kg))
}

fn counts(fittings: &[Fitting], prefix: &str) -> Vec<(String, f64)> {
    let chosen = fittings.iter().map(|fitting| &fitting.part.need).filter(|need| need.key.starts_with(prefix));
    chosen.map(|need| (need.key.clone(), need.count)).collect()
}

fn count(fittings: &[Fitting], key: &str) -> f64 {
    fittings.iter().filter(|fitting| fitting.part.need.key == key).map(|fitting| fitting.part.need.count).sum()
}

/// The largest lower bound that a need sets on an attribute.
fn least(fittings: &[Fitting], key: &str, attribute: &str) -> f64 {
    let rules = fittings
        .iter()
        .filter(|fitting| fitting.part.need.key == key)
        .flat_map(|fitting| &fitting.part.need.requirements);
    let bounds = rules.filter(|rule| rule.attribute == attribute).filter_map(|rule| match rule.rule {
        Rule::AtLeast(least) => Some(least),
        _ => None,
    });
    bounds.fold(f64::NEG_INFINITY, f64::max)
}

#[test]
fn a_plain_trailer_gets_its_parts_once() {
    let spec = Spec::default();
    let fittings = fitted(&spec, &layout());
    for (key, wanted) in [
        ("wheel", 2.0),
        ("axle", 1.0),
        ("mudguard", 2.0),
        ("bolts-mudguard", 12.0),
        ("coupling", 1.0),
        ("jockey-wheel", 1.0),
        ("safety-chain", 1.0),
        ("shackle", 1.0),
        ("bolts-coupling", 4.0),
        ("bolts-axle", 4.0),
        ("lashing-deck", 4.0),
        ("connector", 1.0),
        ("junction-box", 1.0),
        ("plate-holder", 1.0),
        ("mass-plate", 1.0),
        ("hub", 0.0),
        ("brakes", 0.0),
        ("breakaway", 0.0),
        ("ramp-hinge", 0.0),
        ("lashing-frame", 0.0),
        // Edge: 2 × (8 + 5) at 300 mm; on each of three cross-members four more.
        ("deck-fixing", 26.0 + 12.0),
    ] {
        assert_eq!(count(&fittings, key), wanted, "{key}");
    }
    let mut keys: Vec<&str> = fittings.iter().map(|fitting| fitting.part.need.key.as_str()).collect();
    keys.sort_unstable();
    assert!(keys.windows(2).all(|two| two[0] != two[1]), "{keys:?}");
    for fitting in &fittings {
        assert!(!fitting.places.is_empty() && fitting.part.need.count > 0.0, "{:?}", fitting.part.need);
        assert!(fitting.places.iter().flatten().all(|part| part.is_finite()));
        assert_eq!(fitting.part.item, None);
    }
}

#[test]
fn ratings_follow_from_gross_mass_and_coupling_load() {
    let mut spec = Spec::default();
    spec.need.towing_vehicles = [1800.0, 2000.0]
        .map(|kg| TowingVehicle { gross: Some(Mass::from_kg(kg)), ..TowingVehicle::default() })
        .to_vec();
    let fittings = fitted(&spec, &layout());
    assert_eq!(least(&fittings, "coupling", "rating_kg"), 750.0);
    assert_eq!(least(&fittings, "coupling", "static_load_kg"), 80.0);
    // Source: D table of standards reference E, computed: T 2.0 t, R 0.75 t give 5.351 kN.
    assert!((least(&fittings, "coupling", "d_value_kn") - 5.351).abs() < 0.0005);
    assert_eq!(least(&fittings, "jockey-wheel", "rating_kg"), 120.0);
    assert_eq!(least(&fittings, "safety-chain", "rating_kg"), 750.0);
    assert_eq!(least(&fittings, "shackle", "rating_kg"), 250.0);
    // 5 % of the gross mass rests on the coupling at least.
    assert_eq!(least(&fittings, "axle", "rating_kg"), 712.5);
    assert_eq!(least(&fittings, "wheel", "wheel_load_kg"), 437.0, "load index 79 asked for");
    spec.design.running_gear.axle_rating = Some(Mass::from_kg(900.0));
    assert_eq!(count(&fitted(&spec, &layout()), "drawbar-pin"), 0.0);
    spec.design.drawbar.telescopic = true;
    assert_eq!(count(&fitted(&spec, &layout()), "drawbar-pin"), 0.0, "an A-frame has no pin");
    spec.design.drawbar.form = DrawbarForm::Pole;
    assert_eq!(count(&fitted(&spec, &layout()), "drawbar-pin"), 1.0);
    spec.design.towing.chains = ChainPurpose::KeepsOnly;
    assert_eq!(least(&fitted(&spec, &layout()), "safety-chain", "rating_kg"), 750.0, "an unbraked trailer's rule asks");
    spec.need.usage.region = "us".into();
    let fittings = fitted(&spec, &layout());
    assert_eq!(least(&fittings, "axle", "rating_kg"), 900.0);
    assert_eq!(least(&fittings, "safety-chain", "rating_kg"), f64::NEG_INFINITY);
}

#[test]
fn a_braked_pair_on_leaf_springs_gets_all_that_it_needs() {
    let mut spec = Spec::default();
    let gear = &mut spec.design.running_gear;
    (gear.axles, gear.suspension, gear.brakes) = (2, Suspension::Leaf, Brakes::OverRun);
    spec.design.fittings.spare_wheel = SparePlace::Drawbar;
    spec.design.fittings.mud_flaps = true;
    let fittings = fitted(&spec, &pair());
    for (key, wanted) in [
        ("axle", 2.0),
        ("hub", 4.0),
        ("leaf-spring", 4.0),
        ("spring-hangers", 4.0),
        ("u-bolts", 4.0),
        ("equaliser", 2.0),
        ("brakes", 2.0),
        ("over-run", 1.0),
        ("breakaway", 1.0),
        ("wheel", 4.0),
        ("spare-wheel", 1.0),
        ("spare-carrier", 1.0),
        ("mudguard", 2.0),
        ("mud-flap", 2.0),
    ] {
        assert_eq!(count(&fittings, key), wanted, "{key}");
    }
    let on_axle: Vec<&str> =
        fittings.iter().filter(|fitting| !fitting.moves_with_axle).map(|fitting| fitting.class.word()).collect();
    assert!(["leaf-spring", "hub", "brakes", "u-bolts"].iter().all(|class| !on_axle.contains(class)));
}

#[test]
fn hubs_and_axle_take_the_studs_of_the_wheel_and_the_spare_is_the_same_wheel() {
    let wheel = r#"{"size":"155/80 R13","wheel_load_kg":437,"speed_km_h":140,"studs":"#;
    let (four, five) = (format!("W4 wheel 50 {wheel}\"4x100\"}}"), format!("W5 wheel 70 {wheel}\"5x112\"}}"));
    let rates = book(&[
        &four,
        &five,
        r#"A4 torsion-axle 200 {"rating_kg":750,"studs":"4x100"}"#,
        r#"A5 torsion-axle 150 {"rating_kg":750,"studs":"5x112"}"#,
    ]);
    let mut spec = Spec::default();
    spec.design.fittings.spare_wheel = SparePlace::Front;
    let chosen = |spec: &Spec, key: &str| {
        let fittings = fit_out(spec, &layout(), &rates, &ASSUMED, &[]);
        let fitting = fittings.into_iter().find(|fitting| fitting.part.need.key == key).expect("the part");
        fitting.part.item.map(|item| item.code)
    };
    assert_eq!(chosen(&spec, "wheel").as_deref(), Some("W4"));
    assert_eq!(chosen(&spec, "axle").as_deref(), Some("A4"));
    spec.offer.overruled.insert("part/wheel".into(), Overruled { value: "W5".into(), reason: "on the rack".into() });
    assert_eq!(chosen(&spec, "axle").as_deref(), Some("A5"));
    assert_eq!(chosen(&spec, "spare-wheel").as_deref(), Some("W5"));
}

#[test]
fn lamps_follow_the_region_and_the_size() {
    let mut spec = Spec::default();
    spec.design.electrics.fog_lamp = false;
    let all = |spec: &Spec, layout: &Layout| counts(&fitted(spec, layout), "");
    let has = |found: &[(String, f64)], key: &str| found.iter().find(|(name, _)| name == key).map(|(_, count)| *count);
    let narrow = Layout { overall_width_mm: 1300.0, ..layout() };
    let found = all(&spec, &narrow);
    assert_eq!(has(&found, "rear-lamp-rear"), Some(2.0));
    assert_eq!(has(&found, "reflector-rear-red"), Some(2.0));
    assert_eq!(has(&found, "fog-lamp-rear-middle"), None, "over 1.3 m only");
    assert_eq!(has(&found, "front-lamp-front"), None);
    let found = all(&spec, &layout());
    assert_eq!(has(&found, "fog-lamp-rear-middle"), Some(1.0));
    assert_eq!(has(&found, "front-lamp-front"), Some(2.0));
    assert_eq!(has(&found, "side-marker-side-middle-amber"), None);
    // United States: clearance and identification lamps from 80 in (2,032 mm) on.
    spec.need.usage.region = "us-tx".into();
    assert_eq!(has(&all(&spec, &layout()), "outline-lamp-rear-three-red"), None);
    let found = all(&spec, &Layout { overall_width_mm: 2032.0, ..layout() });
    assert_eq!(has(&found, "outline-lamp-rear-three-red"), Some(3.0));
    assert_eq!(has(&found, "outline-lamp-front-amber"), Some(2.0));
    assert_eq!(has(&found, "side-marker-side-front-amber"), Some(2.0));
    let fittings = fitted(&spec, &layout());
    assert_eq!(least(&fittings, "rear-lamp-rear", "approval_sae"), 1.0);
}

#[test]
fn ramp_cable_and_free_fittings() {
    let mut spec = Spec::default();
    spec.design.loading.ramp = RampForm::Hinged;
    spec.design.loading.ramp_width = Length::from_mm(1250.0);
    spec.design.loading.ramp_lock = true;
    spec.design.electrics.connector = Connector::Thirteen;
    spec.design.loading.prop_stands = 2;
    spec.design.loading.winch_post = true;
    spec.need.loads = vec![Load { mass: Mass::from_kg(400.0), ..Load::default() }];
    let free = FreeFitting { name: "rack".into(), count: 3, mass: Mass::from_kg(4.0), ..FreeFitting::default() };
    spec.design.fittings.free = vec![free];
    let fittings = fitted(&spec, &layout());
    for (key, wanted) in [
        ("ramp-hinge", 2.0),
        ("ramp-latch", 2.0),
        ("ramp-lock", 1.0),
        ("prop-stand", 2.0),
        ("winch", 1.0),
        ("free-1", 3.0),
    ] {
        assert_eq!(count(&fittings, key), wanted, "{key}");
    }
    let free = fittings.iter().find(|fitting| fitting.part.need.key == "free-1").unwrap();
    assert_eq!(free.part.mass_kg(), 12.0);
    assert_eq!(least(&fittings, "prop-stand", "rating_kg"), 200.0);
    assert_eq!(least(&fittings, "lashing-deck", "rating_kg"), 160.0);
    assert_eq!(least(&fittings, "cable-plug", "cores"), 7.0, "what is used, not the ways of the plug");
    assert_eq!(least(&fittings, "junction-box", "ways"), 7.0);
    assert_eq!(least(&fittings, "cable-plug", "core_mm2"), f64::NEG_INFINITY, "no cable's area is known");
    let metres: f64 =
        counts(&fittings, "cable-").iter().filter(|(key, _)| key != "cable-fixings").map(|(_, count)| count).sum();
    assert!((count(&fittings, "cable-fixings") - metres).abs() < 0.41, "rounded up to 0.1 m by cable");
}

#[test]
fn an_axle_taken_from_a_vehicle_says_what_is_not_known() {
    let mut spec = Spec::default();
    spec.design.running_gear.suspension = Suspension::FromVehicle;
    let axle = |spec: &Spec| {
        let fittings = fitted(spec, &layout());
        fittings.into_iter().find(|fitting| fitting.class == PartClass::DonorAxle).unwrap().part
    };
    assert_eq!(axle(&spec).item, None);
    assert_eq!(axle(&spec).falls_short.len(), 3);
    spec.design.running_gear.donor.mass = Some(Mass::from_kg(48.0));
    spec.design.running_gear.donor.rating = Some(Mass::from_kg(600.0));
    let part = axle(&spec);
    assert_eq!(part.item.as_ref().unwrap().attributes["rating_kg"], Attribute::Figure(600.0));
    assert_eq!(
        part.falls_short,
        ["its price is not known and counted as nothing", "it carried 600 kg, 712 kg is needed"]
    );
}

/// Steel is never welded to aluminium, nor wood to anything: such a sheet gets its rivets.
#[test]
fn sheet_of_another_metal_is_riveted() {
    let mut spec = Spec::default();
    let loading = &mut spec.design.loading;
    loading.ramp = RampForm::Loose;
    (loading.ramp_length, loading.ramp_width) = (Length::from_mm(1800.0), Length::from_mm(450.0));
    (loading.ramp_sheet, loading.ramp_sheet_thickness) = (SheetMaterial::SheetAluminium, Length::from_mm(2.0));
    let fittings = fitted(&spec, &layout());
    // By hand: two stiles of 1800 / 150 = 12 and seven rungs with two between the stiles.
    assert_eq!(count(&fittings, "ramp-rivets"), 2.0 * 12.0 + 7.0 * 2.0);
    assert_eq!(least(&fittings, "ramp-rivets", "grip_mm"), 4.0, "2 mm sheet on a 2 mm wall");
    spec.design.loading.ramp_sheet = SheetMaterial::SheetSteel;
    assert_eq!(count(&fitted(&spec, &layout()), "ramp-rivets"), 0.0, "welded");
    spec.design.sides.form = SideForm::Sheeted;
    assert_eq!(count(&fitted(&spec, &layout()), "side-rivets"), 0.0);
    spec.design.sides.sheet = SheetMaterial::ExteriorPly;
    // By hand: each side 2400 mm long and 350 mm high has two edges of 16 and four posts of 3.
    assert_eq!(count(&fitted(&spec, &layout()), "side-rivets"), 2.0 * (2.0 * 16.0 + 4.0 * 3.0));
}

#[test]
fn odd_figures_ask_for_nothing_endless() {
    let odd = Layout {
        bed_rear_x_mm: 1e300,
        bed_width_mm: f64::NAN,
        track_mm: f64::INFINITY,
        axles_x_mm: vec![],
        ..layout()
    };
    let assumed = Assumed::guess(f64::NAN, f64::NEG_INFINITY, f64::NAN, 1);
    let mut spec = Spec::default();
    spec.design.loading.lashing_top.count = u32::MAX;
    spec.design.loading.prop_stands = u32::MAX;
    spec.design.deck.fixing_pitch = Length::from_mm(-1e300);
    let fittings = fit_out(&spec, &odd, &book(&[]), &assumed, &lamps(&spec, &odd, f64::NAN));
    assert!(fittings.iter().all(|fitting| fitting.part.need.count <= 10_000.0 && fitting.places.len() <= 10_000));
}
