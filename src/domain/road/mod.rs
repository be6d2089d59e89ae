//! Road rules by region, as data: which rules there are, and what each says about a set of facts.
//!
//! The rules stand in `seed-data/road-rules.toml`, the parts that they ask for in `seed-data/parts-by-rule.toml`. Each row carries its source and how
//! sure it is; nothing here is legal advice, and the authority decides. A fact that is missing makes a rule ask for it, never fall away.

mod book;
mod facts;
mod judge;
mod parts;

pub use book::{Atom, Confidence, Kind, Mark, Op, Region, Rule, RuleBook, Ship, Tier, region_words, seed};
pub use facts::{FACTS, FactKind, FactWords, Facts, Value};
pub use judge::{Finding, Outcome, judge};
pub use parts::{LampAsk, LampPlace, PartAsk, PartKind, asked_somewhere, lamps_asked, parts_asked, parts_by_rule};

#[cfg(test)]
mod tests;
