//! Checks of the coupling load over the loading envelope, and of the axle's place.

use super::{Extreme, Weights, axle::ENDLESS_MM, checks::whole};
use crate::{
    measure::beside,
    road::seed,
    trailer::Spec,
    working::{Check, Verdict},
};

/// Within this of a limit a share is close.
const CLOSE_SHARE: f64 = 0.005;
/// As exactly as an axle is set.
const SETTING_MM: f64 = 1.0;

pub(super) fn checks(spec: &Spec, weights: &Weights) -> Vec<Check> {
    vec![coupling_share(spec, weights), least_coupling(spec, weights), window(weights)]
}

/// Loaded, the coupling carries its share of the actual mass (common practice, no source): the case furthest out.
fn coupling_share(spec: &Spec, weights: &Weights) -> Check {
    let (key, name) = ("balance/coupling-share", "Coupling load, loaded");
    let gear = &spec.design.running_gear;
    let (least, most) = (gear.least_share, gear.most_share);
    let ends = [Extreme::LeastShare, Extreme::MostShare].map(|extreme| weights.envelope.worst(extreme));
    let [Some(low), Some(high)] = ends else {
        return Check::cannot_tell(
            key,
            name,
            "a load",
            "Nothing to carry is given, so the loaded coupling load is not known.",
        );
    };
    let below = least - low.coupling_share;
    let case = if below >= high.coupling_share - most { low } else { high };
    let share = case.coupling_share;
    let verdict = if !(least..=most).contains(&share) {
        Verdict::Fails
    } else if !(least + CLOSE_SHARE..=most - CLOSE_SHARE).contains(&share) {
        Verdict::Close
    } else {
        Verdict::Holds
    };
    let mend = if share < least {
        " Move the load forward or the axle back."
    } else if share > most {
        " Move the load back or the axle forward."
    } else {
        ""
    };
    let [wanted, from] = beside(100.0 * least, 100.0 * low.coupling_share, 1);
    let [to, limit] = beside(100.0 * high.coupling_share, 100.0 * most, 1);
    let says = format!(
        "From {from} to {to} % of the actual mass presses on the coupling in every loaded case; {wanted} to {limit} % is wanted. \
         Furthest out: {}, {} kg of {} kg.{mend}",
        case.name,
        whole(case.coupling_kg),
        whole(case.body.mass_kg)
    );
    Check { demand: Some(share * 100.0), unit: "% of actual mass".into(), ..Check::told(key, name, verdict, says) }
        .in_case(&case.name)
        .with(case.working())
}

/// Empty and lightly loaded the coupling must still press down, and as hard as the region asks.
fn least_coupling(spec: &Spec, weights: &Weights) -> Check {
    let (key, name) = ("balance/least-coupling", "Coupling load never too small");
    let Some(case) = weights.envelope.worst(Extreme::LeastCoupling) else {
        return Check::cannot_tell(key, name, "a mass", "There is nothing to balance yet.");
    };
    let region = seed().region(&spec.need.usage.region);
    let asked = region.map_or(0.0, |region| region.least_coupling_kg(case.body.mass_kg));
    let least = case.coupling_kg;
    let (verdict, mend) = if least < 0.0 {
        (Verdict::Fails, " It pulls up on the vehicle: move the axle back or mass forward.")
    } else if least < asked {
        (Verdict::Fails, " Move the axle back or mass forward.")
    } else {
        (Verdict::Holds, "")
    };
    let [wanted, presses] = beside(asked, least, 0);
    let rule = match region {
        Some(region) if asked > 0.0 => {
            format!(" {} asks for {wanted} kg: {}.", region.name, region.least_coupling_source)
        }
        _ => String::new(),
    };
    let says = format!("Least coupling load is {presses} kg ({}).{rule}{mend}", case.name);
    Check { demand: Some(least), unit: "kg".into(), ..Check::told(key, name, verdict, says) }
        .in_case(&case.name)
        .with(case.working())
}

fn window(weights: &Weights) -> Check {
    let (key, name) = ("balance/axle-window", "Axle window");
    let window = &weights.window;
    match (&window.window_mm, &window.fight) {
        (Some([from, to]), _) => {
            let inside = (*from - SETTING_MM..=*to + SETTING_MM).contains(&weights.axle_x_mm);
            let verdict = if inside { Verdict::Holds } else { Verdict::Fails };
            let to = if *to >= ENDLESS_MM { "any distance further back".into() } else { format!("{} mm", whole(*to)) };
            Check::told(
                key,
                name,
                verdict,
                format!(
                    "All {} cases keep their coupling load in limits with the axle {} mm to {to} behind the coupling; it stands at \
                     {} mm.",
                    whole(window.cases as f64),
                    whole(*from),
                    whole(weights.axle_x_mm)
                ),
            )
        }
        (None, Some([back, front])) => {
            // One case alone may ask for more than may rest on the coupling: then no place and no other load helps.
            if let Some(alone) = window.impossible() {
                let [least, most] = beside(alone.least_kg, alone.most_kg.unwrap_or_default(), 0);
                let says = format!(
                    "No axle place suits every case: “{}” wants at least {least} kg on the coupling, and at most {most} kg may rest \
                     there. It takes a vehicle and coupling that bear more, or a lighter load.",
                    alone.case
                );
                return Check::told(key, name, Verdict::Fails, says);
            }
            let openings: Vec<String> = window.openings.iter().map(|opening| opening.says(&weights.trips)).collect();
            let mend = match openings.split_last() {
                None => "Bring the loads of the two closer to one place, or lengthen the drawbar.".to_owned(),
                Some((last, [])) => format!("What would open it: {last}."),
                Some((last, others)) => format!("What would open it: {}; or {last}.", others.join("; ")),
            };
            Check::told(
                key,
                name,
                Verdict::Fails,
                format!("No axle place suits every case: “{back}” wants it further back than “{front}” allows. {mend}"),
            )
        }
        (None, None) => Check::cannot_tell(key, name, "a load", "There is nothing to balance yet."),
    }
}
