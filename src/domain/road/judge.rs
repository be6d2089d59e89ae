//! What each rule of a region says about a set of facts: three-valued, so that a missing fact is asked for.

use super::{
    book::{Atom, Kind, Op, Region, Rule, RuleBook, Ship},
    facts::{Facts, Value},
};
use crate::choice::choice;

choice! {
    /// What a rule says.
    Outcome {
        NotApplicable = "n/a" / "does not apply",
        Pass = "pass" / "holds",
        Fail = "FAIL" / "fails",
        Warn = "WARN" / "confirm",
        ToFit = "to fit" / "to fit",
        ToMark = "to mark" / "to mark",
        ToFile = "to file" / "to file",
        Ask = "ask" / "to ask",
        Info = "info" / "to know",
        NeedFact = "need-fact" / "cannot tell",
        Judge = "judge" / "to be judged",
    }
}

/// What one rule says, and which facts it lacks.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding<'b> {
    pub rule: &'b Rule,
    pub outcome: Outcome,
    /// Names of the facts that are missing; empty unless the outcome is [`Outcome::NeedFact`].
    pub missing: Vec<&'static str>,
}

/// Yes, no, or not known for want of facts.
#[derive(Clone, Debug, PartialEq)]
enum Holds {
    Yes,
    No,
    Lacks(Vec<&'static str>),
}

/// Every rule of the region, in the order of the book; the region's own behind those that it extends.
pub fn judge<'b>(book: &'b RuleBook, region: &'b Region, facts: &Facts) -> Vec<Finding<'b>> {
    let rules: Vec<&Rule> = book.rules_of(region).collect();
    let found = rules.iter().map(|rule| {
        let (outcome, missing) = alone(rule, facts);
        let finding = Finding { rule, outcome, missing };
        // Where it applies as such, another rule may stand in its place.
        let replacing = rules.iter().filter(|other| other.replaces.as_ref() == Some(&rule.id));
        replacing.fold(finding, |finding, other| match (finding.outcome, all(&other.when, facts)) {
            (Outcome::NotApplicable, _) | (_, Holds::No) => finding,
            (_, Holds::Yes) => Finding { outcome: Outcome::NotApplicable, missing: Vec::new(), ..finding },
            (_, Holds::Lacks(mut lacks)) => {
                lacks.extend(finding.missing);
                lacks.sort_unstable();
                lacks.dedup();
                Finding { outcome: Outcome::NeedFact, missing: lacks, ..finding }
            }
        })
    });
    found.collect()
}

/// What a rule says when no other replaces it.
fn alone(rule: &Rule, facts: &Facts) -> (Outcome, Vec<&'static str>) {
    match all(&rule.when, facts) {
        Holds::No => return (Outcome::NotApplicable, Vec::new()),
        Holds::Lacks(lacks) => return (Outcome::NeedFact, lacks),
        Holds::Yes => {}
    }
    let missed = if rule.ship == Ship::Check { Outcome::Fail } else { Outcome::Warn };
    match all(&rule.limit, facts) {
        Holds::No => (missed, Vec::new()),
        Holds::Lacks(lacks) => (Outcome::NeedFact, lacks),
        Holds::Yes => {
            let outcome = match rule.kind {
                Kind::Limit if rule.limit.is_empty() => Outcome::Judge,
                Kind::Limit => Outcome::Pass,
                Kind::Fit => Outcome::ToFit,
                Kind::Mark => Outcome::ToMark,
                Kind::File => Outcome::ToFile,
                Kind::Ask => Outcome::Ask,
                Kind::Info => Outcome::Info,
            };
            (outcome, Vec::new())
        }
    }
}

/// All of them: one that is false decides, whatever is missing.
fn all(atoms: &[Atom], facts: &Facts) -> Holds {
    let mut lacks = Vec::new();
    for atom in atoms {
        match facts.get(atom.fact.name) {
            Some(value) if !atom.holds(value) => return Holds::No,
            Some(_) => {}
            None => lacks.push(atom.fact.name),
        }
    }
    lacks.sort_unstable();
    lacks.dedup();
    if lacks.is_empty() { Holds::Yes } else { Holds::Lacks(lacks) }
}

impl Atom {
    /// Unrounded values are compared.
    pub fn holds(&self, value: &Value) -> bool {
        match (value, &self.value, self.op) {
            (Value::Number(a), Value::Number(b), op) => match op {
                Op::Less => a < b,
                Op::AtMost => a <= b,
                Op::More => a > b,
                Op::AtLeast => a >= b,
                Op::Is => a == b,
            },
            (Value::Word(a), Value::Word(b), Op::Is) => a.eq_ignore_ascii_case(b),
            (Value::YesNo(a), Value::YesNo(b), Op::Is) => a == b,
            _ => false,
        }
    }
}
