use super::*;
use crate::{
    shop::{Attribute, RateBook},
    trailer::{
        Assumed,
        fit_out::{fit_out, lamps},
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
        axles_x_mm: vec![2640.0],
        track_mm: 1517.0,
        axle_z_mm: 276.0,
        overall_length_mm: 3660.0,
        overall_width_mm: 1674.0,
        ..Layout::default()
    }
}

const ASSUMED: Assumed = Assumed::guess(750.0, 80.0, 2640.0, 1);

fn fittings(spec: &Spec, layout: &Layout) -> Vec<Fitting> {
    let nothing = RateBook { day: "2026-01-01".parse().expect("a day"), items: Vec::new() };
    fit_out(spec, layout, &nothing, &ASSUMED, &lamps(spec, layout, ASSUMED.gross_kg))
}

fn wire(spec: &Spec, layout: &Layout) -> Harness {
    Harness::of(spec, layout, &fittings(spec, layout))
}

fn near(harness: &Harness, name: &str, cores: u32, mm: f64) {
    let run = harness.runs.iter().find(|run| run.name == name).unwrap_or_else(|| panic!("{name}: {:#?}", harness.runs));
    assert_eq!(run.cores, cores, "{name}");
    assert!((run.length_mm - mm).abs() < 0.01, "{name}: {} against {mm}", run.length_mm);
}

/// By hand: tail 1250 + to the junction box at 3500, 10 % more; rear lamp 100 + 570 + 30 + 200, 10 % more; brakes: tail 1250 + axle at 2640, then
/// half the track 758.5 + 154 down + 200.
#[test]
fn runs_go_along_the_frame_with_a_tenth_to_spare() {
    let mut spec = Spec::default();
    let harness = wire(&spec, &layout());
    near(&harness, "plug to junction box", 7, 1.1 * (1250.0 + 3500.0));
    near(&harness, "rear lamp cluster left", 4, 1.1 * (100.0 + 570.0 + 30.0 + 200.0));
    assert!(harness.runs.iter().all(|run| !run.name.contains("reflector")));
    spec.design.drawbar.telescopic = true;
    near(&wire(&spec, &layout()), "plug to junction box", 7, 1.1 * (1250.0 + 3500.0 + 200.0));
    spec.design.drawbar.telescopic = false;
    spec.design.running_gear.brakes = Brakes::Electric;
    let braked = wire(&spec, &layout());
    near(&braked, "plug to brakes", 2, 1.1 * (1250.0 + 2640.0));
    near(&braked, "brake, axle 1 left", 2, 1.1 * (758.5 + 154.0 + 200.0));
}

#[test]
fn an_odd_layout_gives_no_odd_lengths() {
    let odd = Layout { bed_rear_x_mm: f64::NAN, bed_width_mm: f64::INFINITY, ..layout() };
    assert!(wire(&Spec::default(), &odd).runs.iter().all(|run| run.length_mm.is_finite()));
}

/// Cores follow what is used, not the ways of the plug: six circuits and an earth, with reverse one more.
#[test]
fn a_core_for_each_circuit_and_each_earth() {
    let mut spec = Spec::default();
    spec.design.electrics.connector = Connector::Thirteen;
    assert_eq!(wire(&spec, &layout()).runs[0].cores, 7);
    spec.design.electrics.reverse_lamps = true;
    assert_eq!(wire(&spec, &layout()).runs[0].cores, 8);
    // The permanent supply of 13 ways has an earth of its own.
    spec.design.electrics.work_lamp = true;
    assert_eq!(wire(&spec, &layout()).runs[0].cores, 10);
    // 12N has no pin for either.
    spec.design.electrics.connector = Connector::Seven;
    let seven = wire(&spec, &layout());
    assert_eq!(seven.runs[0].cores, 7);
    let without: Vec<_> = seven.circuits.iter().filter(|circuit| circuit.pin.is_none()).map(Circuit::words).collect();
    assert_eq!(without, ["reverse", "permanent supply"]);
    // The United States: tail, left and right with their stops, earth.
    spec = Spec::default();
    spec.need.usage.region = "us-tx".into();
    spec.design.electrics.fog_lamp = false;
    let states = wire(&spec, &layout());
    assert_eq!(states.runs[0].cores, 4);
    near(&states, "rear lamp cluster left", 3, 1.1 * (100.0 + 570.0 + 30.0 + 200.0));
}

/// By hand, with filament lamps in Great Britain. At the plug 5.225 m; a cluster 0.99 m. Stop: 2 × 21 W = 3.5 A out; back with one turn
/// (1.75 A), both tails (left 5 W, right 5 W and the plate lamp's 5 W), so 3.5 + 1.75 + 1.25 = 6.5 A; in the branch 1.75 A out and
/// 1.75 + 1.75 + 0.4167 A back. At 0.02 Ω mm²/m, 1.5 mm² (earth 2.5 mm²) and 1 mm²:
/// 0.02 × (5.225 × 3.5 / 1.5 + 5.225 × 6.5 / 2.5 + 0.99 × 1.75 + 0.99 × 3.9167) = 0.62773 V.
#[test]
fn the_voltage_that_the_stop_lamps_lose() {
    let spec = Spec::default();
    let harness = wire(&spec, &layout());
    let stop = harness.circuits.iter().position(|circuit| circuit.words() == "stop").expect("a stop circuit");
    assert!((harness.circuit_amps(stop) - 3.5).abs() < 1e-9);
    let plates = harness.runs.iter().filter(|run| run.name.starts_with("number-plate")).count();
    assert_eq!(plates, 1);
    let front = harness.runs.iter().filter(|run| run.name.starts_with("front position")).count() as f64;
    let back = 6.5 + front * 5.0 / 12.0;
    assert!((harness.earth_amps(stop) - back).abs() < 1e-9, "{} {front}", harness.earth_amps(stop));
    let areas = |cable| match cable {
        Cable::Plug => Some(CoreArea { core_mm2: 1.5, earth_mm2: 2.5 }),
        _ => Some(CoreArea::equal(1.0)),
    };
    let lost = harness.farthest(stop, &areas).expect("a drop").volts();
    let by_hand = 0.02 * (5.225 * 3.5 / 1.5 + 5.225 * back / 2.5 + 0.99 * 1.75 + 0.99 * (1.75 + 1.75 + 5.0 / 12.0));
    assert!((lost - by_hand).abs() < 1e-9, "{lost} against {by_hand}");
    assert!(lost > LOST_SHARE * VOLTS, "the cable of the standard is too thin for filament lamps at this length");
    let needed = harness.needed();
    assert!(needed.plug.core_mm2 > 1.5 || needed.plug.earth_mm2 > 2.5, "{needed:?}");
}

/// Copper has 0.017241 Ω mm²/m at 20 °C and 0.00393 of that more a kelvin (IEC 60028). IEC 60228, class 5, at 20 °C: mm² and Ω/km (from
/// memory; each lies within a tenth of copper and a tenth for stranding, which bounds a slip).
#[test]
fn the_resistivity_is_that_of_warm_copper_and_of_flexible_cores() {
    let warm = 0.017_241 * (1.0 + 0.00393 * 40.0);
    assert!((RESISTIVITY - warm).abs() < 0.0001, "{warm}");
    for (mm2, ohm_per_km) in
        [(0.75, 26.0), (1.0, 19.5), (1.5, 13.3), (2.5, 7.98), (4.0, 4.95), (6.0, 3.30), (10.0, 1.91)]
    {
        let own: f64 = ohm_per_km * mm2 / 1000.0;
        assert!(own <= RESISTIVITY && own > 0.95 * RESISTIVITY, "{mm2}: {own}");
        assert!(own / 0.017_241 > 1.0 && own / 0.017_241 < 1.21, "{mm2}: {own}");
    }
}

/// Two axles with 3 A a magnet: 12 A over 1.1 × (1250 + 3020) = 4.697 m and back, then 3 A over 1.1 × 1112.5 mm and back:
/// 0.02 × 2 × (4.697 × 12 + 1.22375 × 3) / A ≤ 0.6 V asks for 4.003 mm², so for the next area, 6 mm².
#[test]
fn brakes_have_a_cable_of_their_own() {
    let mut spec = Spec::default();
    spec.design.running_gear.brakes = Brakes::Electric;
    let two = Layout { axles_x_mm: vec![2260.0, 3020.0], ..layout() };
    let harness = wire(&spec, &two);
    let brakes = harness.circuits.iter().position(|circuit| circuit.feeds(Duty::Brakes)).expect("a circuit");
    assert!(harness.circuits[brakes].pin.is_none(), "12N has no pin for brakes");
    assert!((harness.circuit_amps(brakes) - 12.0).abs() < 1e-9);
    let by_hand = 0.02 * 2.0 * (4.697 * 12.0 + 1.22375 * 3.0) / 6.0;
    let lost = harness.farthest(brakes, &|_| Some(CoreArea::equal(6.0))).expect("a drop").volts();
    assert!((lost - by_hand).abs() < 1e-9, "{lost} against {by_hand}");
    assert_eq!(harness.needed().brakes_mm2, 6.0);
    assert!(
        !harness.runs.iter().any(|run| run.name.contains("battery"))
            || harness.circuits.iter().any(|c| c.feeds(Duty::Charge))
    );
}

#[test]
fn a_lamp_draws_what_the_rate_book_says_else_a_usual_figure() {
    let spec = Spec::default();
    let mut fittings = fittings(&spec, &layout());
    let fog = fittings.iter_mut().find(|fitting| fitting.class == PartClass::FogLamp).expect("a fog lamp");
    assert!(draws(fog).iter().all(|draw| !draw.is_known && draw.watts == 21.0));
    for (watts, known, drawn) in [(3.0, true, 3.0), (-4.0, false, 21.0), (f64::NAN, false, 21.0)] {
        let mut item = item();
        item.attributes.insert("watts".into(), Attribute::Figure(watts));
        fog.part.item = Some(item);
        let draw = draws(fog)[0];
        assert_eq!((draw.is_known, draw.watts, draw.amps), (known, drawn, drawn / 12.0));
    }
}

fn item() -> crate::shop::PartItem {
    crate::shop::PartItem {
        code: "FL".into(),
        name: "fog".into(),
        mass_kg: 0.1,
        price: crate::measure::Money::default(),
        minutes: None,
        attributes: Default::default(),
    }
}
