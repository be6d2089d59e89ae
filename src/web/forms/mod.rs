//! Forms that are generated from fields described as data ([`crate::domain::form`]): strings in, a checked document out.
//!
//! A box to tick sends `no` (hidden) and then, when ticked, `yes`: the last one counts. A list sends a field with its own
//! path, so that an empty list is told from one that is not on the form.

mod action;
/// Forms over a flat list of fields: the shop's settings, an item of the rate book.
pub mod flat;
mod sheet;
/// Forms over a part of the spec.
pub mod spec;

pub use action::Action;
pub use sheet::{Input, Section, Shape, Sheet};

use crate::{domain::form::Fault, web::form::Form};

/// A fault of the domain beside its field.
pub fn note(form: &mut Form, fault: &Fault) {
    form.wrong(fault.field.clone(), fault.label.clone(), sentence(fault));
}

/// What is wrong and what would be right, as a sentence.
pub fn sentence(fault: &Fault) -> String {
    let text = format!("{} {}: {}.", fault.value, fault.wrong, fault.right.trim_end_matches('.'));
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
