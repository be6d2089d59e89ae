//! How long a weld is and how thick: from the outline of the section that is welded and the angle at which it was cut.

use std::f64::consts::PI;

use super::{CutPlane, EndCut, WeldKind};
use crate::steel::{Section, SectionKind};

/// What is welded at a joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seam {
    pub kind: WeldKind,
    pub run_mm: f64,
    pub size_mm: f64,
    pub all_round: bool,
}

/// Leg of a fillet between two walls: the thinner one, at least 3 mm (common practice; the strength checks judge it).
pub fn fillet_leg_mm(one_mm: f64, other_mm: f64) -> f64 {
    one_mm.min(other_mm).max(3.0)
}

/// Length of the outline of an end cut: a cut that is tilted from square stretches the sides that it crosses, corners
/// included, by 1/cos.
pub fn cut_outline_mm(section: Section, cut: EndCut) -> f64 {
    let stretch = 1.0 / cut.angle_deg.to_radians().cos().max(0.05);
    let (depth, width) = (section.depth_mm(), section.width_mm());
    let (along_depth, along_width) = match cut.plane {
        CutPlane::Depth => (stretch, 1.0),
        CutPlane::Width => (1.0, stretch),
    };
    match section.kind() {
        SectionKind::Chs | SectionKind::Round => ellipse_mm(depth / 2.0 * along_depth, width / 2.0 * along_width),
        SectionKind::Angle => 2.0 * (depth * along_depth + width * along_width),
        SectionKind::Channel => 2.0 * depth * along_depth + (4.0 * width - 2.0 * section.wall_mm()) * along_width,
        SectionKind::Shs | SectionKind::Rhs | SectionKind::Flat | SectionKind::Square => {
            let radius = section.corner_radius_mm();
            let flats = 2.0 * (depth - 2.0 * radius) * along_depth + 2.0 * (width - 2.0 * radius) * along_width;
            flats + ellipse_mm(radius * along_depth, radius * along_width)
        }
    }
}

/// Ramanujan's first formula for the perimeter of an ellipse; exact for a circle, within 0.1 % for these cuts.
fn ellipse_mm(a: f64, b: f64) -> f64 {
    PI * (3.0 * (a + b) - ((3.0 * a + b) * (a + 3.0 * b)).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outline(section: &str, angle_deg: f64) -> f64 {
        cut_outline_mm(section.parse().unwrap(), EndCut { angle_deg, ..EndCut::SQUARE })
    }

    /// 40 × 40 × 3, outside corner radius 2t = 6: 4 × 28 + 2π × 6 = 149.7 mm, less than the sharp 160 mm.
    #[test]
    fn a_square_tube_welded_square() {
        assert!((outline("shs 40x40x3", 0.0) - (112.0 + 12.0 * PI)).abs() < 1e-9);
    }

    /// 60 × 40 × 3 mitred across its width: two sides of 48 mm, two of 28 × √2, corners between circle and ellipse.
    #[test]
    fn a_mitre_is_longer() {
        let square = outline("rhs 60x40x3", 0.0);
        let mitred = outline("rhs 60x40x3", 45.0);
        let corners = mitred - 96.0 - 56.0 * 2f64.sqrt();
        assert!((square - (96.0 + 56.0 + 12.0 * PI)).abs() < 1e-9);
        assert!(corners > 12.0 * PI && corners < 12.0 * PI * 2f64.sqrt(), "{corners}");
    }

    #[test]
    fn a_leg_is_the_thinner_wall_but_three() {
        assert_eq!(fillet_leg_mm(4.0, 6.0), 4.0);
        assert_eq!(fillet_leg_mm(2.0, 6.0), 3.0);
    }
}
