//! Each rated part turned into the gross mass at which it is full; the trailer's rating is the least of them.
//!
//! A part that bears c where the worst case at gross mass G asks for d is full at G · c / d: everything scales together.
//! (Mechanics; the rule "least of coupling, spring and tyre ratings" is a government checklist's: Tasmania light trailer
//! fact sheet 2, read.)

use serde::{Deserialize, Serialize};

use super::Demand;
use crate::{
    measure::beside,
    shop::PartClass,
    trailer::Trailer,
    working::{Sure, Working},
};

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    pub part: String,
    /// Gross mass at which the part is full, kg.
    pub gross_kg: f64,
    /// How that follows, in words.
    pub because: String,
    #[serde(default)]
    pub working: Option<Working>,
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

pub(super) fn rate(trailer: &Trailer, demand: &Demand, gross_kg: f64) -> Rating {
    let &Demand { coupling_kg: coupling, axle_kg: axle, wheel_kg: wheel } = demand;
    let mut limits = Vec::new();
    // What is full at `capacity` when a gross mass of `gross_kg` asks for `demand`.
    let mut full_at = |part: String, capacity: f64, demand: f64, what: &str| {
        if demand > 0.0 {
            let full_kg = gross_kg * capacity / demand;
            let [puts, bears] = beside(demand, capacity, 0);
            let working = Working::new(format!("Gross mass at which it is full: {part}"), "G_f = G c / d")
                .given("G", "gross mass for the plate", gross_kg, "kg")
                .given("c", "it bears", capacity, "kg")
                .given("d", format!("the worst case puts {what}"), demand, "kg")
                .gives("G_f", full_kg, "kg")
                .source("proportion; the rating is the part's own, as in the rate book", Sure::Computed);
            limits.push(Limit {
                part,
                gross_kg: full_kg,
                working: Some(working),
                because: format!("it bears {bears} kg, the worst case puts {puts} kg {what}"),
            });
        }
    };
    for fitting in &trailer.fittings {
        let Some(item) = &fitting.part.item else { continue };
        let rated = item.figure("rating_kg");
        match fitting.class {
            PartClass::Coupling | PartClass::OverRun => {
                if let Some(rated) = rated {
                    full_at(item.name.clone(), rated, gross_kg, "behind it");
                }
                if let Some(static_load) = item.figure("static_load_kg") {
                    full_at(format!("{}, static load", item.name), static_load, coupling, "on it");
                }
            }
            PartClass::BeamAxle | PartClass::TorsionAxle | PartClass::DonorAxle => {
                if let Some(rated) = rated {
                    full_at(item.name.clone(), rated, axle, "on one axle");
                }
            }
            PartClass::LeafSpring | PartClass::CoilSpring => {
                if let Some(rated) = rated {
                    full_at(item.name.clone(), rated, wheel, "on one side");
                }
            }
            PartClass::Wheel if fitting.moves_with_axle => {
                if let Some(rated) = item.figure("wheel_load_kg") {
                    full_at(item.name.clone(), rated, wheel, "on one wheel");
                }
            }
            _ => {}
        }
    }
    limits.sort_by(|a, b| a.gross_kg.total_cmp(&b.gross_kg));
    Rating { limits }
}
