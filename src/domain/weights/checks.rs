//! The checks that masses and geometry alone can make. Strength, restraint and road rules have modules of their own.

use super::{Weights, axle};
use crate::domain::{
    measure::{Grouping, show_number},
    shop::{ChosenPart, PartClass, shortfalls},
    trailer::{Brakes, ChainPurpose, FinishSystem, RampForm, Spec, TowingVehicle, Trailer, unvented_closed_members},
    working::{Check, Sure, Verdict, Working},
};

/// Heaviest light trailer that this tool designs, kg.
pub const LARGEST_GROSS_KG: f64 = 3500.0;
/// Steepest ramp that small machines are usually driven up (from memory; the machine's own gradeability decides).
const RAMP_DEG: f64 = 20.0;
/// Load by hand on the drawbar that one person should lift (common practice, no source).
const LIFT_KG: f64 = 50.0;

pub(super) fn all(spec: &Spec, trailer: &Trailer, weights: &Weights) -> Vec<Check> {
    let mut checks = vec![coupling_share(weights), light_coupling(weights), window(weights), declared(weights)];
    checks.extend(rating(weights));
    checks.push(largest(weights));
    for vehicle in &spec.need.towing_vehicles {
        checks.extend(towing(spec, trailer, weights, vehicle));
    }
    if spec.need.towing_vehicles.is_empty() {
        checks.push(Check::told(
            "towing/vehicle",
            "Towing vehicle",
            Verdict::CannotTell("a towing vehicle".into()),
            "No towing vehicle is given: its limits on mass, coupling load and width cannot be checked.",
        ));
    }
    checks.extend(secondary(spec, weights));
    checks.extend(parts(trailer));
    checks.extend(ramp(spec, trailer));
    checks.push(lifting(spec, weights));
    checks.extend(vents(spec, trailer));
    checks
}

/// Loaded, the coupling carries 5 to 15 % of the actual mass (common practice, no source): the case furthest out.
fn coupling_share(weights: &Weights) -> Check {
    let heaviest = weights.heaviest_trip_kg;
    let middle = (axle::LEAST_SHARE + axle::MOST_SHARE) / 2.0;
    let worst = weights
        .cases
        .iter()
        .filter(|case| case.payload_kg > 0.0 && case.payload_kg >= axle::LOADED_FROM * heaviest)
        .max_by(|a, b| (a.coupling_share - middle).abs().total_cmp(&(b.coupling_share - middle).abs()));
    let (key, name) = ("balance/coupling-share", "Coupling load, loaded");
    let Some(case) = worst else {
        return Check::told(
            key,
            name,
            Verdict::CannotTell("a load".into()),
            "Nothing to carry is given, so the loaded coupling load is not known.",
        );
    };
    let (share, percent) = (case.coupling_share, case.coupling_share * 100.0);
    let verdict = if !(axle::LEAST_SHARE..=axle::MOST_SHARE).contains(&share) {
        Verdict::Fails
    } else if !(axle::LEAST_SHARE + 0.005..=axle::MOST_SHARE - 0.005).contains(&share) {
        Verdict::Close
    } else {
        Verdict::Holds
    };
    let mend = if share < axle::LEAST_SHARE {
        " Move the load forward or the axle back."
    } else if share > axle::MOST_SHARE {
        " Move the load back or the axle forward."
    } else {
        ""
    };
    let says = format!(
        "{}: {:.0} kg on the coupling, {percent:.1} % of {:.0} kg; 5 to 15 % is wanted.{mend}",
        case.name, case.coupling_kg, case.body.mass_kg
    );
    Check {
        demand: Some(percent),
        unit: "% of actual mass".into(),
        loading_case: Some(case.name.clone()),
        working: Some(case.working()),
        ..Check::told(key, name, verdict, says)
    }
}

/// Empty and lightly loaded the coupling must still press down.
fn light_coupling(weights: &Weights) -> Check {
    let worst = weights.cases.iter().min_by(|a, b| a.coupling_kg.total_cmp(&b.coupling_kg));
    let (least, name, working) =
        worst.map_or((0.0, String::new(), None), |case| (case.coupling_kg, case.name.clone(), Some(case.working())));
    let verdict = if least < 0.0 { Verdict::Fails } else { Verdict::Holds };
    let mend = if least < 0.0 { " It pulls up on the vehicle: move the axle back or mass forward." } else { "" };
    let says = format!("Least coupling load is {least:.0} kg ({name}).{mend}");
    Check {
        demand: Some(least),
        unit: "kg".into(),
        loading_case: Some(name),
        working,
        ..Check::told("balance/least-coupling", "Coupling load never negative", verdict, says)
    }
}

fn window(weights: &Weights) -> Check {
    let (key, name) = ("balance/axle-window", "Axle window");
    match (&weights.window.window_mm, &weights.window.fight) {
        (Some([from, to]), _) => {
            let inside = (*from - 1.0..=*to + 1.0).contains(&weights.axle_x_mm);
            let verdict = if inside { Verdict::Holds } else { Verdict::Fails };
            let to_say = if *to >= 1e6 { "any distance further back".into() } else { format!("{} mm", whole(*to)) };
            Check::told(
                key,
                name,
                verdict,
                format!(
                    "Every case keeps its coupling load in limits with the axle {} mm to {to_say} behind the coupling; it stands \
                     at {} mm.",
                    whole(*from),
                    whole(weights.axle_x_mm)
                ),
            )
        }
        (None, Some([back, front])) => Check::told(
            key,
            name,
            Verdict::Fails,
            format!(
                "No axle place suits every case: “{back}” wants it further back than “{front}” allows. Bring the loads of the \
                 two closer to one place, or lengthen the drawbar."
            ),
        ),
        (None, None) => {
            Check::told(key, name, Verdict::CannotTell("a load".into()), "There is nothing to balance yet.")
        }
    }
}

fn declared(weights: &Weights) -> Check {
    let needed = weights.empty.mass_kg + weights.heaviest_trip_kg;
    let says = format!(
        "Empty {} kg and the heaviest trip {} kg make {} kg; the plate {} {} kg.",
        whole(weights.empty.mass_kg),
        whole(weights.heaviest_trip_kg),
        whole(needed),
        if weights.gross_declared { "declares" } else { "would declare" },
        whole(weights.gross_kg)
    );
    let mut check = Check::compared(
        "mass/declared-gross",
        "Declared gross mass covers the trips",
        needed,
        weights.gross_kg,
        "kg",
        says,
    );
    // The default is made to fit: being full is its nature, not a warning.
    if check.verdict == Verdict::Close {
        check.verdict = Verdict::Holds;
    }
    check
}

fn rating(weights: &Weights) -> Vec<Check> {
    let Some(least) = weights.rating.governing() else {
        return vec![Check::told(
            "mass/rating",
            "Trailer's rating",
            Verdict::CannotTell("a rated coupling, axle or tyre".into()),
            "No chosen part states a rating.",
        )];
    };
    let says = format!(
        "{} is full at a gross mass of {} kg ({}); the plate says {} kg.",
        least.part,
        whole(least.gross_kg),
        least.because,
        whole(weights.gross_kg)
    );
    vec![Check {
        part: Some(least.part.clone()),
        ..Check::compared("mass/rating", "Trailer's rating", weights.gross_kg, least.gross_kg, "kg", says)
    }]
}

fn largest(weights: &Weights) -> Check {
    let says =
        format!("Gross mass {} kg; light trailers end at {} kg.", whole(weights.gross_kg), whole(LARGEST_GROSS_KG));
    Check::compared("mass/light", "Light trailer", weights.gross_kg, LARGEST_GROSS_KG, "kg", says)
}

fn towing(spec: &Spec, trailer: &Trailer, weights: &Weights, vehicle: &TowingVehicle) -> Vec<Check> {
    let name = if vehicle.name.is_empty() { "towing vehicle" } else { &vehicle.name };
    let braked = spec.design.running_gear.brakes != Brakes::None;
    let (limit, kind) = if braked { (vehicle.limit_braked, "braked") } else { (vehicle.limit_unbraked, "unbraked") };
    let key = |what: &str| format!("towing/{what}/{name}");
    let missing = |what: &str, title: String, field: &str| {
        Check::told(
            key(what),
            &title,
            Verdict::CannotTell(format!("{field} of {name}")),
            format!("The {field} of {name} is not given."),
        )
    };
    let mut checks = Vec::new();
    let title = format!("Mass behind {name}");
    checks.push(match limit {
        Some(limit) => Check::compared(
            key("mass"),
            &title,
            weights.gross_kg,
            limit.kg(),
            "kg",
            format!(
                "Gross mass {} kg against {name}'s {kind} limit of {} kg.",
                whole(weights.gross_kg),
                whole(limit.kg())
            ),
        ),
        None => missing("mass", title, &format!("{kind} towing limit")),
    });
    let worst = weights.cases.iter().max_by(|a, b| a.coupling_kg.total_cmp(&b.coupling_kg));
    let title = format!("Coupling load on {name}");
    checks.push(match (vehicle.coupling_limit, worst) {
        (Some(limit), Some(case)) => Check {
            loading_case: Some(case.name.clone()),
            working: Some(case.working()),
            ..Check::compared(
                key("coupling"),
                &title,
                case.coupling_kg,
                limit.kg(),
                "kg",
                format!(
                    "{:.0} kg on the coupling ({}) against {name}'s {:.0} kg.",
                    case.coupling_kg,
                    case.name,
                    limit.kg()
                ),
            )
        },
        _ => missing("coupling", title, "limit on the coupling"),
    });
    if let Some(width) = vehicle.body_width {
        let over = trailer.layout.overall_width_mm - width.mm();
        let verdict = match (over > 0.0, spec.design.bed.within_vehicle_width) {
            (true, true) => Verdict::Fails,
            (true, false) => Verdict::Close,
            _ => Verdict::Holds,
        };
        let says = if over > 0.0 {
            format!(
                "The trailer is {over:.0} mm wider than {name}: its corners are not in sight ahead, and mirrors may need arms \
                 (common practice)."
            )
        } else {
            format!("The trailer is {:.0} mm narrower than {name}.", -over)
        };
        checks.push(Check {
            demand: Some(trailer.layout.overall_width_mm),
            capacity: Some(width.mm()),
            unit: "mm".into(),
            ..Check::told(key("width"), format!("Width behind {name}"), verdict, says)
        });
    }
    checks
}

/// Parts that nothing in the rate book satisfies, and parts picked by hand that fall short.
fn parts(trailer: &Trailer) -> Vec<Check> {
    trailer
        .fittings
        .iter()
        .filter(|fitting| fitting.class != PartClass::Free)
        .filter_map(|fitting| {
            let (chosen, class) = (&fitting.part, fitting.class.label());
            let short = chosen.falls_short.join("; ");
            let (verdict, says) = match &chosen.item {
                _ if fitting.class == PartClass::DonorAxle => donor(chosen)?,
                None => (
                    Verdict::CannotTell(format!("a {class} in the rate book that suits")),
                    format!("Nothing in the rate book suits, so the {class} is neither weighed nor priced."),
                ),
                Some(_) if chosen.falls_short.is_empty() => return None,
                // A code that the rate book does not hold leaves the part that the rule chooses.
                Some(item) if shortfalls(&chosen.need.requirements, &item.attributes).is_empty() => {
                    (Verdict::Fails, format!("{} for the {class}: {short}.", item.name))
                }
                Some(item) => (Verdict::Fails, format!("{} was picked by hand and falls short: {short}.", item.name)),
            };
            let key = format!("part/{}", chosen.need.key);
            Some(Check::told(&key, format!("Rating of the {class}"), verdict, says))
        })
        .collect()
}

/// What is known of the axle taken from a vehicle; nothing to say where it bears what it must.
fn donor(chosen: &ChosenPart) -> Option<(Verdict, String)> {
    let Some(item) = &chosen.item else {
        return Some((
            Verdict::CannotTell("the mass of the axle taken from a vehicle".into()),
            "Its mass is not known, so the trailer is weighed without it.".into(),
        ));
    };
    if item.figure("rating_kg").is_none() {
        return Some((
            Verdict::CannotTell("what the axle carried in its vehicle".into()),
            format!("{}: what it carried in its vehicle is not known.", item.name),
        ));
    }
    let short = shortfalls(&chosen.need.requirements, &item.attributes);
    (!short.is_empty()).then(|| (Verdict::Fails, format!("{}: {}.", item.name, short.join("; "))))
}

/// A chain that only keeps the trailer with its vehicle is no secondary coupling, and an unbraked trailer without a rated one (or a
/// braked one without breakaway gear) has nothing to hold it when the coupling lets go. Common practice, no source: whether and
/// which is asked is for the road rules.
fn secondary(spec: &Spec, weights: &Weights) -> Option<Check> {
    let towing = &spec.design.towing;
    if towing.chains == ChainPurpose::Secondary {
        return None;
    }
    let braked = spec.design.running_gear.brakes != Brakes::None;
    let (is, gross) = (
        if towing.chains == ChainPurpose::KeepsOnly {
            "The chain only keeps the trailer with its vehicle: it is not rated to hold it when the coupling lets go."
        } else if braked {
            return None;
        } else {
            "No chain is fitted: nothing holds the trailer when the coupling lets go."
        },
        whole(weights.gross_kg),
    );
    let mend = if braked {
        "Its breakaway gear must then brake and free it; the authority decides whether that is enough.".to_owned()
    } else {
        format!(
            "What is missing: a chain and shackles rated for {gross} kg. The authority decides whether one is required."
        )
    };
    let verdict = if braked { Verdict::Close } else { Verdict::Fails };
    Some(Check::told("towing/secondary", "Secondary coupling", verdict, format!("{is} {mend}")))
}

/// A whole number with its digits grouped.
pub(super) fn whole(value: f64) -> String {
    show_number(value, 0, Grouping::Western)
}

fn ramp(spec: &Spec, trailer: &Trailer) -> Option<Check> {
    if spec.design.loading.ramp == RampForm::None {
        return None;
    }
    let (height, length) = (trailer.layout.deck_top_z_mm, spec.design.loading.ramp_length.mm());
    let angle = (height / length.max(1.0)).clamp(-1.0, 1.0).asin().to_degrees();
    let working = Working::new("Ramp angle", "θ = asin(h / l)")
        .given("h", "deck above level ground, empty", height, "mm")
        .given("l", "ramp length", length, "mm")
        .gives("θ", angle, "°")
        .source("geometry; 20° is from memory, the machine's own limit decides", Sure::Memory);
    let says = format!(
        "The ramp lies at {angle:.1}° on level ground; {RAMP_DEG:.0}° is usual for small machines, the machine's own limit decides."
    );
    Some(Check {
        working: Some(working),
        ..Check::compared("loading/ramp-angle", "Ramp angle", angle, RAMP_DEG, "°", says)
    })
}

fn lifting(spec: &Spec, weights: &Weights) -> Check {
    let empty = weights.empty_case().map_or(0.0, |case| case.coupling_kg);
    let wheel = spec.design.towing.jockey_wheel;
    let aid = if wheel { " Its jockey wheel lifts it." } else { " A jockey wheel would lift it." };
    let says = format!(
        "Empty, the drawbar weighs {empty:.0} kg at the coupling; {LIFT_KG:.0} kg is usual by hand (common practice, no source).{}",
        if empty > LIFT_KG { aid } else { "" }
    );
    let mut check =
        Check::compared("handling/lift", "Lifting the drawbar by hand, empty", empty.max(0.0), LIFT_KG, "kg", says);
    if wheel && check.verdict == Verdict::Fails {
        check.verdict = Verdict::Close;
    }
    check
}

/// A closed tube in the zinc bath can burst: no written answer lifts this.
fn vents(spec: &Spec, trailer: &Trailer) -> Option<Check> {
    if spec.design.finish.system != FinishSystem::Galvanised {
        return None;
    }
    let closed = unvented_closed_members(trailer);
    let verdict = if closed.is_empty() { Verdict::Holds } else { Verdict::Fails };
    let says = if closed.is_empty() {
        "Every closed member has vent and drain holes.".into()
    } else {
        let marks: Vec<&str> = closed.iter().map(|&index| trailer.members[index].mark.as_str()).collect();
        format!("Closed without a vent: {}. In the zinc bath such a tube can burst.", marks.join(", "))
    };
    Some(Check { blocks_issue: true, ..Check::told("finish/vents", "Vents for galvanising", verdict, says) })
}
