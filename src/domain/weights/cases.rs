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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::trailer::Layout;

    fn trailer(axle_x_mm: f64) -> Trailer {
        let layout = Layout { axle_x_mm, axles_x_mm: vec![axle_x_mm], track_mm: 1500.0, ..Layout::default() };
        Trailer { layout, ..Trailer::default() }
    }

    fn at(mass_kg: f64, x: f64) -> Body {
        Body { mass_kg, centre: [x, 0.0, 500.0] }
    }

    /// Source: worked checks D1–D3, computed by hand and with an independent frame library (PyNiteFEA 3.2.0): L = 2640 mm, bed
    /// from 1200 to 3600 mm with 600 kg spread evenly; 300 kg at 1600 mm; 100 kg of the first moved 600 mm aft.
    #[test]
    fn coupling_loads_of_the_worked_checks() {
        let trailer = trailer(2640.0);
        for (mass, x, coupling, axle) in [
            (600.0, 2400.0, 54.55, 545.45),
            (300.0, 1600.0, 118.18, 181.82),
            (600.0, 2400.0 + 100.0 * 600.0 / 600.0, 31.82, 568.18),
        ] {
            let case = case(&trailer, "load".into(), Body::default(), &[at(mass, x)]);
            assert!((case.coupling_kg - coupling).abs() < 0.01, "{} against {coupling}", case.coupling_kg);
            assert!((case.axle_kg - axle).abs() < 0.01, "{} against {axle}", case.axle_kg);
        }
    }

    /// Source: S/M = (p − ½) Lb / (Ld + p Lb) for a uniform load, tabulated for Lb 2400, Ld 1200 and Lb 3000, Ld 1300 (computed).
    #[test]
    fn the_rule_of_thumb_table() {
        for (share, of_2400, of_3000) in
            [(0.50, 0.0, 0.0), (0.55, 4.76, 5.08), (0.60, 9.09, 9.68), (0.65, 13.04, 13.85)]
        {
            for (bed, drawbar, percent) in [(2400.0, 1200.0, of_2400), (3000.0, 1300.0, of_3000)] {
                let trailer = trailer(drawbar + share * bed);
                let case = case(&trailer, "even".into(), Body::default(), &[at(500.0, drawbar + bed / 2.0)]);
                assert!((case.coupling_share * 100.0 - percent).abs() < 0.005, "{}", case.coupling_share);
            }
        }
    }

    #[test]
    fn a_load_off_the_centre_line_leans_on_its_wheel() {
        let body = Body { mass_kg: 400.0, centre: [2000.0, 150.0, 500.0] };
        let case = case(&trailer(2000.0), "right".into(), Body::default(), &[body]);
        assert_eq!(case.wheels_kg, [160.0, 240.0]);
    }
}
