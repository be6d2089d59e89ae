//! What changed from one issued revision to another, with the shop's own figures.

use std::collections::BTreeMap;

use serde_json::Value;

use super::{
    estimate::Estimate,
    form::{Hand, Kind},
    issued::IssuedQuote,
    measure::{Grouping, Money, show_number},
    trailer::{Spec, fields},
};

/// One difference; an empty side was not there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    pub what: String,
    pub before: String,
    pub after: String,
}

/// For the shop, beside what the customer reads.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ForShop {
    /// Every field of the spec.
    pub spec: Vec<Change>,
    /// Bought-in parts by name, with their counts.
    pub parts: Vec<Change>,
    pub cost: Vec<Change>,
    pub hours: Vec<Change>,
    /// Checks whose verdict changed.
    pub checks: Vec<Change>,
}

impl ForShop {
    pub fn between(before: &IssuedQuote, after: &IssuedQuote) -> Self {
        let hand = Hand { units: after.shop.units, money: &after.shop.currency };
        let money = |amount: Money| hand.money.show(amount);
        let cost = |estimate: &Estimate| {
            let lines = estimate.build_up.lines.iter();
            lines.map(|line| (line.text.clone(), money(line.amount))).collect::<Vec<_>>()
        };
        let hours = |estimate: &Estimate| {
            let lines = estimate.hours.lines.iter();
            let shown = |hours| format!("{} h", show_number(hours, 2, Grouping::Western));
            lines.map(|line| (line.operation.clone(), shown(line.hours))).collect::<Vec<_>>()
        };
        let checks = |estimate: &Estimate| {
            let lines = estimate.checks.iter();
            lines.map(|check| (check.name.clone(), check.verdict.label().to_owned())).collect::<Vec<_>>()
        };
        let (old, new) = (&before.estimate, &after.estimate);
        Self {
            spec: spec_changes(&old.spec, &new.spec, hand),
            parts: compared(&parts(old), &parts(new)),
            cost: compared(&cost(old), &cost(new)),
            hours: compared(&hours(old), &hours(new)),
            checks: compared(&checks(old), &checks(new)),
        }
    }
}

/// Fields that say something else, in the order of the form; of lists the items by their numbers.
fn spec_changes(before: &Spec, after: &Spec, hand: Hand<'_>) -> Vec<Change> {
    let (old, new) = (shown_fields(before, hand), shown_fields(after, hand));
    let mut paths: Vec<&String> = new.iter().map(|(path, ..)| path).collect();
    paths.extend(old.iter().map(|(path, ..)| path).filter(|path| !new.iter().any(|(other, ..)| other == *path)));
    let find = |all: &'_ [(String, String, String)], path: &str| {
        all.iter().find(|(other, ..)| other == path).map(|(_, what, value)| (what.clone(), value.clone()))
    };
    let document = serde_json::to_value(after).unwrap_or_default();
    let changed = paths.into_iter().filter_map(|path| {
        let (old, new) = (find(&old, path), find(&new, path));
        // What only ceased to matter (the coats of a paint that is no longer asked for) says nothing of its own.
        if new.is_none() && document.pointer(&format!("/{}", path.replace('.', "/"))).is_some() {
            return None;
        }
        let what = new.as_ref().or(old.as_ref())?.0.clone();
        let [before, after] = [old, new].map(|side| side.map(|(_, value)| value).unwrap_or_default());
        (before != after).then_some(Change { what, before, after })
    });
    changed.collect()
}

/// Path, name and value of every field that matters in this spec.
fn shown_fields(spec: &Spec, hand: Hand<'_>) -> Vec<(String, String, String)> {
    let document = serde_json::to_value(spec).unwrap_or_default();
    let mut found = Vec::new();
    fields::walk(&document, |field, path| {
        if !field.is_shown(&path, &document) {
            return;
        }
        let numbers: Vec<String> =
            path.split('.').filter_map(|part| part.parse::<usize>().ok()).map(|at| (at + 1).to_string()).collect();
        let item = if numbers.is_empty() { String::new() } else { format!(" {}", numbers.join(".")) };
        let what = format!("{}{item}: {}", field.group, field.label);
        let field = field.at(path);
        let value = field.get(&document).unwrap_or(&Value::Null);
        let text = field.write(value, hand);
        let shown = match field.kind {
            Kind::Flag => if value.as_bool() == Some(true) { "yes" } else { "no" }.to_owned(),
            Kind::Choice(words) => {
                words.iter().find(|(word, _)| *word == text).map_or(text, |(_, label)| (*label).to_owned())
            }
            _ => text,
        };
        found.push((field.path, what, shown));
    });
    found
}

/// Bought-in parts by name, with how many of each.
fn parts(estimate: &Estimate) -> Vec<(String, String)> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for fitting in &estimate.trailer.fittings {
        if let Some(item) = &fitting.part.item {
            *counts.entry(&item.name).or_default() += fitting.places.len();
        }
    }
    counts.into_iter().map(|(name, count)| (name.to_owned(), count.to_string())).collect()
}

/// Named values that differ, in the order of the newer side; what is gone stands at the end. Of several with one name the first
/// of each side is compared with the first, and so on.
pub fn compared(before: &[(String, String)], after: &[(String, String)]) -> Vec<Change> {
    let mut left: Vec<Option<&(String, String)>> = before.iter().map(Some).collect();
    let mut changes = Vec::new();
    for (what, now) in after {
        let old = left.iter_mut().find(|side| side.is_some_and(|(name, _)| name == what)).and_then(Option::take);
        let before = old.map(|(_, value)| value.clone()).unwrap_or_default();
        if before != *now {
            changes.push(Change { what: what.clone(), before, after: now.clone() });
        }
    }
    let gone = left.into_iter().flatten();
    changes.extend(gone.map(|(what, value)| Change {
        what: what.clone(),
        before: value.clone(),
        after: String::new(),
    }));
    changes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
        pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
    }

    #[test]
    fn what_is_new_what_is_gone_and_what_differs() {
        let before = named(&[("saw", "1 h"), ("weld", "3 h"), ("weld", "2 h"), ("paint", "4 h")]);
        let after = named(&[("saw", "1 h"), ("weld", "3 h"), ("weld", "2.5 h"), ("zinc", "1 h")]);
        let change = |what: &str, before: &str, after: &str| Change {
            what: what.into(),
            before: before.into(),
            after: after.into(),
        };
        let found = compared(&before, &after);
        assert_eq!(found, [change("weld", "2 h", "2.5 h"), change("zinc", "", "1 h"), change("paint", "4 h", "")]);
    }

    #[test]
    fn fields_are_named_with_their_group_and_choices_by_their_label() {
        let before = Spec::default();
        let mut after = before.clone();
        after.design.finish.system = crate::trailer::FinishSystem::Galvanised;
        after.design.factors.braking_g = 0.7;
        let style = crate::measure::MoneyStyle {
            currency_code: "GBP".into(),
            symbol: "£".into(),
            symbol_before: true,
            decimals: 2,
            group: Grouping::Western,
            decimal_mark: '.',
            group_mark: ',',
        };
        let hand = Hand { units: crate::measure::Units::Metric, money: &style };
        let found = spec_changes(&before, &after, hand);
        let finish = found.iter().find(|change| change.what.starts_with("Finish: ")).expect("the finish");
        assert_eq!((&*finish.before, &*finish.after), ("primer and top coat", "hot-dip galvanised"));
        let braking = found.iter().find(|change| change.what.contains("Braking")).expect("the factor");
        assert_eq!((&*braking.before, &*braking.after), ("0.6", "0.7"));
    }
}
