//! Between the typed strings and the document.

use serde_json::Value;

use super::list::{self, Action, ListOf};
use crate::{
    domain::form::{Fault, Field, Hand, Kind},
    web::form::Form,
};

/// A form that shows a document. An unticked box is not sent, so it is not filled either.
pub fn fill(fields: &[Field], lists: &[ListOf], document: &Value, hand: Hand<'_>) -> Form {
    let mut form = Form::default();
    for field in fields {
        let text = field.get(document).map(|value| field.write(value, hand)).unwrap_or_default();
        if field.kind != Kind::Flag || !text.is_empty() {
            form.add(field.path.clone(), text);
        }
    }
    mark_lists(&mut form, "", lists, document);
    form
}

fn mark_lists(form: &mut Form, within: &str, lists: &[ListOf], document: &Value) {
    for list in lists {
        let path = format!("{within}{}", list.path);
        let items = document.pointer(&pointer(&path)).and_then(Value::as_array).map_or(0, Vec::len);
        form.add("list", path.clone());
        for index in 0..items {
            mark_lists(form, &format!("{path}.{index}."), list.inner, document);
        }
    }
}

/// The document with as many items in each list as the form has; new ones hold their first values.
pub fn resized(form: &Form, lists: &[ListOf], mut document: Value) -> Value {
    resize(form, "", lists, &mut document);
    document
}

fn resize(form: &Form, within: &str, lists: &[ListOf], document: &mut Value) {
    for list in lists {
        let path = format!("{within}{}", list.path);
        let Some(count) = list::count(form, &path) else { continue };
        if let Some(Value::Array(items)) = document.pointer_mut(&pointer(&path)) {
            items.resize_with(count, list.new);
        }
        for index in 0..count {
            resize(form, &format!("{path}.{index}."), list.inner, document);
        }
    }
}

/// Reads every field that the form has into the document, and notes every fault. What the form does not have stays as it
/// was, but for boxes to tick: a box that is not sent is not ticked.
pub fn read(form: &mut Form, fields: &[Field], document: &mut Value, hand: Hand<'_>) {
    for field in fields {
        if !form.has(&field.path) && field.kind != Kind::Flag {
            continue;
        }
        match field.read(form.value(&field.path), hand) {
            Ok(value) => {
                field.set(document, value);
            }
            Err(fault) => note(form, &fault),
        }
    }
}

/// A fault of the domain beside its field.
pub fn note(form: &mut Form, fault: &Fault) {
    let mut message = format!("{} {}: {}.", fault.value, fault.wrong, fault.right.trim_end_matches('.'));
    if let Some(first) = message.get(..1).map(str::to_uppercase) {
        message.replace_range(..1, &first);
    }
    form.wrong(fault.field.clone(), fault.label.clone(), message);
}

/// The form after a button that changes a list: an item more, or an item less. `fields` gives those of a document.
pub fn changed(
    form: &Form,
    action: &Action,
    lists: &[ListOf],
    document: Value,
    fields: impl Fn(&Value) -> Vec<Field>,
    hand: Hand<'_>,
) -> Form {
    match action {
        Action::Remove(path) => list::without(form, path),
        Action::Add(path) => {
            let mut form = form.clone();
            let next = list::count(&form, path).unwrap_or_default();
            // Any name under the new index makes the list one longer.
            let prefix = format!("{path}.{next}.");
            let longer = Form::filled(form.pairs().chain([(prefix.as_str(), "")]));
            let document = resized(&longer, lists, document);
            let filled = fill(&fields(&document), lists, &document, hand);
            for (name, value) in filled.pairs().filter(|(name, _)| name.starts_with(&prefix)) {
                form.add(name, value);
            }
            for inner in filled.values("list").filter(|list| list.starts_with(&prefix)) {
                form.add("list", inner);
            }
            form
        }
        Action::Save | Action::Try => form.clone(),
    }
}

pub(super) fn pointer(path: &str) -> String {
    format!("/{}", path.replace('.', "/"))
}
