//! Each towing vehicle: what it may tow and bear, how the trailer brakes behind it, how wide it is.

use crate::{
    measure::{Mass, beside},
    strength::whole,
    trailer::{Brakes, Spec, TowingVehicle, Trailer},
    weights::{Extreme, Weights},
    working::{Check, Sure, Verdict, Working},
};

/// A driver, counted with the empty vehicle (the usual figure of kerb masses; from memory).
const DRIVER_KG: f64 = 75.0;
/// Gross mass of the trailer over the vehicle's kerb mass. Braked: common practice, no source. Unbraked: half, as the Geneva convention
/// and the British rule have it (read in summaries); the road rules decide where it is law.
const RATIO_BRAKED: f64 = 1.0;
const RATIO_UNBRAKED: f64 = 0.5;

pub fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) {
    for (index, vehicle) in spec.need.towing_vehicles.iter().enumerate() {
        let one = One { spec, trailer, weights, vehicle, index, name: named(vehicle) };
        checks.push(one.mass());
        checks.push(one.coupling());
        checks.extend(one.least_coupling());
        checks.push(one.train());
        checks.push(one.ratio());
        checks.extend(one.controller());
        checks.push(one.width());
    }
    if spec.need.towing_vehicles.is_empty() {
        checks.push(Check::cannot_tell(
            "towing/vehicle",
            "Towing vehicle",
            "a towing vehicle",
            "No towing vehicle is given: its limits on mass, coupling load and width cannot be checked.",
        ));
    }
}

pub fn named(vehicle: &TowingVehicle) -> &str {
    if vehicle.name.is_empty() { "towing vehicle" } else { &vehicle.name }
}

struct One<'a> {
    spec: &'a Spec,
    trailer: &'a Trailer,
    weights: &'a Weights,
    vehicle: &'a TowingVehicle,
    /// Among the need's vehicles.
    index: usize,
    name: &'a str,
}

impl One<'_> {
    fn key(&self, what: &str) -> String {
        format!("towing/{what}/{}", self.name)
    }

    fn missing(&self, what: &str, title: String, field: &str) -> Check {
        let name = self.name;
        Check::cannot_tell(
            self.key(what),
            title,
            format!("the {field} ({name})"),
            format!("Of {name} the {field} is not given."),
        )
    }

    fn braked(&self) -> bool {
        self.spec.design.running_gear.brakes != Brakes::None
    }

    fn mass(&self) -> Check {
        let title = format!("Mass behind {}", self.name);
        let (limit, kind) = if self.braked() {
            (self.vehicle.limit_braked, "braked")
        } else {
            (self.vehicle.limit_unbraked, "unbraked")
        };
        let Some(limit) = limit else { return self.missing("mass", title, &format!("towing limit, {kind}")) };
        let gross = self.weights.gross_kg;
        let [weighs, most] = beside(gross, limit.kg(), 0);
        let says = format!("Gross mass {weighs} kg against {}'s {kind} limit of {most} kg.", self.name);
        Check::compared(self.key("mass"), title, gross, limit.kg(), "kg", says).of_part(self.name).with(
            Working::new("Gross mass against the towing limit", "G ≤ G_max")
                .given("G_max", format!("{kind} towing limit of {}", self.name), limit.kg(), "kg")
                .gives("G", gross, "kg")
                .source("the vehicle's plate or handbook, as entered", Sure::Shop),
        )
    }

    fn coupling(&self) -> Check {
        let title = format!("Coupling load on {}", self.name);
        let worst = self.weights.envelope.worst_on(Extreme::MostOnVehicle, self.index);
        let (Some(limit), Some(case)) = (self.vehicle.coupling_limit, worst) else {
            return self.missing("coupling", title, "limit on the coupling");
        };
        let [on, most] = beside(case.coupling_kg, limit.kg(), 0);
        let says = format!("{on} kg on the coupling ({}) against {}'s {most} kg.", case.name, self.name);
        Check::compared(self.key("coupling"), title, case.coupling_kg, limit.kg(), "kg", says)
            .with(case.working())
            .in_case(&case.name)
            .of_part(self.name)
    }

    /// Only where the vehicle's maker states a minimum; the regions' own minimum is a road rule.
    fn least_coupling(&self) -> Option<Check> {
        let least = self.vehicle.coupling_least?.kg();
        let case = self.weights.envelope.worst_on(Extreme::LeastOnVehicle, self.index)?;
        let [asked, on] = beside(least, case.coupling_kg, 0);
        let says = format!("{on} kg on the coupling ({}); {} asks for at least {asked} kg.", case.name, self.name);
        let title = format!("Least coupling load on {}", self.name);
        let mut check = Check::told(self.key("least-coupling"), title, Verdict::Holds, says)
            .with(case.working())
            .in_case(&case.name)
            .of_part(self.name);
        (check.demand, check.capacity, check.unit) = (Some(least), Some(case.coupling_kg), "kg".into());
        check.usage = (case.coupling_kg > 0.0).then(|| least / case.coupling_kg);
        check.verdict = check.usage.map_or(Verdict::Fails, Verdict::of_use);
        Some(check)
    }

    /// Both together. A full vehicle may be too heavy where an empty one is not: then what it may still carry is said.
    fn train(&self) -> Check {
        let title = format!("Mass of {} and trailer together", self.name);
        let kg = |mass: Option<Mass>| mass.map(|mass| mass.kg());
        let (Some(train), Some(kerb)) = (kg(self.vehicle.train), kg(self.vehicle.kerb)) else {
            let field = if self.vehicle.train.is_none() {
                "mass allowed for vehicle and trailer together"
            } else {
                "kerb mass"
            };
            return self.missing("train", title, field);
        };
        let trailer = self.weights.gross_kg;
        let full = kg(self.vehicle.gross).unwrap_or(kerb + DRIVER_KG);
        let with_driver = kerb + DRIVER_KG + trailer;
        let [weigh, most] = beside(with_driver, train, 0);
        let says = format!(
            "With its driver {} and the full trailer weigh {weigh} kg of {most} kg; {} kg are left for people and goods in it.",
            self.name,
            whole((train - with_driver).max(0.0))
        );
        let mut check =
            Check::compared(self.key("train"), title, with_driver, train, "kg", says).of_part(self.name).with(
                Working::new("Vehicle and trailer together", "m = m_k + m_d + G")
                    .given("m_k", "kerb mass", kerb, "kg")
                    .given("m_d", "driver", DRIVER_KG, "kg")
                    .given("G", "gross mass of the trailer", trailer, "kg")
                    .gives("m", with_driver, "kg")
                    .source("masses as entered; 75 kg for the driver from memory", Sure::Memory),
            );
        if check.verdict == Verdict::Holds && full + trailer > train {
            check.verdict = Verdict::Close;
        }
        check
    }

    fn ratio(&self) -> Check {
        let title = format!("Trailer against {}'s own mass", self.name);
        let Some(kerb) = self.vehicle.kerb.map(|kerb| kerb.kg()) else {
            return self.missing("ratio", title, "kerb mass");
        };
        let (most, sure, source) = if self.braked() {
            (RATIO_BRAKED, Sure::CommonPractice, "common practice, no source: no heavier than the vehicle that tows it")
        } else {
            (
                RATIO_UNBRAKED,
                Sure::Read,
                "half the unladen mass: Geneva convention on road traffic and GB regulations, read in summaries; elsewhere common practice",
            )
        };
        let ratio = self.weights.gross_kg / kerb;
        let [weighs, usual] = beside(100.0 * ratio, 100.0 * most, 0);
        let says = format!(
            "The full trailer weighs {weighs} % of {}'s kerb mass; {usual} % is usual {}. The road rules decide what is law.",
            self.name,
            if self.braked() { "behind an ordinary driver" } else { "at most without brakes" }
        );
        let mut check = Check::compared(self.key("ratio"), title, ratio, most, "", says).of_part(self.name).with(
            Working::new("Mass ratio", "r = G / m_k")
                .given("G", "gross mass", self.weights.gross_kg, "kg")
                .given("m_k", "kerb mass", kerb, "kg")
                .gives("r", ratio, "")
                .source(source, sure),
        );
        if check.verdict == Verdict::Fails {
            check.verdict = Verdict::Close;
        }
        check
    }

    fn controller(&self) -> Option<Check> {
        if self.spec.design.running_gear.brakes != Brakes::Electric {
            return None;
        }
        let (verdict, says) = if self.vehicle.brake_controller {
            (Verdict::Holds, format!("{} has a controller for electric brakes.", self.name))
        } else {
            (
                Verdict::Fails,
                format!(
                    "{} has no brake controller: the trailer's electric brakes would do nothing behind it.",
                    self.name
                ),
            )
        };
        let title = format!("Brake controller in {}", self.name);
        Some(Check::told(self.key("controller"), title, verdict, says).of_part(self.name))
    }

    fn width(&self) -> Check {
        let title = format!("Width behind {}", self.name);
        let Some(width) = self.vehicle.body_width.map(|width| width.mm()) else {
            return self.missing("width", title, "width of its body");
        };
        let own = self.trailer.layout.overall_width_mm;
        let over = own - width;
        let verdict = match (over > 0.0, self.spec.design.bed.within_vehicle_width) {
            (true, true) => Verdict::Fails,
            (true, false) => Verdict::Close,
            _ => Verdict::Holds,
        };
        let says = if over > 0.0 {
            format!(
                "The trailer is {over:.0} mm wider than {}: its corners are not in sight ahead, and mirrors may need arms \
                 (common practice).",
                self.name
            )
        } else {
            format!("The trailer is {:.0} mm narrower than {}.", -over, self.name)
        };
        let mut check = Check::told(self.key("width"), title, verdict, says).of_part(self.name);
        (check.demand, check.capacity, check.unit) = (Some(own), Some(width), "mm".into());
        check
    }
}
