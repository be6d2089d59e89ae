//! How a generated form is laid out: `templates/web/forms/sheet.html` shows it.

use serde_json::Value;

use super::{Action, spec::Part};
use crate::domain::{
    form::{Field, Hand, Kind},
    measure::{Units, show_other_length, show_other_mass},
    trailer::{
        Spec,
        fields::{self, List},
    },
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
    /// Inputs that matter only with another choice than the present one.
    pub others: Vec<Input>,
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
    /// Where typing goes on when the page opens.
    pub takes_focus: bool,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    Line,
    Paragraph,
    Tick,
    Choice(Vec<(String, String)>),
}

/// Texts that may be longer than this get several lines.
const PARAGRAPH: f64 = 300.0;

impl Sheet {
    /// Headings and inputs in the order of the fields.
    pub fn of_fields(fields: &[Field], document: &Value, hand: Hand<'_>) -> Self {
        let mut sheet = Self::default();
        for field in fields {
            let at = sheet.sections.iter().position(|section| section.heading == field.group);
            let at = at.unwrap_or_else(|| {
                sheet.sections.push(Section { heading: field.group.to_owned(), ..Section::default() });
                sheet.sections.len() - 1
            });
            sheet.sections[at].inputs.push(input(field, document, hand));
        }
        sheet
    }

    /// A part of the spec: its groups of fields, each list's items behind them.
    pub fn of_spec(part: Part, spec: &Spec, hand: Hand<'_>) -> Self {
        let document = serde_json::to_value(spec).unwrap_or_default();
        let mut sheet = Self::default();
        for group in fields::groups() {
            let mut section = Section { heading: group.title.to_owned(), ..Section::default() };
            for field in group.fields.iter().filter(|field| part.holds(field.path)) {
                section.add(field, field.path.to_owned(), &document, hand);
            }
            if !section.is_empty() {
                sheet.sections.push(section);
            }
            for list in group.lists.iter().filter(|list| part.holds(list.path)) {
                sheet.add_list(list, list.path.to_owned(), "", &document, hand);
            }
        }
        sheet
    }

    /// Typing goes on in the item that a button just added, not at the top of a long page.
    pub fn focus_on_added(&mut self, action: &Action) {
        let Action::Add(path) = action else { return };
        let prefix = format!("{path}.");
        let number = |input: &Input| input.name.strip_prefix(&prefix)?.split('.').next()?.parse::<usize>().ok();
        let last = self.inputs().filter_map(|input| number(input)).max();
        if let Some(input) = self.inputs().find(|input| last.is_some() && number(input) == last) {
            input.takes_focus = true;
        }
    }

    /// Offers these texts while a field is typed that suits.
    pub fn offer(&mut self, name: &str, texts: Vec<String>, suits: impl Fn(&str) -> bool) {
        for input in self.inputs().filter(|input| suits(&input.name)) {
            input.offer = name.to_owned();
        }
        self.offers.push((name.to_owned(), texts));
    }

    /// Turns text fields that suit into a choice of these texts; a present text that is none of them stays choosable.
    pub fn choose(&mut self, texts: &[String], present: impl Fn(&str) -> String, suits: impl Fn(&str) -> bool) {
        for input in self.inputs().filter(|input| suits(&input.name)) {
            let present = present(&input.name);
            let mut options: Vec<_> = texts.iter().map(|text| (text.clone(), text.clone())).collect();
            if !texts.contains(&present) {
                let shown = if present.is_empty() { "choose one".to_owned() } else { present.clone() };
                options.insert(0, (present, shown));
            }
            input.shape = Shape::Choice(options);
        }
    }

    /// Name and label of every input, for pages that list differences.
    pub fn labels(&self) -> impl Iterator<Item = (&str, String)> {
        self.sections.iter().flat_map(|section| {
            section.inputs.iter().chain(&section.others).map(|input| {
                let label = if section.heading.is_empty() {
                    input.label.clone()
                } else {
                    format!("{}: {}", section.heading, input.label)
                };
                (input.name.as_str(), label)
            })
        })
    }

    fn inputs(&mut self) -> impl Iterator<Item = &mut Input> {
        self.sections.iter_mut().flat_map(|section| section.inputs.iter_mut().chain(&mut section.others))
    }

    fn add_list(&mut self, list: &'static List, path: String, outer: &str, document: &Value, hand: Hand<'_>) {
        let items = document.pointer(&pointer(&path)).and_then(Value::as_array).map_or(0, Vec::len);
        for number in 0..items {
            let item = format!("{path}.{number}");
            let one = if outer.is_empty() { capital(list.item) } else { list.item.to_owned() };
            let heading = format!("{outer}{one} {}", number + 1);
            let remove = (format!("remove:{item}"), format!("Remove {}", lowered(&heading)));
            let mut section = Section { heading: heading.clone(), is_inner: !outer.is_empty(), ..Section::default() };
            for field in &list.fields {
                section.add(field, field.within(&item), document, hand);
            }
            section.buttons.push(remove);
            self.sections.push(section);
            for inner in &list.lists {
                self.add_list(inner, inner.within(&item), &format!("{heading}, "), document, hand);
            }
        }
        let add = match outer.trim_end_matches(", ") {
            "" => format!("Add {}", one(list.item)),
            outer => format!("{outer}: add {}", one(list.item)),
        };
        let buttons = vec![(format!("add:{path}"), add)];
        self.sections.push(Section { buttons, is_inner: !outer.is_empty(), ..Section::default() });
        self.lists.push(path);
    }
}

impl Section {
    fn is_empty(&self) -> bool {
        self.inputs.is_empty() && self.others.is_empty()
    }

    fn add(&mut self, field: &fields::Field, path: String, document: &Value, hand: Hand<'_>) {
        let place = if field.is_shown(&path, document) { &mut self.inputs } else { &mut self.others };
        place.push(input(&field.at(path), document, hand));
    }
}

/// With its article.
fn one(item: &str) -> String {
    let article = if item.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {item}")
}

fn input(field: &Field, document: &Value, hand: Hand<'_>) -> Input {
    let figure = field.get(document).and_then(Value::as_f64);
    let unit = match (field.kind, hand.units) {
        (Kind::Length, Units::Metric) => "mm",
        (Kind::Length, Units::Imperial) => "inches",
        (Kind::Mass, Units::Metric) => "kg",
        (Kind::Mass, Units::Imperial) => "pounds",
        (Kind::Money, _) => &hand.money.currency_code,
        (Kind::Percent | Kind::Share, _) => "%",
        (Kind::Angle, _) => "degrees",
        (Kind::Minutes, _) => "minutes",
        (_, _) if field.unit == "in" => "inches",
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
        _ => Shape::Line,
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
        takes_focus: false,
        offer: String::new(),
    }
}

/// What a field is for, and its range where that is a matter of figures.
fn hint(field: &Field, hand: Hand<'_>) -> String {
    let right = field.right(hand);
    let range = match field.kind {
        Kind::Text | Kind::Flag | Kind::Choice(_) => None,
        _ => right.strip_prefix("type a value from ").or_else(|| right.strip_prefix("type a whole number from ")),
    };
    // What says what an empty field stands for need not say that it may be empty.
    let empty = if field.help.to_lowercase().contains("empty") { "" } else { "; may be left empty" };
    let range = range.map(|range| range.replace(", or leave it empty", empty)).unwrap_or_default();
    match (field.help.trim_end_matches('.'), range.as_str()) {
        (help, "") => capital(help),
        ("", range) => capital(range),
        (help, range) => format!("{}. {}", capital(help), capital(range)),
    }
}

fn pointer(path: &str) -> String {
    format!("/{}", path.replace('.', "/"))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn lowered(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}
