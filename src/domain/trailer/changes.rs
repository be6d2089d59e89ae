//! What an option changes: fields of the design put to other values.

use std::collections::BTreeMap;

use serde_json::Value;

use super::{Offer, OfferOption, OptionChange, Spec, fields};
use crate::{
    form::{self, Fault, Hand, Kind},
    limits::MOST_CHANGES,
};

/// The field that a change names, and the value it puts there.
///
/// # Errors
/// A field that is not one of the design, or a value that the field refuses, as its own message says.
pub fn read_change(change: &OptionChange, hand: Hand<'_>) -> Result<(form::Field, Value), Fault> {
    let known = fields::is_changeable(&change.field).then(|| fields::field_at(&change.field)).flatten();
    let Some(field) = known else {
        return Err(Fault {
            field: change.field.clone(),
            label: "Changes".into(),
            value: format!("“{}”", change.field),
            wrong: "is not a field of the design".into(),
            right: "choose one of the fields of the design".into(),
        });
    };
    let field = field.at(change.field.clone());
    let value = field.read(&change.to, hand)?;
    Ok((field, value))
}

/// Keeps lengths and masses with their unit, so that they mean the same when the shop's units change. What cannot be read stays as
/// it was typed.
pub fn with_units(options: &mut [OfferOption], hand: Hand<'_>) {
    for change in options.iter_mut().flat_map(|option| &mut option.changes) {
        if let Ok((field, value)) = read_change(change, hand)
            && matches!(field.kind, Kind::Length | Kind::Mass)
        {
            change.to = field.write(&value, hand);
        }
    }
}

/// The spec with the changes of these options put in, one after the other.
///
/// # Errors
/// Every change that cannot be made.
pub fn with_options<'a>(
    spec: &Spec,
    options: impl IntoIterator<Item = &'a OfferOption>,
    hand: Hand<'_>,
) -> Result<Spec, Vec<Fault>> {
    let mut document = serde_json::to_value(spec).unwrap_or_default();
    let mut faults = Vec::new();
    for change in options.into_iter().flat_map(|option| &option.changes) {
        match read_change(change, hand) {
            Ok((field, value)) => {
                field.set(&mut document, value);
            }
            Err(fault) => faults.push(fault),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    serde_json::from_value(document).map_err(|error| {
        vec![Fault {
            field: "offer.options".into(),
            label: "Options".into(),
            value: "all changes together".into(),
            wrong: format!("cannot be put into the design: {error}"),
            right: "look at each value that is changed".into(),
        }]
    })
}

/// The option that makes one design of a job into another: each of its fields that says something else there.
///
/// # Errors
/// In sentences, what of the other design an option cannot bring about.
pub fn option_to(other: &Spec, spec: &Spec, name: &str, hand: Hand<'_>) -> Result<OfferOption, Vec<String>> {
    let [from, to] = [spec, other].map(|spec| serde_json::to_value(spec).unwrap_or_default());
    let mut option = OfferOption { name: name.to_owned(), ..OfferOption::default() };
    let mut wrong = Vec::new();
    fields::walk(&to, |known, path| {
        let field = known.at(path);
        // What does not matter there (the coats of a paint that is not asked for) makes no difference.
        let differs = field.path.starts_with("design.") && field.get(&from) != field.get(&to);
        if !differs || !known.is_shown(&field.path, &to) {
            return;
        }
        if fields::is_changeable(&field.path) {
            let text = field.get(&to).map(|value| field.write(value, hand)).unwrap_or_default();
            let text = if field.kind == Kind::Flag && text.is_empty() { "no".to_owned() } else { text };
            option.changes.push(OptionChange { field: field.path, to: text });
        } else {
            wrong.push(format!("{}: {} differs, which no option can change.", field.group, field.label));
        }
    });
    fields::walk_lists(&from, |list, path, count| {
        if path.starts_with("design.") && fields::items(&to, &path) != count {
            wrong.push(format!("It has another number of items “{}”, which no option can change.", list.item));
        }
    });
    let [ours, theirs] = [spec, other].map(|spec| Offer {
        answers: BTreeMap::new(),
        options: Vec::new(),
        language: None,
        ..spec.offer.clone()
    });
    if ours != theirs {
        wrong.push("Its offer differs: an option keeps free lines, margin, discount, delivery and what was put in by hand as they are in the chosen design.".into());
    }
    if option.changes.is_empty() && wrong.is_empty() {
        wrong.push("It is the same design as the chosen one.".into());
    }
    if option.changes.len() > MOST_CHANGES {
        wrong.push(format!("It changes {} fields; an option may change {MOST_CHANGES}.", option.changes.len()));
    }
    if wrong.is_empty() { Ok(option) } else { Err(wrong) }
}

/// Puts an option onto an offer. Those that put one of its fields to another value cannot be wanted with it: they exclude each other.
pub fn put_option(options: &mut Vec<OfferOption>, mut option: OfferOption) {
    for other in options.iter_mut() {
        let collides = other
            .changes
            .iter()
            .any(|theirs| option.changes.iter().any(|ours| ours.field == theirs.field && ours.to != theirs.to));
        if collides {
            (option.in_set, other.in_set) = (true, true);
        }
    }
    options.push(option);
}
