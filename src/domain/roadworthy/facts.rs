//! The facts that only the finished trailer has: what it weighs, and what tows it.

use crate::{
    road::{Facts, Value},
    shop::ShopBook,
    trailer::{Spec, TowingVehicle, Trailer, road_facts},
    weights::Weights,
};

/// A towing vehicle of the need, or none.
pub struct Vehicle {
    /// Its place in the list.
    pub at: Option<usize>,
    pub name: String,
    gross_kg: Option<f64>,
    kerb_kg: Option<f64>,
}

impl Vehicle {
    fn of((at, vehicle): (usize, &TowingVehicle)) -> Self {
        let name = if vehicle.name.is_empty() { format!("vehicle {}", at + 1) } else { vehicle.name.clone() };
        Self {
            at: Some(at),
            name,
            gross_kg: vehicle.gross.map(|mass| mass.kg()),
            kerb_kg: vehicle.kerb.map(|mass| mass.kg()),
        }
    }

    /// The field of the spec that gives a fact: of this vehicle, or the list where there is none.
    pub fn field(&self, pattern: &str) -> Option<String> {
        match (pattern, self.at) {
            ("", _) => None,
            (pattern, Some(at)) => Some(pattern.replace('*', &at.to_string())),
            (pattern, None) => Some(pattern.split(".*").next().unwrap_or(pattern).to_owned()),
        }
    }
}

/// Every towing vehicle; one without figures where none is given, so that rules about it say what they need.
pub fn vehicles(spec: &Spec) -> Vec<Vehicle> {
    let mut all: Vec<Vehicle> = spec.need.towing_vehicles.iter().enumerate().map(Vehicle::of).collect();
    if all.is_empty() {
        all.push(Vehicle { at: None, name: String::new(), gross_kg: None, kerb_kg: None });
    }
    all
}

/// Facts of the trailer alone.
pub fn of_trailer(spec: &Spec, trailer: &Trailer, weights: &Weights, book: &ShopBook) -> Facts {
    let mut facts = road_facts(spec, &trailer.layout, weights.gross_kg);
    facts.set_number("tare_kg", Some(weights.empty.mass_kg), "worked out: weigh the finished trailer");
    if let Some(case) = weights.heaviest_case() {
        facts.set_number("nose_kg", Some(case.coupling_kg), &format!("in the heaviest case, {}", case.name));
    }
    let built = f64::from(book.policy.trailers_a_year);
    facts.set("units_year", Value::Number(built), "the shop's settings");
    facts.with_derived()
}

pub fn with_vehicle(own: &Facts, vehicle: &Vehicle) -> Facts {
    let mut facts = own.clone();
    facts.set_number("tow_gross_kg", vehicle.gross_kg, "gross mass asked for");
    facts.set_number("tow_unladen_kg", vehicle.kerb_kg, "kerb mass, which includes driver and fuel in some papers");
    facts.with_derived()
}

pub fn is_vehicles(fact: &str) -> bool {
    ["tow_gross_kg", "tow_unladen_kg", "gross_over_tow_gross", "gross_over_tow_unladen"].contains(&fact)
}
