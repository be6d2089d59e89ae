//! What would open an empty axle window: one load moved, or a longer drawbar.
//!
//! The two cases that fight are solved for the change that makes their intervals meet; should other cases fight then, they are
//! solved for in turn, until all have a place in common. The change is rounded up a little, so that building the trailer
//! with it (its drawbar grows heavier, cross-members move) still leaves a place.

use serde::{Deserialize, Serialize};

use super::{
    axle::{Cases, Ends, root},
    placing::{PlacedLoad, PlacedTrip},
    stance::{Empty, Sums},
    subsets::Subset,
};
use crate::{limits::limit, measure::round, trailer::Layout};

/// Changes are stated to this, and that much more than just enough.
const STEP_MM: f64 = 10.0;
/// Pairs of cases that are solved for in turn.
const MOST_PAIRS: usize = 12;

/// One change that gives every case a common axle place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Opening {
    /// A load of a trip stands so much further back (negative: forward), at this place behind the bed's front edge.
    MoveLoad { trip: usize, load: usize, name: String, by_mm: f64, along_mm: f64 },
    /// The drawbar is longer by so much.
    Lengthen { by_mm: f64 },
}

impl Opening {
    /// In words, as the end of a sentence.
    pub fn says(&self, trips: &[PlacedTrip]) -> String {
        match self {
            Self::MoveLoad { trip, name, by_mm, along_mm, .. } => {
                let way = if *by_mm < 0.0 { "forward" } else { "back" };
                let on = match trips.get(*trip) {
                    Some(of) if trips.len() > 1 => format!(" on {}", of.name),
                    _ => String::new(),
                };
                format!("move {name}{on} {way} by {:.0} mm (to {along_mm:.0} mm behind the bed's front)", by_mm.abs())
            }
            Self::Lengthen { by_mm } => {
                format!("lengthen the drawbar by {by_mm:.0} mm (the legs of an A-frame then need a smaller angle)")
            }
        }
    }
}

/// The same cases after a change.
struct Changed {
    empty: Empty,
    subsets: Vec<Subset>,
}

/// Every single change that opens the window. `front` is what of the empty trailer lies along the drawbar.
pub(super) fn openings(cases: &Cases<'_>, ends: &Ends, front: Sums, layout: &Layout) -> Vec<Opening> {
    let (Some(back), Some(fore)) = (ends.from.1, ends.to.1) else { return Vec::new() };
    let riders = |index: Option<usize>| index.and_then(|index| cases.subsets.get(index)).copied();
    let (back, fore) = (riders(back.subset), riders(fore.subset));
    let mut found = Vec::new();
    for (trip, of) in cases.scales.trips.iter().enumerate() {
        let rides = |subset: Option<Subset>, load: usize| {
            subset.is_some_and(|subset| subset.trip == trip && subset.mask >> load & 1 == 1)
        };
        for (load, placed) in of.loads.iter().enumerate().take(64) {
            let way = match (rides(back, load), rides(fore, load)) {
                (true, false) => -1.0,
                (false, true) => 1.0,
                _ => continue,
            };
            let change = |by: f64| {
                let mut subsets = cases.subsets.to_vec();
                for subset in subsets.iter_mut().filter(|subset| rides(Some(**subset), load)) {
                    subset.sums.along += way * by * placed.body.mass_kg;
                }
                Changed { empty: *cases.scales.empty, subsets }
            };
            if let Some(by) = least(cases, change, room(of, load, way, layout), layout) {
                let along_mm = round::nearest(placed.x_mm - layout.bed_front_x_mm + way * by, 1.0);
                let by_mm = along_mm - (placed.x_mm - layout.bed_front_x_mm);
                found.push(Opening::MoveLoad { trip, load, name: placed.name.clone(), by_mm, along_mm });
            }
        }
    }
    let longest = limit("design.drawbar.length").map_or(0.0, |limit| limit.most) - layout.drawbar_length_mm;
    let lengthen = |by: f64| {
        let empty = cases.scales.empty;
        // The drawbar grows at its rear: its middle goes back by half.
        let still = empty.still.moved(by);
        let still = Sums { along: still.along - front.mass * by / 2.0, ..still };
        let subsets = cases.subsets.iter().map(|subset| Subset { sums: subset.sums.moved(by), ..*subset }).collect();
        Changed { empty: Empty { still, ..*empty }, subsets }
    };
    let longer = Layout { bed_front_x_mm: layout.bed_front_x_mm, bed_rear_x_mm: f64::INFINITY, ..Layout::default() };
    found.extend(least(cases, lengthen, longest, &longer).map(|by_mm| Opening::Lengthen { by_mm }));
    found
}

/// The least change, rounded up, that leaves every case a common place over the bed; None when none up to `most` does.
fn least(cases: &Cases<'_>, change: impl Fn(f64) -> Changed, most: f64, layout: &Layout) -> Option<f64> {
    let with = |by: f64| change(by);
    let ends = |changed: &Changed| of(cases, changed).ends();
    let mut by = 0.0;
    for _ in 0..MOST_PAIRS {
        let found = ends(&with(by));
        let (Some(back), Some(fore)) = (found.from.1, found.to.1) else { break };
        if found.window().is_some() {
            break;
        }
        let apart = |by: f64| {
            let changed = with(by);
            let cases = of(cases, &changed);
            cases.interval(back)[0] - cases.interval(fore)[1]
        };
        if most <= by || apart(most) > 0.0 {
            return None;
        }
        by = root(apart, by, most) + 1e-6;
    }
    let rounded = round::up(by, STEP_MM) + STEP_MM;
    let opens = |by: f64| {
        ends(&with(by)).window().is_some_and(|[from, to]| from <= layout.bed_rear_x_mm && to >= layout.bed_front_x_mm)
    };
    (rounded <= most && opens(rounded)).then_some(rounded)
}

fn of<'a>(cases: &Cases<'a>, changed: &'a Changed) -> Cases<'a> {
    let scales = super::cases::Scales { empty: &changed.empty, ..cases.scales };
    Cases { scales, subsets: &changed.subsets, ..*cases }
}

/// How far a load can go forward (−1) or back (1) until it meets the end of the bed or another load of its trip.
fn room(trip: &PlacedTrip, load: usize, way: f64, layout: &Layout) -> f64 {
    let Some(this) = trip.loads.get(load) else { return 0.0 };
    let face = |of: &PlacedLoad, side: f64| way * of.x_mm + side * of.length_mm / 2.0;
    let beside = |of: &PlacedLoad| (of.y_mm - this.y_mm).abs() >= (of.width_mm + this.width_mm) / 2.0;
    let bed = if way < 0.0 { -layout.bed_front_x_mm } else { layout.bed_rear_x_mm };
    let others =
        trip.loads.iter().enumerate().filter(|(i, of)| *i != load && !beside(of)).map(|(_, of)| face(of, -1.0));
    let ahead = others.filter(|other| *other >= face(this, 1.0) - 1e-6).fold(bed, f64::min);
    (ahead - face(this, 1.0)).max(0.0)
}
