//! Texts by path, to a spec and back.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::{Field, List, filled, groups, is_at, pointer, walk, walk_lists};
use crate::{
    form::{Fault, Hand},
    trailer::{Spec, changes::with_units},
};

/// What was typed, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Typed {
    /// Fields that could not be read keep their earlier value here.
    pub spec: Spec,
    /// As typed, with the items of lists numbered without gaps, so that they, the spec and the faults agree.
    pub texts: BTreeMap<String, String>,
    pub faults: Vec<Fault>,
}

/// The text of every field by its full path; reading it back gives the identical spec. Lists add their own path, with the
/// number of items.
pub fn write(spec: &Spec, hand: Hand<'_>) -> BTreeMap<String, String> {
    let document = json(spec);
    let mut texts = BTreeMap::new();
    walk(&document, |field, path| {
        let field = field.at(path);
        let text = field.get(&document).map(|value| field.write(value, hand));
        texts.insert(field.path, text.unwrap_or_default());
    });
    walk_lists(&document, |_, path, count| {
        texts.insert(path, count.to_string());
    });
    texts
}

/// Puts what was typed into the spec as it was before. Only the paths that are there are changed.
pub fn read(texts: &BTreeMap<String, String>, before: &Spec, hand: Hand<'_>) -> Typed {
    let mut document = json(before);
    let mut texts = texts.clone();
    let mut faults = Vec::new();
    each_list(&mut |list| texts = renumber(list, std::mem::take(&mut texts), &mut document));
    each_list(&mut |list| limit_items(list, &mut document, &mut faults));
    let mut found: Vec<(&Field, String)> = Vec::new();
    walk(&document, |field, path| found.push((field, path)));
    for (field, path) in found {
        let Some(text) = texts.get(&path) else { continue };
        let field = field.at(path);
        match field.read(text, hand) {
            Ok(value) => {
                field.set(&mut document, value);
            }
            Err(fault) => faults.push(fault),
        }
    }
    let mut spec: Spec = serde_json::from_value(document).unwrap_or_else(|error| {
        faults.push(Fault {
            field: String::new(),
            label: "The form".into(),
            value: "as a whole".into(),
            wrong: format!("cannot be read: {error}"),
            right: "load the page again and type the change once more".into(),
        });
        before.clone()
    });
    with_units(&mut spec.offer.options, hand);
    Typed { spec, texts, faults }
}

fn json(spec: &Spec) -> Value {
    serde_json::to_value(spec).unwrap_or_default()
}

/// Every list, the outer ones before those within them.
pub(super) fn each_list(visit: &mut impl FnMut(&'static List)) {
    fn inner(lists: &'static [List], visit: &mut impl FnMut(&'static List)) {
        for list in lists {
            visit(list);
            inner(&list.lists, visit);
        }
    }
    groups().iter().for_each(|group| inner(&group.lists, visit));
}

/// Items of the list at a full path.
pub(super) fn count(document: &Value, path: &str) -> usize {
    document.pointer(&pointer(path)).and_then(Value::as_array).map_or(0, Vec::len)
}

/// Full paths of a list in a document.
pub(super) fn places(template: &str, document: &Value) -> Vec<String> {
    match template.split_once(".*.") {
        None => vec![template.to_owned()],
        Some((outer, _)) => {
            let count = count(document, outer);
            (0..count).map(|index| filled(template, &format!("{outer}.{index}"))).collect()
        }
    }
}

/// Gives the items of a list numbers without gaps, in the texts, and as many items to the document: those that were there
/// keep what was not typed, new ones begin as a new item. A list that the texts do not speak of stays as it is.
fn renumber(list: &List, texts: BTreeMap<String, String>, document: &mut Value) -> BTreeMap<String, String> {
    let depth = list.path.split('.').count();
    // The item's number stands behind as many parts as the list's path has.
    let split = |path: &str| -> Option<(String, usize, String)> {
        let mut parts = path.splitn(depth + 2, '.');
        let place: Vec<&str> = parts.by_ref().take(depth).collect();
        let (place, index) = (place.join("."), parts.next()?.parse().ok()?);
        is_at(list.path, &place).then(|| (place, index, parts.next().unwrap_or_default().to_owned()))
    };
    let mut typed: BTreeMap<String, BTreeSet<usize>> = BTreeMap::new();
    for path in texts.keys() {
        if is_at(list.path, path) {
            typed.entry(path.clone()).or_default();
        } else if let Some((place, index, _)) = split(path) {
            typed.entry(place).or_default().insert(index);
        }
    }
    for (place, numbers) in &typed {
        if let Some(Value::Array(items)) = document.pointer_mut(&pointer(place)) {
            let kept = numbers.iter().map(|number| items.get(*number).unwrap_or(&list.new_item).clone()).collect();
            *items = kept;
        }
    }
    let dense = |place: &str, number| typed.get(place).map_or(0, |numbers| numbers.range(..number).count());
    let renamed = texts.into_iter().map(|(path, text)| match split(&path) {
        Some((place, number, rest)) => (format!("{place}.{}.{rest}", dense(&place, number)), text),
        None => (path, text),
    });
    renamed.collect()
}

fn limit_items(list: &List, document: &mut Value, faults: &mut Vec<Fault>) {
    for place in places(list.path, document) {
        let Some(Value::Array(items)) = document.pointer_mut(&pointer(&place)) else { continue };
        if items.len() > list.most {
            faults.push(too_many(list, place, items.len()));
            items.truncate(list.most);
        }
    }
}

/// More items than a list takes.
pub fn too_many(list: &List, place: String, count: usize) -> Fault {
    Fault {
        field: place,
        label: format!("Number of items, {}", list.item),
        value: format!("{count} items"),
        wrong: "are too many".into(),
        right: format!("enter at most {}", list.most),
    }
}
