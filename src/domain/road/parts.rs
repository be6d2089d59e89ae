//! The parts that rules ask for (`seed-data/parts-by-rule.toml`). Whether a rule applies is never written there, so that the parts list and
//! the rules cannot disagree.

use std::sync::LazyLock;

use serde::Deserialize;

use super::{
    book::{Region, Rule, Ship, seed},
    facts::{Facts, Value},
    judge::{Finding, Outcome, judge},
};
use crate::{choice::choice, shop::PartClass};

choice! {
    /// Where on the trailer a kind of lamp stands; most stand in pairs.
    LampPlace {
        Rear = "rear" / "both rear corners",
        RearMiddle = "rear-middle" / "rear, towards the middle of the road",
        RearThree = "rear-three" / "three at the middle of the rear",
        Front = "front" / "both front corners of the bed",
        Outline = "outline" / "both rear corners, at the top",
        SideFront = "side-front" / "both sides, front",
        SideRear = "side-rear" / "both sides, rear",
        SideMiddle = "side-middle" / "both sides, middle",
        Plate = "plate" / "number plate",
        Work = "work" / "front of the bed, to the rear",
    }
}

choice! {
    /// The other parts that rules ask for.
    PartKind {
        Chain = "chain" / "chain or cable",
        Shackle = "shackle" / "shackle",
        Breakaway = "breakaway" / "breakaway",
        PlateHolder = "plate-holder" / "number plate",
    }
}

/// Lamps of one kind at one place, and the rule that asks.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LampAsk {
    /// Any of them asks.
    pub rules: Vec<String>,
    pub class: PartClass,
    pub place: LampPlace,
    #[serde(default)]
    pub colour: Option<String>,
    #[serde(default)]
    pub shape: Option<String>,
    /// Rules that let it be left off.
    #[serde(default)]
    unless: Vec<String>,
    /// Kinds of body that the rule's text lets off.
    #[serde(default)]
    unless_body: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PartAsk {
    pub rules: Vec<String>,
    pub need: PartKind,
    #[serde(default = "one")]
    pub count: u32,
    /// What each is marked for, over the gross mass.
    #[serde(default)]
    pub rating_over_gross: Option<f64>,
    #[serde(default)]
    pub least_rating_kg: Option<f64>,
    /// The rating is common practice: the rule's text names none.
    #[serde(default)]
    pub practice: bool,
    /// Least breaking load, over the weight of the gross mass …
    #[serde(default)]
    pub breaking_over_gross: Option<f64>,
    /// … or by classes of gross mass: up to so many kg, kN. Above the last the weight of the gross mass.
    #[serde(default)]
    pub breaking_by_gross: Vec<(f64, f64)>,
    /// All of them together have that breaking load.
    #[serde(default)]
    pub together: bool,
    /// Links of this diameter, mm, take the place of the breaking load.
    #[serde(default)]
    pub or_link_mm: Option<f64>,
    /// No law here: checked, but neither bought by nor failed.
    #[serde(default)]
    pub recommended: bool,
    /// A breakaway brake stands in its place.
    #[serde(default)]
    pub unless_breakaway: bool,
}

impl PartAsk {
    /// What each is marked for at least, kg; none where the rule names nothing.
    pub fn rated_kg(&self, gross_kg: f64) -> Option<f64> {
        let over_gross = self.rating_over_gross.map(|over| over * gross_kg);
        over_gross.into_iter().chain(self.least_rating_kg).reduce(f64::max)
    }

    /// At which load each of `count` breaks at the earliest, kN; none where the rule names none.
    pub fn breaking_kn(&self, gross_kg: f64, count: u32) -> Option<f64> {
        let weight_kn = G * gross_kg / 1000.0;
        let all_kn = match (self.breaking_over_gross, self.breaking_by_gross.as_slice()) {
            (Some(over), _) => over * weight_kn,
            (None, []) => return None,
            (None, classes) => classes.iter().find(|(upto, _)| gross_kg <= *upto).map_or(weight_kn, |(_, kn)| *kn),
        };
        Some(if self.together { all_kn / f64::from(count.max(1)) } else { all_kn })
    }
}

/// The earth's acceleration, m/s².
const G: f64 = 9.81;

const fn one() -> u32 {
    1
}

#[derive(Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Table {
    pub lamp: Vec<LampAsk>,
    pub part: Vec<PartAsk>,
}

/// A test makes sure that the file is read, and that every rule it names is there.
pub(super) static TABLE: LazyLock<Table> =
    LazyLock::new(|| toml::from_str(include_str!("../../../seed-data/parts-by-rule.toml")).unwrap_or_default());

/// The lamps that the region's rules ask for, each with the reason.
pub fn lamps_asked(region: &Region, facts: &Facts) -> Vec<(&'static LampAsk, String)> {
    let findings = judge(seed(), region, facts);
    let let_off = |ask: &LampAsk| {
        let body = match facts.get("body") {
            Some(Value::Word(body)) => ask.unless_body.contains(body),
            _ => false,
        };
        // Only where a rule surely says so.
        body || findings.iter().any(|found| found.outcome == Outcome::Info && ask.unless.contains(&found.rule.id))
    };
    let asked = TABLE.lamp.iter().filter(|ask| !let_off(ask));
    asked.filter_map(|ask| Some((ask, because(asking(&ask.rules, &findings)?, region)))).collect()
}

/// The other parts that they ask for, each with the reason.
pub fn parts_asked(region: &Region, facts: &Facts) -> Vec<(&'static PartAsk, String)> {
    parts_by_rule(region, facts).into_iter().map(|(ask, rule)| (ask, because(rule, region))).collect()
}

/// The same, each with the rule that asks.
pub fn parts_by_rule<'r>(region: &'r Region, facts: &Facts) -> Vec<(&'static PartAsk, &'r Rule)> {
    let findings = judge(seed(), region, facts);
    TABLE.part.iter().filter_map(|ask| Some((ask, asking(&ask.rules, &findings)?))).collect()
}

/// What the rules of any region ask of a part of this kind: followed as common practice where a region has no rule of its own.
pub fn asked_somewhere(need: PartKind) -> Option<(&'static PartAsk, &'static Rule)> {
    TABLE.part.iter().filter(|ask| ask.need == need).find_map(|ask| Some((ask, seed().rule(ask.rules.first()?)?)))
}

/// The first of these rules that applies, or might for want of facts.
fn asking<'b>(ids: &[String], findings: &[Finding<'b>]) -> Option<&'b Rule> {
    let applies = |found: &&Finding<'b>| found.outcome != Outcome::NotApplicable && ids.contains(&found.rule.id);
    findings.iter().find(applies).map(|found| found.rule)
}

/// Which rule asks: `road rule gb.light.front, > 1,600 mm`.
fn because(rule: &Rule, region: &Region) -> String {
    let threshold = if rule.threshold == "—" { String::new() } else { format!(", {}", rule.threshold) };
    let confirm = match rule.ship {
        Ship::Check => String::new(),
        _ => format!("; confirm with {}", region.authority),
    };
    format!("road rule {}{threshold}{confirm}", rule.id)
}
