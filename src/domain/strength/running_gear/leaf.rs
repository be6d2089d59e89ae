//! Semi-elliptic leaf springs: rate and stress.
//!
//! Source: spring-manual form (from memory), whose identities are computed: a stack of full-length leaves (factor 1.5) is a plain beam
//! 48 E I / L³.

use super::{wheel_kg, worst};
use crate::{
    measure::beside,
    shop::PartClass,
    strength::G,
    trailer::{Spec, Suspension, Trailer},
    weights::Weights,
    working::{Check, Sure, Working},
};

/// Modulus of spring steel, MPa (from memory).
pub const E_SPRING_MPA: f64 = 206_000.0;

/// Leaves of one spring: mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leaves {
    pub count: f64,
    pub full_length: f64,
    pub width_mm: f64,
    pub thickness_mm: f64,
    /// Eye to eye.
    pub length_mm: f64,
}

impl Leaves {
    /// Σ b t³ / 12, mm⁴.
    pub fn inertia_mm4(&self) -> f64 {
        self.count * self.width_mm * self.thickness_mm.powi(3) / 12.0
    }

    /// 1.0 for a spring of uniform strength, 1.5 when every leaf runs the whole length; between them by the share of full leaves.
    pub fn stiffening(&self) -> f64 {
        if self.count <= 1.0 {
            return 1.5;
        }
        1.0 + 0.5 * ((self.full_length - 1.0) / (self.count - 1.0)).clamp(0.0, 1.0)
    }

    /// k = 32 E ΣI f / L³, N/mm.
    pub fn rate_n_per_mm(&self, e_mpa: f64, stiffening: f64) -> f64 {
        32.0 * e_mpa * self.inertia_mm4() * stiffening / self.length_mm.powi(3)
    }

    /// σ = 3 F L / (2 n b t²), MPa, for a force in the middle.
    pub fn stress_mpa(&self, force_n: f64) -> f64 {
        3.0 * force_n * self.length_mm / (2.0 * self.count * self.width_mm * self.thickness_mm.powi(2))
    }
}

/// The leaves as given, else as the rate book has the spring; or what is missing.
pub fn leaves(spec: &Spec, trailer: &Trailer) -> Result<Leaves, String> {
    let asked = &spec.design.running_gear.leaf;
    let item = trailer.fittings.iter().find(|fitting| fitting.class == PartClass::LeafSpring);
    let item = item.and_then(|fitting| fitting.part.item.as_ref());
    let of_item = |attribute: &str| item.and_then(|item| item.figure(attribute));
    let figures = [
        ("leaves of one spring", asked.leaves.map(f64::from).or_else(|| of_item("leaves"))),
        ("width of the leaves", asked.width.map(|width| width.mm()).or_else(|| of_item("width_mm"))),
        ("thickness of a leaf", asked.thickness.map(|thickness| thickness.mm()).or_else(|| of_item("leaf_mm"))),
        ("leaf spring, eye to eye", asked.length.map(|length| length.mm()).or_else(|| of_item("length_mm"))),
    ];
    let missing: Vec<&str> = figures.iter().filter(|(_, value)| value.is_none()).map(|(name, _)| *name).collect();
    let [Some(count), Some(width_mm), Some(thickness_mm), Some(length_mm)] = figures.map(|(_, value)| value) else {
        return Err(missing.join(", "));
    };
    Ok(Leaves { count, full_length: f64::from(asked.full_length), width_mm, thickness_mm, length_mm })
}

/// Stress at the dynamic factor against what the leaves may bear.
pub fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, dynamic: f64, checks: &mut Vec<Check>) {
    if spec.design.running_gear.suspension != Suspension::Leaf {
        return;
    }
    let (key, name) = ("gear/leaf-stress", "Stress in the leaf springs");
    let leaves = match leaves(spec, trailer) {
        Ok(leaves) => leaves,
        Err(missing) => {
            checks.push(Check::cannot_tell(key, name, missing, "The leaves are not known, so their stress is not."));
            return;
        }
    };
    let Some((case, kg)) = worst(weights, wheel_kg) else { return };
    let (factor, strength) = (dynamic, spec.design.running_gear.leaf.strength_mpa);
    let force = factor * kg * G;
    let stress = leaves.stress_mpa(force);
    let [shown, most] = beside(stress, strength, 0);
    let says = format!(
        "{:.0} leaves of {:.0} × {:.0} mm bear {kg:.0} kg × {factor:.1}: {shown} MPa of {most} MPa ({}).",
        leaves.count, leaves.width_mm, leaves.thickness_mm, case.name
    );
    let working = Working::new("Stress in the leaves", "σ = 3 F L / (2 n b t²)")
        .given("F", format!("heavier wheel × {factor:.1}"), force, "N")
        .given("L", "eye to eye", leaves.length_mm, "mm")
        .given("n", "leaves", leaves.count, "")
        .given("b", "width", leaves.width_mm, "mm")
        .given("t", "thickness", leaves.thickness_mm, "mm")
        .gives("σ", stress, "MPa")
        .source(
            "spring-manual formula, from memory; the strength is an input (tempered spring steel, from memory)",
            Sure::Memory,
        );
    checks.push(
        Check::compared(key, name, stress, strength, "MPa", says)
            .in_case(&case.name)
            .of_part("leaf spring")
            .with(working),
    );
}

#[cfg(test)]
mod tests {
    use super::{super::springs::frequency_hz, *};

    fn close(found: f64, expect: f64, within: f64) {
        assert!((found - expect).abs() <= within, "{found} instead of {expect}");
    }

    /// Source: computed trailer spring: 5 leaves 45 × 6, L 660, 350 kg a spring, E 206 GPa.
    #[test]
    fn a_trailer_spring() {
        let spring = Leaves { count: 5.0, full_length: 1.0, width_mm: 45.0, thickness_mm: 6.0, length_mm: 660.0 };
        close(spring.rate_n_per_mm(E_SPRING_MPA, 1.0), 92.9, 0.06);
        close(spring.rate_n_per_mm(E_SPRING_MPA, 1.5), 139.3, 0.06);
        let force = 350.0 * G;
        close(force / spring.rate_n_per_mm(E_SPRING_MPA, 1.0), 37.0, 0.06);
        close(force / spring.rate_n_per_mm(E_SPRING_MPA, 1.5), 24.6, 0.06);
        close(spring.stress_mpa(force), 419.6, 0.06);
        close(frequency_hz(spring.rate_n_per_mm(E_SPRING_MPA, 1.0), 350.0), 2.59, 0.006);
        close(frequency_hz(spring.rate_n_per_mm(E_SPRING_MPA, 1.5), 350.0), 3.18, 0.006);
        assert_eq!(spring.stiffening(), 1.0);
        // All leaves full: a plain beam 48 E I / L³.
        let beam = 48.0 * E_SPRING_MPA * spring.inertia_mm4() / 660f64.powi(3);
        close(spring.rate_n_per_mm(E_SPRING_MPA, 1.5), beam, 1e-9);
    }

    /// Textbook springs with graduated and full leaves: σ = 18 W l / (b t² (2 nG + 3 nF)), δ = 12 W l³ / (E b t³ (2 nG + 3 nF)).
    /// Statements read (tutorsglobe 5284047, askfilo 3430323430393532), results computed.
    #[test]
    fn springs_of_two_textbooks() {
        let thickness = |w: f64, l: f64, b: f64, g: f64, f: f64, strength: f64| {
            (18.0 * w * l / (b * strength * (2.0 * g + 3.0 * f))).sqrt()
        };
        let deflection = |w: f64, l: f64, e: f64, b: f64, t: f64, g: f64, f: f64| {
            12.0 * w * l.powi(3) / (e * b * t.powi(3) * (2.0 * g + 3.0 * f))
        };
        // 6000 N on 7 leaves of 65, 2 of them full, 1.1 m less a band of 80 mm: t = 8.70, δ(9) = 29.99 mm.
        close(thickness(3000.0, 510.0, 65.0, 5.0, 2.0, 350.0), 8.70, 0.006);
        close(deflection(3000.0, 510.0, 210_000.0, 65.0, 9.0, 5.0, 2.0), 29.99, 0.02);
        // Our rate with the share of full leaves lies between the two ends of that formula.
        let spring = Leaves { count: 7.0, full_length: 2.0, width_mm: 65.0, thickness_mm: 9.0, length_mm: 1020.0 };
        let ours = 6000.0 / spring.rate_n_per_mm(210_000.0, spring.stiffening());
        close(ours, 29.99, 2.0);
        // 30 kN, 10 graduated and 2 full leaves of 60, 1.2 m: δ(12) = 69.68 mm.
        close(deflection(15_000.0, 600.0, 207_000.0, 60.0, 12.0, 10.0, 2.0), 69.68, 0.02);
        // Set beforehand so that all leaves are equally full: 600 MPa at t = 11.18 mm.
        let even = Leaves { count: 12.0, full_length: 2.0, width_mm: 60.0, thickness_mm: 11.18, length_mm: 1200.0 };
        close(even.stress_mpa(30_000.0), 600.0, 0.6);
    }
}
