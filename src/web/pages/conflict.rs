//! Two people saved the same thing: both sides, field by field. Nothing that was typed is lost.

use askama::Template;
use axum::{http::StatusCode, response::Response};

use crate::web::{Result, form::Form, frame::Frame, pages};

/// The hidden fields that belong to the form's own working, not to what was typed.
const NOT_TYPED: [&str; 4] = ["version", "opened", "action", "conflict"];
/// Before the name of a field: which side is kept.
pub const KEEP: &str = "keep:";

/// A field on which the two sides differ.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    pub field: String,
    pub label: String,
    pub theirs: String,
    pub yours: String,
    /// Neither is what stood there when you opened it.
    pub both_changed: bool,
    /// What you typed is what stood there when you opened it: only they changed it.
    pub only_theirs: bool,
}

impl Difference {
    fn is_yours(&self) -> bool {
        !self.only_theirs
    }
}

/// What a conflict page needs to know.
pub struct Conflict {
    /// What was saved twice: "The need of this job".
    pub what: String,
    pub who: String,
    pub when: String,
    /// The version that stands now.
    pub version: i64,
    pub differences: Vec<Difference>,
    /// Where the form goes, and where the present state is shown.
    pub action: String,
    pub back: String,
}

#[derive(Template)]
#[template(path = "web/conflict.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    conflict: Conflict,
}

impl Page {
    /// All that was typed, and the version that stands now.
    fn hidden(&self) -> Vec<(&str, String)> {
        let typed = self.form.pairs().filter(|(name, _)| !NOT_TYPED.contains(name) && !name.starts_with(KEEP));
        let typed = typed.map(|(name, value)| (name, value.to_owned()));
        typed.chain([("version", self.conflict.version.to_string()), ("action", "save".to_owned())]).collect()
    }

    fn shown<'a>(&self, value: &'a str) -> &'a str {
        if value.is_empty() { "nothing" } else { value }
    }
}

/// Both sides (409).
pub fn show(frame: Frame, form: Form, conflict: Conflict) -> Result<Response> {
    pages::page(StatusCode::CONFLICT, &Page { frame, form, conflict })
}

/// The form after a choice on the conflict page: of each field the side that is kept. `theirs` is a form that shows what
/// stands now.
pub fn resolved(form: &Form, theirs: &Form) -> Form {
    let mut kept = Form::default();
    for (name, value) in form.pairs().filter(|(name, _)| !name.starts_with(KEEP) && *name != "conflict") {
        if !keeps_theirs(form, name) {
            kept.add(name, value);
        }
    }
    for (name, value) in theirs.pairs().filter(|(name, _)| keeps_theirs(form, name)) {
        kept.add(name, value);
    }
    kept
}

fn keeps_theirs(form: &Form, name: &str) -> bool {
    form.value("conflict") == "chosen" && form.value(&format!("{KEEP}{name}")) == "theirs"
}

/// The fields on which two forms differ, with what stood there when the second was opened.
pub fn differences<'a>(
    labels: impl IntoIterator<Item = (&'a str, &'a str)>,
    theirs: &Form,
    yours: &Form,
    opened: Option<&Form>,
) -> Vec<Difference> {
    let mut rows = Vec::new();
    for (field, label) in labels {
        let (their, your) = (theirs.value(field), yours.value(field));
        if their == your {
            continue;
        }
        let was = opened.map(|opened| opened.value(field));
        rows.push(Difference {
            field: field.to_owned(),
            label: label.to_owned(),
            theirs: their.to_owned(),
            yours: your.to_owned(),
            both_changed: was.is_some_and(|was| was != their && was != your),
            only_theirs: was == Some(your),
        });
    }
    rows
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let theirs = Form::filled([("title", "Hives"), ("customer", "Ann <b>")]);
        let yours = Form::filled([("title", "Bees"), ("customer", "")]);
        let conflict = |differences| Conflict {
            what: "The job's title".into(),
            who: "Ann <b>".into(),
            when: "5 Nov 2026 10:15".into(),
            version: 4,
            differences,
            action: "/jobs/7".into(),
            back: "/jobs/7".into(),
        };
        let rows = differences([("title", "Title"), ("customer", "Customer")], &theirs, &yours, None);
        vec![
            Self { frame: nobody, form: yours.clone(), conflict: conflict(rows) },
            Self { frame: ann, form: yours, conflict: conflict(vec![]) },
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_field_keeps_the_chosen_side() {
        let theirs = Form::filled([("length", "2400"), ("width", "1300")]);
        let yours = Form::filled([
            ("length", "2600"),
            ("width", "1200"),
            ("keep:length", "theirs"),
            ("keep:width", "yours"),
            ("conflict", "chosen"),
            ("version", "4"),
        ]);
        let kept = resolved(&yours, &theirs);
        assert_eq!((kept.value("length"), kept.value("width"), kept.value("version")), ("2400", "1200", "4"));
        assert!(!kept.has("keep:length") && !kept.has("conflict"));
    }

    #[test]
    fn who_changed_what_is_told_from_what_stood_there() {
        let opened = Form::filled([("a", "1"), ("b", "1"), ("c", "1"), ("d", "1")]);
        let theirs = Form::filled([("a", "2"), ("b", "1"), ("c", "2"), ("d", "1")]);
        let yours = Form::filled([("a", "1"), ("b", "3"), ("c", "3"), ("d", "1")]);
        let labels = [("a", "A"), ("b", "B"), ("c", "C"), ("d", "D")];
        let rows = differences(labels, &theirs, &yours, Some(&opened));
        let told: Vec<_> = rows.iter().map(|row| (row.label.as_str(), row.only_theirs, row.both_changed)).collect();
        assert_eq!(told, [("A", true, false), ("B", false, false), ("C", false, true)]);
    }
}
