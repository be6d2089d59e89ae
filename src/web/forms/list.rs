//! Lists in a form: adding and removing an item without a script, and without reading (or losing) what is typed in the
//! others.

use serde_json::Value;

use crate::web::form::Form;

/// A list in the document of a form.
#[derive(Debug)]
pub struct ListOf {
    /// Dotted path; an inner list's is relative to its item.
    pub path: &'static str,
    /// What one item is called: "load".
    pub one: &'static str,
    pub inner: &'static [ListOf],
    /// A new item.
    pub new: fn() -> Value,
}

/// What a button of the form asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Action {
    Save,
    /// Work it out with what is typed, keep nothing.
    Try,
    /// An item at the end of the list at this path.
    Add(String),
    /// The item at this path goes.
    Remove(String),
}

impl Action {
    /// What the pressed button's `action` says; a form sent without a button is to be saved.
    pub fn of(form: &Form) -> Self {
        let action = form.value("action");
        match action.split_once(':') {
            Some(("add", path)) => Self::Add(path.to_owned()),
            Some(("remove", path)) => Self::Remove(path.to_owned()),
            _ if action == "try" => Self::Try,
            _ => Self::Save,
        }
    }
}

/// How many items of a list the form holds: one more than the largest index. None where the form does not have the list.
pub(super) fn count(form: &Form, path: &str) -> Option<usize> {
    let prefix = format!("{path}.");
    let largest = form.pairs().filter_map(|(name, _)| name.strip_prefix(&prefix)?.split('.').next()?.parse().ok()).max();
    match largest {
        Some(largest) => Some(MOST.min(usize::saturating_add(largest, 1))),
        None => form.is_chosen("list", path).then_some(0),
    }
}

/// More items than any trailer has: what is beyond is not read.
const MOST: usize = 100;

/// The form without the item at `path` (`need.loads.1`); the items behind it move up.
pub(super) fn without(form: &Form, path: &str) -> Form {
    let Some((list, gone)) = path.rsplit_once('.') else { return form.clone() };
    let Ok(gone) = gone.parse::<usize>() else { return form.clone() };
    let prefix = format!("{list}.");
    Form::filled(form.pairs().filter_map(|(name, value)| {
        let renamed = match name.strip_prefix(&prefix).map(|rest| rest.split_once('.').unwrap_or((rest, ""))) {
            Some((index, rest)) => match index.parse::<usize>() {
                Ok(index) if index == gone => return None,
                Ok(index) if index > gone => format!("{prefix}{}.{rest}", index - 1),
                _ => name.to_owned(),
            },
            None => name.to_owned(),
        };
        // The marker of an inner list of the removed item goes too; those behind it are renamed like fields.
        let value = if name == "list" { renamed_list(value, &prefix, gone)? } else { value.to_owned() };
        Some((renamed, value))
    }))
}

fn renamed_list(value: &str, prefix: &str, gone: usize) -> Option<String> {
    let Some((index, rest)) = value.strip_prefix(prefix).and_then(|rest| rest.split_once('.')) else {
        return Some(value.to_owned());
    };
    match index.parse::<usize>() {
        Ok(index) if index == gone => None,
        Ok(index) if index > gone => Some(format!("{prefix}{}.{rest}", index - 1)),
        _ => Some(value.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form() -> Form {
        Form::filled([
            ("need.loads.0.name", "quad"),
            ("need.loads.1.name", "mower"),
            ("need.loads.2.name", "abc <b>"),
            ("need.loads.2.mass", "not a mass"),
            ("need.count", "1"),
            ("list", "need.loads"),
            ("list", "need.loads.2.straps"),
        ])
    }

    #[test]
    fn an_item_goes_and_those_behind_it_move_up_as_typed() {
        let left = without(&form(), "need.loads.1");
        assert_eq!(count(&left, "need.loads"), Some(2));
        assert_eq!(left.value("need.loads.1.name"), "abc <b>");
        assert_eq!(left.value("need.loads.1.mass"), "not a mass");
        assert_eq!(left.value("need.count"), "1");
        assert!(left.is_chosen("list", "need.loads.1.straps"));
    }

    #[test]
    fn an_empty_list_is_told_from_a_missing_one() {
        let none = without(&without(&without(&form(), "need.loads.0"), "need.loads.0"), "need.loads.0");
        assert_eq!(count(&none, "need.loads"), Some(0));
        assert_eq!(count(&none, "need.trips"), None);
    }

    #[test]
    fn a_huge_index_is_not_believed() {
        assert_eq!(count(&Form::filled([("a.18446744073709551615.b", "")]), "a"), Some(MOST));
    }
}
