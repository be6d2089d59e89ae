//! How far a spring gives under a wheel load: leaf and coil in proportion, rubber torsion by its arm.

use super::leaf;
use crate::{
    shop::PartClass,
    strength::G,
    trailer::{Spec, Suspension, Trailer},
    working::Sure,
};

/// A spring as seen at one wheel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spring {
    /// N/mm.
    Straight { rate_n_per_mm: f64 },
    /// Arm of a rubber torsion axle: its angle below the horizontal unloaded, and the rubber's rate.
    Arm { length_mm: f64, free_rad: f64, rate_nmm_per_rad: f64 },
}

impl Spring {
    /// From the arm, its angles below the horizontal unloaded and at the rated load of one wheel.
    pub fn arm(length_mm: f64, free_deg: f64, rated_deg: f64, rated_n: f64) -> Option<Self> {
        let (free_rad, rated_rad) = (free_deg.to_radians(), rated_deg.to_radians());
        let turn = free_rad - rated_rad;
        let rate_nmm_per_rad = rated_n * length_mm * rated_rad.cos() / turn;
        (turn > 0.0 && rate_nmm_per_rad > 0.0 && free_rad.abs() < 1.5).then_some(Self::Arm {
            length_mm,
            free_rad,
            rate_nmm_per_rad,
        })
    }

    /// Travel from unloaded, mm, under a wheel load. Of an arm: r (sin θ₀ − sin θ₁) where k (θ₀ − θ₁) = F r cos θ₁.
    pub fn travel_mm(&self, force_n: f64) -> f64 {
        let force = force_n.max(0.0);
        match *self {
            Self::Straight { rate_n_per_mm } => force / rate_n_per_mm,
            Self::Arm { length_mm, free_rad, rate_nmm_per_rad } => {
                // The moment falls and the rubber's rises as the arm turns up: one crossing, found by halving.
                let (mut low, mut high) = (-std::f64::consts::FRAC_PI_2, free_rad);
                for _ in 0..60 {
                    let middle = f64::midpoint(low, high);
                    let turns_on = rate_nmm_per_rad * (free_rad - middle) < force * length_mm * middle.cos();
                    if turns_on { high = middle } else { low = middle }
                }
                length_mm * (free_rad.sin() - low.sin())
            }
        }
    }

    /// Rate at one wheel near a load, N/mm.
    pub fn rate_n_per_mm(&self, force_n: f64) -> f64 {
        match *self {
            Self::Straight { rate_n_per_mm } => rate_n_per_mm,
            Self::Arm { .. } => {
                let step = 1.0_f64.max(force_n / 100.0);
                2.0 * step / (self.travel_mm(force_n + step) - self.travel_mm((force_n - step).max(0.0))).max(1e-9)
            }
        }
    }
}

/// f = √(k / m) / (2 π), Hz, of a sprung mass on one wheel's spring.
pub fn frequency_hz(rate_n_per_mm: f64, mass_kg: f64) -> f64 {
    (1000.0 * rate_n_per_mm / mass_kg).sqrt() / (2.0 * std::f64::consts::PI)
}

/// A spring, where its rate comes from, and how sure that is.
pub struct Found {
    pub spring: Spring,
    pub source: String,
    pub sure: Sure,
}

/// The spring at one wheel, or what is missing.
pub fn find(spec: &Spec, trailer: &Trailer) -> Result<Found, String> {
    let gear = &spec.design.running_gear;
    if let Some(rate_n_per_mm) = gear.spring_rate_n_per_mm.filter(|rate| *rate > 0.0) {
        return Ok(Found {
            spring: Spring::Straight { rate_n_per_mm },
            source: "spring rate as entered".into(),
            sure: Sure::Shop,
        });
    }
    let item = |class| {
        let fitting = trailer.fittings.iter().find(|fitting| fitting.class == class);
        fitting.and_then(|fitting| fitting.part.item.as_ref())
    };
    let straight = |class| {
        let item = item(class)?;
        let rate_n_per_mm = item.figure("rate_n_per_mm").filter(|rate| *rate > 0.0)?;
        let source = format!("rate of {} in the rate book", item.name);
        Some(Found { spring: Spring::Straight { rate_n_per_mm }, source, sure: Sure::Shop })
    };
    match gear.suspension {
        Suspension::Leaf => match (straight(PartClass::LeafSpring), leaf::leaves(spec, trailer)) {
            (Some(found), _) => Ok(found),
            (None, Ok(leaves)) => Ok(Found {
                spring: Spring::Straight {
                    rate_n_per_mm: leaves.rate_n_per_mm(leaf::E_SPRING_MPA, leaves.stiffening()),
                },
                source: "leaf formula k = 32 E ΣI f / L³, from memory".into(),
                sure: Sure::Memory,
            }),
            (None, Err(missing)) => Err(format!("spring rate at one wheel, or {missing}")),
        },
        Suspension::CoilLinks => straight(PartClass::CoilSpring).ok_or_else(|| "spring rate at one wheel".into()),
        Suspension::FromVehicle => Err("spring rate at one wheel of the axle taken".into()),
        Suspension::RubberTorsion => {
            let missing = || "arm length and angles of the torsion axle in the rate book".to_owned();
            let item = item(PartClass::TorsionAxle).ok_or_else(missing)?;
            let figure = |attribute| item.figure(attribute).ok_or_else(missing);
            let rated_n = figure("rating_kg")? / 2.0 * G;
            let spring = Spring::arm(figure("arm_mm")?, figure("free_deg")?, figure("rated_deg")?, rated_n);
            let source = format!(
                "arm and angles of {} in the rate book; rubber in proportion to its turn (common practice)",
                item.name
            );
            Ok(Found { spring: spring.ok_or_else(missing)?, source, sure: Sure::CommonPractice })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// f = √(g/δ)/2π: 10, 25, 50, 100, 250 mm give 4.98, 3.15, 2.23, 1.58, 1.00 Hz. Source: computed; the 250 mm case (250 kg on 1 kg/mm)
    /// read at autospeed.com.
    #[test]
    fn frequencies_by_static_deflection() {
        for (deflection, hz) in [(10.0, 4.98), (25.0, 3.15), (50.0, 2.23), (100.0, 1.58), (250.0, 1.00)] {
            let mass = 250.0;
            let found = frequency_hz(mass * G / deflection, mass);
            assert!((found - hz).abs() < 0.006, "{found} instead of {hz}");
        }
    }

    /// Travel r (sin θ₀ − sin θ₁) with the rated angle at the rated load; stiffer as the arm comes level.
    #[test]
    fn an_arm_stands_at_its_rated_angle() {
        let arm = Spring::arm(130.0, 25.0, 5.0, 3679.0).unwrap();
        let travel = 130.0 * (25f64.to_radians().sin() - 5f64.to_radians().sin());
        assert!((arm.travel_mm(3679.0) - travel).abs() < 1e-6, "{}", arm.travel_mm(3679.0));
        assert!(arm.travel_mm(0.0).abs() < 1e-9);
        let mut before = 0.0;
        for step in 1..40 {
            let travel = arm.travel_mm(250.0 * f64::from(step));
            assert!(travel > before && travel < 130.0 * (1.0 + 25f64.to_radians().sin()));
            before = travel;
        }
        assert_eq!(Spring::arm(130.0, 5.0, 25.0, 3679.0), None);
    }
}
