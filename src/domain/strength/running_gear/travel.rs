//! Static sag, bump travel that is left, what the tyre and the axle come near to, and how fast the trailer bounces.
//!
//! Metal that meets a tyre at full bump is the classic failure of a light trailer. The travel at the dynamic factor is quasi-static:
//! the wheel load times the factor, on the spring alone. Common practice, no source.

use super::{springs, wheel_kg, worst};
use crate::{
    measure::beside,
    shop::PartClass,
    strength::G,
    trailer::{BedPlace, HALF_AXLE_MM, Mudguards, PanelRole, Spec, Suspension, TYRE_TOP_CLEARANCE_MM, Trailer},
    weights::Weights,
    working::{Check, Sure, Verdict, Working},
};

/// Between tyre and frame sideways, at least (common practice, no source).
const SIDE_MM: f64 = 15.0;
/// A light trailer bounces at 1 to 4 Hz (common practice, no source).
const BOUNCE_HZ: [f64; 2] = [1.0, 4.0];

pub fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, dynamic: f64, checks: &mut Vec<Check>) {
    match springs::find(spec, trailer) {
        Ok(found) => sprung(spec, trailer, weights, dynamic, &found, checks),
        Err(missing) => {
            for (key, name) in [("gear/sag", "Static sag"), ("gear/bump", "Bump travel"), ("gear/frequency", "Bounce")]
            {
                let says = "The springs are not known well enough.";
                checks.push(Check::cannot_tell(key, name, missing.clone(), says));
            }
        }
    }
    checks.extend(damper(spec));
    checks.push(above_tyre(spec, trailer));
    checks.extend(beside_tyre(spec, trailer));
    checks.extend(above_axle(spec, trailer));
}

/// Half of what moves with the axles stays below the springs' tops: counted whole, it is unsprung. kg a wheel.
fn unsprung_kg(trailer: &Trailer, weights: &Weights) -> f64 {
    let wheels = 2.0 * trailer.layout.axles_x_mm.len().max(1) as f64;
    let moving = weights
        .items
        .iter()
        .filter(|item| item.moves_with_axle && item.body.centre[2] < trailer.layout.axle_z_mm + 100.0);
    moving.map(|item| item.body.mass_kg).sum::<f64>() / wheels
}

fn sprung(
    spec: &Spec,
    trailer: &Trailer,
    weights: &Weights,
    dynamic: f64,
    found: &springs::Found,
    checks: &mut Vec<Check>,
) {
    let (Some(empty), Some((case, loaded_kg))) = (weights.empty_case(), worst(weights, wheel_kg)) else { return };
    let unsprung = unsprung_kg(trailer, weights);
    let on_spring = |kg: f64| (kg - unsprung).max(1.0);
    let (empty_kg, full_kg) = (on_spring(wheel_kg(empty)), on_spring(loaded_kg));
    let at = |kg: f64| found.spring.travel_mm(kg * G);
    let factor = dynamic;
    let (sag_empty, sag_full, at_factor) = (at(empty_kg), at(full_kg), at(factor * full_kg));
    let bump = spec.design.running_gear.bump_travel.mm();
    let given = |working: Working| {
        working
            .given("δ_0", "travel standing empty", sag_empty, "mm")
            .given("δ_1", format!("travel standing loaded ({})", case.name), sag_full, "mm")
            .source(found.source.clone(), found.sure)
    };
    let sag = sag_full - sag_empty;
    let [sinks, stop] = beside(sag, bump, 0);
    let says = format!(
        "Empty the springs give {sag_empty:.0} mm, loaded {sag_full:.0} mm: the bed sinks {sinks} mm of the {stop} mm to the stop."
    );
    // A spring that uses half of its bump travel only to stand loaded has too little left.
    let working = given(Working::new("Static sag", "s = δ_1 − δ_0")).gives("s", sag, "mm");
    checks.push(Check::compared("gear/sag", "Static sag", sag, bump, "mm", says).in_case(&case.name).with(working));

    let needed = at_factor - sag_empty;
    let left = bump - sag;
    let [asked, has] = beside(at_factor - sag_full, left, 0);
    let says = format!(
        "Loaded, {has} mm are left to the stop; at {factor:.1} times the load the springs ask for {asked} mm.{}",
        if needed > bump {
            " Stiffer springs or more travel: else it strikes its stops, and without rubber there metal meets metal."
        } else {
            ""
        }
    );
    let working = given(Working::new("Travel from standing empty at the dynamic factor", "s_φ = δ_φ − δ_0"))
        .given("φ", "dynamic factor", factor, "")
        .given("δ_φ", "travel at the factor", at_factor, "mm")
        .gives("s_φ", needed, "mm");
    checks
        .push(Check::compared("gear/bump", "Bump travel", needed, bump, "mm", says).in_case(&case.name).with(working));

    let hz = springs::frequency_hz(found.spring.rate_n_per_mm(full_kg * G), full_kg);
    let empty_hz = springs::frequency_hz(found.spring.rate_n_per_mm(empty_kg * G), empty_kg);
    let usual = (BOUNCE_HZ[0]..=BOUNCE_HZ[1]).contains(&hz);
    let says = format!(
        "It bounces at {hz:.1} Hz loaded and {empty_hz:.1} Hz empty; 1 to 4 Hz loaded is usual (common practice, no source).{}",
        if empty_hz > 2.0 * hz { " Empty it rides hard: stow loose things." } else { "" }
    );
    let working = Working::new("Natural frequency, loaded", "f = √(k / m) / (2 π)")
        .given("k", "rate at one wheel", 1000.0 * found.spring.rate_n_per_mm(full_kg * G), "N/m")
        .given("m", "sprung mass on one wheel", full_kg, "kg")
        .gives("f", hz, "Hz")
        .source(found.source.clone(), found.sure);
    let verdict = if usual { Verdict::Holds } else { Verdict::Close };
    checks.push(Check::told("gear/frequency", "Bounce", verdict, says).in_case(&case.name).with(working));
}

/// A damper taken with the axle must allow the travel.
fn damper(spec: &Spec) -> Option<Check> {
    let gear = &spec.design.running_gear;
    if gear.suspension != Suspension::FromVehicle {
        return None;
    }
    let (key, name) = ("gear/damper", "Dampers of the axle taken");
    let (Some(open), Some(closed)) = (gear.donor.damper_open, gear.donor.damper_closed) else {
        return Some(Check::cannot_tell(
            key,
            name,
            "the length of the damper, open, and of the damper, closed",
            "Their stroke is not known.",
        ));
    };
    let (stroke, bump) = (open.mm() - closed.mm(), gear.bump_travel.mm());
    let [travel, moves] = beside(bump, stroke, 0);
    let says = format!("The dampers move {moves} mm, the bump travel is {travel} mm; what is left is for rebound.");
    let working = Working::new("Stroke of the dampers", "s = l_o − l_c")
        .given("l_o", "open", open.mm(), "mm")
        .given("l_c", "closed", closed.mm(), "mm")
        .gives("s", stroke, "mm")
        .source("as entered; a damper must never be the stop (common practice)", Sure::CommonPractice);
    Some(Check::compared(key, name, bump, stroke, "mm", says).with(working))
}

/// What is over the tyre: mudguard, wheel box or frame. The tyre comes up by the whole bump travel.
fn above_tyre(spec: &Spec, trailer: &Trailer) -> Check {
    let (key, name) = ("gear/tyre-top", "Tyre to what is above it, at full bump");
    let layout = &trailer.layout;
    if layout.tyres_meet_rails {
        let says = "The tyre meets a rail before the suspension reaches its stop. Raise the bed, move the wheels out or allow less travel.";
        return Check::told(key, name, Verdict::Fails, says);
    }
    let mut over: Vec<(&str, f64)> = Vec::new();
    for fitting in trailer.fittings.iter().filter(|fitting| fitting.class == PartClass::Mudguard) {
        over.extend(fitting.places.iter().map(|place| ("bought mudguard", place[2])));
    }
    if spec.design.fittings.mudguards == Mudguards::Made {
        let guards = trailer.panels.iter().filter(|panel| panel.role == PanelRole::Mudguard);
        over.extend(guards.map(|_| ("mudguard", layout.tyre_top_at_bump_z_mm + TYRE_TOP_CLEARANCE_MM)));
    }
    over.extend(layout.wheel_boxes.iter().map(|wheel_box| ("wheel box", wheel_box.top_z_mm)));
    if spec.design.bed.place == BedPlace::Over && layout.wheel_boxes.is_empty() {
        over.push(("bed frame", layout.frame_bottom_z_mm));
    }
    let Some((what, z)) = over.into_iter().min_by(|a, b| a.1.total_cmp(&b.1)) else {
        return Check::told(key, name, Verdict::Holds, "Nothing is above the tyres.");
    };
    let clear = z - layout.tyre_top_at_bump_z_mm;
    let says = format!(
        "At full bump the tyre comes within {clear:.0} mm of the {what}; {TYRE_TOP_CLEARANCE_MM:.0} mm should be left (common practice)."
    );
    let working = Working::new("Clearance over the tyre at full bump", "c = z − (z_a + r + s)")
        .given("z", format!("underside of the {what} above the ground"), z, "mm")
        .given("z_a", "hub above the ground", layout.axle_z_mm, "mm")
        .given("r", "rolling radius", layout.wheel_radius_mm, "mm")
        .given("s", "bump travel", spec.design.running_gear.bump_travel.mm(), "mm")
        .gives("c", clear, "mm")
        .source("geometry; 20 mm is common practice", Sure::CommonPractice);
    clearance(key, name, TYRE_TOP_CLEARANCE_MM, clear, says).of_part(what).with(working)
}

/// A clearance: what should be left over what is left; exactly enough is enough.
fn clearance(key: &str, name: &str, asked: f64, clear: f64, says: String) -> Check {
    let enough = clear + 1e-6 >= asked;
    let verdict = if enough { Verdict::Holds } else { Verdict::Fails };
    let mut check = Check::told(key, name, verdict, says);
    let asked = if enough { asked.min(clear) } else { asked };
    (check.demand, check.capacity, check.unit) = (Some(asked), Some(clear), "mm".into());
    check.usage = (clear > 0.0).then(|| asked / clear);
    check
}

fn beside_tyre(spec: &Spec, trailer: &Trailer) -> Option<Check> {
    let layout = &trailer.layout;
    if spec.design.bed.place != BedPlace::Between {
        return None;
    }
    let clear = (layout.track_mm - layout.tyre_width_mm - layout.bed_width_mm) / 2.0;
    let says =
        format!("{clear:.0} mm between tyre and bed frame; {SIDE_MM:.0} mm should be left for a leaning tyre and mud.");
    let working = Working::new("Clearance beside the tyre", "c = (s − w − b) / 2")
        .given("s", "track", layout.track_mm, "mm")
        .given("w", "tyre's width", layout.tyre_width_mm, "mm")
        .given("b", "bed's width", layout.bed_width_mm, "mm")
        .gives("c", clear, "mm")
        .source("geometry; 15 mm is common practice", Sure::CommonPractice);
    Some(clearance("gear/tyre-side", "Tyre to the frame, sideways", SIDE_MM, clear, says).with(working))
}

/// A beam comes up with the wheels; a torsion tube stays with the frame.
fn above_axle(spec: &Spec, trailer: &Trailer) -> Option<Check> {
    let gear = &spec.design.running_gear;
    if gear.suspension == Suspension::RubberTorsion {
        return None;
    }
    let clear = trailer.layout.mount_height_mm - HALF_AXLE_MM;
    let bump = gear.bump_travel.mm();
    let says = format!("The axle has {clear:.0} mm under the frame and comes up {bump:.0} mm.");
    let working = Working::new("Room over the axle", "c = h − a")
        .given("h", "frame above the hubs, standing empty", trailer.layout.mount_height_mm, "mm")
        .given("a", "half of the beam", HALF_AXLE_MM, "mm")
        .gives("c", clear, "mm")
        .source("geometry; half of the beam 30 mm is common practice", Sure::CommonPractice);
    let name = "Axle to the frame, at full bump";
    Some(clearance("gear/axle-top", name, bump, clear, says).of_part("axle").with(working))
}
