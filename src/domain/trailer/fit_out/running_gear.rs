//! Axles, springs, brakes, wheels and what covers them.

use super::{Shopping, need};
use crate::{
    measure::Money,
    shop::{Attribute, PartClass, PartItem},
    trailer::{
        BedPlace, Brakes, DonorAxle, Group, Mudguards, Point, SparePlace, Suspension, load_index_kg, speed_symbol_km_h,
    },
};

/// Around the tyre in its mudguard; the guard stands higher by the bump travel. Common practice, no source.
const MUDGUARD_CLEARANCE_MM: f64 = 40.0;
/// Four links and one across hold a beam on coils. Common practice, no source.
const LINKS_PER_AXLE: usize = 5;
/// A damper works over the bump travel and half as much rebound. Common practice, no source.
const DAMPER_STROKE: f64 = 1.5;

pub fn buy(shopping: &mut Shopping<'_>) {
    let studs = wheels(shopping);
    match shopping.spec.design.running_gear.suspension {
        Suspension::RubberTorsion => torsion(shopping, studs),
        Suspension::Leaf => leaf(shopping, studs),
        Suspension::CoilLinks => coil(shopping, studs),
        Suspension::FromVehicle => taken(shopping),
    }
    brakes(shopping);
    mudguards(shopping);
}

/// Wheels with tyres, and the spare; gives the stud pattern of the wheel chosen.
fn wheels(shopping: &mut Shopping<'_>) -> Option<Attribute> {
    let (spec, layout) = (shopping.spec, shopping.layout);
    let wheel = &spec.design.running_gear.wheel;
    let load_kg = shopping.wheel_kg();
    let asked = |key| {
        let mut rules = need(key, PartClass::Wheel)
            .like("wheel")
            .is("size", wheel.size.as_str(), "tyre size asked for")
            .at_least("wheel_load_kg", load_kg, &format!("load on the wheel, {load_kg:.0} kg"))
            .at_least("speed_km_h", spec.need.usage.max_speed_km_h, "largest speed");
        if let Some(kg) = load_index_kg(wheel.load_index) {
            rules = rules.at_least("wheel_load_kg", kg, &format!("load index {} asked for", wheel.load_index));
        }
        if let Some(km_h) = speed_symbol_km_h(&wheel.speed_symbol) {
            rules = rules.at_least("speed_km_h", km_h, &format!("speed symbol {} asked for", wheel.speed_symbol));
        }
        rules
    };
    let places = shopping.both_sides(layout.track_mm / 2.0, layout.axle_z_mm);
    let wheels = places.len() + usize::from(spec.design.fittings.spare_wheel != SparePlace::None);
    let both = shopping.cheapest_common("studs", || asked("wheel").count(wheels as f64), || carrier(shopping));
    let wheel = asked("wheel").when_known("studs", both, "studs that a strong enough axle or hub has");
    let chosen = shopping.buy_on_axle(wheel, places);
    let studs = chosen.as_ref().and_then(|item| item.attributes.get("studs").cloned());
    let radius = layout.wheel_radius_mm;
    let spare: Option<Point> = match spec.design.fittings.spare_wheel {
        SparePlace::None => None,
        SparePlace::Drawbar => Some([layout.bed_front_x_mm * 0.6, 0.0, layout.frame_top_z_mm + radius * 0.3]),
        SparePlace::Front => Some([layout.bed_front_x_mm - 100.0, 0.0, layout.deck_top_z_mm + radius]),
        SparePlace::UnderBed => Some([layout.bed_front_x_mm + radius + 50.0, 0.0, layout.frame_bottom_z_mm - 120.0]),
    };
    if let Some(place) = spare {
        shopping.buy_at(asked("spare-wheel"), Group::Fittings, vec![place]);
        let carrier =
            need("spare-carrier", PartClass::SpareCarrier).when_known("studs", studs.clone(), "studs of the wheel");
        shopping.buy_at(carrier, Group::Fittings, vec![place]);
    }
    let chocks = spec.design.loading.wheel_chocks;
    let place: Point = [layout.bed_front_x_mm + 150.0, 0.0, layout.frame_bottom_z_mm];
    shopping.buy_at(
        need("wheel-chock", PartClass::WheelChock).at_least("rating_kg", load_kg, "load on the wheel"),
        Group::Loading,
        vec![place; chocks.min(40) as usize],
    );
    studs
}

/// What the wheels are bolted to.
fn carrier(shopping: &Shopping<'_>) -> Option<super::shopping::Need> {
    match shopping.spec.design.running_gear.suspension {
        Suspension::RubberTorsion => {
            Some(rated(shopping, "axle", PartClass::TorsionAxle).count(shopping.axles() as f64))
        }
        Suspension::Leaf | Suspension::CoilLinks => {
            let hub = need("hub", PartClass::Hub).count(2.0 * shopping.axles() as f64);
            Some(hub.at_least("rating_kg", shopping.wheel_kg(), "load on the wheel"))
        }
        Suspension::FromVehicle => None,
    }
}

/// What one axle must carry: its load, or the rating asked for.
fn rated(shopping: &Shopping<'_>, key: &str, class: PartClass) -> super::shopping::Need {
    let mut rules = need(key, class).at_least("rating_kg", shopping.axle_kg(), &shopping.axle_because());
    if let Some(asked) = shopping.spec.design.running_gear.axle_rating {
        rules = rules.at_least("rating_kg", asked.kg(), "axle rating asked for");
    }
    rules
}

fn torsion(shopping: &mut Shopping<'_>, studs: Option<Attribute>) {
    let axle = rated(shopping, "axle", PartClass::TorsionAxle).when_known("studs", studs, "studs of the wheel");
    let places = shopping.at_axles(shopping.layout.axle_z_mm + 30.0);
    shopping.buy_on_axle(axle, places);
}

/// A beam with its hubs; gives the beam chosen.
fn beam(shopping: &mut Shopping<'_>, studs: Option<Attribute>) -> Option<PartItem> {
    let z = shopping.layout.axle_z_mm;
    let axle = rated(shopping, "axle", PartClass::BeamAxle);
    let chosen = shopping.buy_on_axle(axle, shopping.at_axles(z));
    let spindle = chosen.as_ref().and_then(|item| item.attributes.get("spindle_mm").cloned());
    let wheel_kg = shopping.wheel_kg();
    let hub = need("hub", PartClass::Hub)
        .at_least("rating_kg", wheel_kg, &format!("load on the wheel, {wheel_kg:.0} kg"))
        .when_known("spindle_mm", spindle, "spindle of the axle")
        .when_known("studs", studs, "studs of the wheel");
    let y = shopping.layout.track_mm / 2.0 - shopping.layout.tyre_width_mm / 4.0;
    shopping.buy_on_axle(hub, shopping.both_sides(y, z));
    chosen
}

/// Springs stand this far from the centre line.
fn spring_y_mm(shopping: &Shopping<'_>) -> f64 {
    let layout = shopping.layout;
    ((layout.track_mm - layout.tyre_width_mm) / 2.0 - 80.0).max(0.0)
}

fn leaf(shopping: &mut Shopping<'_>, studs: Option<Attribute>) {
    let beam = beam(shopping, studs);
    let (y, z) = (spring_y_mm(shopping), shopping.layout.axle_z_mm + 50.0);
    let wheel_kg = shopping.wheel_kg();
    let spring = need("leaf-spring", PartClass::LeafSpring).at_least(
        "rating_kg",
        wheel_kg,
        &format!("load on the wheel, {wheel_kg:.0} kg"),
    );
    let springs = shopping.both_sides(y, z);
    let spring = shopping.buy_on_axle(spring, springs.clone());
    let width = spring.as_ref().and_then(|item| item.attributes.get("width_mm").cloned());
    let hangers =
        need("spring-hangers", PartClass::SpringHangers).when_known("width_mm", width.clone(), "width of the spring");
    shopping.buy_on_axle(hangers, springs.clone());
    let side = beam.as_ref().and_then(|item| item.attributes.get("beam_mm").cloned());
    let u_bolts = need("u-bolts", PartClass::UBolts).when_known("beam_mm", side, "beam of the axle");
    shopping.buy_on_axle(u_bolts, springs);
    if shopping.axles() > 1 && shopping.spec.design.running_gear.equalised {
        let x = shopping.layout.axle_x_mm;
        let set = need("equaliser", PartClass::Equaliser)
            .when_known("width_mm", width, "width of the spring")
            .at_least("rating_kg", 2.0 * wheel_kg, "both springs of the side");
        shopping.buy_on_axle(set, vec![[x, -y, z], [x, y, z]]);
    }
}

fn coil(shopping: &mut Shopping<'_>, studs: Option<Attribute>) {
    beam(shopping, studs);
    let (y, z) = (spring_y_mm(shopping), shopping.layout.axle_z_mm + 100.0);
    let wheel_kg = shopping.wheel_kg();
    let springs = shopping.both_sides(y, z);
    let spring = need("coil-spring", PartClass::CoilSpring).at_least(
        "rating_kg",
        wheel_kg,
        &format!("load on the wheel, {wheel_kg:.0} kg"),
    );
    shopping.buy_on_axle(spring, springs.clone());
    let stroke = DAMPER_STROKE * shopping.spec.design.running_gear.bump_travel.mm();
    let damper =
        need("damper", PartClass::Damper).at_least("stroke_mm", stroke, "bump travel and half as much rebound");
    shopping.buy_on_axle(damper, springs);
    let links = shopping.layout.axles_x_mm.iter().flat_map(|&x| vec![[x - 200.0, 0.0, z]; LINKS_PER_AXLE]).collect();
    let link = need("link", PartClass::Link).at_least("rating_kg", shopping.axle_kg(), &shopping.axle_because());
    shopping.buy_on_axle(link, links);
}

/// The axle taken from a vehicle: what the spec says of it.
fn taken(shopping: &mut Shopping<'_>) {
    let DonorAxle { description, mass, price, rating, .. } = &shopping.spec.design.running_gear.donor;
    let places = shopping.at_axles(shopping.layout.axle_z_mm);
    let axle = rated(shopping, "axle", PartClass::DonorAxle).count(places.len() as f64);
    let mut not_known = Vec::new();
    let item = mass.map(|mass| PartItem {
        code: "axle-taken".into(),
        name: if description.is_empty() { "axle taken from a vehicle".into() } else { description.clone() },
        mass_kg: mass.kg(),
        price: price.unwrap_or(Money::ZERO),
        minutes: None,
        attributes: rating.iter().map(|kg| ("rating_kg".to_owned(), Attribute::Figure(kg.kg()))).collect(),
    });
    if mass.is_none() {
        not_known.push("its mass is not known".to_owned());
    }
    if price.is_none() {
        not_known.push("its price is not known and counted as nothing".to_owned());
    }
    match rating {
        None => not_known.push("what it carried in its vehicle is not known".to_owned()),
        Some(rating) if rating.kg() < shopping.axle_kg() => {
            not_known.push(format!("it carried {:.0} kg, {:.0} kg is needed", rating.kg(), shopping.axle_kg()));
        }
        Some(_) => {}
    }
    shopping.bring(axle, item, not_known, Group::RunningGear, places, true);
}

fn brakes(shopping: &mut Shopping<'_>) {
    let gear = &shopping.spec.design.running_gear;
    if gear.brakes == Brakes::None {
        return;
    }
    let set = need("brakes", PartClass::Brakes)
        .is("form", gear.brakes.word(), "brakes asked for")
        .at_least("rating_kg", shopping.axle_kg(), &shopping.axle_because())
        .at_most("least_rim_in", gear.wheel.rim_inches, "rim of the wheel");
    let places = shopping.at_axles(shopping.layout.axle_z_mm);
    shopping.buy_on_axle(set, places);
}

fn mudguards(shopping: &mut Shopping<'_>) {
    let (spec, layout) = (shopping.spec, shopping.layout);
    let y = layout.track_mm / 2.0;
    let radius = layout.wheel_radius_mm + MUDGUARD_CLEARANCE_MM;
    let top = layout.tyre_top_at_bump_z_mm + MUDGUARD_CLEARANCE_MM;
    // A bed over the wheels covers them itself.
    if spec.design.fittings.mudguards == Mudguards::Bought && spec.design.bed.place == BedPlace::Between {
        // A pair whose tyres stand close has one long guard a side.
        let joined = shopping.axles() > 1 && spec.design.running_gear.spacing.mm() < 2.0 * radius + 200.0;
        let places = if joined {
            vec![[layout.axle_x_mm, -y, top], [layout.axle_x_mm, y, top]]
        } else {
            shopping.both_sides(y, top)
        };
        let guard = need("mudguard", PartClass::Mudguard)
            .at_least("width_mm", layout.tyre_width_mm, "width of the tyre")
            .at_least("radius_mm", radius, "tyre radius and 40 mm around it")
            .is("axles", if joined { 2.0 } else { 1.0 }, "wheels under one guard");
        let bolts = places.clone();
        shopping.buy_on_axle(guard, places);
        let set = need("bolts-mudguard", PartClass::BoltSet)
            .count(6.0 * bolts.len() as f64)
            .is("diameter_mm", 10.0, "usual for mudguards")
            .at_least("length_mm", 25.0, "bracket and guard");
        shopping.fit(set, Group::RunningGear, bolts, true);
    }
    if spec.design.fittings.mud_flaps {
        let rear = layout.axles_x_mm.last().copied().unwrap_or(layout.axle_x_mm) + radius;
        let flap = need("mud-flap", PartClass::MudFlap).at_least("width_mm", layout.tyre_width_mm, "width of the tyre");
        shopping.buy_on_axle(flap, vec![[rear, -y, layout.axle_z_mm], [rear, y, layout.axle_z_mm]]);
    }
}
