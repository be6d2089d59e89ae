//! What must be minded, said once, for every place where the figures stand that it belongs to.

pub const NO_CERTIFICATION: &str = "This is an estimate and a design aid, not a certification: local rules and the authority decide what may go on the road.";
pub const ENGINEER: &str = "Have a licensed engineer check the frame, the drawbar and the welds.";
pub const LAW: &str = "Registration, brakes, lamps, mass and plates follow local law: ask the authority.";
pub const VEHICLE: &str = "Never exceed what the towing vehicle may pull and carry on its coupling.";
pub const SHARE: &str = "Load so that the stated share of the mass rests on the coupling.";
pub const WEIGH: &str =
    "Masses are worked out, not weighed: weigh the finished trailer, its plate follows the weighbridge.";
pub const RESTRAINT: &str = "Use straps, lashing points and every part only up to their rating.";
pub const WHEELS: &str = "Tighten the wheel nuts again after the first trip.";

/// All of them, for a customer's copy, a calculation or a job pack.
pub const ALL: [&str; 8] = [NO_CERTIFICATION, ENGINEER, LAW, WEIGH, VEHICLE, SHARE, RESTRAINT, WHEELS];
