//! Options of the offer, each alone and together.

use super::Checker;
use crate::{
    limits::{MOST_FREE_OPTIONS, MOST_IN_SET, MOST_ITEMS},
    trailer::{OfferOption, read_change},
};

pub fn check(checker: &mut Checker<'_>) {
    let options = &checker.spec.offer.options;
    if options.is_empty() {
        return;
    }
    numbers(checker, options);
    for (at, option) in options.iter().enumerate().take(MOST_ITEMS) {
        alone(checker, options, at, option);
        together(checker, options, at, option);
    }
    if checker.spec.offer.agreed_price.is_some() {
        checker.fault(
            "offer.agreed_price",
            "leaves no price for the options",
            "leave it empty, or take the options away: with an agreed price every choice would cost the same",
        );
    }
}

fn numbers(checker: &mut Checker<'_>, options: &[OfferOption]) {
    let (in_set, free): (Vec<_>, Vec<_>) = options.iter().enumerate().partition(|(_, option)| option.in_set);
    if let Some(&(at, _)) = free.get(MOST_FREE_OPTIONS) {
        checker.fault(
            &format!("offer.options.{at}.name"),
            format!("is one more than {MOST_FREE_OPTIONS} options that go with all others"),
            "take one away, or tick those of which only one can be wanted",
        );
    }
    if let Some(&(at, _)) = in_set.get(MOST_IN_SET) {
        checker.fault(
            &format!("offer.options.{at}.name"),
            format!("is one more than {MOST_IN_SET} options of which one is chosen"),
            "take one away",
        );
    }
    if let [(at, _)] = in_set[..] {
        checker.fault(
            &format!("offer.options.{at}.in_set"),
            "is ticked, but there is no other option that it excludes",
            "tick another option too, or leave the box empty",
        );
    }
}

fn alone(checker: &mut Checker<'_>, options: &[OfferOption], at: usize, option: &OfferOption) {
    let path = |field: &str| format!("offer.options.{at}.{field}");
    if options[..at].iter().any(|other| other.name.eq_ignore_ascii_case(&option.name)) {
        checker.fault(&path("name"), "is the name of another option too", "give every option a name of its own");
    }
    if option.changes.is_empty() {
        checker.fault(&path("name"), "changes nothing", "add what it changes in the design, or take the option away");
    }
    for (number, change) in option.changes.iter().enumerate().take(MOST_ITEMS) {
        let hand = checker.hand;
        if let Err(fault) = read_change(change, hand) {
            let wrong = format!("{} ({})", fault.wrong, fault.label);
            checker.fault(&path(&format!("changes.{number}.to")), wrong, fault.right);
        }
        if option.changes[..number].iter().any(|other| other.field == change.field) {
            checker.fault(&path(&format!("changes.{number}.field")), "is changed twice", "take one of the two away");
        }
    }
}

/// Two options that can be chosen together must not put one field to two values.
fn together(checker: &mut Checker<'_>, options: &[OfferOption], at: usize, option: &OfferOption) {
    let hand = checker.hand;
    let value = |change| read_change(change, hand).ok().map(|(_, value)| value);
    for other in options[..at].iter().filter(|other| !(other.in_set && option.in_set)) {
        let both = option.changes.iter().enumerate().find(|(_, change)| {
            other.changes.iter().any(|before| before.field == change.field && value(before) != value(change))
        });
        if let Some((number, _)) = both {
            checker.fault(
                &format!("offer.options.{at}.changes.{number}.field"),
                format!("is put to another value by “{}”, which can be chosen with it", other.name),
                "tick both as excluding each other, or let one of them alone change it",
            );
        }
    }
}
