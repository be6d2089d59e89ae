//! Every permitted range, in one table: validation, the forms' hints, the messages and the tests' generators all read it.
//!
//! A range here says what can be built and reckoned with, not what is wise or lawful: that is for the checks. Ranges are
//! common practice, no source, unless the note says otherwise.

use super::form::{self, Kind};

/// One permitted range, both ends included, in the unit of the spec's JSON.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Path of the field in the spec's JSON, with `*` for an item of a list.
    pub key: &'static str,
    /// The field's name for people.
    pub name: &'static str,
    pub kind: Kind,
    /// What a figure without a kind of its own is counted in.
    pub unit: &'static str,
    pub least: f64,
    pub most: f64,
    /// Why; empty where the range needs no reason.
    pub note: &'static str,
}

impl Limit {
    pub const fn ends(&self) -> form::Limit {
        form::Limit { low: self.least, high: self.most }
    }
}

/// The range of a field; `path` with `*` for an item of a list, as in [`Limit::key`].
pub fn limit(path: &str) -> Option<&'static Limit> {
    LIMITS.iter().find(|limit| limit.key == path)
}

/// Most loads, trips, towing vehicles, free fittings or free lines of one spec.
pub const MOST_ITEMS: usize = 50;
/// Most loads that ride in one trip.
pub const MOST_CARRIED: usize = 10;
/// Options that go with all others: each doubles what the customer can choose.
pub const MOST_FREE_OPTIONS: usize = 6;
/// Options that exclude each other.
pub const MOST_IN_SET: usize = 6;
/// Fields that one option changes.
pub const MOST_CHANGES: usize = 12;
/// Longest text of one field, characters.
pub const MOST_CHARACTERS: usize = 200;

const fn at(key: &'static str, name: &'static str, unit: Unit, least: f64, most: f64, note: &'static str) -> Limit {
    Limit { key, name, kind: unit.0, unit: unit.1, least, most, note }
}

/// A kind, and a unit where the kind does not say it.
struct Unit(Kind, &'static str);

#[allow(non_upper_case_globals)]
mod units {
    use super::{Kind, Unit};

    pub const Len: Unit = Unit(Kind::Length, "");
    pub const Kg: Unit = Unit(Kind::Mass, "");
    pub const Money: Unit = Unit(Kind::Money, "");
    pub const Count: Unit = Unit(Kind::Count, "");
    pub const Share: Unit = Unit(Kind::Share, "");
    pub const Percent: Unit = Unit(Kind::Percent, "");
    pub const Angle: Unit = Unit(Kind::Angle, "");
    pub const Minutes: Unit = Unit(Kind::Minutes, "");
}
use units::{Angle, Count, Kg, Len, Minutes, Money, Percent, Share};

const fn figure(unit: &'static str) -> Unit {
    Unit(Kind::Number, unit)
}

/// In the order of the form.
#[rustfmt::skip]
pub static LIMITS: &[Limit] = &[
    at("need.use.max_speed_km_h", "Largest speed", figure("km/h"), 10.0, 130.0, ""),
    at("need.count", "Identical trailers", Count, 1.0, 200.0, ""),
    at("need.declared_gross", "Declared gross mass", Kg, 50.0, 3500.0, "light trailers end at 3,500 kg"),
    at("need.gross_allowance", "Allowance on the gross mass", Kg, 0.0, 500.0, ""),

    at("need.loads.*.mass", "Mass of the load", Kg, 0.1, 3500.0, "light trailers end at 3,500 kg"),
    at("need.loads.*.length", "Length of the load", Len, 10.0, 15_000.0, ""),
    at("need.loads.*.width", "Width of the load", Len, 10.0, 3000.0, ""),
    at("need.loads.*.height", "Height of the load", Len, 10.0, 4000.0, ""),
    at("need.loads.*.centre_height", "Height of its centre of gravity", Len, 0.0, 4000.0, "above the bed"),
    at("need.loads.*.centre_from_front", "Centre of gravity from its front", Len, 0.0, 15_000.0, ""),
    at("need.loads.*.wheelbase", "Wheelbase of the load", Len, 100.0, 10_000.0, ""),
    at("need.loads.*.track", "Track of the load", Len, 0.0, 3000.0, "0 for a load on two wheels in line"),
    at("need.loads.*.tyre_width", "Width of one of its tyres", Len, 20.0, 500.0, ""),
    at("need.loads.*.ground_clearance", "Its clearance above the ground", Len, 0.0, 1000.0, "between its wheels"),
    at("need.loads.*.steepest_deg", "Steepest slope it may be driven up", Angle, 1.0, 45.0, ""),
    at("need.loads.*.held.straps", "Straps on the load", Count, 0.0, 40.0, ""),
    at("need.loads.*.held.strap_rating", "Rating of one strap", Kg, 10.0, 10_000.0, ""),
    at("need.loads.*.held.play", "Play of the load", Len, 0.0, 500.0, "each way along and across"),
    at("need.loads.*.held.strap_tension", "Hand tension of one strap", Kg, 5.0, 2000.0, "S_TF on its label"),

    at("need.trips.*.carries.*.along", "Place along the bed", Len, -5000.0, 15_000.0, "from the bed's front edge to the load's middle"),
    at("need.trips.*.carries.*.across", "Place across the bed", Len, -3000.0, 3000.0, "from the bed's centre line to the load's middle, right positive"),

    at("need.towing_vehicles.*.kerb", "Kerb mass", Kg, 100.0, 20_000.0, ""),
    at("need.towing_vehicles.*.gross", "Gross mass of the towing vehicle", Kg, 150.0, 30_000.0, ""),
    at("need.towing_vehicles.*.limit_braked", "Towing limit, braked", Kg, 50.0, 10_000.0, ""),
    at("need.towing_vehicles.*.limit_unbraked", "Towing limit, unbraked", Kg, 20.0, 3500.0, ""),
    at("need.towing_vehicles.*.train", "Vehicle and trailer together", Kg, 200.0, 40_000.0, ""),
    at("need.towing_vehicles.*.coupling_least", "Least load on the coupling", Kg, 0.0, 500.0, ""),
    at("need.towing_vehicles.*.coupling_limit", "Limit on the coupling", Kg, 5.0, 1000.0, ""),
    at("need.towing_vehicles.*.coupling_height", "Height of its coupling", Len, 150.0, 1200.0, ""),
    at("need.towing_vehicles.*.body_width", "Width of its body", Len, 500.0, 2600.0, ""),
    at("need.towing_vehicles.*.rear_overhang", "Rear axle to coupling", Len, 100.0, 4000.0, ""),
    at("need.towing_vehicles.*.uplift_limit", "Upward pull its coupling may take", Kg, 5.0, 1000.0, ""),

    at("design.bed.length", "Bed length", Len, 800.0, 8000.0, ""),
    at("design.bed.width", "Bed width", Len, 500.0, 2500.0, "2.5 m is the widest that most regions let on the road"),
    at("design.bed.height", "Bed height", Len, 150.0, 1500.0, "top of the deck above level ground, empty"),

    at("design.frame.largest_pitch", "Largest cross-member pitch", Len, 100.0, 1500.0, ""),

    at("design.drawbar.length", "Drawbar length", Len, 300.0, 4000.0, "from the coupling centre to the bed's front edge"),
    at("design.drawbar.end_station", "End of the drawbar behind the bed's front", Len, 0.0, 8000.0, ""),
    at("design.drawbar.included_angle_deg", "Angle between the legs", Angle, 40.0, 60.0, "usual for A-frames"),
    at("design.drawbar.travel", "Telescopic travel", Len, 50.0, 3000.0, ""),
    at("design.drawbar.pin_pitch", "Pitch of the pin holes", Len, 25.0, 1000.0, ""),
    at("design.drawbar.pin_diameter", "Diameter of the pin", Len, 8.0, 40.0, ""),
    at("design.drawbar.coupling_height", "Coupling height", Len, 200.0, 1000.0, "centre of the coupling above level ground"),

    at("design.running_gear.axles", "Axles", Count, 1.0, 2.0, ""),
    at("design.running_gear.spacing", "Spacing of the axles", Len, 450.0, 1500.0, ""),
    at("design.running_gear.spring_rate_n_per_mm", "Spring rate at one wheel", figure("N/mm"), 1.0, 1000.0, ""),
    at("design.running_gear.axle_rating", "Rating of one axle", Kg, 100.0, 3500.0, ""),
    at("design.running_gear.bump_travel", "Bump travel", Len, 10.0, 300.0, "from standing empty to the stop"),
    at("design.running_gear.leaf.leaves", "Leaves of one spring", Count, 1.0, 20.0, ""),
    at("design.running_gear.leaf.full_length", "Leaves of full length", Count, 1.0, 20.0, ""),
    at("design.running_gear.leaf.width", "Width of the leaves", Len, 20.0, 120.0, ""),
    at("design.running_gear.leaf.thickness", "Thickness of a leaf", Len, 2.0, 25.0, ""),
    at("design.running_gear.leaf.length", "Leaf spring, eye to eye", Len, 200.0, 1800.0, ""),
    at("design.running_gear.leaf.strength_mpa", "Strength of the leaves", figure("MPa"), 200.0, 2000.0, "at full bump; common practice"),
    at("design.running_gear.donor.mass", "Mass of the axle taken", Kg, 5.0, 500.0, ""),
    at("design.running_gear.donor.price", "Price of the axle taken", Money, 0.0, 1_000_000.0, ""),
    at("design.running_gear.donor.spring_seats", "Between the spring seats", Len, 200.0, 2400.0, ""),
    at("design.running_gear.donor.link_mounts", "Between the link mounts", Len, 100.0, 2400.0, ""),
    at("design.running_gear.donor.link_length", "Length of the links", Len, 100.0, 1500.0, ""),
    at("design.running_gear.donor.damper_closed", "Damper, closed", Len, 100.0, 1000.0, ""),
    at("design.running_gear.donor.damper_open", "Damper, open", Len, 120.0, 1500.0, ""),
    at("design.running_gear.donor.rating", "What the axle carried in its vehicle", Kg, 50.0, 3500.0, ""),
    at("design.running_gear.wheel.rim_inches", "Rim diameter", figure("in"), 4.0, 20.0, ""),
    at("design.running_gear.wheel.rolling_radius", "Rolling radius", Len, 100.0, 500.0, ""),
    at("design.running_gear.wheel.section_width", "Section width of the tyre", Len, 50.0, 350.0, ""),
    at("design.running_gear.wheel.load_index", "Load index", Count, 50.0, 130.0, "the table of load indices runs from 50 to 130"),
    at("design.running_gear.wheel.pressure_bar", "Tyre pressure", figure("bar"), 1.0, 8.0, ""),
    at("design.running_gear.track", "Track", Len, 500.0, 2500.0, "between tyre middles"),
    at("design.running_gear.share", "Axle place, share of the bed", Share, 0.3, 0.9, "55 to 65 % is usual"),
    at("design.running_gear.distance", "Axle place, behind the bed's front", Len, 100.0, 8000.0, ""),
    at("design.running_gear.target_share", "Coupling load aimed at, share of the gross mass", Share, 0.03, 0.2, ""),
    at("design.running_gear.least_share", "Least coupling load, loaded, share of the actual mass", Share, 0.0, 0.15, "5 % is usual"),
    at("design.running_gear.most_share", "Largest coupling load, loaded, share of the actual mass", Share, 0.05, 0.4, "15 % is usual"),
    at("design.running_gear.loaded_from", "Counts as loaded from, share of the heaviest trip", Share, 0.0, 1.0, "25 % is usual"),

    at("design.deck.thickness", "Thickness of the deck", Len, 1.0, 50.0, ""),
    at("design.deck.fixing_pitch", "Pitch of the deck's fixings", Len, 50.0, 600.0, ""),

    at("design.sides.height", "Height of the sides", Len, 50.0, 2500.0, ""),
    at("design.sides.sheet_thickness", "Thickness of the side sheets", Len, 0.5, 25.0, ""),
    at("design.sides.front_height", "Height of the front", Len, 50.0, 2500.0, ""),

    at("design.loading.ramp_length", "Ramp length", Len, 300.0, 5000.0, ""),
    at("design.loading.ramp_width", "Ramp width", Len, 150.0, 2500.0, ""),
    at("design.loading.ramp_sheet_thickness", "Thickness of the ramp sheet", Len, 0.5, 25.0, ""),
    at("design.loading.ramp_rung_pitch", "Pitch of the rungs", Len, 80.0, 1000.0, ""),
    at("design.loading.docking_places", "Docking places", Count, 1.0, 10.0, ""),
    at("design.loading.prop_stands", "Prop stands", Count, 0.0, 4.0, ""),
    at("design.loading.wheel_chocks", "Wheel chocks", Count, 0.0, 8.0, ""),
    at("design.loading.lashing_top.count", "Lashing points on the deck", Count, 0.0, 40.0, ""),
    at("design.loading.lashing_top.rating", "Rating of a lashing point on the deck", Kg, 25.0, 5000.0, ""),
    at("design.loading.lashing_frame.count", "Lashing points on the frame", Count, 0.0, 40.0, ""),
    at("design.loading.lashing_frame.rating", "Rating of a lashing point on the frame", Kg, 25.0, 5000.0, ""),

    at("design.towing.coupling_rating", "Rating of the coupling", Kg, 100.0, 5000.0, ""),
    at("design.towing.jockey_rating", "Rating of the jockey wheel", Kg, 20.0, 2000.0, ""),
    at("design.towing.chain_count", "Chains", Count, 1.0, 2.0, ""),
    at("design.towing.chain_rating", "Rating of a chain", Kg, 100.0, 10_000.0, ""),
    at("design.towing.hand_lift", "What one person may lift at the coupling", Kg, 5.0, 200.0, ""),
    at("design.towing.hand_push", "How hard one person may push, as a mass", Kg, 5.0, 100.0, ""),

    at("design.fittings.tool_boxes", "Tool boxes", Count, 0.0, 6.0, ""),
    at("design.fittings.fuel_can_holders", "Fuel-can holders", Count, 0.0, 6.0, ""),
    at("design.fittings.free.*.count", "Pieces of the fitting", Count, 1.0, 500.0, ""),
    at("design.fittings.free.*.mass", "Mass of one fitting", Kg, 0.0, 2000.0, ""),
    at("design.fittings.free.*.along", "Behind the bed's front edge", Len, -4000.0, 12_000.0, "negative on the drawbar"),
    at("design.fittings.free.*.across", "From the centre line", Len, -1500.0, 1500.0, "right positive"),
    at("design.fittings.free.*.above", "Above the deck", Len, -1500.0, 3000.0, ""),
    at("design.fittings.free.*.price", "Buying price of one", Money, 0.0, 1_000_000.0, ""),
    at("design.fittings.free.*.minutes", "Fitting minutes of one", Minutes, 0.0, 10_000.0, ""),

    at("design.finish.coats", "Coats", Count, 1.0, 6.0, ""),
    at("design.finish.coat_um", "Dry film of one coat", figure("µm"), 10.0, 300.0, ""),

    at("design.factors.dynamic", "Dynamic factor", figure(""), 1.0, 6.0, "on vertical loads while driving"),
    at("design.factors.braking_g", "Braking", figure("g"), 0.1, 1.5, ""),
    at("design.factors.cornering_g", "Cornering", figure("g"), 0.1, 1.5, ""),
    at("design.factors.service_divisor", "Divisor in service", figure(""), 1.0, 5.0, "yield strength is divided by it"),
    at("design.factors.test_divisor", "Divisor in test loads", figure(""), 1.0, 5.0, "and on the jack"),

    at("offer.free_lines.*.price", "Price of the line", Money, -10_000_000.0, 10_000_000.0, ""),
    at("offer.discount", "Discount", Money, 0.0, 10_000_000.0, ""),
    at("offer.agreed_price", "Agreed price before tax", Money, 0.0, 100_000_000.0, ""),
    at("offer.margin_percent", "Margin on price", Percent, -50.0, 90.0, ""),
    at("offer.delivery_km", "Delivery distance", Unit(Kind::Decimal, "km"), 0.0, 5000.0, ""),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_range_is_a_range_and_named_once() {
        for (at, limit) in LIMITS.iter().enumerate() {
            assert!(limit.least < limit.most, "{}", limit.key);
            assert!(LIMITS[at + 1..].iter().all(|other| other.key != limit.key), "{} twice", limit.key);
        }
    }
}
