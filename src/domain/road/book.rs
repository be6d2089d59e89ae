//! The rules as they are read: a loader that refuses what cannot be meant.

use std::{collections::BTreeSet, sync::LazyLock};

use jiff::civil::Date;
use serde::Deserialize;

use super::facts::{FactWords, Value};
use crate::choice::choice;

choice! {
    /// What a rule is about: only a limit can be failed.
    Kind {
        Limit = "limit" / "limit",
        Fit = "fit" / "to fit",
        Mark = "mark" / "to mark",
        File = "file" / "to file",
        Ask = "ask" / "to ask",
        Info = "info" / "to know",
    }
}

choice! {
    /// Whether the passage was read.
    Mark { Read = "read" / "read", Memory = "memory" / "from memory", Part = "read+memory" / "read in part, the rest from memory" }
}

choice! {
    /// What the decisive number was read in.
    Tier { Government = "P" / "government text", Secondary = "S" / "secondary source", Nothing = "-" / "no text" }
}

choice! { Confidence { High = "high" / "high", Medium = "med" / "medium", Low = "low" / "low" } }

choice! {
    /// Whether a rule is a firm line, is to be confirmed, or must not be shown before someone reads its source.
    Ship { Check = "check" / "firm", Note = "note" / "to be confirmed", Hold = "hold" / "held back" }
}

choice! { Op { Less = "<" / "<", AtMost = "<=" / "≤", More = ">" / ">", AtLeast = ">=" / "≥", Is = "==" / "=" } }

/// One comparison of a fact with a constant.
#[derive(Clone, Debug, PartialEq)]
pub struct Atom {
    pub fact: &'static FactWords,
    pub op: Op,
    pub value: Value,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    pub id: String,
    pub region: String,
    pub topic: String,
    pub kind: Kind,
    pub text: String,
    /// As printed.
    pub threshold: String,
    pub source: String,
    pub mark: Mark,
    pub tier: Tier,
    pub confidence: Confidence,
    pub ship: Ship,
    pub read_on: Date,
    /// All must hold; empty: always.
    pub when: Vec<Atom>,
    /// What the trailer must satisfy.
    pub limit: Vec<Atom>,
    /// Falls away where this rule applies.
    pub replaces: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Region {
    pub id: String,
    pub name: String,
    /// Its rules hold here too.
    #[serde(default)]
    pub extends: Option<String>,
    pub authority: String,
    pub authority_at: String,
    /// Approval mark that a lamp must carry: `un`, `sae` or `adr`.
    #[serde(default)]
    pub approval: Option<String>,
    /// Word and name of the states whose rules are told apart.
    #[serde(default)]
    pub states: Vec<(String, String)>,
    /// The coupling presses down with at least this share of the actual mass …
    #[serde(default)]
    pub least_coupling_share: Option<f64>,
    /// … but need not with more than this, kg.
    #[serde(default)]
    pub least_coupling_kg: Option<f64>,
    /// Whose rule that is.
    #[serde(default)]
    pub least_coupling_source: String,
}

impl Region {
    /// Least load on the coupling of a trailer of this actual mass, kg; 0 where no rule is known.
    pub fn least_coupling_kg(&self, mass_kg: f64) -> f64 {
        let share = self.least_coupling_share.map_or(0.0, |share| share * mass_kg);
        share.min(self.least_coupling_kg.unwrap_or(f64::INFINITY))
    }
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct RuleBook {
    pub regions: Vec<Region>,
    pub rules: Vec<Rule>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    schema: u32,
    region: Vec<Region>,
    rule: Vec<Row>,
}

/// A rule as written: its words are not checked yet.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    region: String,
    topic: String,
    kind: String,
    text: String,
    threshold: String,
    #[serde(default)]
    source: String,
    mark: String,
    tier: String,
    confidence: String,
    ship: String,
    read_on: Date,
    when: Vec<RawAtom>,
    #[serde(default)]
    limit: Vec<RawAtom>,
    #[serde(default)]
    replaces: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAtom {
    fact: String,
    op: String,
    value: Value,
}

impl RuleBook {
    /// Reads and checks the rules.
    ///
    /// # Errors
    /// Every fault, one line each: a region that there is not or twice, an id given twice, an unknown fact, operator or word, a value of another type than
    /// its fact, a firm rule from memory, a missing source, a rule that replaces none.
    pub fn read(text: &str) -> Result<Self, Vec<String>> {
        let table: Table = toml::from_str(text).map_err(|fault| vec![format!("the rules cannot be read: {fault}")])?;
        let mut faults = Vec::new();
        if table.schema != 1 {
            faults.push(format!("schema is {}: this program reads 1", table.schema));
        }
        let regions: BTreeSet<&str> = table.region.iter().map(|region| region.id.as_str()).collect();
        if regions.len() < table.region.len() {
            faults.push("a region stands there twice: each id once".into());
        }
        for region in &table.region {
            match region.extends.as_deref() {
                Some(base) if !regions.contains(base) => {
                    faults.push(format!("region {} extends {base}, which is no region", region.id));
                }
                Some(base) if table.region.iter().any(|other| other.id == base && other.extends.is_some()) => {
                    faults.push(format!("region {} extends {base}, which extends another: one step only", region.id));
                }
                _ => {}
            }
        }
        let ids: Vec<String> = table.rule.iter().map(|row| row.id.clone()).collect();
        let mut seen = BTreeSet::new();
        let mut rules = Vec::new();
        for row in table.rule {
            if !seen.insert(row.id.clone()) {
                faults.push(format!("rule {} stands there twice: an id is given once", row.id));
            }
            if !regions.contains(row.region.as_str()) {
                faults.push(format!("rule {}: region {} is none of the regions", row.id, row.region));
            }
            if let Some(replaced) = row.replaces.as_ref().filter(|replaced| !ids.contains(replaced)) {
                faults.push(format!("rule {}: it replaces {replaced}, which is no rule", row.id));
            }
            match row.checked() {
                Ok(rule) => rules.push(rule),
                Err(more) => faults.extend(more),
            }
        }
        if faults.is_empty() { Ok(Self { regions: table.region, rules }) } else { Err(faults) }
    }

    pub fn region(&self, id: &str) -> Option<&Region> {
        self.regions.iter().find(|region| region.id == id)
    }

    pub fn rule(&self, id: &str) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.id == id)
    }

    /// The rules of a region: those that it extends, then its own. Rows on hold are left out: they never reach anyone.
    pub fn rules_of<'b>(&'b self, region: &'b Region) -> impl Iterator<Item = &'b Rule> {
        let base = region.extends.as_deref();
        let of = |id: Option<&'b str>| {
            self.rules.iter().filter(move |rule| Some(rule.region.as_str()) == id && rule.ship != Ship::Hold)
        };
        of(base).chain(of(Some(&region.id)))
    }
}

impl Row {
    fn checked(self) -> Result<Rule, Vec<String>> {
        let mut faults = Vec::new();
        let id = self.id;
        let mut word = |what: &str, given: &str, words: &[(&str, &str)]| {
            if !words.iter().any(|(word, _)| *word == given) {
                let words: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
                faults.push(format!("rule {id}: {what} is “{given}”: use {}", words.join(", ")));
            }
        };
        word("kind", &self.kind, Kind::WORDS);
        word("mark", &self.mark, Mark::WORDS);
        word("tier", &self.tier, Tier::WORDS);
        word("confidence", &self.confidence, Confidence::WORDS);
        word("ship", &self.ship, Ship::WORDS);
        if self.mark == Mark::Memory.word() && self.ship == Ship::Check.word() {
            faults.push(format!("rule {id}: what is from memory is no firm line: ship it as note"));
        }
        if self.source.trim().is_empty() {
            faults.push(format!("rule {id}: its source is missing"));
        }
        let mut atoms = |raw: Vec<RawAtom>| {
            let read = raw.into_iter().map(|atom| atom.checked(&id));
            let (good, bad): (Vec<_>, Vec<_>) = read.partition(Result::is_ok);
            faults.extend(bad.into_iter().filter_map(Result::err));
            good.into_iter().filter_map(Result::ok).collect::<Vec<Atom>>()
        };
        let (when, limit) = (atoms(self.when), atoms(self.limit));
        let words = (
            Kind::from_word(&self.kind),
            Mark::from_word(&self.mark),
            Tier::from_word(&self.tier),
            Confidence::from_word(&self.confidence),
            Ship::from_word(&self.ship),
        );
        let (Some(kind), Some(mark), Some(tier), Some(confidence), Some(ship)) = words else { return Err(faults) };
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok(Rule {
            id,
            region: self.region,
            topic: self.topic,
            kind,
            text: self.text,
            threshold: self.threshold,
            source: self.source,
            mark,
            tier,
            confidence,
            ship,
            read_on: self.read_on,
            when,
            limit,
            replaces: self.replaces,
        })
    }
}

impl RawAtom {
    fn checked(self, rule: &str) -> Result<Atom, String> {
        let fact =
            FactWords::of(&self.fact).ok_or_else(|| format!("rule {rule}: {} is none of the facts", self.fact))?;
        let op = Op::from_word(&self.op)
            .ok_or_else(|| format!("rule {rule}: “{}” is no operator: use <, <=, >, >= or ==", self.op))?;
        if let Some(fault) = fact.fault(&self.value) {
            return Err(format!("rule {rule}: {fault}"));
        }
        let is_number = matches!(self.value, Value::Number(_));
        if !is_number && op != Op::Is {
            return Err(format!("rule {rule}: {} cannot be more or less: use ==", self.fact));
        }
        Ok(Atom { fact, op, value: self.value })
    }
}

static SEED: LazyLock<RuleBook> =
    LazyLock::new(|| RuleBook::read(include_str!("../../../seed-data/road-rules.toml")).unwrap_or_default());

/// The rules that come with the program. A test makes sure that they are read whole.
pub fn seed() -> &'static RuleBook {
    &SEED
}

static WORDS: LazyLock<Vec<(&'static str, &'static str)>> =
    LazyLock::new(|| seed().regions.iter().map(|region| (region.id.as_str(), region.name.as_str())).collect());

/// `(id, name)` of every region, for a choice.
pub fn region_words() -> &'static [(&'static str, &'static str)] {
    &WORDS
}
