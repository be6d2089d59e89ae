//! Flat lengths of folded sheet.

/// Inside radius over thickness of a fold on a press brake (common practice, no source).
const RADIUS: f64 = 1.5;
/// Where the neutral line lies, over the thickness from the inside (common practice for radii of 1 to 3 thicknesses, no source).
const K: f64 = 0.42;

/// What a fold of this angle adds to the legs' outside lengths: the arc of the neutral line less the two set-backs; negative.
pub fn fold_mm(angle_deg: f64, thickness_mm: f64) -> f64 {
    let (angle, radius) = (angle_deg.to_radians(), RADIUS * thickness_mm);
    angle * (radius + K * thickness_mm) - 2.0 * (angle / 2.0).tan() * (radius + thickness_mm)
}

/// Flat length of legs measured outside, with the same fold between each two.
pub fn flat_length_mm(legs_mm: &[f64], angle_deg: f64, thickness_mm: f64) -> f64 {
    let folds = legs_mm.len().saturating_sub(1) as f64;
    legs_mm.iter().sum::<f64>() + folds * fold_mm(angle_deg, thickness_mm)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 90°, 2 mm, inside radius 3: arc π/2 × 3.84 = 6.032, set-backs 2 × 5 = 10; two legs of 50 make 96.03 mm flat.
    #[test]
    fn a_right_angle_by_hand() {
        assert!((flat_length_mm(&[50.0, 50.0], 90.0, 2.0) - 96.032).abs() < 1e-3);
        assert_eq!(flat_length_mm(&[50.0], 90.0, 2.0), 50.0);
    }
}
