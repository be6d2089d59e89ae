//! Forms over a flat list of fields.

use serde_json::Value;

use super::note;
use crate::{
    domain::form::{Field, Hand},
    web::form::Form,
};

/// A form that shows a document.
pub fn fill(fields: &[Field], document: &Value, hand: Hand<'_>) -> Form {
    let text = |field: &Field| field.get(document).map(|value| field.write(value, hand)).unwrap_or_default();
    Form::filled(fields.iter().map(|field| (field.path.clone(), text(field))))
}

/// Reads every field that the form has into the document, and notes every fault. What the form does not have stays.
pub fn read(form: &mut Form, fields: &[Field], document: &mut Value, hand: Hand<'_>) {
    for field in fields {
        let Some(text) = form.last(&field.path) else { continue };
        match field.read(text, hand) {
            Ok(value) => {
                field.set(document, value);
            }
            Err(fault) => note(form, &fault),
        }
    }
}
