//! Each part of the running gear against the worst static load on it.

use super::{wheel_kg, worst};
use crate::{
    measure::beside,
    shop::{PartClass, PartItem},
    trailer::{MountKind, Spec, Suspension, Trailer, load_index_kg, speed_symbol_km_h},
    weights::{LoadedCase, Weights},
    working::{Check, Sure, Verdict, Working},
};

pub fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) {
    let axles = trailer.layout.axles_x_mm.len().max(1) as f64;
    let axle = |case: &LoadedCase| case.axles_kg.iter().copied().fold(case.axle_kg / axles, f64::max);
    let half_apart = spring_y_mm(trailer);
    let spring = |case: &LoadedCase| spring_kg(case, axle(case), half_apart);
    for fitting in &trailer.fittings {
        let Some(item) = &fitting.part.item else { continue };
        let attribute = if fitting.class == PartClass::Wheel { "wheel_load_kg" } else { "rating_kg" };
        let of = |key, name, demand: &dyn Fn(&LoadedCase) -> f64, what| {
            rated(Asked { key, name, what, item, attribute }, weights, demand)
        };
        checks.extend(match fitting.class {
            PartClass::BeamAxle | PartClass::TorsionAxle => of("gear/axle", "Axle", &axle, "on one axle"),
            PartClass::DonorAxle => of("gear/axle", "Axle taken from a vehicle", &axle, "on the axle"),
            PartClass::LeafSpring => of("gear/springs", "Leaf springs", &spring, "on one spring"),
            PartClass::CoilSpring => of("gear/springs", "Coil springs", &spring, "on one spring"),
            PartClass::Hub => of("gear/hubs", "Hubs", &wheel_kg, "on one wheel"),
            PartClass::Brakes => of("gear/brakes", "Brakes", &axle, "on one axle"),
            PartClass::Wheel if fitting.moves_with_axle => of("gear/wheels", "Wheels", &wheel_kg, "on one wheel"),
            PartClass::Equaliser => {
                let both = |case: &LoadedCase| 2.0 * spring(case);
                of("gear/equaliser", "Equaliser", &both, "on the springs of one side")
            }
            _ => None,
        });
    }
    checks.extend(tyres(spec, weights));
    checks.push(speed(spec));
    if spec.design.running_gear.suspension == Suspension::FromVehicle
        && !trailer.fittings.iter().any(|fitting| fitting.class == PartClass::DonorAxle && fitting.part.item.is_some())
    {
        let says = "Without what the axle carried in its vehicle, and its mass, nothing can be said of it.";
        checks.push(Check::cannot_tell(
            "gear/axle",
            "Axle taken from a vehicle",
            "the mass of the axle taken, and what the axle carried in its vehicle",
            says,
        ));
    }
}

/// Half of the distance between the springs, from their mounts; none for a torsion axle.
fn spring_y_mm(trailer: &Trailer) -> Option<f64> {
    let seats =
        trailer.layout.mounts.iter().filter(|mount| {
            matches!(mount.kind, MountKind::FrontHanger | MountKind::RearHanger | MountKind::SpringSeat)
        });
    seats.map(|mount| mount.place[1].abs()).reduce(f64::min).filter(|y| *y > 0.0)
}

/// The heavier spring of a case: a load beside the middle leans more on springs that stand closer than the wheels.
fn spring_kg(case: &LoadedCase, axle_kg: f64, half_apart_mm: Option<f64>) -> f64 {
    let lean = half_apart_mm.map_or(0.0, |y| case.body.centre[1].abs() / (2.0 * y));
    axle_kg * (0.5 + lean)
}

struct Asked<'a> {
    key: &'static str,
    name: &'static str,
    what: &'static str,
    item: &'a PartItem,
    attribute: &'static str,
}

fn rated(asked: Asked<'_>, weights: &Weights, demand: &dyn Fn(&LoadedCase) -> f64) -> Option<Check> {
    let Asked { key, name, what, item, attribute } = asked;
    let (case, kg) = worst(weights, demand)?;
    let Some(bears) = item.figure(attribute) else {
        let missing = format!("what {} bears, in the rate book", item.name);
        return Some(Check::cannot_tell(key, name, missing, format!("The rating of {} is not known.", item.name)));
    };
    let [on, most] = beside(kg, bears, 0);
    let says = format!("{on} kg {what} ({}); {} bears {most} kg.", case.name, item.name);
    Some(
        Check::compared(key, name, kg, bears, "kg", says)
            .in_case(&case.name)
            .of_part(&item.name)
            .with(load_working(case, kg, what)),
    )
}

fn load_working(case: &LoadedCase, kg: f64, what: &str) -> Working {
    let all = case.body.mass_kg * case.body.centre[0] / case.axle_distance_mm;
    let share = if all > 0.0 { kg / all } else { 0.0 };
    Working::new(format!("Load {what}, {}", case.name), "F = s M x_g / L")
        .given("M", "trailer and loads", case.body.mass_kg, "kg")
        .given("x_g", "centre of gravity behind the coupling", case.body.centre[0], "mm")
        .given("L", "coupling to axle middle", case.axle_distance_mm, "mm")
        .given("s", format!("share {what}, from axles, lean and places"), share, "")
        .given("y_g", "centre of gravity beside the middle", case.body.centre[1], "mm")
        .gives("F", kg, "kg")
        .source("statics", Sure::Computed)
}

fn tyres(spec: &Spec, weights: &Weights) -> Option<Check> {
    let (key, name) = ("gear/tyres", "Tyres");
    let wheel = &spec.design.running_gear.wheel;
    let Some(bears) = load_index_kg(wheel.load_index) else {
        let says = "The load index is outside the table from 50 to 130.";
        return Some(Check::cannot_tell(key, name, "a load index of the table", says));
    };
    let (case, kg) = worst(weights, wheel_kg)?;
    let [on, most] = beside(kg, bears, 0);
    let says = format!(
        "{on} kg on one wheel ({}); a tyre of load index {} bears {most} kg at {} bar or what its maker asks.",
        case.name, wheel.load_index, wheel.pressure_bar
    );
    let sure = if (60..=113).contains(&wheel.load_index) { Sure::Read } else { Sure::Memory };
    let working = load_working(case, kg, "on one wheel")
        .given("F_max", format!("load index {}", wheel.load_index), bears, "kg")
        .source("statics; load index table as published (60 to 113 read, the rest from memory)", sure);
    let part = format!("tyre {}", wheel.size);
    Some(Check::compared(key, name, kg, bears, "kg", says).in_case(&case.name).of_part(part).with(working))
}

fn speed(spec: &Spec) -> Check {
    let (key, name) = ("gear/tyre-speed", "Speed symbol of the tyres");
    let (wheel, asked) = (&spec.design.running_gear.wheel, spec.need.usage.max_speed_km_h);
    let Some(most) = speed_symbol_km_h(&wheel.speed_symbol) else {
        return Check::cannot_tell(key, name, "a speed symbol of the table", "The tyre's speed symbol is not known.");
    };
    let [wanted, limit] = beside(asked, most, 0);
    let says = format!("Tyres of symbol {} go up to {limit} km/h; {wanted} km/h is asked.", wheel.speed_symbol);
    let mut check = Check::compared(key, name, asked, most, "km/h", says).of_part(format!("tyre {}", wheel.size)).with(
        Working::new("Speed", "v ≤ v_max")
            .given("v_max", format!("symbol {}", wheel.speed_symbol), most, "km/h")
            .gives("v", asked, "km/h")
            .source("published table of speed symbols", Sure::Read),
    );
    if check.verdict == Verdict::Close {
        check.verdict = Verdict::Holds;
    }
    check
}
