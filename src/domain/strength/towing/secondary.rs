//! Whether anything holds or brakes the trailer when the coupling lets go.

use super::chosen;
use crate::{
    shop::PartClass,
    strength::whole,
    trailer::{Brakes, ChainPurpose, Spec, Trailer},
    weights::Weights,
    working::{Check, Verdict},
};

pub fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) {
    if spec.design.towing.chains != ChainPurpose::Secondary {
        checks.extend(secondary(spec, weights));
    }
    checks.extend(breakaway(spec, trailer));
}

/// A chain that only keeps the trailer with its vehicle is no secondary coupling, and an unbraked trailer without a rated one (or a
/// braked one without breakaway gear) has nothing to hold it when the coupling lets go. Common practice, no source: whether and
/// which is asked is for the road rules.
fn secondary(spec: &Spec, weights: &Weights) -> Option<Check> {
    let braked = spec.design.running_gear.brakes != Brakes::None;
    let is = if spec.design.towing.chains == ChainPurpose::KeepsOnly {
        "The chain only keeps the trailer with its vehicle: it is not rated to hold it when the coupling lets go."
    } else if braked {
        return None;
    } else {
        "No chain is fitted: nothing holds the trailer when the coupling lets go."
    };
    let mend = if braked {
        "Its breakaway gear must then brake and free it; the authority decides whether that is enough.".to_owned()
    } else {
        format!(
            "What is missing: a chain and shackles rated for {} kg. The authority decides whether one is required.",
            whole(weights.gross_kg)
        )
    };
    let verdict = if braked { Verdict::Close } else { Verdict::Fails };
    Some(Check::told("towing/secondary", "Secondary coupling", verdict, format!("{is} {mend}")))
}

fn breakaway(spec: &Spec, trailer: &Trailer) -> Option<Check> {
    if spec.design.running_gear.brakes == Brakes::None {
        return None;
    }
    let (key, name) = ("towing/breakaway", "Breakaway gear");
    Some(match chosen(trailer, PartClass::Breakaway) {
        Some((item, _)) => Check::told(
            key,
            name,
            Verdict::Holds,
            format!(
                "{} brakes the trailer when the coupling lets go. Fasten it to the vehicle, not to the ball.",
                item.name
            ),
        )
        .of_part(&item.name),
        None => Check::told(
            key,
            name,
            Verdict::Fails,
            "The trailer has brakes but nothing that puts them on when the coupling lets go.",
        ),
    })
}
