//! The deck between its cross-members: bending and sag under a load's wheels or footprint, and how closely it is fixed.

use super::{
    G,
    sheets::{self, Patch},
    wheels,
};
use crate::{
    measure::beside,
    trailer::{DeckFixing, Load, Spec, Trailer},
    working::{Check, Sure, Verdict, Working},
};

/// Sag over the span (from memory, building practice L/200 to L/360; a trailer's deck may give more before it matters).
const SAG_SHARE: f64 = 1.0 / 100.0;
/// Between fixings at most (common practice, no source).
const FIXING_MM: f64 = 300.0;

pub fn check(spec: &Spec, trailer: &Trailer, dynamic: f64, checks: &mut Vec<Check>) {
    let (key, name) = ("strength/deck", "Deck between cross-members");
    let deck = &spec.design.deck;
    let Some(span_mm) = clear_span_mm(spec, trailer) else { return };
    checks.extend(fixing(spec));
    if spec.need.loads.is_empty() {
        return;
    }
    let Some(strength) = sheets::strength(deck.material) else {
        let says = format!("What {} bears is its mesh's, which the rate book does not state.", deck.material.label());
        checks.push(
            Check::cannot_tell(
                key,
                name,
                format!("the strength of {}: ask its maker, or choose another deck", deck.material.label()),
                says,
            )
            .of_part("deck"),
        );
        return;
    };
    let (factor, thickness) = (dynamic, deck.thickness.mm());
    let allowed = strength.strength_mpa / spec.design.factors.service_divisor;
    let stressed = |load: &Load| {
        let pressed = Pressed::of(load, factor, span_mm, trailer.layout.bed_width_mm);
        let stress = pressed.moment_nmm / (strength.modulus * pressed.bearing_mm * thickness * thickness).max(1e-9);
        (pressed, stress)
    };
    let Some((load, (pressed, stress))) =
        spec.need.loads.iter().map(|load| (load, stressed(load))).max_by(|a, b| a.1.1.total_cmp(&b.1.1))
    else {
        return;
    };
    let [shown, most] = beside(stress, allowed, 0);
    let says = format!(
        "{} on {thickness:.0} mm of {} over {span_mm:.0} mm: {shown} MPa of {most} MPa under {}.{}",
        load.name,
        deck.material.label(),
        pressed.what,
        if stress > allowed { " Thicker, or cross-members closer together, or planks under its wheels." } else { "" }
    );
    let working = Working::new("Bending of the deck", "σ = M / (f b t²)")
        .given("F", format!("{} × {factor:.1}", pressed.what), pressed.force_n, "N")
        .given("s", "clear between cross-members", span_mm, "mm")
        .given("M", "moment", pressed.moment_nmm / 1000.0, "N·m")
        .given("f", "1/6 elastic, 1/4 for a metal plate that yields through", strength.modulus, "")
        .given("b", "width that carries", pressed.bearing_mm, "mm")
        .given("t", "thickness", thickness, "mm")
        .given(
            "f_d",
            format!("{:.0} MPa over {:.2}", strength.strength_mpa, spec.design.factors.service_divisor),
            allowed,
            "MPa",
        )
        .gives("σ", stress, "MPa")
        .source(format!("statics; {}; the width that carries is common practice", strength.source), strength.sure);
    checks.push(
        Check::compared(key, name, stress, allowed, "MPa", says)
            .in_case(load.name.clone())
            .of_part("deck")
            .with(working),
    );

    let sag = pressed.sag_mm(strength.e_mpa, thickness, factor);
    let most = SAG_SHARE * span_mm;
    let [sags, usual] = beside(sag, most, 1);
    let says = format!("It sags {sags} mm under {} standing still; {usual} mm is usual.", pressed.what);
    let working = Working::new("Sag of the deck", "δ = F s³ / (48 E I)")
        .given("F", "standing still", pressed.force_n / factor, "N")
        .given("s", "clear between cross-members", span_mm, "mm")
        .given("E", "modulus", strength.e_mpa, "MPa")
        .gives("δ", sag, "mm")
        .source("statics; the limit of 1/100 of the span is common practice, no source", Sure::CommonPractice);
    let mut check = Check::compared("strength/deck-sag", "Sag of the deck", sag, most, "mm", says)
        .in_case(load.name.clone())
        .of_part("deck")
        .with(working);
    // A soft deck is a nuisance, no danger.
    if check.verdict == Verdict::Fails {
        check.verdict = Verdict::Close;
    }
    checks.push(check);
}

/// The widest gap between neighbouring cross-members or rails, less their width.
fn clear_span_mm(spec: &Spec, trailer: &Trailer) -> Option<f64> {
    let (layout, frame) = (&trailer.layout, &spec.design.frame);
    let end = frame.end_rail.width_mm() / 2.0;
    let mut stations = vec![layout.bed_front_x_mm + end];
    stations.extend(&layout.cross_member_x_mm);
    stations.push(layout.bed_rear_x_mm - end);
    let gap = stations.windows(2).map(|pair| pair[1] - pair[0]).reduce(f64::max)?;
    Some((gap - frame.cross_member.width_mm()).max(10.0))
}

struct Pressed {
    what: String,
    force_n: f64,
    moment_nmm: f64,
    bearing_mm: f64,
    patch: Option<Patch>,
}

impl Pressed {
    fn of(load: &Load, factor: f64, span_mm: f64, bed_width_mm: f64) -> Self {
        if let Some(wheel) = wheels::heaviest(load) {
            let force_n = wheel.kg * G * factor;
            let patch = Patch { force_n, span_mm, contact_mm: wheel.contact_mm, width_mm: wheel.width_mm };
            let what = format!("a wheel of {:.0} kg", wheel.kg);
            let (moment_nmm, bearing_mm) = (patch.moment_nmm(), patch.bearing_mm(bed_width_mm));
            return Self { what, force_n, moment_nmm, bearing_mm, patch: Some(patch) };
        }
        // Spread over its footprint: q s² / 8 on a strip as wide as the load; a load shorter than the span presses as a patch.
        let (length, width) = (load.length.mm().max(1.0), load.width.mm().max(1.0));
        let force_n = load.mass.kg() * G * factor * (span_mm / length).min(1.0);
        let patch = Patch { force_n, span_mm, contact_mm: length.min(span_mm), width_mm: width };
        Self {
            what: format!("{:.0} kg spread on {length:.0} × {width:.0} mm", load.mass.kg()),
            force_n,
            moment_nmm: patch.moment_nmm(),
            bearing_mm: width.min(bed_width_mm),
            patch: None,
        }
    }

    /// Standing still: a wheel in the middle, or 5/8 of that when spread over the span.
    fn sag_mm(&self, e_mpa: f64, thickness_mm: f64, factor: f64) -> f64 {
        let still = self.force_n / factor;
        let inertia = self.bearing_mm * thickness_mm.powi(3) / 12.0;
        match self.patch {
            Some(patch) => Patch { force_n: still, ..patch }.deflection_mm(e_mpa, self.bearing_mm, thickness_mm),
            None => {
                let span = self.moment_nmm * 8.0 / self.force_n.max(1e-9);
                5.0 * still * span.powi(3) / (384.0 * e_mpa * inertia)
            }
        }
    }
}

fn fixing(spec: &Spec) -> Option<Check> {
    let deck = &spec.design.deck;
    if deck.fixing == DeckFixing::Welded {
        return None;
    }
    let pitch = deck.fixing_pitch.mm();
    let says = format!(
        "The deck is {} every {pitch:.0} mm; {FIXING_MM:.0} mm is usual at most (common practice, no source).",
        deck.fixing.label()
    );
    let verdict = if pitch <= FIXING_MM { Verdict::Holds } else { Verdict::Close };
    let mut check = Check::told("strength/deck-fixing", "Fixing of the deck", verdict, says).of_part("deck");
    (check.demand, check.capacity, check.unit) = (Some(pitch), Some(FIXING_MM), "mm".into());
    Some(check)
}
