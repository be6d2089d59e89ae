//! What the pages of need, trailer and price have in common: a part of the spec as a form.

use serde::{Serialize, de::DeserializeOwned};

use super::{Tab, desk::Desk};
use crate::{
    domain::trailer::{Spec, SpecFaults},
    storage,
    web::{
        clock,
        form::Form,
        forms::{
            self, Action, Sheet,
            spec::{self, Part},
        },
        pages::conflict::{self, Conflict},
    },
};

/// Before what stood in a form when it was opened, as JSON: so that a conflict can tell who changed what.
pub const OPENED: &str = "opened";

/// A part of the spec, as it was typed.
pub struct Typed {
    pub form: Form,
    pub action: Action,
    /// Fields that cannot be read keep their former value.
    pub spec: Spec,
}

/// Reads a form as it was sent: the choice on a conflict page, the pressed button, the fields.
pub fn read(part: Part, form: &Form, desk: &Desk) -> Typed {
    let kept = desk.spec();
    let form = conflict::resolved(form, &spec::fill(part, &kept, desk.show.hand()));
    let action = Action::of(&form);
    let mut form = spec::changed(&form, &action);
    let spec = spec::read(part, &mut form, &kept, desk.show.hand());
    if matches!(action, Action::Add(_) | Action::Remove(_)) {
        // The button asked for an item more or less: what is still to be typed is no fault yet.
        form = Form::filled(form.pairs());
    }
    Typed { form, action, spec }
}

/// Notes the faults of the domain that belong to this part.
pub fn note_all(part: Part, form: &mut Form, faults: &SpecFaults) {
    for fault in faults.0.iter().filter(|fault| part.holds(&fault.field) || fault.field.is_empty()) {
        if form.fault(&fault.field).is_none() {
            forms::note(form, fault);
        }
    }
}

/// The inputs of a part, with what the rate book offers for sections and grades; typing goes on in the item that the
/// form's button added.
pub fn sheet(part: Part, spec: &Spec, desk: &Desk, form: &Form) -> Sheet {
    let mut sheet = Sheet::of_spec(part, spec, desk.show.hand());
    if part == Part::Need {
        let loads: Vec<String> = spec.need.loads.iter().map(|load| load.name.clone()).collect();
        let present = |path: &str| spec::fill(part, spec, desk.show.hand()).value(path).to_owned();
        sheet.choose(&loads, present, |path| path.contains(".carries.") && path.ends_with(".load"));
    }
    if part == Part::Design {
        sheet.offer("sections", desk.sections(), is_section);
        sheet.offer("grades", desk.grades(), |path| path.ends_with("grade"));
    }
    sheet.focus_on_added(&Action::of(form));
    sheet
}

fn is_section(path: &str) -> bool {
    const ENDS: [&str; 8] =
        ["side_rail", "end_rail", "cross_member", "drawbar.section", "inner_section", "_stile", "_rung", "post"];
    ENDS.iter().any(|end| path.ends_with(end))
}

/// A part as a form keeps it to tell later who changed what.
pub fn opened<T: Serialize>(part: &T) -> String {
    serde_json::to_string(part).unwrap_or_default()
}

/// What the form says stood there when it was opened. It comes from outside: it only ever sorts out differences.
pub fn read_opened<T: DeserializeOwned>(form: &Form) -> Option<T> {
    serde_json::from_str(form.value(OPENED)).ok()
}

/// What two people made of one part, and what stood there before.
pub struct Sides<'a> {
    pub theirs: &'a Spec,
    pub yours: &'a Spec,
    pub opened: Option<&'a Spec>,
}

/// Both sides of a part that two people saved.
pub fn conflict_of<T>(part: Part, desk: &Desk, found: &storage::Conflict<T>, sides: &Sides<'_>, tab: Tab) -> Conflict {
    let hand = desk.show.hand();
    // Lists may be longer on one side: the labels of both are needed.
    let sheets = [sides.theirs, sides.yours].map(|spec| Sheet::of_spec(part, spec, hand));
    let mut labels: Vec<(&str, String)> = Vec::new();
    for (name, label) in sheets.iter().flat_map(Sheet::labels) {
        if !labels.iter().any(|(known, _)| *known == name) {
            labels.push((name, label));
        }
    }
    let differences = conflict::differences(
        labels.iter().map(|(name, label)| (*name, label.as_str())),
        &spec::fill(part, sides.theirs, hand),
        &spec::fill(part, sides.yours, hand),
        sides.opened.map(|opened| spec::fill(part, opened, hand)).as_ref(),
    );
    Conflict {
        what: format!("{} of this job", tab.label()),
        who: found.who.clone(),
        when: clock::moment(found.when),
        version: found.version.0,
        differences,
        action: tab.path(&desk.job.id),
        back: tab.path(&desk.job.id),
    }
}
