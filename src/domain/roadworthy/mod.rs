//! What the road rules of the region make of the built trailer: its facts, found once, and what each rule says about them.
//!
//! Every towing vehicle is judged by itself and the worst is kept. Nothing here is legal advice: the authority decides.

mod checks;
mod facts;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{
    road::{Atom, Confidence, FactWords, Facts, Finding, Kind, Mark, Op, Outcome, Ship, Tier, Value, judge, seed},
    shop::ShopBook,
    trailer::{Spec, Trailer},
    weights::Weights,
    working::Check,
};

/// The rules of one region, with the facts that they were asked about.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct RoadRules {
    /// Id and name; empty where a revision is older than the rules.
    pub region: String,
    pub name: String,
    pub authority: String,
    pub authority_at: String,
    /// Newest day on which a rule of the region was read.
    pub read_until: Option<Date>,
    /// Those of the trailer, then those of each towing vehicle.
    pub facts: Vec<FactFound>,
    pub findings: Vec<RuleFinding>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FactFound {
    pub name: String,
    pub value: Value,
    pub found: String,
    pub vehicle: Option<String>,
}

/// What one rule says, frozen with its words and its source.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RuleFinding {
    pub rule: String,
    pub topic: String,
    pub kind: Kind,
    pub text: String,
    pub threshold: String,
    pub outcome: Outcome,
    /// Why it applies, or does not.
    pub when: Vec<Compared>,
    pub limit: Vec<Compared>,
    pub missing: Vec<Missing>,
    pub source: String,
    pub mark: Mark,
    pub tier: Tier,
    pub confidence: Confidence,
    pub ship: Ship,
    /// The towing vehicle that governs, where the rule asks about it.
    pub vehicle: Option<String>,
}

/// One comparison with what was found; `is` is missing where the fact is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Compared {
    pub fact: String,
    pub op: Op,
    pub value: Value,
    pub is: Option<Value>,
}

/// A fact that a rule needs, and the field of the spec that gives it, if one does.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Missing {
    pub fact: String,
    pub field: Option<String>,
}

/// Everything the region's rules say about a trailer.
pub fn road_rules(spec: &Spec, trailer: &Trailer, weights: &Weights, book: &ShopBook) -> RoadRules {
    let rules = seed();
    // A region is one of the known ones: the spec was validated.
    let Some(region) = rules.region(&spec.need.usage.region) else { return RoadRules::default() };
    let own = facts::of_trailer(spec, trailer, weights, book);
    let judged: Vec<Judged> = facts::vehicles(spec)
        .into_iter()
        .map(|vehicle| {
            let facts = facts::with_vehicle(&own, &vehicle);
            let findings =
                judge(rules, region, &facts).iter().map(|found| RuleFinding::of(found, &facts, &vehicle)).collect();
            Judged { vehicle, facts, findings }
        })
        .collect();
    RoadRules {
        region: region.id.clone(),
        name: region.name.clone(),
        authority: region.authority.clone(),
        authority_at: region.authority_at.clone(),
        read_until: rules.rules_of(region).map(|rule| rule.read_on).max(),
        facts: facts_found(&own, &judged),
        findings: worst(judged),
    }
}

struct Judged {
    vehicle: facts::Vehicle,
    facts: Facts,
    findings: Vec<RuleFinding>,
}

/// Of each rule the worst that any vehicle brings.
fn worst(judged: Vec<Judged>) -> Vec<RuleFinding> {
    let mut all = judged.into_iter().map(|judged| judged.findings);
    let first = all.next().unwrap_or_default();
    all.fold(first, |kept, next| {
        let pairs = kept.into_iter().zip(next);
        pairs.map(|(kept, next)| if severity(next.outcome) > severity(kept.outcome) { next } else { kept }).collect()
    })
}

const fn severity(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::NotApplicable => 0,
        Outcome::Pass => 1,
        Outcome::Info => 2,
        Outcome::ToFit | Outcome::ToMark | Outcome::ToFile | Outcome::Ask => 3,
        Outcome::Judge => 4,
        Outcome::Warn => 5,
        Outcome::NeedFact => 6,
        Outcome::Fail => 7,
    }
}

fn facts_found(own: &Facts, judged: &[Judged]) -> Vec<FactFound> {
    let found = |name: &str, facts: &Facts, vehicle: Option<String>| {
        facts.0.get(name).map(|known| FactFound {
            name: name.to_owned(),
            value: known.value.clone(),
            found: known.found.clone(),
            vehicle,
        })
    };
    let mine = super::road::FACTS.iter().filter_map(|fact| found(fact.name, own, None));
    let towed = judged.iter().flat_map(|judged| {
        let theirs = super::road::FACTS.iter().filter(|fact| own.get(fact.name).is_none());
        theirs.filter_map(|fact| found(fact.name, &judged.facts, Some(judged.vehicle.name.clone())))
    });
    mine.chain(towed).collect()
}

impl RuleFinding {
    fn of(found: &Finding<'_>, facts: &Facts, vehicle: &facts::Vehicle) -> Self {
        let rule = found.rule;
        let compared = |atoms: &[Atom]| atoms.iter().map(|atom| Compared::of(atom, facts)).collect::<Vec<_>>();
        let asks_vehicle = rule.when.iter().chain(&rule.limit).any(|atom| facts::is_vehicles(atom.fact.name));
        let missing = found.missing.iter().map(|fact| Missing {
            fact: (*fact).to_owned(),
            field: FactWords::of(fact).and_then(|fact| vehicle.field(fact.field)),
        });
        Self {
            rule: rule.id.clone(),
            topic: rule.topic.clone(),
            kind: rule.kind,
            text: rule.text.clone(),
            threshold: rule.threshold.clone(),
            outcome: found.outcome,
            when: compared(&rule.when),
            limit: compared(&rule.limit),
            missing: missing.collect(),
            source: rule.source.clone(),
            mark: rule.mark,
            tier: rule.tier,
            confidence: rule.confidence,
            ship: rule.ship,
            vehicle: (asks_vehicle && vehicle.at.is_some()).then(|| vehicle.name.clone()),
        }
    }
}

impl Compared {
    fn of(atom: &Atom, facts: &Facts) -> Self {
        Self {
            fact: atom.fact.name.to_owned(),
            op: atom.op,
            value: atom.value.clone(),
            is: facts.get(atom.fact.name).cloned(),
        }
    }

    /// Whether it is known to hold.
    pub fn holds(&self) -> Option<bool> {
        let fact = FactWords::of(&self.fact)?;
        let atom = Atom { fact, op: self.op, value: self.value.clone() };
        self.is.as_ref().map(|is| atom.holds(is))
    }
}

impl RoadRules {
    pub fn of_outcome(&self, outcome: Outcome) -> impl Iterator<Item = &RuleFinding> {
        self.findings.iter().filter(move |found| found.outcome == outcome)
    }

    /// Rules that apply, or might.
    pub fn applying(&self) -> impl Iterator<Item = &RuleFinding> {
        self.findings.iter().filter(|found| found.outcome != Outcome::NotApplicable)
    }

    /// A check for every rule that fails; they stand beside the price and are answered there.
    pub fn checks(&self) -> Vec<Check> {
        self.of_outcome(Outcome::Fail).map(|found| checks::failing(found, self)).collect()
    }
}
