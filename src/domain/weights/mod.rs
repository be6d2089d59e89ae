//! Mass, centre of gravity and coupling load, empty and loaded, from the built trailer and the loads at their places.
//!
//! x runs rearwards from the coupling centre, L from the coupling to the middle of the axle (or of an equalised pair):
//! coupling load S = M (L − x_g) / L. The axle window is exact: with m₀, x₀ the mass and centre of all that does not move
//! with the axle, S = m₀ (1 − x₀ / L) rises steadily with L, so each case gives one interval of L and the window is what
//! they have in common. Sources: statics; shares of 5–15 % with a tenth as the aim are common practice, no source.

mod axle;
mod cases;
mod checks;
mod masses;
mod placing;
mod rating;

use serde::{Deserialize, Serialize};

pub use axle::{AxleWindow, Interval};
pub use cases::LoadedCase;
pub use masses::{MassGroup, MassItem};
pub use placing::{PlacedLoad, PlacedTrip};
pub use rating::Rating;

use crate::domain::{
    measure::round,
    steel::SheetMaterial,
    trailer::{Group, Spec, Trailer},
    working::{Check, Sure, Working},
};

/// A mass and where it acts: kg, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Body {
    pub mass_kg: f64,
    pub centre: [f64; 3],
}

impl Body {
    /// The sum of several; without mass it stands at the origin.
    pub fn of(parts: impl IntoIterator<Item = Body>) -> Self {
        let (mut mass, mut moment) = (0.0, [0.0; 3]);
        for part in parts {
            mass += part.mass_kg;
            for (sum, along) in moment.iter_mut().zip(part.centre) {
                *sum += part.mass_kg * along;
            }
        }
        let centre = if mass > 0.0 { moment.map(|m| m / mass) } else { [0.0; 3] };
        Self { mass_kg: mass, centre }
    }
}

/// What the trailer weighs, where, and what that puts on coupling, axle and wheels.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Weights {
    pub items: Vec<MassItem>,
    pub groups: Vec<MassGroup>,
    pub empty: Body,
    /// About the vertical through the centre of gravity, kg m².
    pub yaw_inertia_kg_m2: f64,
    pub trips: Vec<PlacedTrip>,
    /// Empty first, then each trip whole, then each load alone where a trip has several.
    pub cases: Vec<LoadedCase>,
    /// For the plate.
    pub gross_kg: f64,
    pub gross_declared: bool,
    pub heaviest_trip_kg: f64,
    /// Gross less empty mass.
    pub payload_left_kg: f64,
    pub rating: Rating,
    pub window: AxleWindow,
    /// The axle place that the rule (find, share, distance) gives with these masses.
    pub axle_x_mm: f64,
    pub workings: Vec<Working>,
    pub checks: Vec<Check>,
}

impl Weights {
    /// Largest static load on the coupling over all cases, kg.
    pub fn coupling_load_kg(&self) -> f64 {
        self.cases.iter().map(|case| case.coupling_kg).fold(0.0, f64::max)
    }

    /// Largest load on the axle or pair over all cases, kg.
    pub fn axle_load_kg(&self) -> f64 {
        self.cases.iter().map(|case| case.axle_kg).fold(0.0, f64::max)
    }

    /// The empty trailer.
    pub fn empty_case(&self) -> Option<&LoadedCase> {
        self.cases.first()
    }

    /// The heaviest case.
    pub fn heaviest_case(&self) -> Option<&LoadedCase> {
        self.cases.iter().max_by(|a, b| a.body.mass_kg.total_cmp(&b.body.mass_kg))
    }
}

/// Weighs a built trailer with the loads of its spec.
pub fn weigh(spec: &Spec, trailer: &Trailer) -> Weights {
    let items = masses::items(spec, trailer);
    let empty = Body::of(items.iter().map(|item| item.body));
    let fixed = Body::of(items.iter().filter(|item| !item.moves_with_axle).map(|item| item.body));
    let trips = placing::place(spec, &trailer.layout, empty);
    let window = axle::window(spec, trailer, &items, fixed, &trips);
    let axle_x_mm = axle::place(spec, &trailer.layout, &window);
    let cases = cases::all(trailer, empty, &trips);

    let heaviest_trip_kg = trips.iter().map(PlacedTrip::mass_kg).fold(0.0, f64::max);
    let needed = empty.mass_kg + heaviest_trip_kg + spec.need.gross_allowance.kg();
    let (gross_kg, gross_declared) = match spec.need.declared_gross {
        Some(declared) => (declared.kg(), true),
        None => (round::up(needed, 10.0), false),
    };
    let rating = rating::rate(trailer, &cases, gross_kg);
    let mut weights = Weights {
        groups: masses::groups(&items),
        yaw_inertia_kg_m2: masses::yaw_inertia(&items, empty),
        items,
        empty,
        trips,
        cases,
        gross_kg,
        gross_declared,
        heaviest_trip_kg,
        payload_left_kg: gross_kg - empty.mass_kg,
        rating,
        window,
        axle_x_mm,
        workings: Vec::new(),
        checks: Vec::new(),
    };
    weights.workings = workings(&weights, spec.need.gross_allowance.kg());
    weights.checks = checks::all(spec, trailer, &weights);
    weights
}

fn workings(weights: &Weights, allowance_kg: f64) -> Vec<Working> {
    let mut shown = vec![
        Working::new("Empty mass", "m = Σ mᵢ")
            .given("n", "members, panels, welds, parts and coating", weights.items.len() as f64, "")
            .gives("m", weights.empty.mass_kg, "kg")
            .source("length × mass per metre, area × mass per m², parts as in the rate book", Sure::Computed),
        Working::new("Centre of gravity behind the coupling, empty", "x_g = Σ mᵢ xᵢ / m")
            .given("m", "empty mass", weights.empty.mass_kg, "kg")
            .gives("x_g", weights.empty.centre[0], "mm")
            .source("statics", Sure::Computed),
    ];
    if !weights.gross_declared {
        shown.push(
            Working::new("Gross mass for the plate", "G = 10 ⌈(m + t + a) / 10⌉")
                .given("m", "empty mass", weights.empty.mass_kg, "kg")
                .given("t", "heaviest trip", weights.heaviest_trip_kg, "kg")
                .given("a", "allowance for straps, tools, mud", allowance_kg, "kg")
                .gives("G", weights.gross_kg, "kg")
                .source("the shop's rule: up to the next 10 kg", Sure::CommonPractice),
        );
    }
    shown.extend(weights.cases.iter().map(LoadedCase::working));
    shown
}

/// Whether a sheet is plain metal that is galvanised or painted with the frame.
pub(crate) const fn coated_with_frame(material: SheetMaterial, group: Group) -> bool {
    matches!(material, SheetMaterial::SheetSteel | SheetMaterial::TreadSteel)
        && matches!(group, Group::Frame | Group::Drawbar | Group::RunningGear | Group::Sides | Group::Loading)
}
