//! Safety chains as secondary coupling and their shackles: how many, what they are marked for, at which load they break.
//!
//! What is asked stands in the road rules (`seed-data/parts-by-rule.toml`); here it is only compared.

use std::f64::consts::PI;

use super::chosen;
use crate::{
    measure::{Grouping, beside, show_number},
    road::{Mark, PartAsk, PartKind, Rule, Ship, asked_somewhere, parts_by_rule, seed},
    shop::{PartClass, PartItem},
    strength::{G, whole},
    trailer::{Brakes, ChainPurpose, Spec, Trailer, road_facts},
    weights::Weights,
    working::{Check, Sure, Verdict, Working},
};

/// Breaking load of a shackle over its working load limit (from memory; makers state it).
const SHACKLE_FACTOR: f64 = 6.0;

/// Breaking load, kN, of a chain by its grade and the diameter of its links, mm: a link breaks at a mean stress of ten times the grade,
/// MPa, in its two legs (from memory: how ISO 1834 defines grades).
pub fn breaking_kn(grade: f64, link_mm: f64) -> f64 {
    2.0 * (PI * link_mm * link_mm / 4.0) * 10.0 * grade / 1000.0
}

pub fn check(spec: &Spec, trailer: &Trailer, weights: &Weights, checks: &mut Vec<Check>) {
    if spec.design.towing.chains != ChainPurpose::Secondary {
        return;
    }
    let gross = weights.gross_kg;
    let asks = asks(spec, trailer, gross, PartKind::Chain);
    let chains = chosen(trailer, PartClass::SafetyChain);
    checks.push(marked(chains, &asks, gross));
    if let Some((item, count)) = chains {
        // The strictest of the law, and of what is only recommended.
        for (key, name, recommended) in [
            ("towing/chain-strength", "Breaking load of the chains", false),
            ("towing/chain-recommended", "Breaking load of the chains, as recommended", true),
        ] {
            let each = asks.iter().filter(|(ask, _)| ask.recommended == recommended);
            let each = each.filter_map(|&(ask, rule)| Some((ask.breaking_kn(gross, count as u32)?, ask, rule)));
            let strictest = each.reduce(|a, b| if b.0 > a.0 { b } else { a });
            checks.extend(strictest.map(|asked| strength(key, name, asked, item, count, gross)));
        }
    }
    checks.push(shackle(spec, trailer, gross));
}

/// What the region's rules ask of parts of a kind, and which rule.
fn asks(spec: &Spec, trailer: &Trailer, gross_kg: f64, kind: PartKind) -> Vec<(&'static PartAsk, &'static Rule)> {
    let braked = spec.design.running_gear.brakes != Brakes::None;
    let region = seed().region(&spec.need.usage.region);
    let asks = region.map(|region| parts_by_rule(region, &road_facts(spec, &trailer.layout, gross_kg)));
    let mut asks = asks.unwrap_or_default();
    asks.retain(|(ask, _)| ask.need == kind && !(ask.unless_breakaway && braked));
    asks
}

/// As sure as the weakest part of what was read.
const fn sure(rule: &Rule) -> Sure {
    match rule.mark {
        Mark::Read => Sure::Read,
        _ => Sure::Memory,
    }
}

fn of(rule: &Rule) -> String {
    let confirm = if rule.ship == Ship::Check { "" } else { "; to be confirmed with the authority" };
    format!("road rule {}: {}{confirm}", rule.id, rule.source)
}

/// Being full is the nature of what comes in sizes that end at the very mass they are for, not a warning.
fn full_holds(mut check: Check) -> Check {
    if check.verdict == Verdict::Close {
        check.verdict = Verdict::Holds;
    }
    check
}

/// How many chains there are, and what they are marked for. Where the rules name no rating (or no chain), together they hold the gross mass.
fn marked(chains: Option<(&PartItem, usize)>, asks: &[(&PartAsk, &Rule)], gross: f64) -> Check {
    const KEY: &str = "towing/chain";
    const NAME: &str = "Safety chains";
    let Some((item, count)) = chains else {
        let says = "No chain is chosen, so what holds the trailer when the coupling lets go is not known.";
        return Check::cannot_tell(KEY, NAME, "a chain that suits in the rate book", says);
    };
    let Some(rated) = item.figure("rating_kg") else {
        let missing = format!("the rating of {} in the rate book", item.name);
        return Check::cannot_tell(KEY, NAME, missing, "The chain's rating is not in the rate book.");
    };
    let asked_count = asks.iter().map(|(ask, _)| ask.count).fold(1, u32::max);
    let counted = asks.iter().find(|(ask, _)| ask.count == asked_count).map(|(_, rule)| *rule);
    let rated_asks = asks.iter().filter_map(|(ask, rule)| Some((ask.rated_kg(gross)?, ask.practice, *rule)));
    let number = counted.map_or_else(String::new, |rule| format!("; their number: {}", of(rule)));
    let (each_kg, source, sure) = match rated_asks.reduce(|a, b| if b.0 > a.0 { b } else { a }) {
        Some((each_kg, false, rule)) => (each_kg, of(rule), sure(rule)),
        Some((each_kg, true, rule)) => {
            let source = format!("common practice: it names no rating, but asks for a chain: {}", of(rule));
            (each_kg, source, Sure::CommonPractice)
        }
        None => {
            let source = format!("no rule read names a rating; together the gross mass is common practice{number}");
            (gross / f64::from(asked_count), source, Sure::CommonPractice)
        }
    };
    if (count as u32) < asked_count {
        let says = format!(
            "{count} chain is fitted, this region asks for {asked_count}, crossed, each rated for {} kg.",
            whole(each_kg)
        );
        let mut check = Check::told(KEY, NAME, Verdict::Fails, says).of_part(&item.name);
        (check.demand, check.capacity) = (Some(f64::from(asked_count)), Some(count as f64));
        return check.with(
            Working::new("Chains asked for", "n ≥ n_min")
                .given("G", "gross mass", gross, "kg")
                .gives("n", f64::from(asked_count), "")
                .source(counted.map_or(source, of), counted.map_or(sure, self::sure)),
        );
    }
    let [each, most] = beside(each_kg, rated, 0);
    let says = format!(
        "{count} × {}, each rated for {most} kg; {each} kg is asked of each.{}",
        item.name,
        if count > 1 { " Cross them under the drawbar, with only enough slack to turn." } else { "" }
    );
    let working = Working::new("What each chain is rated for", "R ≥ f G")
        .given("f", "asked of each chain over the gross mass", each_kg / gross.max(1.0), "")
        .given("G", "gross mass", gross, "kg")
        .gives("R", each_kg, "kg")
        .source(source, sure);
    full_holds(Check::compared(KEY, NAME, each_kg, rated, "kg", says).with(working).of_part(&item.name))
}

/// Where a chain's breaking load is found.
enum Bears {
    Stated(f64),
    ByGrade {
        grade: f64,
        link_mm: f64,
    },
    /// At least the weight of the trailer that it is marked for.
    AtLeast(f64),
}

impl Bears {
    fn of(item: &PartItem) -> Option<Self> {
        let stated = item.figure("breaking_load_kn").map(Self::Stated);
        let by_grade = || Some(Self::ByGrade { grade: item.figure("grade")?, link_mm: item.figure("link_mm")? });
        stated.or_else(by_grade).or_else(|| Some(Self::AtLeast(item.figure("rating_kg")? * G / 1000.0)))
    }

    fn kn(&self) -> f64 {
        match *self {
            Self::Stated(kn) | Self::AtLeast(kn) => kn,
            Self::ByGrade { grade, link_mm } => breaking_kn(grade, link_mm),
        }
    }
}

fn strength(
    key: &str,
    name: &str,
    (each_kn, ask, rule): (f64, &PartAsk, &Rule),
    item: &PartItem,
    count: usize,
    gross: f64,
) -> Check {
    let bears = Bears::of(item);
    let link_mm = item.figure("link_mm");
    if let (Some(least), Some(link)) = (ask.or_link_mm, link_mm)
        && link >= least
    {
        let says = format!("Links of {link} mm: {least} mm or more are enough, whatever they break at.");
        let working = Working::new("Diameter of the links", "d ≥ d_min").gives("d", least, "mm");
        let check = Check::compared(key, name, least, link, "mm", says).with(working.source(of(rule), sure(rule)));
        return full_holds(check.of_part(&item.name));
    }
    let enough = matches!(&bears, Some(bears) if !matches!(bears, Bears::AtLeast(kn) if *kn < each_kn));
    let (Some(bears), true) = (bears, enough) else {
        let asked = show_number(each_kn, 1, Grouping::Western);
        let says = format!(
            "Each chain must break at no less than {asked} kN; at which load {} breaks is not in the rate book. Enter its              breaking_load_kn there, or grade and link_mm.",
            item.name
        );
        return Check::cannot_tell(key, name, format!("the breaking load of {} in the rate book", item.name), says);
    };
    let [least, most] = beside(each_kn, bears.kn(), 1);
    let how = match bears {
        Bears::Stated(_) => format!("breaks at {most} kN"),
        Bears::ByGrade { grade, link_mm } => {
            format!("breaks at about {most} kN by its grade of {grade} and links of {link_mm} mm (rule from memory)")
        }
        Bears::AtLeast(_) => format!("breaks at {most} kN or more, the weight it is marked for"),
    };
    let asked = if ask.recommended { "is recommended for" } else { "is asked of" };
    let says = format!("{} {how}; {least} kN {asked} each.", item.name);
    let mut working = match (ask.breaking_over_gross, ask.together) {
        (Some(over), together) => {
            let working =
                Working::new("Breaking load asked of each chain", if together { "F = f g G / n" } else { "F = f g G" });
            let working = working
                .given("f", "breaking load over the weight of the gross mass", over, "")
                .given("g", "gravity", G, "m/s²")
                .given("G", "gross mass", gross / 1000.0, "t");
            if together { working.given("n", "chains, which count together", count as f64, "") } else { working }
        }
        (None, _) => Working::new("Breaking load asked of each chain", "F ≥ F_class").given(
            "G",
            "gross mass, which gives the class",
            gross,
            "kg",
        ),
    };
    let mut weakest = sure(rule);
    if let Bears::ByGrade { grade, link_mm } = bears {
        working =
            working.given("R", "grade of the chain", grade, "").given("d", "diameter of its links", link_mm, "mm");
        weakest = Sure::Memory;
    }
    let working = working.gives("F", each_kn, "kN").source(of(rule), weakest);
    let mut check = Check::compared(key, name, each_kn, bears.kn(), "kN", says).with(working).of_part(&item.name);
    // What is no law, or is still to be confirmed, never fails.
    let firm = !ask.recommended && rule.ship == Ship::Check;
    check.verdict = match check.verdict {
        Verdict::Close => Verdict::Holds,
        Verdict::Fails if !firm => Verdict::Close,
        verdict => verdict,
    };
    check
}

/// By the rule of the region; where none is known, by that of another, which says so.
fn shackle(spec: &Spec, trailer: &Trailer, gross: f64) -> Check {
    let (key, name) = ("towing/shackle", "Shackles of the chains");
    let Some((item, _)) = chosen(trailer, PartClass::Shackle) else {
        let says = "No shackle is chosen, so what holds the chains is not known.";
        return Check::cannot_tell(key, name, "a shackle that suits in the rate book", says);
    };
    let (breaks, by_limit) = match (item.figure("breaking_load_kn"), item.figure("rating_kg")) {
        (Some(kn), _) => (kn, None),
        (None, Some(limit)) => (SHACKLE_FACTOR * limit * G / 1000.0, Some(limit)),
        (None, None) => {
            let missing = format!("the working load limit of {} in the rate book", item.name);
            let says = "The shackle's limit is not in the rate book: enter its rating_kg there.";
            return Check::cannot_tell(key, name, missing, says);
        }
    };
    let own = asks(spec, trailer, gross, PartKind::Shackle).into_iter().next();
    let asked = own.or_else(|| asked_somewhere(PartKind::Shackle));
    let Some((over, rule)) = asked.and_then(|(ask, rule)| Some((ask.breaking_over_gross?, rule))) else {
        let says = "No rule for shackles is known: choose them as strong as the chain.";
        return Check::cannot_tell(key, name, "a rule for the strength of shackles", says);
    };
    let demand = over * G * gross / 1000.0;
    let [usual, most] = beside(demand, breaks, 1);
    let how =
        by_limit.map_or_else(String::new, |limit| format!(", limit {} kg,", show_number(limit, 0, Grouping::Western)));
    let about = if by_limit.is_some() { "about " } else { "" };
    let says = format!(
        "{}{how} breaks at {about}{most} kN; {over} × the weight of the gross mass, {usual} kN, is usual.",
        item.name
    );
    let whose = if own.is_some() { of(rule) } else { format!("common practice here, after {}", of(rule)) };
    let mut working = Working::new("Breaking load asked of a shackle", "F = f g G")
        .given("f", "breaking load over the weight of the gross mass", over, "")
        .given("g", "gravity", G, "m/s²")
        .given("G", "gross mass", gross / 1000.0, "t");
    let (source, sure) = match by_limit {
        Some(limit) => {
            working = working.given("W", "working load limit; it breaks at six times that", limit, "kg");
            (format!("{whose}; the factor of 6 of a shackle from memory"), Sure::Memory)
        }
        None => (whose, if own.is_some() { sure(rule) } else { Sure::CommonPractice }),
    };
    let working = working.gives("F", demand, "kN").source(source, sure);
    full_holds(Check::compared(key, name, demand, breaks, "kN", says).with(working).of_part(&item.name))
}

#[cfg(test)]
mod tests;
