//! Every field of the spec, as data: the web form, the texts that people type and the checks of single fields all follow
//! from this registry, so that no page needs code for a field.
//!
//! * [`groups`] are the form's sections, in order, each with its fields and lists.
//! * [`write`] gives the text of every field by its full path (`need.loads.0.mass` → `165 kg`), exact.
//! * [`read`] takes such texts back into a spec, with every fault at once.
//!
//! What a form sends: one text a path. A check box sends `yes` or nothing, so a page puts a hidden field of the same name
//! with `no` before it, and the last one counts. A list sends a field with its own path (`need.loads`, any text) to say that
//! it is on the form at all; then an item whose number is missing was removed. Numbers need not be without gaps. A path that
//! the registry does not know is left alone.

mod registry;
mod schema;
mod texts;

pub use registry::groups;
pub use schema::schema;
pub use texts::{Typed, read, too_many, write};

use serde_json::Value;

use crate::form::{self, Kind, Limit};

/// A section of the form.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Stable name: `running-gear`.
    pub key: &'static str,
    pub title: &'static str,
    pub fields: Vec<Field>,
    pub lists: Vec<List>,
}

/// Fields that repeat for every item of a list.
#[derive(Clone, Debug, PartialEq)]
pub struct List {
    /// `need.loads`; a list within a list has `*` for the outer item: `need.trips.*.carries`.
    pub path: &'static str,
    /// What one item is called: "load".
    pub item: &'static str,
    pub fields: Vec<Field>,
    pub lists: Vec<List>,
    /// JSON of a new item.
    pub new_item: Value,
    pub most: usize,
}

/// One field, or one field of every item of a list.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// `design.bed.length`; in a list with `*` for the item: `need.loads.*.mass`.
    pub path: &'static str,
    pub label: &'static str,
    pub kind: Kind,
    /// Behind the box, where the kind does not say it.
    pub unit: &'static str,
    pub limit: Limit,
    /// May be left empty; then it follows from other things.
    pub optional: bool,
    pub help: &'static str,
    /// Shown only while another field has one of these words (`yes` and `no` for a check box; in a list `*` is the same item).
    pub shown_when: Option<(&'static str, &'static [&'static str])>,
    /// Heading of its section.
    pub group: &'static str,
}

impl List {
    /// Whether its path is this one with numbers for `*`.
    pub fn is_at(&self, path: &str) -> bool {
        is_at(self.path, path)
    }

    /// Its path within one item of the outer list.
    pub fn within(&self, item: &str) -> String {
        filled(self.path, item)
    }
}

impl Field {
    /// Its path in one item of a list.
    pub fn within(&self, item: &str) -> String {
        filled(self.path, item)
    }

    /// The field at one place in a document: every `*` is replaced by the item numbers of `path`.
    pub fn at(&self, path: String) -> form::Field {
        form::Field {
            path,
            group: self.group,
            label: self.label.to_owned(),
            kind: self.kind,
            unit: self.unit,
            limit: self.limit,
            optional: self.optional,
            help: self.help,
        }
    }

    /// Whether its path is this one with numbers for `*`.
    pub fn is_at(&self, path: &str) -> bool {
        is_at(self.path, path)
    }

    /// Whether the field matters, going by a document (the JSON of a spec).
    pub fn is_shown(&self, path: &str, document: &Value) -> bool {
        let Some((other, words)) = self.shown_when else { return true };
        let value = document.pointer(&pointer(&filled(other, path)));
        match value {
            Some(Value::Bool(flag)) => words.contains(&if *flag { "yes" } else { "no" }),
            Some(Value::String(word)) => words.contains(&word.as_str()),
            Some(Value::Number(number)) => words.contains(&number.to_string().as_str()),
            _ => true,
        }
    }
}

/// Calls for every field of a document, at its full path, in the order of the form.
pub fn walk(document: &Value, mut visit: impl FnMut(&'static Field, String)) {
    for group in groups() {
        group.fields.iter().for_each(|field| visit(field, field.path.to_owned()));
        group.lists.iter().for_each(|list| walk_list(list, list.path.to_owned(), document, &mut visit));
    }
}

/// Where something that a check lacks is entered.
#[derive(Clone, Debug, PartialEq)]
pub enum Entered {
    InRateBook,
    InField {
        path: String,
        label: &'static str,
    },
    /// In a new item of a list.
    AsItem {
        list: String,
        item: &'static str,
    },
}

/// Finds it by the words of the check: the longest label among them, of the item that they name too.
pub fn entered(words: &str, document: &Value) -> Option<Entered> {
    let words = words.to_lowercase();
    if words.contains("rate book") {
        return Some(Entered::InRateBook);
    }
    let mut best: Option<(usize, Entered)> = None;
    walk(document, |field, path| {
        let label = field.label.to_lowercase();
        if !words.contains(&label) {
            return;
        }
        let named = item_name(document, &path).is_some_and(|name| words.contains(&name.to_lowercase()));
        let weight = label.len() + if named { 1000 } else { 0 };
        if best.as_ref().is_none_or(|(known, _)| weight > *known) {
            best = Some((weight, Entered::InField { path, label: field.label }));
        }
    });
    let mut list = None;
    walk_lists(document, |of, path, _| {
        if list.is_none() && words.contains(of.item) && path.starts_with("need.") {
            list = Some(Entered::AsItem { list: path, item: of.item });
        }
    });
    best.map(|(_, entered)| entered).or(list)
}

/// The name of the item that a path of a list lies in: of `need.towing_vehicles.0.kerb` that of the vehicle.
fn item_name<'a>(document: &'a Value, path: &str) -> Option<&'a str> {
    let item = path.rsplit_once('.')?.0;
    document.pointer(&format!("/{}/name", item.replace('.', "/")))?.as_str().filter(|name| !name.is_empty())
}

/// Calls for every list of a document, at its full path, with the number of its items.
pub fn walk_lists(document: &Value, mut visit: impl FnMut(&'static List, String, usize)) {
    texts::each_list(&mut |list| {
        for path in texts::places(list.path, document) {
            let count = texts::count(document, &path);
            visit(list, path, count);
        }
    });
}

/// Items of the list at this path of a document.
pub fn items(document: &Value, path: &str) -> usize {
    texts::count(document, path)
}

fn walk_list(list: &'static List, path: String, document: &Value, visit: &mut impl FnMut(&'static Field, String)) {
    let count = texts::count(document, &path);
    for index in 0..count {
        let item = format!("{path}.{index}");
        list.fields.iter().for_each(|field| visit(field, filled(field.path, &item)));
        list.lists.iter().for_each(|inner| walk_list(inner, filled(inner.path, &item), document, visit));
    }
}

/// Whether an option may change the field at this path.
pub fn is_changeable(path: &str) -> bool {
    registry::changeable().iter().any(|(known, _)| *known == path)
}

/// The field at a full path.
pub fn field_at(path: &str) -> Option<&'static Field> {
    all_fields().find(|field| field.is_at(path))
}

/// Every field, in the order of the form, those of lists with `*` for the item.
pub fn all_fields() -> impl Iterator<Item = &'static Field> {
    fn within(list: &'static List, found: &mut Vec<&'static Field>) {
        found.extend(&list.fields);
        list.lists.iter().for_each(|inner| within(inner, found));
    }
    groups().iter().flat_map(|group| {
        let mut found: Vec<&'static Field> = group.fields.iter().collect();
        group.lists.iter().for_each(|list| within(list, &mut found));
        found
    })
}

fn is_at(template: &str, path: &str) -> bool {
    let (mut of_template, mut of_path) = (template.split('.'), path.split('.'));
    loop {
        match (of_template.next(), of_path.next()) {
            (None, None) => return true,
            (Some("*"), Some(part)) if part.parse::<usize>().is_ok() => {}
            (Some(name), Some(part)) if name == part => {}
            _ => return false,
        }
    }
}

/// A template with the item numbers of a full path for its `*`, from left to right.
fn filled(template: &str, path: &str) -> String {
    let mut numbers = path.split('.').filter(|part| part.parse::<usize>().is_ok());
    let parts = template.split('.').map(|part| if part == "*" { numbers.next().unwrap_or(part) } else { part });
    parts.collect::<Vec<_>>().join(".")
}

fn pointer(path: &str) -> String {
    format!("/{}", path.replace('.', "/"))
}

#[cfg(test)]
mod tests;
