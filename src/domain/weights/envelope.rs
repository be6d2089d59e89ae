//! The loading envelope: every non-empty subset of each trip's loads and the empty trailer, each load off its place by its
//! play (worst way for each check), the drawbar in and out, level and behind each towing vehicle at its height. What each
//! check needs is kept with its case.
//!
//! Coupling, axle and wheel loads are linear in every load's place, so the worst signs of the plays are known beforehand: for
//! the coupling all forward or all back, for the axle all back, for a wheel all back and towards it. That replaces 4^n shifts
//! by one sum; a test compares it with plain enumeration.

use serde::{Deserialize, Serialize};

use super::{
    cases::{LoadedCase, Scales},
    stance::{Stance, Sums},
    subsets::Subset,
};
use crate::choice::choice;

choice! {
    /// What is at its worst in a case.
    Extreme {
        MostCoupling = "most-coupling" / "largest load on the coupling",
        LeastCoupling = "least-coupling" / "least load on the coupling",
        MostShare = "most-share" / "largest share on the coupling, loaded",
        LeastShare = "least-share" / "least share on the coupling, loaded",
        MostAxle = "most-axle" / "largest load on an axle",
        MostLeft = "most-left" / "largest load on a left wheel",
        MostRight = "most-right" / "largest load on a right wheel",
        MostOnVehicle = "most-on-vehicle" / "largest load on this vehicle's coupling",
        LeastOnVehicle = "least-on-vehicle" / "least load on this vehicle's coupling",
    }
}

/// A check's worst case.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Governing {
    pub extreme: Extreme,
    pub case: LoadedCase,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Envelope {
    /// Cases behind it: subsets (and empty) × drawbar and vehicles; their shifts are not counted.
    pub cases: usize,
    /// A trip of more than ten loads was searched instead of enumerated.
    pub searched: bool,
    pub governing: Vec<Governing>,
}

impl Envelope {
    /// None when there is no such case (nothing is carried, no vehicle).
    pub fn worst(&self, extreme: Extreme) -> Option<&LoadedCase> {
        self.governing.iter().find(|governing| governing.extreme == extreme).map(|governing| &governing.case)
    }

    /// For one towing vehicle.
    pub fn worst_on(&self, extreme: Extreme, vehicle: usize) -> Option<&LoadedCase> {
        let of_vehicle =
            |governing: &&Governing| governing.extreme == extreme && governing.case.vehicle == Some(vehicle);
        self.governing.iter().find(of_vehicle).map(|governing| &governing.case)
    }

    /// Largest static load on the coupling, kg.
    pub fn coupling_kg(&self) -> f64 {
        self.worst(Extreme::MostCoupling).map_or(0.0, |case| case.coupling_kg.max(0.0))
    }

    /// Largest load on one axle, kg.
    pub fn axle_kg(&self) -> f64 {
        self.worst(Extreme::MostAxle).map_or(0.0, |case| case.axles_kg.iter().copied().fold(0.0, f64::max))
    }

    /// Largest load on one wheel, kg.
    pub fn wheel_kg(&self) -> f64 {
        let wheel = |extreme, side: usize| self.worst(extreme).map_or(0.0, |case| case.wheels_kg[side]);
        wheel(Extreme::MostLeft, 0).max(wheel(Extreme::MostRight, 1))
    }
}

/// Where a worst value was found.
#[derive(Clone, Copy)]
struct Found {
    value: f64,
    subset: Option<usize>,
    stance: usize,
    signs: [f64; 2],
}

#[derive(Default)]
struct Record(Option<Found>);

impl Record {
    /// The first of equals is kept: level before pitched, drawbar in before out.
    fn meet(&mut self, value: f64, subset: Option<usize>, stance: usize, signs: [f64; 2]) {
        if self.0.is_none_or(|found| value > found.value + 1e-9) {
            self.0 = Some(Found { value, subset, stance, signs });
        }
    }
}

const FORWARD: [f64; 2] = [-1.0, 0.0];
const BACK: [f64; 2] = [1.0, 0.0];

pub(super) fn envelope(scales: &Scales<'_>, stances: &[Stance], subsets: &[Subset], searched: bool) -> Envelope {
    let vehicles = scales.spec.need.towing_vehicles.len();
    let mut over_all: [Record; 7] = Default::default();
    let mut by_vehicle: Vec<[Record; 2]> = (0..vehicles).map(|_| Default::default()).collect();
    let nothing = Subset { trip: 0, mask: 0, sums: Sums::default(), play: 0.0, loaded: false };
    for (at, stance) in stances.iter().enumerate() {
        let statics = scales.statics(stance);
        let base = scales.empty.at(scales.axle_mm, stance.out_mm);
        let base_moment = statics.moment(&base);
        let cases = std::iter::once((None, &nothing)).chain(subsets.iter().enumerate().map(|(i, of)| (Some(i), of)));
        for (index, subset) in cases {
            let mass = base.mass + subset.sums.mass;
            let middle = statics.axle_kg(base_moment + statics.moment(&subset.sums.moved(stance.out_mm)));
            let play = subset.play / statics.lever_mm;
            let (most, least) = (mass - middle + play, mass - middle - play);
            let [most_s, least_s, most_share, least_share, axle, left, right] = &mut over_all;
            most_s.meet(most, index, at, FORWARD);
            least_s.meet(-least, index, at, BACK);
            if subset.loaded {
                most_share.meet(most / mass, index, at, FORWARD);
                least_share.meet(-least / mass, index, at, BACK);
            }
            let [front, rear] = statics.each_axle_kg(middle + play);
            axle.meet(front.max(rear), index, at, BACK);
            let across = base.across + subset.sums.across;
            let [on_left, _] = statics.wheels_kg(middle + play, across - subset.play);
            let [_, on_right] = statics.wheels_kg(middle + play, across + subset.play);
            left.meet(on_left, index, at, [1.0, -1.0]);
            right.meet(on_right, index, at, [1.0, 1.0]);
            if let Some([most_on, least_on]) = stance.vehicle.and_then(|vehicle| by_vehicle.get_mut(vehicle)) {
                most_on.meet(most, index, at, FORWARD);
                least_on.meet(-least, index, at, BACK);
            }
        }
    }
    let of_all = Extreme::ALL.iter().copied().zip(over_all);
    let of_vehicles =
        by_vehicle.into_iter().flat_map(|of| [Extreme::MostOnVehicle, Extreme::LeastOnVehicle].into_iter().zip(of));
    let governing = of_all.chain(of_vehicles).filter_map(|(extreme, record)| {
        let Found { subset, stance, signs, .. } = record.0?;
        let (trip, mask) = subset.and_then(|index| subsets.get(index)).map_or((0, 0), |of| (of.trip, of.mask));
        let stance = stances.get(stance)?;
        let name = scales.words(trip, mask, signs, stance);
        Some(Governing { extreme, case: scales.case(name, trip, mask, signs, stance) })
    });
    Envelope { cases: (subsets.len() + 1) * stances.len(), searched, governing: governing.collect() }
}
