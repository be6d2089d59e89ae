//! Forms over a part of the spec, generated from its registry of fields.

use std::collections::BTreeMap;

use super::{Action, note};
use crate::{
    domain::{
        form::Hand,
        trailer::{
            Spec,
            fields::{self, List},
        },
    },
    web::form::Form,
};

/// The part of the spec that a page shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    Need,
    Design,
    Offer,
}

impl Part {
    /// Whether a path of the spec's JSON lies in it.
    pub fn holds(self, path: &str) -> bool {
        let part = match self {
            Self::Need => "need",
            Self::Design => "design",
            Self::Offer => "offer",
        };
        path.split('.').next() == Some(part)
    }
}

/// A form that shows a part of the spec.
pub fn fill(part: Part, spec: &Spec, hand: Hand<'_>) -> Form {
    Form::filled(fields::write(spec, hand).into_iter().filter(|(path, _)| part.holds(path)))
}

/// Reads what was typed into the spec as it was before; faults are noted, fields that cannot be read keep their value.
/// The form comes back with the items of its lists numbered as in the spec, and with a text for every field.
pub fn read(part: Part, form: &mut Form, before: &Spec, hand: Hand<'_>) -> Spec {
    let (texts, others) = split(part, form);
    let typed = fields::read(&texts, before, hand);
    let mut shown = fields::write(&typed.spec, hand);
    shown.retain(|path, _| part.holds(path));
    shown.extend(typed.texts);
    *form = Form::filled(others.into_iter().chain(shown));
    for fault in &typed.faults {
        note(form, fault);
    }
    typed.spec
}

/// Adds or removes an item of a list, as the pressed button asks; everything else stays as typed.
pub fn changed(form: &Form, action: &Action) -> Form {
    match action {
        Action::Remove(item) => {
            let prefix = format!("{item}.");
            Form::filled(form.pairs().filter(|(name, _)| !name.starts_with(&prefix) && name != item))
        }
        Action::Add(path) => {
            let mut form = form.clone();
            if let Some((name, text)) = list_at(path).and_then(first_field) {
                let next = next_number(&form, path);
                form.add(format!("{path}.{next}.{name}"), text);
            }
            form
        }
        Action::Save | Action::Try => form.clone(),
    }
}

/// The texts of the part's fields (of several the last counts), and all other pairs.
fn split(part: Part, form: &Form) -> (BTreeMap<String, String>, Vec<(String, String)>) {
    let owned = form.pairs().map(|(name, value)| (name.to_owned(), value.to_owned()));
    let (typed, others): (Vec<_>, Vec<_>) = owned.partition(|(name, _)| part.holds(name));
    (typed.into_iter().collect(), others)
}

fn next_number(form: &Form, path: &str) -> usize {
    let prefix = format!("{path}.");
    let numbers = form.pairs().filter_map(|(name, _)| name.strip_prefix(&prefix)?.split('.').next()?.parse().ok());
    numbers.max().map_or(0, |last: usize| last.saturating_add(1))
}

fn list_at(path: &str) -> Option<&'static List> {
    fn within(lists: &'static [List], path: &str) -> Option<&'static List> {
        lists.iter().find_map(|list| if list.is_at(path) { Some(list) } else { within(&list.lists, path) })
    }
    fields::groups().iter().find_map(|group| within(&group.lists, path))
}

/// Name and text of a new item's first field: with it the item is on the form.
fn first_field(list: &'static List) -> Option<(&'static str, String)> {
    let name = list.fields.first()?.path.rsplit('.').next()?;
    let text = list.new_item.get(name).and_then(|value| value.as_str()).unwrap_or_default();
    Some((name, text.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{domain::trailer::Load, web::show::Show};

    fn spec() -> Spec {
        let mut spec = Spec::default();
        spec.need.loads = ["quad", "mower"].map(|name| Load { name: name.into(), ..Load::default() }).to_vec();
        spec
    }

    #[test]
    fn a_part_is_read_back_as_it_is_shown() {
        let show = Show::sample();
        for part in [Part::Need, Part::Design, Part::Offer] {
            let mut form = fill(part, &spec(), show.hand());
            assert_eq!(read(part, &mut form, &spec(), show.hand()), spec());
            assert!(form.is_right(), "{:?}", form.faults());
        }
    }

    #[test]
    fn an_item_more_and_an_item_less_leave_the_rest_as_typed() {
        let show = Show::sample();
        let mut form = fill(Part::Need, &spec(), show.hand());
        form = Form::filled(form.pairs().map(|(name, value)| match name {
            "need.loads.1.mass" => (name, "heavy <b>"),
            _ => (name, value),
        }));
        let mut more = changed(&form, &Action::Add("need.loads".into()));
        let longer = read(Part::Need, &mut more, &spec(), show.hand());
        assert_eq!(longer.need.loads.len(), 3);
        assert_eq!(more.value("need.loads.1.mass"), "heavy <b>");
        assert!(more.has("need.loads.2.mass") && more.fault("need.loads.1.mass").is_some());

        let mut less = changed(&form, &Action::Remove("need.loads.0".into()));
        let shorter = read(Part::Need, &mut less, &spec(), show.hand());
        assert_eq!(shorter.need.loads.len(), 1);
        assert_eq!(shorter.need.loads[0].name, "mower");
        assert_eq!(less.value("need.loads.0.mass"), "heavy <b>");

        let mut none = changed(&less, &Action::Remove("need.loads.0".into()));
        assert!(read(Part::Need, &mut none, &spec(), show.hand()).need.loads.is_empty());
        assert!(none.is_right());
    }

    #[test]
    fn an_unknown_list_is_left_alone() {
        let form = Form::filled([("need.count", "1")]);
        assert_eq!(changed(&form, &Action::Add("need.nothing".into())), form);
        assert_eq!(changed(&form, &Action::Remove("need.loads.9".into())), form);
    }
}
