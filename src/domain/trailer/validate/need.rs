//! Loads, trips and towing vehicles, together.

use super::Checker;
use crate::{
    limits::{MOST_CARRIED, MOST_ITEMS},
    trailer::{Load, LoadKind, Placed},
};

/// Footprints may touch, and stand over an edge by as much as a tape misreads.
const TOUCH_MM: f64 = 1.0;

pub fn check(checker: &mut Checker<'_>) {
    names(checker);
    shapes(checker);
    vehicles(checker);
    for trip in 0..checker.spec.need.trips.len().min(MOST_ITEMS) {
        carried(checker, trip);
    }
}

fn names(checker: &mut Checker<'_>) {
    let loads = &checker.spec.need.loads;
    for (at, load) in loads.iter().enumerate().take(MOST_ITEMS) {
        if loads[..at].iter().any(|other| other.name == load.name) {
            checker.fault(
                &format!("need.loads.{at}.name"),
                "is the name of another load too",
                "give every load a name of its own: trips call them by it",
            );
        }
    }
}

fn shapes(checker: &mut Checker<'_>) {
    for (at, load) in checker.spec.need.loads.iter().enumerate().take(MOST_ITEMS) {
        let path = |field: &str| format!("need.loads.{at}.{field}");
        let within = [
            ("centre_height", load.centre_height, load.height, "its height"),
            ("centre_from_front", load.centre_from_front, load.length, "its length"),
            ("wheelbase", load.wheelbase, load.length, "its length"),
            ("track", load.track, load.width, "its width"),
        ];
        for (field, value, most, words) in within {
            if value.is_some_and(|value| value > most) {
                let most = checker.mm(most.mm());
                checker.fault(&path(field), format!("is more than {words}, {most}"), format!("type at most {most}"));
            }
        }
        let bed = &checker.spec.design.bed;
        if !checker.is_sound(&["design.bed", &path("")]) || load.kind == LoadKind::Boat {
            continue;
        }
        let turned = carried_turned(checker, load);
        let (along, across) = if turned { (load.width, load.length) } else { (load.length, load.width) };
        let (mut along_path, mut across_path) = (path("length"), path("width"));
        if turned {
            std::mem::swap(&mut along_path, &mut across_path);
        }
        for (size, most, field, words) in
            [(along, bed.length, along_path, "length"), (across, bed.width, across_path, "width")]
        {
            if size.mm() > most.mm() + TOUCH_MM {
                let most = checker.mm(most.mm());
                checker.fault(
                    &field,
                    format!("is more than the bed's {words}, {most}"),
                    "make the bed larger, or turn the load",
                );
            }
        }
    }
}

/// Whether every trip that carries it turns it.
fn carried_turned(checker: &Checker<'_>, load: &Load) -> bool {
    let trips = &checker.spec.need.trips;
    let mut places = trips.iter().flat_map(|trip| &trip.carries).filter(|placed| placed.load == load.name).peekable();
    places.peek().is_some() && places.all(|placed| placed.turned)
}

fn vehicles(checker: &mut Checker<'_>) {
    for (at, vehicle) in checker.spec.need.towing_vehicles.iter().enumerate().take(MOST_ITEMS) {
        let path = |field: &str| format!("need.towing_vehicles.{at}.{field}");
        if let (Some(kerb), Some(gross)) = (vehicle.kerb, vehicle.gross)
            && gross <= kerb
        {
            let kerb = checker.kg(kerb);
            checker.fault(
                &path("gross"),
                format!("is not more than its kerb mass, {kerb}"),
                "type both as its papers say",
            );
        }
        if let (Some(braked), Some(unbraked)) = (vehicle.limit_braked, vehicle.limit_unbraked)
            && unbraked > braked
        {
            let braked = checker.kg(braked);
            checker.fault(
                &path("limit_unbraked"),
                format!("is more than its limit for a braked trailer, {braked}"),
                "type both as its papers say",
            );
        }
    }
}

/// The half sizes of a load on its place, along and across.
fn half(load: &Load, placed: &Placed) -> (f64, f64) {
    let (along, across) = if placed.turned { (load.width, load.length) } else { (load.length, load.width) };
    (along.mm() / 2.0, across.mm() / 2.0)
}

fn carried(checker: &mut Checker<'_>, trip: usize) {
    let spec = checker.spec;
    let carries: Vec<&Placed> = spec.need.trips[trip].carries.iter().take(MOST_CARRIED).collect();
    let path = |at: usize, field: &str| format!("need.trips.{trip}.carries.{at}.{field}");
    for (at, placed) in carries.iter().enumerate() {
        if placed.load.is_empty() {
            continue;
        }
        let Some(load) = spec.need.loads.iter().find(|load| load.name == placed.load) else {
            let known: Vec<&str> = spec.need.loads.iter().map(|load| load.name.as_str()).collect();
            let right = if known.is_empty() {
                "enter the load first".into()
            } else {
                format!("choose one of: {}", known.join(", "))
            };
            checker.fault(&path(at, "load"), "is not the name of a load", right);
            continue;
        };
        if carries[..at].iter().any(|other| other.load == placed.load) {
            checker.fault(
                &path(at, "load"),
                "rides twice on this trip",
                "enter a second load with a name of its own, or take one away",
            );
            continue;
        }
        if checker.is_sound(&["design.bed", "need.loads"]) {
            on_the_bed(checker, load, placed, &path(at, "along"), &path(at, "across"));
            let in_the_way = carries[..at].iter().find(|other| overlap(checker, load, placed, other));
            if let Some(other) = in_the_way {
                let wrong = format!("stands where “{}” stands", other.load);
                checker.fault(&path(at, "along"), wrong, "move one of them, or let the tool place it");
            }
        }
    }
}

fn on_the_bed(checker: &mut Checker<'_>, load: &Load, placed: &Placed, along_path: &str, across_path: &str) {
    let bed = &checker.spec.design.bed;
    let (half_length, half_width) = half(load, placed);
    let (length, side) = (bed.length.mm(), bed.width.mm() / 2.0);
    let fits = 2.0 * half_length <= length + TOUCH_MM && 2.0 * half_width <= 2.0 * side + TOUCH_MM;
    if load.kind == LoadKind::Boat || !fits {
        return;
    }
    let between = |least: f64, most: f64, value: f64| (least - TOUCH_MM..=most + TOUCH_MM).contains(&value);
    if let Some(along) = placed.along
        && !between(half_length, length - half_length, along.mm())
    {
        let range = format!("{} to {}", checker.mm(half_length), checker.mm(length - half_length));
        checker.fault(along_path, "puts the load over the end of the bed", format!("type a place from {range}"));
    }
    if let Some(across) = placed.across
        && !between(half_width - side, side - half_width, across.mm())
    {
        let range = format!("{} to {}", checker.mm(half_width - side), checker.mm(side - half_width));
        checker.fault(across_path, "puts the load over the side of the bed", format!("type a place from {range}"));
    }
}

/// Whether two loads that were both placed by hand stand in the same place.
fn overlap(checker: &Checker<'_>, load: &Load, placed: &Placed, other: &Placed) -> bool {
    let Some(other_load) = checker.spec.need.loads.iter().find(|load| load.name == other.load) else { return false };
    let (mine, theirs) = (half(load, placed), half(other_load, other));
    let meet = |a: Option<crate::measure::Length>, b: Option<crate::measure::Length>, reach: f64| matches!((a, b), (Some(a), Some(b)) if (a.mm() - b.mm()).abs() < reach - TOUCH_MM);
    meet(placed.along, other.along, mine.0 + theirs.0) && meet(placed.across, other.across, mine.1 + theirs.1)
}
