//! Mass, centre of gravity and coupling load, empty and loaded, from the built trailer and the loads at their places.
//!
//! x runs rearwards from the coupling centre, L from the coupling to the middle of the axle (or of an equalised pair):
//! coupling load S = M (L − x_g) / L. The axle window is exact: with m₀, x₀ the mass and centre of all that does not move
//! with the axle, S = m₀ (1 − x₀ / L) rises steadily with L, so each case gives one interval of L and the window is what
//! they have in common. Sources: statics; shares of 5–15 % with a tenth as the aim are common practice, no source.

mod axle;
mod balance;
mod cases;
mod checks;
mod envelope;
#[cfg(test)]
mod laws;
mod masses;
mod opening;
mod placing;
mod rating;
mod stance;
mod subsets;
mod unhitched;

use serde::{Deserialize, Serialize};

pub use axle::{AxleWindow, Interval};
pub use cases::{LoadedCase, Riding};
pub use envelope::{Envelope, Extreme, Governing};
pub use masses::{MassGroup, MassItem};
pub use opening::Opening;
pub use placing::{PlacedLoad, PlacedTrip};
pub use rating::Rating;
pub use unhitched::{OverRear, Unhitched};

use cases::Scales;
use stance::{Empty, Gear, Sums};

use crate::{
    measure::round,
    shop::PartClass,
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
    /// Empty first, then each trip whole, then each load alone where a trip has several: level, loads at their places.
    pub cases: Vec<LoadedCase>,
    /// The worst of all loading cases, per check.
    #[serde(default)]
    pub envelope: Envelope,
    /// For the plate.
    pub gross_kg: f64,
    pub gross_declared: bool,
    pub heaviest_trip_kg: f64,
    /// Gross less empty mass.
    pub payload_left_kg: f64,
    pub rating: Rating,
    /// Unhitched, and while loads are rolled on.
    #[serde(default)]
    pub unhitched: Unhitched,
    pub window: AxleWindow,
    /// The axle place that the rule (find, share, distance) gives with these masses.
    pub axle_x_mm: f64,
    pub workings: Vec<Working>,
    pub checks: Vec<Check>,
}

impl Weights {
    /// What the parts must bear with the trailer at its gross mass.
    pub fn demand(&self) -> Demand {
        let actual = self.empty.mass_kg + self.heaviest_trip_kg;
        let scale = if actual > 0.0 { self.gross_kg / actual } else { 1.0 };
        Demand {
            coupling_kg: self.envelope.coupling_kg() * scale,
            axle_kg: self.envelope.axle_kg() * scale,
            wheel_kg: self.envelope.wheel_kg() * scale,
        }
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

/// What parts are chosen for and rated against: the worst of the loading envelope in proportion to gross over actual mass.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Demand {
    pub coupling_kg: f64,
    /// On one axle.
    pub axle_kg: f64,
    pub wheel_kg: f64,
}

/// Weighs a built trailer with the loads of its spec.
pub fn weigh(spec: &Spec, trailer: &Trailer) -> Weights {
    let items = masses::items(spec, trailer);
    let empty = Body::of(items.iter().map(|item| item.body));
    let trips = placing::place(spec, &trailer.layout, empty);
    let parts = parts(&items, trailer.layout.axle_x_mm);
    let gear = Gear::of(spec, &trailer.layout, bought_rate(trailer));
    let stances = stance::stances(spec, &trailer.layout);
    let axle_mm = trailer.layout.axle_x_mm;
    let loaded_from = spec.design.running_gear.loaded_from;
    let subsets = subsets::subsets(&trips, loaded_from, &gear, &parts, &stances, axle_mm);
    let scales = Scales { spec, gear: &gear, empty: &parts, trips: &trips, axle_mm };
    let along_drawbar = |item: &&MassItem| {
        matches!(item.group, Group::Drawbar | Group::Towing) && !item.moves_with_axle && !item.moves_with_coupling
    };
    let front = Sums::of(items.iter().filter(along_drawbar).map(|item| item.body));
    let window = axle::window(&axle::Cases { scales, stances: &stances, subsets: &subsets }, front, &trailer.layout);
    let axle_x_mm = axle::place(spec, &trailer.layout, &window);
    let searched = trips.iter().any(|trip| trip.loads.len() > subsets::MOST_ENUMERATED);
    let envelope = envelope::envelope(&scales, &stances, &subsets, searched);
    let cases = scales.plain();

    let heaviest_trip_kg = trips.iter().map(PlacedTrip::mass_kg).fold(0.0, f64::max);
    let needed = empty.mass_kg + heaviest_trip_kg + spec.need.gross_allowance.kg();
    let (gross_kg, gross_declared) = match spec.need.declared_gross {
        Some(declared) => (declared.kg(), true),
        None => (round::up(needed, 10.0), false),
    };
    let mut weights = Weights {
        groups: masses::groups(&items),
        yaw_inertia_kg_m2: masses::yaw_inertia(&items, empty),
        items,
        empty,
        trips,
        cases,
        envelope,
        gross_kg,
        gross_declared,
        heaviest_trip_kg,
        payload_left_kg: gross_kg - empty.mass_kg,
        rating: Rating::default(),
        unhitched: Unhitched::default(),
        window,
        axle_x_mm,
        workings: Vec::new(),
        checks: Vec::new(),
    };
    weights.rating = rating::rate(trailer, &weights.demand(), gross_kg);
    weights.unhitched = unhitched::unhitched(spec, trailer, &weights);
    weights.workings = workings(&weights, spec.need.gross_allowance.kg());
    weights.checks = checks::all(spec, trailer, &weights);
    weights
}

/// The empty trailer by what moves with the axle and with the coupling of a telescopic drawbar.
fn parts(items: &[MassItem], axle_mm: f64) -> Empty {
    let of = |axle: bool, coupling: bool| {
        let moving = |item: &&MassItem| item.moves_with_axle == axle && (!axle && item.moves_with_coupling) == coupling;
        Sums::of(items.iter().filter(moving).map(|item| item.body))
    };
    Empty { still: of(false, false), on_axle: of(true, false).moved(-axle_mm), nose: of(false, true) }
}

/// Rate of the bought spring at one wheel, N/mm.
fn bought_rate(trailer: &Trailer) -> Option<f64> {
    let sprung = |class| matches!(class, PartClass::LeafSpring | PartClass::CoilSpring);
    let spring = trailer.fittings.iter().find(|fitting| sprung(fitting.class))?;
    spring.part.item.as_ref()?.figure("rate_n_per_mm")
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
