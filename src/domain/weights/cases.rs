//! Loading cases: what each puts on coupling, axles and wheels.

use serde::{Deserialize, Serialize};

use super::{
    Body,
    placing::PlacedTrip,
    stance::{Empty, Gear, Stance, Statics, Sums},
};
use crate::{
    trailer::Spec,
    working::{Sure, Working},
};

/// A load that rides, and how far it stands off its place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Riding {
    /// Index into the trip's loads.
    pub load: usize,
    pub along_mm: f64,
    pub across_mm: f64,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LoadedCase {
    pub name: String,
    pub payload_kg: f64,
    /// Trailer and loads, level; x is behind the coupling where it is in this case.
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
    /// Index into the trips; None when empty.
    #[serde(default)]
    pub trip: Option<usize>,
    #[serde(default)]
    pub rides: Vec<Riding>,
    /// How far a telescopic drawbar is pulled out.
    #[serde(default)]
    pub drawbar_out_mm: f64,
    /// Index into the need's towing vehicles; None: behind none in particular, level.
    #[serde(default)]
    pub vehicle: Option<usize>,
    /// Coupling of the vehicle above the trailer's; the trailer is pitched by it over the axle distance.
    #[serde(default)]
    pub rise_mm: f64,
    /// Front to rear.
    #[serde(default)]
    pub axles_kg: Vec<f64>,
    /// Lever ℓ and constant P₀ of its statics: P = M (x_g + (z_g − z_c) t) / ℓ + P₀.
    #[serde(default)]
    pub lever_mm: f64,
    #[serde(default)]
    pub pair_kg: f64,
    /// Height of the coupling on the trailer standing level.
    #[serde(default)]
    pub coupling_height_mm: f64,
}

/// The trailer whose cases are worked out.
#[derive(Clone, Copy)]
pub(super) struct Scales<'a> {
    pub spec: &'a Spec,
    pub gear: &'a Gear,
    pub empty: &'a Empty,
    pub trips: &'a [PlacedTrip],
    pub axle_mm: f64,
}

impl Scales<'_> {
    pub fn statics(&self, stance: &Stance) -> Statics {
        Statics::new(self.gear, self.empty, stance, self.axle_mm)
    }

    /// The case of these loads (bits of `mask`), all standing off their places along and across by their plays times these signs.
    pub fn case(&self, name: String, trip: usize, mask: u64, signs: [f64; 2], stance: &Stance) -> LoadedCase {
        let statics = self.statics(stance);
        let placed = self.trips.get(trip).map_or(&[][..], |trip| &trip.loads);
        let rides: Vec<Riding> = placed
            .iter()
            .enumerate()
            .take(64)
            .filter(|(i, _)| mask >> i & 1 == 1)
            .map(|(load, placed)| Riding {
                load,
                along_mm: signs[0] * placed.play_mm,
                across_mm: signs[1] * placed.play_mm,
            })
            .collect();
        let loads = rides.iter().map(|riding| {
            let mut body = placed[riding.load].body;
            body.centre[0] += riding.along_mm + stance.out_mm;
            body.centre[1] += riding.across_mm;
            Sums::from(body)
        });
        let whole = loads.fold(self.empty.at(self.axle_mm, stance.out_mm), Sums::plus);
        let axle_kg = statics.axle_kg(statics.moment(&whole));
        let coupling_kg = whole.mass - axle_kg;
        LoadedCase {
            name,
            payload_kg: rides.iter().map(|riding| placed[riding.load].body.mass_kg).sum(),
            body: Body::from(whole),
            axle_distance_mm: statics.axle_mm,
            coupling_kg,
            coupling_share: if whole.mass > 0.0 { coupling_kg / whole.mass } else { 0.0 },
            axle_kg,
            wheels_kg: statics.wheels_kg(axle_kg, whole.across),
            trip: (!rides.is_empty()).then_some(trip),
            rides,
            drawbar_out_mm: stance.out_mm,
            vehicle: stance.vehicle,
            rise_mm: stance.rise_mm,
            axles_kg: statics.each_axle_kg(axle_kg).into_iter().take(self.gear.axles).collect(),
            lever_mm: statics.lever_mm,
            pair_kg: statics.pair_kg,
            coupling_height_mm: self.gear.coupling_z_mm,
        }
    }

    /// A case in words: who rides, how it stands off its place, how the drawbar and the vehicle stand.
    pub fn words(&self, trip: usize, mask: u64, signs: [f64; 2], stance: &Stance) -> String {
        let mut words = self.riders(trip, mask);
        let shifts = [(signs[0], "forward", "back"), (signs[1], "left", "right")];
        let shifts: Vec<&str> = shifts
            .into_iter()
            .filter(|(sign, ..)| *sign != 0.0)
            .map(|(sign, less, more)| if sign < 0.0 { less } else { more })
            .collect();
        let plays = self.trips.get(trip).is_some_and(|of| {
            of.loads.iter().enumerate().take(64).any(|(i, load)| mask >> i & 1 == 1 && load.play_mm > 0.0)
        });
        if plays && !shifts.is_empty() {
            words += &format!(", shifted {}", shifts.join(" and "));
        }
        if stance.out_mm > 0.0 {
            words += ", drawbar at its longest";
        }
        if let Some(vehicle) = stance.vehicle.and_then(|index| self.spec.need.towing_vehicles.get(index)) {
            let name = if vehicle.name.is_empty() { "the towing vehicle" } else { &vehicle.name };
            words += &format!(", behind {name}");
            if stance.rise_mm.abs() >= 0.5 {
                let way = if stance.rise_mm > 0.0 { "raised" } else { "lowered" };
                words += &format!(" ({way} {:.0} mm at the coupling)", stance.rise_mm.abs());
            }
        }
        words
    }

    fn riders(&self, trip: usize, mask: u64) -> String {
        let Some(of) = self.trips.get(trip).filter(|_| mask != 0) else { return "empty".into() };
        let aboard = |i: &usize| mask >> i & 1 == 1;
        let count = of.loads.len().min(64);
        let riding: Vec<&str> = (0..count).filter(aboard).map(|i| of.loads[i].name.as_str()).collect();
        if riding.len() == of.loads.len() {
            return of.name.clone();
        }
        let missing: Vec<&str> = (0..count).filter(|i| !aboard(i)).map(|i| of.loads[i].name.as_str()).collect();
        match (&riding[..], &missing[..]) {
            ([alone], _) => format!("{}: {alone} alone", of.name),
            (_, [but]) if count > 2 => format!("{}: all but {but}", of.name),
            _ if riding.len() <= missing.len() => format!("{}: {}", of.name, listed(&riding)),
            _ => format!("{}: all but {}", of.name, listed(&missing)),
        }
    }

    /// Empty first, then each trip whole, then each load alone where a trip has several: level, drawbar in, loads at their
    /// places.
    pub fn plain(&self) -> Vec<LoadedCase> {
        let level = Stance::default();
        let case =
            |trip: usize, mask: u64| self.case(self.words(trip, mask, [0.0; 2], &level), trip, mask, [0.0; 2], &level);
        let mut cases = vec![case(0, 0)];
        for (trip, of) in self.trips.iter().enumerate().filter(|(_, of)| !of.loads.is_empty()) {
            let count = of.loads.len().min(64);
            cases.push(case(trip, u64::MAX >> (64 - count)));
            if count > 1 {
                cases.extend((0..count).map(|i| case(trip, 1 << i)));
            }
        }
        cases
    }
}

fn listed(names: &[&str]) -> String {
    match names {
        [.., last] if names.len() > 1 => format!("{} and {last}", names[..names.len() - 1].join(", ")),
        _ => names.join(""),
    }
}

impl LoadedCase {
    /// t: how much the trailer is pitched, nose up positive.
    pub fn slope(&self) -> f64 {
        if self.axle_distance_mm > 0.0 { self.rise_mm / self.axle_distance_mm } else { 0.0 }
    }

    pub fn working(&self) -> Working {
        let (mass, [x, _, z]) = (self.body.mass_kg, self.body.centre);
        let plain = self.rise_mm.abs() < 1e-9 && self.axles_kg.len() < 2 || self.lever_mm == 0.0;
        let title = format!("Coupling load, {}", self.name);
        let working = if plain || (self.rise_mm.abs() < 1e-9 && (self.lever_mm - self.axle_distance_mm).abs() < 1e-9) {
            Working::new(title, "S = M (L − x_g) / L")
                .given("M", "trailer and loads", mass, "kg")
                .given("x_g", "centre of gravity behind the coupling", x, "mm")
                .given("L", "coupling to axle middle", self.axle_distance_mm, "mm")
                .source("statics of a centre-axle trailer", Sure::Computed)
        } else {
            Working::new(title, "S = M − M (x_g + (z_g − z_c) t) / l − P_0")
                .given("M", "trailer and loads", mass, "kg")
                .given("x_g", "centre of gravity behind the coupling", x, "mm")
                .given("z_g", "centre of gravity above ground, level", z, "mm")
                .given("z_c", "coupling above ground, level", self.coupling_height_mm, "mm")
                .given("t", "pitch: coupling heights' difference over L, nose up positive", self.slope(), "")
                .given("l", "lever of the axle or pair about the coupling", self.lever_mm, "mm")
                .given("P_0", "from the springs of a pair that does not share evenly", self.pair_kg, "kg")
                .source(
                    "statics of a pitched trailer on free wheels; two axles on springs of their own",
                    Sure::Computed,
                )
        };
        working.gives("S", self.coupling_kg, "kg")
    }
}
