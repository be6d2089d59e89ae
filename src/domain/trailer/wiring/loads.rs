//! What lamps and brake magnets draw: from the rate book where it says so, else a usual figure.
//!
//! The usual figures are the filament lamps of the categories of UN R37, from memory: P21W for turn, stop, fog and reverse, R5W, C5W and W5W for
//! tail, plate, position and marker lamps; a work lamp of 55 W (H3); 3 A for a brake magnet. Common practice.

use super::{super::Fitting, VOLTS};
use crate::{choice::choice, plugs::Duty, shop::PartClass};

/// What stands in where the rate book does not say, in words.
pub const USUAL: &str = "Where the rate book says nothing, filament lamps are taken: 21 W for turn, stop, fog and reverse, 5 W for every other (P21W, R5W, C5W and W5W of UN R37, from memory), 55 W for a work lamp, and 3 A for a brake magnet. Common practice.";

/// Amperes of a brake magnet at 12 V. Common practice, no source (3.0 to 3.3 A are usual).
const MAGNET_AMPS: f64 = 3.0;

choice! {
    /// What a lamp shines for.
    Light {
        Turn = "turn" / "turn",
        Stop = "stop" / "stop",
        Tail = "tail" / "tail",
        Fog = "fog" / "fog",
        Reverse = "reverse" / "reverse",
        Work = "work" / "work",
    }
}

impl Light {
    /// On its side of the trailer; in the middle it hangs on the right, as the plate lamp does.
    pub fn duty(self, y_mm: f64) -> Duty {
        let left = y_mm < 0.0;
        match self {
            Self::Turn if left => Duty::TurnLeft,
            Self::Turn => Duty::TurnRight,
            Self::Stop if left => Duty::StopLeft,
            Self::Stop => Duty::StopRight,
            Self::Tail if left => Duty::TailLeft,
            Self::Tail => Duty::TailRight,
            Self::Fog => Duty::Fog,
            Self::Reverse => Duty::Reverse,
            Self::Work => Duty::Live,
        }
    }
}

/// What one lamp draws for one light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Draw {
    pub light: Light,
    pub watts: f64,
    pub amps: f64,
    /// From the rate book, not the usual figure.
    pub is_known: bool,
}

/// The lights of a class: attribute of its watts, and the usual figure.
const fn lights(class: PartClass) -> &'static [(Light, &'static str, f64)] {
    match class {
        PartClass::RearLamp => {
            &[(Light::Turn, "turn_watts", 21.0), (Light::Stop, "stop_watts", 21.0), (Light::Tail, "tail_watts", 5.0)]
        }
        PartClass::PlateLamp | PartClass::FrontLamp | PartClass::SideMarker | PartClass::OutlineLamp => {
            &[(Light::Tail, "watts", 5.0)]
        }
        PartClass::FogLamp => &[(Light::Fog, "watts", 21.0)],
        PartClass::ReverseLamp => &[(Light::Reverse, "watts", 21.0)],
        PartClass::WorkLamp => &[(Light::Work, "watts", 55.0)],
        _ => &[],
    }
}

/// Whether a class needs current.
pub const fn is_lamp(class: PartClass) -> bool {
    !lights(class).is_empty()
}

/// What one lamp of a fitting draws at 12 V.
pub fn draws(fitting: &Fitting) -> Vec<Draw> {
    let item = fitting.part.item.as_ref();
    let of = |&(light, attribute, usual): &(Light, &str, f64)| {
        let known = item.and_then(|item| item.figure(attribute)).filter(|watts| watts.is_finite() && *watts >= 0.0);
        let watts = known.unwrap_or(usual);
        Draw { light, watts, amps: watts / VOLTS, is_known: known.is_some() }
    };
    lights(fitting.class).iter().map(of).collect()
}

/// Amperes of one brake magnet; the rate book gives those of an axle's set.
pub(super) fn magnet_amps(fittings: &[Fitting], axles: usize) -> f64 {
    let brakes = fittings.iter().find(|fitting| fitting.class == PartClass::Brakes && axles > 0);
    let known = brakes.and_then(|fitting| fitting.part.item.as_ref()?.figure("amps"));
    known.filter(|amps| amps.is_finite() && *amps >= 0.0).map_or(MAGNET_AMPS, |amps| amps / 2.0)
}
