//! Lateral-torsional buckling: an open section bent about its strong axis may tilt and bend sideways before it is full. Closed sections twist
//! too little for it.
//!
//! Source: EN 1993-1-1 6.3.2.2, the general method, with curve d for sections that table 6.4 does not name (from memory). The critical moment
//! is that of a bar under an even moment whose ends are kept from tilting, M_cr = π / L √(E I_z G I_t) (textbook); what resists in warping is left
//! out and the moment is taken as even, both on the safe side. That a load above the middle of the section helps it tilt is not reckoned with: the
//! deck that brings the load holds the member as well, which is not reckoned with either.

use super::capacity::{CURVE_D, buckling_factor};
use crate::steel::{Grade, Section, SectionKind};

/// What is left of the bending strength.
#[derive(Clone, Debug, PartialEq)]
pub struct Lateral {
    /// Longest stretch that nothing keeps from tilting, mm.
    pub unheld_mm: f64,
    /// N mm.
    pub critical: f64,
    pub slenderness: f64,
    /// χ_LT, 1.0: it yields first.
    pub left: f64,
}

impl Lateral {
    /// Of channels and of flats on edge; none for sections that do not tilt, nor for angles, for which the standard gives no method ([`is_untold`]).
    /// `full`: bending resistance about the strong axis without it, N mm.
    pub fn of(section: &Section, grade: Grade, full: f64, unheld_mm: f64) -> Option<Self> {
        let properties = section.properties();
        let tilts = matches!(section.kind(), SectionKind::Channel | SectionKind::Flat);
        if !tilts || properties.ix_mm4 <= properties.iy_mm4 || unheld_mm < 1.0 {
            return None;
        }
        let critical = critical_moment(grade.e_mpa() * properties.iy_mm4, grade.g_mpa() * properties.j_mm4, unheld_mm);
        let slenderness = (full / critical.max(1e-9)).sqrt();
        Some(Self { unheld_mm, critical, slenderness, left: buckling_factor(slenderness, CURVE_D) })
    }
}

/// M_cr under an even moment without warping, N mm.
pub fn critical_moment(bending_sideways: f64, twisting: f64, length_mm: f64) -> f64 {
    std::f64::consts::PI / length_mm * (bending_sideways * twisting).sqrt()
}

/// An open section for which no method is known here.
pub fn is_untold(section: &Section) -> bool {
    section.kind() == SectionKind::Angle
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(section: &str, length: f64) -> Option<Lateral> {
        let section: Section = section.parse().unwrap();
        let full = section.properties().wel_x_mm3 * 235.0;
        Lateral::of(&section, "S235".parse().unwrap(), full, length)
    }

    /// Source: by hand. A flat 100×10 on edge, 2 m: I_z = 8333 mm⁴, I_t ≈ 100·10³/3 (1 − 0.63·10/100) = 31,233 mm⁴, so M_cr = π/2000
    /// √(210,000·8333·81,000·31,233) = 3.30 kNm, λ = √(3.917/3.30) = 1.09, Φ = 1.43, χ = 0.425.
    #[test]
    fn a_flat_on_edge() {
        let flat = of("Flat 100x10", 2000.0).unwrap();
        assert!((flat.critical / 1e6 - 3.30).abs() < 0.04, "{}", flat.critical);
        assert!((flat.slenderness - 1.09).abs() < 0.01 && (flat.left - 0.425).abs() < 0.006, "{flat:?}");
    }

    /// Source: curve values at a slenderness of 1.0 by the formula, worked by hand: 0.540 for c, 0.467 for d.
    #[test]
    fn the_curves() {
        for (imperfection, left) in [(super::super::capacity::CURVE_C, 0.540), (CURVE_D, 0.467)] {
            assert!((buckling_factor(1.0, imperfection) - left).abs() < 5e-4);
        }
        assert_eq!(buckling_factor(0.2, CURVE_D), 1.0);
    }

    #[test]
    fn longer_is_weaker_and_tubes_do_not_tilt() {
        let mut last = 1.0;
        for length in [100.0, 500.0, 1000.0, 2000.0, 4000.0] {
            let left = of("Channel 80x45x6x8", length).unwrap().left;
            assert!(left <= last && left > 0.05, "{length}: {left}");
            last = left;
        }
        assert!(last < 0.7);
        assert_eq!(of("RHS 100x50x3", 4000.0), None);
        assert!(is_untold(&"Angle 50x50x5".parse().unwrap()) && !is_untold(&"RHS 100x50x3".parse().unwrap()));
    }
}
