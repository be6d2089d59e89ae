//! The axle window and the place found in it.

use serde::{Deserialize, Serialize};

use super::{Body, masses::MassItem, placing::PlacedTrip};
use crate::domain::trailer::{AxlePlaceBy, Layout, Spec, Trailer};

/// Coupling load as a share of the trailer's actual mass, loaded (common practice, no source).
pub(super) const LEAST_SHARE: f64 = 0.05;
pub(super) const MOST_SHARE: f64 = 0.15;
/// A case counts as loaded from this share of the heaviest payload on (common practice, no source).
pub(super) const LOADED_FROM: f64 = 0.25;

/// Axle places (mm behind the coupling) that suit one case.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    pub case: String,
    pub from_mm: f64,
    pub to_mm: f64,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct AxleWindow {
    pub intervals: Vec<Interval>,
    /// What they have in common; None when empty.
    pub window_mm: Option<[f64; 2]>,
    /// When empty: the case that wants the axle furthest back and the one that wants it furthest forward.
    pub fight: Option<[String; 2]>,
    /// Least worst deviation from the target share, over loaded cases (over the empty one without loads).
    pub best_mm: f64,
    /// 55 to 65 % of the bed's length from its front (common practice, no source).
    pub rule_of_thumb_mm: [f64; 2],
}

/// A case as the window sees it: S(L) = still − moment / L.
struct Lever {
    name: String,
    /// All mass, kg.
    mass: f64,
    /// Mass that does not move with the axle, kg.
    still: f64,
    /// kg mm about the coupling of what stays, and about the axle of what moves with it.
    moment: f64,
    loaded: bool,
}

impl Lever {
    fn share(&self, axle_mm: f64) -> f64 {
        (self.still - self.moment / axle_mm) / self.mass
    }

    /// Where the coupling load is `s` kg; without end when it never gets there.
    fn place_of(&self, s: f64) -> f64 {
        if self.still > s { self.moment / (self.still - s) } else { f64::INFINITY }
    }
}

pub(super) fn window(
    spec: &Spec,
    trailer: &Trailer,
    items: &[MassItem],
    fixed: Body,
    trips: &[PlacedTrip],
) -> AxleWindow {
    let layout = &trailer.layout;
    let moving = Body::of(items.iter().filter(|item| item.moves_with_axle).map(|item| item.body));
    let levers = levers(layout, fixed, moving, trips);
    let vehicle_limit =
        spec.need.towing_vehicles.iter().filter_map(|vehicle| vehicle.coupling_limit).map(|limit| limit.kg());
    let limit = vehicle_limit.fold(f64::INFINITY, f64::min);
    let intervals: Vec<Interval> = levers
        .iter()
        .map(|lever| {
            let least = if lever.loaded { LEAST_SHARE * lever.mass } else { least_light_kg(spec, lever.mass) };
            let most = if lever.loaded { (MOST_SHARE * lever.mass).min(limit) } else { limit };
            Interval { case: lever.name.clone(), from_mm: lever.place_of(least), to_mm: lever.place_of(most) }
        })
        .collect();
    let back = intervals.iter().max_by(|a, b| a.from_mm.total_cmp(&b.from_mm));
    let front = intervals.iter().min_by(|a, b| a.to_mm.total_cmp(&b.to_mm));
    let (window_mm, fight) = match (back, front) {
        (Some(back), Some(front)) if back.from_mm <= front.to_mm => (Some([back.from_mm, front.to_mm]), None),
        (Some(back), Some(front)) => (None, Some([back.case.clone(), front.case.clone()])),
        _ => (None, None),
    };
    let bed = layout.bed_rear_x_mm - layout.bed_front_x_mm;
    let best_mm = best(&levers, spec.design.running_gear.target_share, layout, window_mm);
    AxleWindow {
        intervals: intervals.into_iter().map(finite).collect(),
        window_mm: window_mm.map(|ends| ends.map(|end| end.min(1e6))),
        fight,
        best_mm,
        rule_of_thumb_mm: [layout.bed_front_x_mm + 0.55 * bed, layout.bed_front_x_mm + 0.65 * bed],
    }
}

/// JSON knows no infinity: a kilometre stands for "without end".
fn finite(interval: Interval) -> Interval {
    Interval { from_mm: interval.from_mm.min(1e6), to_mm: interval.to_mm.min(1e6), ..interval }
}

/// Least coupling load empty or lightly loaded: 4 % of the actual mass or 25 kg, whichever is less, where Europe's rule holds
/// (97/27/EC annex I 7.8.2; StVZO § 44 (3); read), else only not negative.
fn least_light_kg(spec: &Spec, mass_kg: f64) -> f64 {
    match spec.need.usage.region.as_str() {
        "eu" | "de" | "ie" | "nl" | "gb" => (0.04 * mass_kg).min(25.0),
        _ => 0.0,
    }
}

fn levers(layout: &Layout, fixed: Body, moving: Body, trips: &[PlacedTrip]) -> Vec<Lever> {
    let behind_axle = moving.centre[0] - layout.axle_x_mm;
    let heaviest = trips.iter().map(PlacedTrip::mass_kg).fold(0.0, f64::max);
    let lever = |name: String, loads: Body| {
        let still = Body::of([fixed, loads]);
        Lever {
            name,
            mass: still.mass_kg + moving.mass_kg,
            still: still.mass_kg,
            moment: still.mass_kg * still.centre[0] + moving.mass_kg * behind_axle,
            loaded: loads.mass_kg > 0.0 && loads.mass_kg >= LOADED_FROM * heaviest,
        }
    };
    let mut levers = vec![lever("empty".into(), Body::default())];
    for trip in trips.iter().filter(|trip| !trip.loads.is_empty()) {
        levers.push(lever(trip.name.clone(), Body::of(trip.loads.iter().map(|load| load.body))));
        if trip.loads.len() > 1 {
            levers
                .extend(trip.loads.iter().map(|load| lever(format!("{}: {} alone", trip.name, load.name), load.body)));
        }
    }
    levers
}

/// The share rises with the axle's place in every case, so highest + lowest share − 2 × target crosses zero once.
fn best(levers: &[Lever], target: f64, layout: &Layout, window: Option<[f64; 2]>) -> f64 {
    let loaded: Vec<&Lever> = levers.iter().filter(|lever| lever.loaded).collect();
    let counted = if loaded.is_empty() { levers.iter().collect() } else { loaded };
    let half_pair = match (layout.axles_x_mm.first(), layout.axles_x_mm.last()) {
        (Some(first), Some(last)) => (last - first) / 2.0,
        _ => 0.0,
    };
    let room = half_pair + layout.wheel_radius_mm / 2.0;
    let (mut low, mut high) =
        (layout.bed_front_x_mm + room, (layout.bed_rear_x_mm - half_pair).max(layout.bed_front_x_mm + room));
    if let Some([from, to]) = window
        && from <= high
        && to >= low
    {
        (low, high) = (low.max(from), high.min(to));
    }
    let balance = |axle: f64| {
        let shares = counted.iter().map(|lever| lever.share(axle));
        let (least, most) = shares.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), s| (l.min(s), m.max(s)));
        least + most - 2.0 * target
    };
    if balance(low) >= 0.0 {
        return low;
    }
    if balance(high) <= 0.0 {
        return high;
    }
    while high - low > 0.01 {
        let middle = (low + high) / 2.0;
        if balance(middle) < 0.0 { low = middle } else { high = middle }
    }
    high
}

/// The place that the rule gives, mm behind the coupling.
pub(super) fn place(spec: &Spec, layout: &Layout, window: &AxleWindow) -> f64 {
    let gear = &spec.design.running_gear;
    match gear.place_by {
        AxlePlaceBy::Find => window.best_mm,
        AxlePlaceBy::Share => layout.bed_front_x_mm + gear.share * (layout.bed_rear_x_mm - layout.bed_front_x_mm),
        AxlePlaceBy::Distance => layout.bed_front_x_mm + gear.distance.mm(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lever(mass: f64, x: f64) -> Lever {
        Lever { name: format!("{mass} kg at {x}"), mass, still: mass, moment: mass * x, loaded: true }
    }

    fn layout() -> Layout {
        Layout { bed_front_x_mm: 1200.0, bed_rear_x_mm: 3600.0, wheel_radius_mm: 280.0, ..Layout::default() }
    }

    /// Source: statics. A tenth on the coupling puts the centre of gravity a tenth of L ahead of the axle.
    #[test]
    fn one_load_finds_its_target_exactly() {
        let found = best(&[lever(500.0, 2250.0)], 0.1, &layout(), None);
        assert!((found - 2500.0).abs() < 0.02, "{found}");
    }

    #[test]
    fn two_loads_share_the_deviation() {
        let levers = [lever(500.0, 2200.0), lever(500.0, 2300.0)];
        let found = best(&levers, 0.1, &layout(), None);
        let (low, high) = (levers[1].share(found) - 0.1, levers[0].share(found) - 0.1);
        assert!((low + high).abs() < 1e-3, "{low} {high}");
    }

    #[test]
    fn a_place_outside_the_bed_is_not_found() {
        assert_eq!(best(&[lever(500.0, 6000.0)], 0.1, &layout(), None), 3600.0);
        assert_eq!(best(&[lever(500.0, 100.0)], 0.1, &layout(), None), 1340.0);
    }

    #[test]
    fn what_moves_with_the_axle_shifts_the_interval() {
        // 100 kg that sits 50 mm behind the axle wherever it is: S = 500 (1 − 2000/L) − 100 × 50 / L.
        let lever = Lever {
            name: String::new(),
            mass: 600.0,
            still: 500.0,
            moment: 500.0 * 2000.0 + 100.0 * 50.0,
            loaded: true,
        };
        let axle = lever.place_of(60.0);
        let by_hand = 500.0 * (1.0 - 2000.0 / axle) - 100.0 * 50.0 / axle;
        assert!((by_hand - 60.0).abs() < 1e-9, "{by_hand}");
    }
}
