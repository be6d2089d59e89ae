//! Where the cross-members stand.

/// What decides it, along the trailer in millimetres.
pub struct Stations {
    /// Centre lines of the front and the rear end rail.
    pub from: f64,
    pub to: f64,
    pub end_width: f64,
    pub width: f64,
    /// Largest distance between centres.
    pub pitch: f64,
    /// Places that need a member, the weightiest first.
    pub wanted: Vec<f64>,
}

/// First every wanted place (dropped where an end rail or a weightier place is nearer than a section's width), then each bay
/// between them split into the fewest equal pitches that are not above the largest.
pub fn stations(given: &Stations) -> Vec<f64> {
    let clear_of_end = (given.end_width + given.width) / 2.0;
    let mut fixed: Vec<f64> = Vec::with_capacity(given.wanted.len() + 2);
    for &place in &given.wanted {
        let between_ends = place >= given.from + clear_of_end && place <= given.to - clear_of_end;
        if between_ends && fixed.iter().all(|other| (place - other).abs() >= given.width) {
            fixed.push(place);
        }
    }
    fixed.sort_by(f64::total_cmp);
    fixed.push(given.to);
    let mut all = Vec::new();
    let mut last = given.from;
    for place in fixed {
        let gap = place - last;
        let bays = (gap / given.pitch - 1e-9).ceil().clamp(1.0, 400.0) as usize;
        all.extend((1..bays).map(|bay| last + gap * bay as f64 / bays as f64));
        all.push(place);
        last = place;
    }
    all.pop();
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(wanted: &[f64]) -> Vec<f64> {
        stations(&Stations {
            from: 20.0,
            to: 2380.0,
            end_width: 40.0,
            width: 40.0,
            pitch: 400.0,
            wanted: wanted.to_vec(),
        })
    }

    /// 2360 mm between the end rails' centres at most 400 apart: six bays of 393.3 mm, five members.
    #[test]
    fn without_wishes_the_pitch_is_equal() {
        let found = of(&[]);
        assert_eq!(found.len(), 5);
        assert!((found[0] - (20.0 + 2360.0 / 6.0)).abs() < 1e-9);
        assert!(found.windows(2).all(|pair| (pair[1] - pair[0] - 2360.0 / 6.0).abs() < 1e-9));
    }

    /// A member at 1200: bays of 1180 each side, three pitches of 393.3 mm in both.
    #[test]
    fn a_wanted_place_gets_its_member_exactly() {
        let found = of(&[1200.0, 1230.0, 10.0, 2350.0, f64::NAN]);
        assert_eq!(found.len(), 5);
        assert_eq!(found[2], 1200.0);
    }
}
