//! The ramp: how steep it lies, what its stiles, rungs and sheet bear under a machine's wheels, where it hooks on, and whether
//! the machine clears its crest and fits its width.

use super::{
    G,
    sheets::{self, Patch},
    wheels::{self, Wheel},
};
use crate::{
    measure::beside,
    shop::PartClass,
    strength::restraint::friction,
    trailer::{Load, RampForm, Spec, Trailer},
    working::{Check, Sure, Verdict, Working},
};

/// Steepest ramp that small machines are usually driven up (from memory; the machine's own limit decides).
const RAMP_DEG: f64 = 20.0;
/// A driven wheel thrusts its ramp rearwards with at most this share of its load (from memory: rubber on dry metal).
const GRIP: f64 = 0.6;
/// Pins in the lugs of a loose ramp (the lugs' holes are 13 mm), of mild steel, in single shear.
const LUG_PIN_MM: f64 = 12.0;
const MILD_FU_MPA: f64 = 360.0;

/// θ = asin(h / l), degrees. Source: geometry.
pub fn angle_deg(height_mm: f64, length_mm: f64) -> f64 {
    (height_mm / length_mm.max(1.0)).clamp(-1.0, 1.0).asin().to_degrees()
}

/// Clearance that a wheelbase needs over the crest, mm: (w / 2) tan(θ / 2). Source: geometry, axles evenly about the crest.
pub fn crest_mm(wheelbase_mm: f64, angle_deg: f64) -> f64 {
    wheelbase_mm / 2.0 * (angle_deg.to_radians() / 2.0).tan()
}

/// Moment of a wheel in the middle of a track, N·mm: F l cos θ / 4.
pub fn track_moment_nmm(force_n: f64, length_mm: f64, angle_deg: f64) -> f64 {
    force_n * length_mm * angle_deg.to_radians().cos() / 4.0
}

pub fn check(spec: &Spec, trailer: &Trailer, checks: &mut Vec<Check>) {
    if spec.design.loading.ramp == RampForm::None {
        return;
    }
    let angle = angle_deg(trailer.layout.deck_top_z_mm, spec.design.loading.ramp_length.mm());
    checks.push(steepness(spec, trailer, angle));
    let ramp = Ramp { spec, trailer, angle };
    let rolling: Vec<(&Load, Wheel)> =
        spec.need.loads.iter().filter_map(|load| Some((load, wheels::heaviest(load)?))).collect();
    let Some((load, wheel)) = rolling.iter().max_by(|a, b| a.1.kg.total_cmp(&b.1.kg)) else {
        let says = "No load is on wheels of its own: what rolls over the ramp is not known.";
        checks.push(Check::cannot_tell(
            "strength/ramp-stile",
            "Ramp stiles",
            "a load on wheels: its kind of load, wheelbase and track",
            says,
        ));
        return;
    };
    checks.push(ramp.stile(load, *wheel));
    checks.push(ramp.rung(load, *wheel));
    checks.push(ramp.sheet(load, *wheel));
    checks.push(ramp.hook(load, *wheel));
    checks.extend(rolling.iter().map(|(load, _)| ramp.crest(load)));
    checks.extend(rolling.iter().map(|(load, wheel)| ramp.path(load, *wheel)));
}

/// The machine with the least gradeability governs.
fn steepness(spec: &Spec, trailer: &Trailer, angle: f64) -> Check {
    let stated = spec.need.loads.iter().filter_map(|load| Some((load.steepest_deg?, load)));
    let governs = stated.min_by(|a, b| a.0.total_cmp(&b.0));
    let most = governs.map_or(RAMP_DEG, |(deg, _)| deg);
    let [lies, limit] = beside(angle, most, 1);
    let because = match governs {
        Some((_, load)) => format!("{} may go up {limit}°", load.name),
        None => format!("{limit}° is usual for small machines, the machine's own limit decides"),
    };
    let (height, length) = (trailer.layout.deck_top_z_mm, spec.design.loading.ramp_length.mm());
    let says = format!("The ramp lies at {lies}° on level ground; {because}.");
    let (source, sure) = match governs {
        Some(_) => ("geometry; the machine's limit as entered", Sure::Shop),
        None => ("geometry; 20° is from memory, the machine's own limit decides", Sure::Memory),
    };
    let working = Working::new("Ramp angle", "θ = asin(h / l)")
        .given("h", "deck above level ground, empty", height, "mm")
        .given("l", "ramp length", length, "mm")
        .gives("θ", angle, "°")
        .source(source, sure);
    let check =
        Check::compared("loading/ramp-angle", "Ramp angle", angle, most, "°", says).with(working).of_part("ramp");
    match governs {
        Some((_, load)) => check.in_case(load.name.clone()),
        None => check,
    }
}

struct Ramp<'a> {
    spec: &'a Spec,
    trailer: &'a Trailer,
    angle: f64,
}

impl Ramp<'_> {
    fn allowed_mpa(&self, wall_mm: f64) -> f64 {
        self.spec.design.loading.ramp_grade.fy_mpa(wall_mm) / self.spec.design.factors.service_divisor
    }

    /// Whether both wheels of an axle run on this one ramp; else each has a ramp of its own, or it is a machine in line.
    fn both_abreast(&self, load: &Load, wheel: Wheel) -> bool {
        let track = load.track.map_or(load.width.mm(), |track| track.mm());
        wheel.abreast > 1.0 && track <= self.spec.design.loading.ramp_width.mm()
    }

    /// Climbing, the rear wheels take more: the mass shifts by m h sin θ / w. On a track for both wheels one stile bears one of them; a machine in line
    /// stands between the stiles. Where its wheelbase is not given, half of its length: on the safe side.
    fn climbing_kg(&self, load: &Load, wheel: Wheel) -> f64 {
        let height = load.centre_height.map_or(load.height.mm() / 2.0, |height| height.mm());
        let base = load.wheelbase.map_or(load.length.mm() / 2.0, |base| base.mm()).max(1.0);
        wheel.kg + load.mass.kg() * height * self.angle.to_radians().sin() / base / wheel.abreast
    }

    fn stile(&self, load: &Load, wheel: Wheel) -> Check {
        let loading = &self.spec.design.loading;
        let section = loading.ramp_stile;
        let kg = self.climbing_kg(load, wheel);
        let share = if self.both_abreast(load, wheel) { 1.0 } else { 0.5 };
        let force = share * kg * G;
        let moment = track_moment_nmm(force, loading.ramp_length.mm(), self.angle);
        let modulus = section.properties().wel_x_mm3;
        let stress = moment / modulus.max(1e-9);
        let allowed = self.allowed_mpa(section.wall_mm());
        let [shown, most] = beside(stress, allowed, 0);
        let says = format!(
            "{} climbing puts {:.0} kg on one stile of {section}: {shown} MPa of {most} MPa.{}",
            load.name,
            share * kg,
            if stress > allowed { " A deeper stile, or a prop under the middle." } else { "" }
        );
        let working = Working::new("Stile under a wheel in its middle", "σ = F l cos(θ) / (4 W)")
            .given("F", "on one stile", force, "N")
            .given("l", "ramp length", loading.ramp_length.mm(), "mm")
            .given("θ", "ramp angle", self.angle, "°")
            .given("W", format!("elastic modulus of {section}"), modulus, "mm³")
            .given("f_d", format!("yield over {:.2}", self.spec.design.factors.service_divisor), allowed, "MPa")
            .gives("σ", stress, "MPa")
            .source(
                "statics; the shift to the rear wheels while climbing counted; divisor common practice",
                Sure::CommonPractice,
            );
        Check::compared("strength/ramp-stile", "Ramp stiles", stress, allowed, "MPa", says)
            .in_case(format!("{} on the ramp", load.name))
            .of_part("ramp stile")
            .with(working)
    }

    /// One rung bears a wheel; two abreast stand near the stiles, one alone in the middle.
    fn rung(&self, load: &Load, wheel: Wheel) -> Check {
        let loading = &self.spec.design.loading;
        let (section, span) = (loading.ramp_rung, loading.ramp_width.mm() - loading.ramp_stile.width_mm());
        let kg = self.climbing_kg(load, wheel);
        let both = self.both_abreast(load, wheel);
        let from_stile = load.track.filter(|_| both).map_or(span / 2.0, |track| (span - track.mm()) / 2.0);
        let from_stile = from_stile.clamp(0.0, span / 2.0);
        let moment = if both { kg * G * from_stile } else { kg * G * span / 4.0 };
        let modulus = section.properties().wel_x_mm3;
        let (stress, allowed) = (moment / modulus.max(1e-9), self.allowed_mpa(section.wall_mm()));
        let [shown, most] = beside(stress, allowed, 0);
        let says = format!("A wheel of {kg:.0} kg on one rung of {section}: {shown} MPa of {most} MPa.");
        let working = Working::new("Rung under a wheel", "σ = M / W")
            .given("F", "one wheel", kg * G, "N")
            .given("a", "from the stile", from_stile, "mm")
            .given("M", "moment", moment / 1000.0, "N·m")
            .given("W", format!("elastic modulus of {section}"), modulus, "mm³")
            .gives("σ", stress, "MPa")
            .source("statics, the rung simply supported; divisor common practice", Sure::CommonPractice);
        Check::compared("strength/ramp-rung", "Ramp rungs", stress, allowed, "MPa", says)
            .in_case(format!("{} on the ramp", load.name))
            .of_part("ramp rung")
            .with(working)
    }

    fn sheet(&self, load: &Load, wheel: Wheel) -> Check {
        let loading = &self.spec.design.loading;
        let (key, name) = ("strength/ramp-sheet", "Sheet of the ramp");
        let Some(strength) = sheets::strength(loading.ramp_sheet) else {
            let missing = format!(
                "the strength of {}: ask its maker, or choose another sheet of the ramp",
                loading.ramp_sheet.label()
            );
            return Check::cannot_tell(key, name, missing, "What the mesh bears between the rungs is not known.")
                .of_part("ramp sheet");
        };
        let kg = self.climbing_kg(load, wheel);
        let span = (loading.ramp_rung_pitch.mm() - loading.ramp_rung.width_mm()).max(10.0);
        let patch = Patch { force_n: kg * G, span_mm: span, contact_mm: wheel.contact_mm, width_mm: wheel.width_mm };
        let (bearing, thickness) = (patch.bearing_mm(loading.ramp_width.mm()), loading.ramp_sheet_thickness.mm());
        let stress = patch.moment_nmm() / (strength.modulus * bearing * thickness * thickness).max(1e-9);
        let allowed = strength.strength_mpa / self.spec.design.factors.service_divisor;
        let [shown, most] = beside(stress, allowed, 0);
        let says = format!(
            "A wheel of {kg:.0} kg on {thickness:.1} mm of {} over {span:.0} mm: {shown} MPa of {most} MPa.{}",
            loading.ramp_sheet.label(),
            if stress > allowed { " Rungs closer together, or thicker." } else { "" }
        );
        let working = Working::new("Bending of the ramp's sheet", "σ = M / (f b t²)")
            .given("M", "moment", patch.moment_nmm() / 1000.0, "N·m")
            .given("f", "1/6 elastic, 1/4 for a metal plate that yields through", strength.modulus, "")
            .given("b", "width that carries", bearing, "mm")
            .given("t", "thickness", thickness, "mm")
            .gives("σ", stress, "MPa")
            .source(format!("statics; {}; the width that carries is common practice", strength.source), strength.sure);
        Check::compared(key, name, stress, allowed, "MPa", says)
            .in_case(format!("{} on the ramp", load.name))
            .of_part("ramp sheet")
            .with(working)
    }

    /// A wheel that drives pushes the ramp off the bed.
    fn hook(&self, load: &Load, wheel: Wheel) -> Check {
        let (key, name) = ("strength/ramp-hook", "Thrust at the ramp's lip or hinge");
        let theta = self.angle.to_radians();
        let on_axle = self.climbing_kg(load, wheel) * wheel.abreast * G * theta.cos();
        let thrust = (load.mass.kg() * G * theta.sin()).max(GRIP * on_axle) * theta.cos();
        let working = Working::new("Thrust on hooks or hinges", "H = max(m g sin(θ), μ N) cos(θ)")
            .given("m", "mass", load.mass.kg(), "kg")
            .given("g", "gravity", G, "m/s²")
            .given("θ", "ramp angle", self.angle, "°")
            .given("μ", "grip of a driven wheel, from memory", GRIP, "")
            .given("N", "on the driven axle, square to the ramp", on_axle, "N")
            .gives("H", thrust, "N")
            .source("statics", Sure::Memory);
        let case = format!("{} driving up", load.name);
        let (bears, what) = match self.spec.design.loading.ramp {
            RampForm::Hinged => {
                let hinges = self.trailer.fittings.iter().filter(|fitting| fitting.class == PartClass::Hinge);
                let bears = hinges.filter_map(|fitting| {
                    Some(fitting.part.item.as_ref()?.figure("rating_kg")? * G * fitting.places.len() as f64)
                });
                (bears.sum::<f64>(), "its hinges")
            }
            _ => {
                let pin = std::f64::consts::PI * LUG_PIN_MM * LUG_PIN_MM / 4.0;
                (
                    2.0 * 0.6 * pin * MILD_FU_MPA / 1.25 / self.spec.design.factors.service_divisor,
                    "two pins of 12 mm in its lugs",
                )
            }
        };
        if bears <= 0.0 {
            return Check::cannot_tell(
                key,
                name,
                "hinges with a rating in the rate book",
                "What the hinges bear is not known.",
            )
            .with(working);
        }
        let [shown, most] = beside(thrust / 1000.0, bears / 1000.0, 1);
        let says = format!("{} pushes the ramp rearwards with {shown} kN; {what} bear {most} kN.", load.name);
        Check::compared(key, name, thrust, bears, "N", says).in_case(case).of_part(what).with(working)
    }

    fn crest(&self, load: &Load) -> Check {
        let (key, name) = (format!("loading/crest/{}", load.name), format!("{} over the ramp's crest", load.name));
        let Some(base) = load.wheelbase.map(|base| base.mm()) else {
            return Check::cannot_tell(
                key,
                name,
                format!("the wheelbase of the load {}", load.name),
                "Without its wheelbase its clearance cannot be judged.",
            );
        };
        let needs = crest_mm(base, self.angle);
        let working = Working::new("Clearance over the crest", "c = w / 2 · tan(θ / 2)")
            .given("w", "wheelbase", base, "mm")
            .given("θ", "ramp angle", self.angle, "°")
            .gives("c", needs, "mm")
            .source("geometry, its axles evenly about the crest", Sure::Computed);
        let Some(clear) = load.ground_clearance.map(|clear| clear.mm()) else {
            let says =
                format!("It needs {needs:.0} mm between its wheels; its clearance above the ground is not given.");
            return Check::cannot_tell(key, name, format!("its clearance above the ground, of {}", load.name), says)
                .with(working);
        };
        let [asked, has] = beside(needs, clear, 0);
        let says = format!("It needs {asked} mm between its wheels and has {has} mm.");
        Check::compared(key, name, needs, clear, "mm", says).of_part("ramp").with(working)
    }

    fn path(&self, load: &Load, wheel: Wheel) -> Check {
        let (key, name) = (format!("loading/path/{}", load.name), format!("{}'s wheels on the ramp", load.name));
        let width = self.spec.design.loading.ramp_width.mm();
        let track = if friction::two_wheeled(load) {
            0.0
        } else {
            load.track.map_or(load.width.mm() - wheel.width_mm, |track| track.mm())
        };
        let path = track + wheel.width_mm;
        let [wide, room] = beside(path, width, 0);
        let says = format!(
            "Its wheels run {wide} mm wide{}, the ramp is {room} mm wide.{}",
            if load.tyre_width.is_none() { " (its tyres taken as 80 mm)" } else { "" },
            if path > width { " It needs a wider ramp, or two of these." } else { "" }
        );
        let working = Working::new("Path of its wheels", "b = s + w")
            .given("s", "track", track, "mm")
            .given("w", "tyre", wheel.width_mm, "mm")
            .gives("b", path, "mm")
            .source("geometry; a tyre that is not given is taken as 80 mm", Sure::CommonPractice);
        let mut check = Check::compared(key, name, path, width, "mm", says).of_part("ramp").with(working);
        if check.verdict == Verdict::Close && width - path >= 20.0 {
            check.verdict = Verdict::Holds;
        }
        check
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expect: f64, within: f64) {
        assert!((found - expect).abs() <= within, "{found} instead of {expect}");
    }

    /// θ = asin(h / l), bed height against ramp length. Source: computed table.
    #[test]
    fn angles_of_the_table() {
        for (height, angles) in [
            (350.0, [17.0, 13.5, 11.2, 10.1, 8.4, 6.7]),
            (450.0, [22.0, 17.5, 14.5, 13.0, 10.8, 8.6]),
            (500.0, [24.6, 19.5, 16.1, 14.5, 12.0, 9.6]),
            (550.0, [27.3, 21.5, 17.8, 16.0, 13.2, 10.6]),
            (600.0, [30.0, 23.6, 19.5, 17.5, 14.5, 11.5]),
        ] {
            for (length, expect) in [1200.0, 1500.0, 1800.0, 2000.0, 2400.0, 3000.0].into_iter().zip(angles) {
                close(angle_deg(height, length), expect, 0.051);
            }
        }
        for (height, for_15, one_in_four) in [
            (350.0, 1352.0, 1443.0),
            (450.0, 1739.0, 1855.0),
            (500.0, 1932.0, 2062.0),
            (550.0, 2125.0, 2268.0),
            (600.0, 2318.0, 2474.0),
        ] {
            close(angle_deg(height, for_15), 15.0, 0.01);
            close(angle_deg(height, one_in_four), 14.04, 0.01);
        }
        for (deg, share) in [(10.0, 0.174), (15.0, 0.259), (20.0, 0.342)] {
            close(f64::to_radians(deg).sin(), share, 6e-4);
        }
    }

    /// Break-over: computed 1300 mm at 15°, 1600 at 20°, 1200 at 18°. Track: 4 kN, 1.8 m, bed at 450 mm: 1.743 kN·m, W ≥ 11.1 cm³ at 235/1.5.
    #[test]
    fn crest_and_track() {
        for (base, angle, expect) in [(1300.0, 15.0, 85.6), (1600.0, 20.0, 141.1), (1200.0, 18.0, 95.0)] {
            close(crest_mm(base, angle), expect, 0.06);
        }
        let moment = track_moment_nmm(4000.0, 1800.0, angle_deg(450.0, 1800.0));
        close(moment / 1e6, 1.743, 6e-4);
        close(moment / (235.0 / 1.5) / 1000.0, 11.1, 0.06);
    }
}
