//! The checks that masses and geometry alone can make. Strength, restraint and road rules have modules of their own.

use super::{Weights, balance, unhitched};
use crate::{
    measure::{Grouping, beside, show_number},
    shop::{ChosenPart, PartClass, shortfalls},
    trailer::{FinishSystem, Spec, Trailer, unvented_closed_members},
    working::{Check, Verdict},
};

/// Heaviest light trailer that this tool designs, kg.
pub const LARGEST_GROSS_KG: f64 = 3500.0;

pub(super) fn all(spec: &Spec, trailer: &Trailer, weights: &Weights) -> Vec<Check> {
    let mut checks = balance::checks(spec, weights);
    checks.push(declared(weights));
    checks.extend(rating(weights));
    checks.push(largest(weights));
    checks.extend(parts(trailer));
    checks.extend(unhitched::checks(spec, trailer, weights));
    checks.extend(vents(spec, trailer));
    checks
}

fn declared(weights: &Weights) -> Check {
    let needed = weights.empty.mass_kg + weights.heaviest_trip_kg;
    let [makes, gross] = beside(needed, weights.gross_kg, 0);
    let says = format!(
        "Empty {} kg and the heaviest trip {} kg make {makes} kg; the plate {} {gross} kg.",
        whole(weights.empty.mass_kg),
        whole(weights.heaviest_trip_kg),
        if weights.gross_declared { "declares" } else { "would declare" }
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
            Verdict::CannotTell("a coupling or axle with a rating in the rate book".into()),
            "No chosen part states a rating.",
        )];
    };
    let [gross, full] = beside(weights.gross_kg, least.gross_kg, 0);
    let says =
        format!("{} is full at a gross mass of {full} kg ({}); the plate says {gross} kg.", least.part, least.because);
    vec![Check {
        part: Some(least.part.clone()),
        ..Check::compared("mass/rating", "Trailer's rating", weights.gross_kg, least.gross_kg, "kg", says)
    }]
}

fn largest(weights: &Weights) -> Check {
    let [gross, most] = beside(weights.gross_kg, LARGEST_GROSS_KG, 0);
    let says = format!("Gross mass {gross} kg; light trailers end at {most} kg.");
    Check::compared("mass/light", "Light trailer", weights.gross_kg, LARGEST_GROSS_KG, "kg", says)
}

/// Parts that nothing in the rate book satisfies, and parts picked by hand that fall short.
fn parts(trailer: &Trailer) -> Vec<Check> {
    trailer
        .fittings
        .iter()
        .filter(|fitting| fitting.class != PartClass::Free)
        .filter_map(|fitting| {
            let (chosen, class) = (&fitting.part, fitting.part.need.name());
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
            Some(Check::told(key, format!("Rating of the {class}"), verdict, says))
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

/// A whole number with its digits grouped.
pub(super) fn whole(value: f64) -> String {
    show_number(value, 0, Grouping::Western)
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
