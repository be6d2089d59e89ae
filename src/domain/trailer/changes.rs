//! What an option changes: fields of the design put to other values.

use serde_json::Value;

use super::{OfferOption, OptionChange, Spec, fields};
use crate::form::{self, Fault, Hand, Kind};

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
