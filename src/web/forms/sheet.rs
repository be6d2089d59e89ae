//! How a generated form is laid out: `templates/web/forms/sheet.html` shows it.

use serde_json::Value;

use super::{list::ListOf, read::pointer};
use crate::domain::{
    form::{Field, Hand, Kind},
    measure::{Units, show_other_length, show_other_mass},
};

/// The inputs of a form, by heading.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    pub sections: Vec<Section>,
    /// Paths of the lists that the form has, so that an empty one is told from a missing one.
    pub lists: Vec<String>,
    /// Texts offered while typing, by the name of the list.
    pub offers: Vec<(String, Vec<String>)>,
}

#[derive(Clone, Debug, Default)]
pub struct Section {
    pub heading: String,
    pub inputs: Vec<Input>,
    /// Buttons below: the action's value and the text.
    pub buttons: Vec<(String, String)>,
    /// Stands inside the item of an outer list.
    pub is_inner: bool,
}

#[derive(Clone, Debug)]
pub struct Input {
    pub name: String,
    pub label: String,
    pub unit: String,
    pub hint: String,
    pub shape: Shape,
    /// The value in the other family of units, for the tooltip.
    pub other: String,
    /// Name of the list of texts that is offered while typing.
    pub offer: String,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    Line,
    Figure,
    Paragraph,
    Tick,
    Choice(Vec<(String, String)>),
}

/// Texts longer than this get several lines.
const PARAGRAPH: f64 = 300.0;

impl Sheet {
    /// Headings and inputs in the order of the fields; lists behind them, an item each.
    pub fn new(fields: &[Field], lists: &[ListOf], document: &Value, hand: Hand<'_>) -> Self {
        let mut sheet = Self::default();
        let (listed, plain): (Vec<&Field>, Vec<&Field>) =
            fields.iter().partition(|field| lists.iter().any(|list| is_within(&field.path, list.path)));
        for field in plain {
            sheet.section(field.group).inputs.push(input(field, document, hand));
        }
        sheet.add_lists("", "", lists, &listed, document, hand);
        sheet
    }

    /// Offers these texts while a field is typed whose path ends like this.
    pub fn offer(&mut self, name: &str, texts: Vec<String>, suits: impl Fn(&str) -> bool) {
        let inputs = self.sections.iter_mut().flat_map(|section| &mut section.inputs);
        for input in inputs.filter(|input| suits(&input.name)) {
            input.offer = name.to_owned();
        }
        self.offers.push((name.to_owned(), texts));
    }

    /// Turns a text field into a choice of these texts; a text that is none of them stays choosable.
    pub fn choose(&mut self, texts: &[String], kept: impl Fn(&str) -> String, suits: impl Fn(&str) -> bool) {
        for input in self.sections.iter_mut().flat_map(|section| &mut section.inputs) {
            if suits(&input.name) {
                let present = kept(&input.name);
                let mut options: Vec<_> = texts.iter().map(|text| (text.clone(), text.clone())).collect();
                if !texts.contains(&present) {
                    options.insert(0, (present.clone(), if present.is_empty() { "–".into() } else { present }));
                }
                input.shape = Shape::Choice(options);
            }
        }
    }

    fn section(&mut self, heading: &str) -> &mut Section {
        let at = self.sections.iter().position(|section| section.heading == heading).unwrap_or(self.sections.len());
        if at == self.sections.len() {
            self.sections.push(Section { heading: heading.to_owned(), ..Section::default() });
        }
        &mut self.sections[at]
    }

    fn add_lists(
        &mut self,
        within: &str,
        outer: &str,
        lists: &[ListOf],
        fields: &[&Field],
        document: &Value,
        hand: Hand<'_>,
    ) {
        for list in lists {
            let path = format!("{within}{}", list.path);
            let items = document.pointer(&pointer(&path)).and_then(Value::as_array).map_or(0, Vec::len);
            for index in 0..items {
                let item = format!("{path}.{index}");
                let heading = format!("{outer}{} {}", capital(list.one), index + 1);
                let inner = |field: &&&Field| {
                    list.inner.iter().any(|inner| is_within(&field.path, &format!("{item}.{}", inner.path)))
                };
                let own = fields.iter().filter(|field| is_within(&field.path, &item) && !inner(field));
                self.sections.push(Section {
                    heading: heading.clone(),
                    inputs: own.map(|field| input(field, document, hand)).collect(),
                    buttons: vec![(format!("remove:{item}"), format!("Remove {}", lowered(&heading)))],
                    is_inner: !outer.is_empty(),
                });
                self.add_lists(&format!("{item}."), &format!("{heading}, "), list.inner, fields, document, hand);
            }
            let add = if outer.is_empty() {
                format!("Add a {}", list.one)
            } else {
                format!("Add a {} to {}", list.one, lowered(outer.trim_end_matches(", ")))
            };
            self.sections.push(Section {
                buttons: vec![(format!("add:{path}"), add)],
                is_inner: !outer.is_empty(),
                ..Section::default()
            });
            self.lists.push(path);
        }
    }
}

fn input(field: &Field, document: &Value, hand: Hand<'_>) -> Input {
    let value = field.get(document);
    let figure = value.and_then(Value::as_f64);
    let unit = match (field.kind, hand.units) {
        (Kind::Length, Units::Metric) => "mm",
        (Kind::Length, Units::Imperial) => "inches",
        (Kind::Mass, Units::Metric) => "kg",
        (Kind::Mass, Units::Imperial) => "pounds",
        (Kind::Money, _) => &hand.money.currency_code,
        (Kind::Percent, _) => "%",
        (Kind::Angle, _) => "degrees",
        (Kind::Minutes, _) => "minutes",
        _ => field.unit,
    };
    let shape = match field.kind {
        Kind::Flag => Shape::Tick,
        Kind::Choice(words) => {
            let empty = field.optional.then(|| (String::new(), "–".to_owned()));
            let words = words.iter().map(|(word, label)| ((*word).to_owned(), (*label).to_owned()));
            Shape::Choice(empty.into_iter().chain(words).collect())
        }
        Kind::Text if field.limit.high > PARAGRAPH => Shape::Paragraph,
        Kind::Text => Shape::Line,
        _ => Shape::Figure,
    };
    let other = match (field.kind, figure) {
        (Kind::Length, Some(mm)) => show_other_length(mm, hand.units),
        (Kind::Mass, Some(kg)) => show_other_mass(kg, hand.units),
        _ => String::new(),
    };
    Input {
        name: field.path.clone(),
        label: field.label.clone(),
        unit: unit.to_owned(),
        hint: hint(field, hand),
        shape,
        other,
        offer: String::new(),
    }
}

/// What a field is for, and its range where that is a matter of figures.
fn hint(field: &Field, hand: Hand<'_>) -> String {
    let range = match field.kind {
        Kind::Text | Kind::Flag | Kind::Choice(_) => String::new(),
        _ => field.right(hand),
    };
    let range = range.strip_prefix("type ").map(capital).unwrap_or_default();
    match (field.help.is_empty(), range.is_empty()) {
        (true, _) => range,
        (false, true) => field.help.to_owned(),
        (false, false) => format!("{}. {range}", field.help.trim_end_matches('.')),
    }
}

fn is_within(path: &str, list: &str) -> bool {
    path.strip_prefix(list).is_some_and(|rest| rest.starts_with('.'))
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|first| first.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

fn lowered(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|first| first.to_lowercase().chain(chars).collect()).unwrap_or_default()
}
