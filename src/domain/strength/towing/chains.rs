//! Safety chains or secondary coupling, shackles, breakaway: what holds the trailer when the coupling lets go.

use super::chosen;
use crate::{
    measure::beside,
    road::{Mark, PartAsk, PartKind, Rule, parts_by_rule, seed},
    shop::PartClass,
    strength::whole,
    trailer::{Brakes, ChainPurpose, Spec, Trailer, road_facts},
    weights::Weights,
    working::{Check, Sure, Verdict, Working},
};

/// Breaking load of a shackle over its working load limit (from memory; makers state it).
const SHACKLE_FACTOR: f64 = 6.0;
/// Breaking load of a shackle over the gross mass. Source: an Australian supplier's rule, read; no standard.
const SHACKLE_OVER_GROSS: f64 = 1.5;

/// What is asked of chains: how many, and what each must be rated for.
struct Asked {
    count: u32,
    each_kg: f64,
    source: String,
    sure: Sure,
}

/// As the road rules of the region have it. Where they name no rating (or no chain), together they hold the gross mass.
fn asked(spec: &Spec, trailer: &Trailer, gross_kg: f64) -> Asked {
    let braked = spec.design.running_gear.brakes != Brakes::None;
    let rules = seed()
        .region(&spec.need.usage.region)
        .map(|region| parts_by_rule(region, &road_facts(spec, &trailer.layout, gross_kg)));
    let asks: Vec<(&PartAsk, &Rule)> = rules
        .unwrap_or_default()
        .into_iter()
        .filter(|(ask, _)| ask.need == PartKind::Chain && !(ask.unless_breakaway && braked))
        .collect();
    let count = asks.iter().map(|(ask, _)| ask.count).fold(1, u32::max);
    let rated = asks.iter().filter_map(|(ask, rule)| Some((ask.rated_kg(gross_kg)?, *rule)));
    let most = rated.reduce(|a, b| if b.0 > a.0 { b } else { a });
    let counts = asks.iter().find(|(ask, _)| ask.count == count).map(|(_, rule)| *rule);
    let of = |rule: &Rule| format!("road rule {}: {}", rule.id, rule.source);
    match (most, counts) {
        (Some((each_kg, rule)), _) => Asked { count, each_kg, source: of(rule), sure: sure(rule) },
        (None, counts) => {
            let number = counts.map_or_else(String::new, |rule| format!("; their number: {}", of(rule)));
            let source = format!("no rule read names a rating; together the gross mass is common practice{number}");
            Asked { count, each_kg: gross_kg / f64::from(count), source, sure: Sure::CommonPractice }
        }
    }
}

/// As sure as the weakest part of what was read.
const fn sure(rule: &Rule) -> Sure {
    match rule.mark {
        Mark::Read => Sure::Read,
        _ => Sure::Memory,
    }
}

pub fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) {
    let towing = &spec.design.towing;
    match towing.chains {
        ChainPurpose::Secondary => {
            checks.extend(chain(spec, trailer, weights));
            checks.extend(shackle(trailer, weights));
        }
        _ => checks.extend(secondary(spec, weights)),
    }
    checks.extend(breakaway(spec, trailer));
}

fn chain(spec: &Spec, trailer: &Trailer, weights: &Weights) -> Option<Check> {
    const KEY: &str = "towing/chain";
    const NAME: &str = "Safety chains";
    let Some((item, count)) = chosen(trailer, PartClass::SafetyChain) else {
        let says = "No chain is chosen, so what holds the trailer when the coupling lets go is not known.";
        return Some(Check::cannot_tell(KEY, NAME, "a chain that suits in the rate book", says));
    };
    let gross = weights.gross_kg;
    let Some(rated) = item.figure("rating_kg") else {
        let missing = format!("the rating of {}", item.name);
        return Some(Check::cannot_tell(KEY, NAME, missing, "The chain's rating is not in the rate book."));
    };
    let asked = asked(spec, trailer, gross);
    if (count as u32) < asked.count {
        let says = format!(
            "{count} chain is fitted, this region asks for {}, crossed, each rated for {} kg.",
            asked.count,
            whole(asked.each_kg)
        );
        let mut check = Check::told(KEY, NAME, Verdict::Fails, says).of_part(&item.name);
        (check.demand, check.capacity) = (Some(f64::from(asked.count)), Some(count as f64));
        return Some(
            check.with(
                Working::new("Chains asked for", "n ≥ n_min")
                    .given("G", "gross mass", gross, "kg")
                    .gives("n", f64::from(asked.count), "")
                    .source(asked.source, asked.sure),
            ),
        );
    }
    let demand = asked.each_kg;
    let [each, most] = beside(demand, rated, 0);
    let says = format!(
        "{count} × {}, each rated for {most} kg; {each} kg is asked of each.{}",
        item.name,
        if count > 1 { " Cross them under the drawbar, with only enough slack to turn." } else { "" }
    );
    let working = Working::new("What each chain is rated for", "R ≥ f G")
        .given("f", "asked of each chain over the gross mass", asked.each_kg / gross.max(1.0), "")
        .given("G", "gross mass", gross, "kg")
        .gives("R", demand, "kg")
        .source(asked.source, asked.sure);
    // Chains come in sizes that end at the very mass they are for: being full is their nature, not a warning.
    let mut check = Check::compared(KEY, NAME, demand, rated, "kg", says).with(working).of_part(&item.name);
    if check.verdict == Verdict::Close {
        check.verdict = Verdict::Holds;
    }
    Some(check)
}

fn shackle(trailer: &Trailer, weights: &Weights) -> Option<Check> {
    let (key, name) = ("towing/shackle", "Shackles of the chains");
    let Some((item, _)) = chosen(trailer, PartClass::Shackle) else {
        let says = "No shackle is chosen, so what holds the chains is not known.";
        return Some(Check::cannot_tell(key, name, "a shackle that suits in the rate book", says));
    };
    let Some(limit) = item.figure("rating_kg") else {
        let missing = format!("the working load limit of {}", item.name);
        return Some(Check::cannot_tell(key, name, missing, "The shackle's limit is not in the rate book."));
    };
    let (demand, breaks) = (SHACKLE_OVER_GROSS * weights.gross_kg, SHACKLE_FACTOR * limit);
    let [usual, most] = beside(demand, breaks, 0);
    let says = format!(
        "{} (limit {limit:.0} kg) breaks at about {most} kg; 1.5 × the gross mass, {usual} kg, is usual.",
        item.name
    );
    let working = Working::new("Breaking load asked of a shackle", "F = 1.5 G")
        .given("G", "gross mass", weights.gross_kg, "kg")
        .given("f", "breaking load over working load limit", SHACKLE_FACTOR, "")
        .gives("F", demand, "kg")
        .source("an Australian supplier's rule, read; the factor of 6 of a shackle from memory", Sure::Memory);
    let mut check = Check::compared(key, name, demand, breaks, "kg", says).with(working).of_part(&item.name);
    if check.verdict == Verdict::Close {
        check.verdict = Verdict::Holds;
    }
    Some(check)
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
