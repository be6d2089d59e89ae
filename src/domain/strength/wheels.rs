//! What the wheels of a load press on deck and ramp.

use crate::{strength::restraint::friction, trailer::Load};

/// Width of a tyre that is not given, and length of its contact, mm (common practice, no source).
const TYRE_MM: f64 = 80.0;
const CONTACT_MM: f64 = 80.0;

/// The heaviest wheel of a load that stands on wheels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wheel {
    pub kg: f64,
    pub width_mm: f64,
    pub contact_mm: f64,
    /// Wheels side by side.
    pub abreast: f64,
}

/// Axles share the mass by the place of its centre of gravity, or evenly when that is not given.
pub fn heaviest(load: &Load) -> Option<Wheel> {
    if !friction::on_wheels(load) {
        return None;
    }
    let base = load.wheelbase.map(|base| base.mm());
    let share = match (load.centre_from_front, base) {
        // The wheels stand evenly between its ends.
        (Some(front), Some(base)) if base > 0.0 => {
            let behind_front_axle = front.mm() - (load.length.mm() - base) / 2.0;
            let rear = (behind_front_axle / base).clamp(0.0, 1.0);
            rear.max(1.0 - rear)
        }
        _ => 0.5,
    };
    let abreast = if friction::two_wheeled(load) { 1.0 } else { 2.0 };
    Some(Wheel {
        kg: load.mass.kg() * share / abreast,
        width_mm: load.tyre_width.map_or(TYRE_MM, |width| width.mm()),
        contact_mm: CONTACT_MM,
        abreast,
    })
}
