//! The telescopic drawbar's pin and overlap, and the bolts that hold the coupling, under the test loads of a towing part.
//!
//! Test loads (1.5, 0.5 and 0.5 times the weight of the gross mass along, across and upright, one at a time, no permanent set): ADR 62 as
//! quoted, read second hand. Pin and bolt resistances: EN 1993-1-8, from memory.

use super::G;
use crate::{
    measure::beside,
    trailer::{Spec, Telescope, Trailer},
    weights::Weights,
    working::{Check, Sure, Working},
};

/// Share of the weight in the test along, and across or upright.
const TEST_ALONG: f64 = 1.5;
const TEST_ACROSS: f64 = 0.5;
/// Overlap at the longest pin: 2.5 times the outer's depth, at least 300 mm (common practice, no source).
const OVERLAP: f64 = 2.5;
const LEAST_OVERLAP_MM: f64 = 300.0;
/// Pins of unknown steel are taken as mild steel.
const PIN_FY_MPA: f64 = 235.0;
/// Stress area of M12, mm², and tensile strength of class 8.8, MPa (from memory).
const M12_MM2: f64 = 84.3;
const CLASS_8_8_FU_MPA: f64 = 800.0;
const GAMMA_M2: f64 = 1.25;

/// Test loads along, across and upright, N, for a gross mass. Source: ADR 62 clause 12.3.2.1 as quoted, read second hand.
pub fn test_loads_n(gross_kg: f64) -> [f64; 3] {
    [TEST_ALONG, TEST_ACROSS, TEST_ACROSS].map(|share| share * G * gross_kg)
}

pub fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) {
    let [along, across, _] = test_loads_n(weights.gross_kg);
    if let Some(telescope) = &trailer.layout.drawbar.telescope {
        checks.push(pin(spec, along));
        checks.push(bearing(spec, along));
        checks.push(edge(spec, telescope, along));
        checks.push(overlap(spec, telescope));
    }
    checks.extend(bolts(spec, trailer, along, across));
}

const CASE: &str = "test load along, 1.5 × the gross mass's weight";
const PIN_SOURCE: &str = "EN 1993-1-8 table 3.10, from memory; test loads: ADR 62 as quoted, read second hand";

fn pin(spec: &Spec, force: f64) -> Check {
    let diameter = spec.design.drawbar.pin_diameter.mm();
    let area = std::f64::consts::PI * diameter * diameter / 4.0;
    let (stress, allowed) = (force / (2.0 * area), PIN_FY_MPA / 3f64.sqrt() / spec.design.factors.test_divisor);
    let [shown, most] = beside(stress, allowed, 0);
    let says = format!(
        "The pin of {diameter:.0} mm bears {:.1} kN in double shear: {shown} MPa of {most} MPa.",
        force / 1000.0
    );
    let working = Working::new("Pin in double shear", "τ = F / (2 A)")
        .given("F", "along the drawbar", force, "N")
        .given("A", "of the pin", area, "mm²")
        .given("τ_d", "mild steel's yield in shear over the divisor", allowed, "MPa")
        .gives("τ", stress, "MPa")
        .source(PIN_SOURCE, Sure::Memory);
    Check::compared("strength/pin-shear", "Drawbar pin in shear", stress, allowed, "MPa", says)
        .in_case(CASE)
        .of_part("drawbar pin")
        .with(working)
}

/// The thinner wall of inner and outer, two walls bear.
fn bearing(spec: &Spec, force: f64) -> Check {
    let drawbar = &spec.design.drawbar;
    let (diameter, wall) = (drawbar.pin_diameter.mm(), drawbar.section.wall_mm().min(drawbar.inner_section.wall_mm()));
    let stress = force / (2.0 * diameter * wall).max(1e-9);
    let allowed = 1.5 * drawbar.grade.fy_mpa(wall) / spec.design.factors.test_divisor;
    let [shown, most] = beside(stress, allowed, 0);
    let says = format!(
        "The pin presses {shown} MPa on walls of {wall:.0} mm, of {most} MPa.{}",
        if stress > allowed { " A thicker pin, or plates on the outside." } else { "" }
    );
    let working = Working::new("Bearing of the pin", "σ = F / (2 d t)")
        .given("F", "along the drawbar", force, "N")
        .given("d", "diameter", diameter, "mm")
        .given("t", "thinner wall", wall, "mm")
        .given("σ_d", "1.5 times yield over the divisor", allowed, "MPa")
        .gives("σ", stress, "MPa")
        .source(PIN_SOURCE, Sure::Memory);
    Check::compared("strength/pin-bearing", "Drawbar pin in its holes", stress, allowed, "MPa", says)
        .in_case(CASE)
        .of_part("drawbar tube")
        .with(working)
}

/// From a hole to the tube's end: a = F / (2 t f_y) + 2 d / 3 for two walls.
fn edge(spec: &Spec, telescope: &Telescope, force: f64) -> Check {
    let drawbar = &spec.design.drawbar;
    let wall = drawbar.section.wall_mm().min(drawbar.inner_section.wall_mm());
    let hole = drawbar.pin_diameter.mm() + 0.5;
    let needs = force / 2.0 / (2.0 * wall * drawbar.grade.fy_mpa(wall)).max(1e-9) + 2.0 * hole / 3.0;
    let out = telescope.pin_steps_mm.last().copied().unwrap_or(0.0);
    let inner_end = telescope.inner_to_x_mm - (telescope.pin_x_mm + out);
    let outer_end = telescope.pin_x_mm - telescope.outer_from_x_mm;
    let has = inner_end.min(outer_end) - hole / 2.0;
    let [asked, left] = beside(needs, has, 0);
    let says = format!("From the pin hole to the tube's end {left} mm are left, {asked} mm are needed.");
    let working = Working::new("Edge distance of the pin holes", "a = F / (4 t f_y) + 2 d / 3")
        .given("F", "along the drawbar", force, "N")
        .given("t", "thinner wall", wall, "mm")
        .given("f_y", "yield strength", drawbar.grade.fy_mpa(wall), "MPa")
        .given("d", "hole", hole, "mm")
        .gives("a", needs, "mm")
        .source("EN 1993-1-8 table 3.9, type A, from memory", Sure::Memory);
    Check::compared("strength/pin-edge", "Edge distance of the pin holes", needs, has, "mm", says)
        .in_case(CASE)
        .of_part("drawbar tube")
        .with(working)
}

fn overlap(spec: &Spec, telescope: &Telescope) -> Check {
    let depth = spec.design.drawbar.section.depth_mm();
    let (needs, has) = ((OVERLAP * depth).max(LEAST_OVERLAP_MM), telescope.overlap_out_mm);
    // The tool lays out exactly this overlap: enough is enough, whatever the last digits of a double are.
    let is_enough = needs <= has + 1e-6;
    let needs = if is_enough { needs.min(has) } else { needs };
    let [asked, stays] = beside(needs, has, 0);
    let says = format!("At its longest pin the inner tube stays {stays} mm in the outer; {asked} mm are asked.");
    let working = Working::new("Overlap at the longest pin", "l = max(2.5 h, 300)")
        .given("h", "depth of the outer tube", depth, "mm")
        .gives("l", needs, "mm")
        .source("common practice, no source", Sure::CommonPractice);
    let mut check = Check::compared("strength/overlap", "Overlap of the telescopic drawbar", needs, has, "mm", says)
        .in_case("longest pin")
        .of_part("telescopic inner tube")
        .with(working);
    if is_enough {
        check.verdict = crate::working::Verdict::Holds;
    }
    check
}

/// Four bolts through the coupling share the pull along; a coupling raised on its plate also tilts on them.
fn bolts(spec: &Spec, trailer: &Trailer, along: f64, across: f64) -> Option<Check> {
    let fitting = trailer.fittings.iter().find(|fitting| fitting.part.need.key == "bolts-coupling")?;
    let count = fitting.part.need.count.max(1.0);
    let class = fitting.part.item.as_ref().and_then(|item| item.figure("class")).unwrap_or(0.0);
    let (key, name) = ("strength/coupling-bolts", "Bolts of the coupling");
    if fitting.part.item.is_none() || class < 8.0 {
        return Some(Check::cannot_tell(
            key,
            name,
            "bolts with a strength class in the rate book",
            "The bolts' strength class is not known.",
        ));
    }
    let shear = along.max(across) / count;
    let bears = 0.6 * CLASS_8_8_FU_MPA * M12_MM2 / GAMMA_M2 / spec.design.factors.test_divisor;
    let [shown, most] = beside(shear / 1000.0, bears / 1000.0, 1);
    let says = format!("{count:.0} bolts M12 of class 8.8 bear {shown} kN each in shear of {most} kN.");
    let working = Working::new("Shear on one bolt", "F_v = F / n")
        .given("F", "along the drawbar", along, "N")
        .given("n", "bolts", count, "")
        .given("A_s", "stress area", M12_MM2, "mm²")
        .given("F_d", "0.6 of the tensile strength on the stress area over 1.25", bears, "N")
        .gives("F_v", shear, "N")
        .source("EN 1993-1-8 table 3.4, from memory; test loads: ADR 62 as quoted, read second hand", Sure::Memory);
    Some(Check::compared(key, name, shear, bears, "N", says).in_case(CASE).of_part("coupling bolts").with(working))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: ADR 62 clause 12.3.2.1 as quoted (aulro.com), values computed: gross mass, along, across.
    #[test]
    fn test_loads_of_a_towing_part() {
        for (kg, along, across) in [
            (750.0, 11_036.0, 3679.0),
            (1300.0, 19_130.0, 6376.0),
            (2000.0, 29_430.0, 9810.0),
            (3500.0, 51_502.0, 17_168.0),
        ] {
            let [x, y, z] = test_loads_n(kg);
            assert!(
                (x - along).abs() < 1.0 && (y - across).abs() < 1.0 && (z - across).abs() < 1.0,
                "{kg} kg: {x}, {y}"
            );
        }
    }
}
