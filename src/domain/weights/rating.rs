//! Each rated part turned into the gross mass at which it is full; the trailer's rating is the least of them.
//!
//! Coupling: its rating, and its static load over the share of the worst case; axles and tyres: their capacity over
//! (1 − least share); springs likewise. (Mechanics; the rule "least of coupling, spring and tyre ratings" is a government
//! checklist's: Tasmania light trailer fact sheet 2, read.)

use serde::{Deserialize, Serialize};

use super::cases::LoadedCase;
use crate::domain::{
    shop::PartClass,
    trailer::{Spec, Trailer},
};

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    pub part: String,
    /// Gross mass at which the part is full, kg.
    pub gross_kg: f64,
    /// How that follows, in words.
    pub because: String,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Rating {
    /// The part that is full first stands first.
    pub limits: Vec<Limit>,
}

impl Rating {
    /// The least limit; None when no part's rating is known.
    pub fn governing(&self) -> Option<&Limit> {
        self.limits.first()
    }
}

pub(super) fn rate(spec: &Spec, trailer: &Trailer, cases: &[LoadedCase]) -> Rating {
    let loaded = cases.iter().filter(|case| case.payload_kg > 0.0);
    let counted: Vec<&LoadedCase> = if cases.len() > 1 { loaded.collect() } else { cases.iter().collect() };
    let most_on_coupling = counted.iter().map(|case| case.coupling_share).fold(0.0, f64::max);
    let most_on_axles = counted.iter().map(|case| 1.0 - case.coupling_share).fold(0.0, f64::max).clamp(0.1, 2.0);
    // The worse wheel carries more than half where loads stand off the centre line.
    let worst_wheel = counted
        .iter()
        .filter(|case| case.axle_kg > 0.0)
        .map(|case| {
            let both = case.wheels_kg[0] + case.wheels_kg[1];
            if both > 0.0 { case.wheels_kg[0].max(case.wheels_kg[1]) / both } else { 0.5 }
        })
        .fold(0.5, f64::max);
    let mut limits = Vec::new();
    let mut limit = |part: String, gross_kg: f64, because: String| limits.push(Limit { part, gross_kg, because });
    for fitting in &trailer.fittings {
        let Some(item) = &fitting.part.item else { continue };
        let axles = f64::from(spec.design.running_gear.axles.max(1));
        match fitting.class {
            PartClass::Coupling | PartClass::OverRun => {
                if let Some(rating) = item.figure("rating_kg") {
                    limit(item.name.clone(), rating, format!("rated for a gross mass of {rating:.0} kg"));
                }
                if let Some(static_load) = item.figure("static_load_kg")
                    && most_on_coupling > 0.0
                {
                    limit(
                        format!("{}, static load", item.name),
                        static_load / most_on_coupling,
                        format!("{static_load:.0} kg on the coupling at a share of {:.1} %", most_on_coupling * 100.0),
                    );
                }
            }
            PartClass::BeamAxle | PartClass::TorsionAxle | PartClass::DonorAxle => {
                if let Some(rating) = item.figure("rating_kg") {
                    limit(
                        item.name.clone(),
                        rating * axles / most_on_axles,
                        format!(
                            "{axles:.0} × {rating:.0} kg, with {:.1} % of the mass on the axles",
                            most_on_axles * 100.0
                        ),
                    );
                }
            }
            PartClass::LeafSpring | PartClass::CoilSpring => {
                if let Some(rating) = item.figure("rating_kg") {
                    limit(
                        item.name.clone(),
                        rating * axles / (most_on_axles * worst_wheel),
                        format!("{rating:.0} kg a spring, the worse side carries {:.1} %", worst_wheel * 100.0),
                    );
                }
            }
            _ => {}
        }
    }
    let tyre = trailer.fittings.iter().filter(|fitting| fitting.class == PartClass::Wheel && fitting.moves_with_axle);
    if let Some(tyre_kg) =
        tyre.filter_map(|fitting| fitting.part.item.as_ref()?.figure("wheel_load_kg")).reduce(f64::min)
    {
        let axles = f64::from(spec.design.running_gear.axles.max(1));
        limit(
            "tyres".into(),
            tyre_kg * axles / (most_on_axles * worst_wheel),
            format!("{tyre_kg:.0} kg a tyre, the worse wheel carries {:.1} % of its axle", worst_wheel * 100.0),
        );
    }
    limits.sort_by(|a, b| a.gross_kg.total_cmp(&b.gross_kg));
    Rating { limits }
}
