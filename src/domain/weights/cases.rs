//! Loading cases: what each puts on coupling, axle and wheels.

use serde::{Deserialize, Serialize};

use super::{Body, placing::PlacedTrip};
use crate::domain::{
    trailer::Trailer,
    working::{Sure, Working},
};

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LoadedCase {
    pub name: String,
    pub payload_kg: f64,
    /// Trailer and loads.
    pub body: Body,
    /// Coupling to the middle of the axle or pair.
    pub axle_distance_mm: f64,
    /// Static mass on the coupling; negative pulls up.
    pub coupling_kg: f64,
    /// Coupling load over actual mass.
    pub coupling_share: f64,
    pub axle_kg: f64,
    /// Left and right wheel of the worst axle.
    pub wheels_kg: [f64; 2],
}

pub(super) fn all(trailer: &Trailer, empty: Body, trips: &[PlacedTrip]) -> Vec<LoadedCase> {
    let mut cases = vec![case(trailer, "empty".into(), empty, &[])];
    for trip in trips {
        let loads: Vec<Body> = trip.loads.iter().map(|load| load.body).collect();
        if loads.is_empty() {
            continue;
        }
        cases.push(case(trailer, trip.name.clone(), empty, &loads));
        if loads.len() > 1 {
            for load in &trip.loads {
                cases.push(case(trailer, format!("{}: {} alone", trip.name, load.name), empty, &[load.body]));
            }
        }
    }
    cases
}

fn case(trailer: &Trailer, name: String, empty: Body, loads: &[Body]) -> LoadedCase {
    let layout = &trailer.layout;
    let body = Body::of(std::iter::once(empty).chain(loads.iter().copied()));
    let distance = layout.axle_x_mm.max(1.0);
    let axle_kg = body.mass_kg * body.centre[0] / distance;
    let axles = layout.axles_x_mm.len().max(1) as f64;
    let lean = if layout.track_mm > 0.0 { body.centre[1] / layout.track_mm } else { 0.0 };
    let share = |side: f64| axle_kg / axles * (0.5 + side * lean);
    LoadedCase {
        name,
        payload_kg: loads.iter().map(|load| load.mass_kg).sum(),
        body,
        axle_distance_mm: distance,
        coupling_kg: body.mass_kg - axle_kg,
        coupling_share: if body.mass_kg > 0.0 { (body.mass_kg - axle_kg) / body.mass_kg } else { 0.0 },
        axle_kg,
        wheels_kg: [share(-1.0), share(1.0)],
    }
}

impl LoadedCase {
    pub fn working(&self) -> Working {
        Working::new(format!("Coupling load, {}", self.name), "S = M (L − x_g) / L")
            .given("M", "trailer and loads", self.body.mass_kg, "kg")
            .given("x_g", "centre of gravity behind the coupling", self.body.centre[0], "mm")
            .given("L", "coupling to axle middle", self.axle_distance_mm, "mm")
            .gives("S", self.coupling_kg, "kg")
            .source("statics of a centre-axle trailer", Sure::Computed)
    }
}
