//! Cable runs: from the plug along drawbar and bed to the junction box, and from there to every lamp and brake.
//!
//! Plug tail 1.25 m, 10 % more for bends and ends: common practice, no source (1.0 to 1.5 m and 10 % are usual).

use super::{
    Brakes, CableRun, Connector, Layout, Point, Spec,
    fit_out::{LampNeed, lamp_points},
};
use crate::domain::shop::PartClass;

const PLUG_TAIL_MM: f64 = 1250.0;
/// From a run to the lamp's terminals.
const LAMP_TAIL_MM: f64 = 200.0;
const SPARE: f64 = 1.10;

/// Ways of a plug: cores of its cable.
pub fn ways(connector: Connector) -> u32 {
    match connector {
        Connector::Five => 5,
        Connector::Seven => 7,
        Connector::Thirteen => 13,
    }
}

/// The junction box sits at the middle of the rear, under the frame.
pub fn junction(layout: &Layout) -> Point {
    [layout.bed_rear_x_mm - 100.0, 0.0, layout.frame_bottom_z_mm]
}

/// All runs, with these lamps.
pub fn runs_to(spec: &Spec, layout: &Layout, lamps: &[LampNeed]) -> Vec<CableRun> {
    let from = junction(layout);
    let travel = if spec.design.drawbar.telescopic { spec.design.drawbar.travel.mm() } else { 0.0 };
    let rise = (layout.frame_bottom_z_mm - layout.coupling_height_mm).abs();
    let mut runs = vec![run(
        "plug to junction box",
        ways(spec.design.electrics.connector),
        PLUG_TAIL_MM + from[0] + rise + travel,
    )];
    for lamp in lamps.iter().filter(|lamp| lamp.class != PartClass::Reflector) {
        let cores = if lamp.class == PartClass::RearLamp { 4 } else { 2 };
        for point in lamp_points(lamp.place, layout) {
            let side = match point[1] {
                left if left < 0.0 => " left",
                right if right > 0.0 => " right",
                _ => "",
            };
            runs.push(run(&format!("{}{side}", lamp.class.label()), cores, away(from, point) + LAMP_TAIL_MM));
        }
    }
    if spec.design.running_gear.brakes == Brakes::Electric {
        let half = layout.track_mm / 2.0;
        for (at, &x) in layout.axles_x_mm.iter().enumerate() {
            // Along the frame to the axle, then to both wheels.
            let length = away(from, [x, 0.0, layout.axle_z_mm]) + 2.0 * half + 2.0 * LAMP_TAIL_MM;
            runs.push(run(&format!("brakes, axle {}", at + 1), 2, length));
        }
    }
    runs
}

/// Along the frame, not across it.
fn away(from: Point, to: Point) -> f64 {
    (0..3).map(|axis| (to[axis] - from[axis]).abs()).sum()
}

fn run(name: &str, cores: u32, bare_mm: f64) -> CableRun {
    let length_mm = if bare_mm.is_finite() { bare_mm.max(0.0) * SPARE } else { 0.0 };
    CableRun { name: name.into(), cores, length_mm }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::trailer::fit_out::lamps;

    fn wire(spec: &Spec, layout: &Layout) -> Vec<CableRun> {
        runs_to(spec, layout, &lamps(spec, layout, 750.0))
    }

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

    /// By hand: tail 1250 + to the junction box at 3500, 10 % more; rear lamp 100 + 570 + 30 + 200, 10 % more.
    #[test]
    fn runs_go_along_the_frame_with_a_tenth_to_spare() {
        let mut spec = Spec::default();
        let runs = wire(&spec, &layout());
        let length = |name: &str| runs.iter().find(|run| run.name == name).map(|run| (run.cores, run.length_mm));
        let near = |found: Option<(u32, f64)>, cores, mm: f64| {
            let (found, length) = found.expect("the run");
            assert_eq!(found, cores);
            assert!((length - mm).abs() < 0.01, "{length} against {mm}");
        };
        near(length("plug to junction box"), 7, 1.1 * (1250.0 + 3500.0));
        near(length("rear lamp cluster left"), 4, 1.1 * (100.0 + 570.0 + 30.0 + 200.0));
        assert!(runs.iter().all(|run| !run.name.contains("reflector")));
        spec.design.drawbar.telescopic = true;
        near(wire(&spec, &layout()).first().map(|run| (run.cores, run.length_mm)), 7, 1.1 * (1250.0 + 3500.0 + 200.0));
        spec.design.running_gear.brakes = Brakes::Electric;
        assert!(wire(&spec, &layout()).iter().any(|run| run.name == "brakes, axle 1"));
    }

    #[test]
    fn an_odd_layout_gives_no_odd_lengths() {
        let odd = Layout { bed_rear_x_mm: f64::NAN, bed_width_mm: f64::INFINITY, ..layout() };
        assert!(wire(&Spec::default(), &odd).iter().all(|run| run.length_mm.is_finite()));
    }
}
