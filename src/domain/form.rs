//! Fields of a form that are described as data: a path into a JSON document, a name for people, what it holds and which
//! range is permitted. A page is generated from them; what people type is read into the document and written back.

use std::fmt;

use rust_decimal::{Decimal, prelude::ToPrimitive};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::{
    measure::{
        Length, Mass, Money, MoneyStyle, ReadFault, Units, read_angle, read_length, read_mass, read_minutes,
        read_money, read_number, read_percent, write_length, write_mass,
    },
    steel::{Grade, Section},
};

/// One fault: the field, the value that was read, what is wrong, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fault {
    /// Path of the field in the document's JSON: `design.bed.length`, `need.loads.0.mass`, `policy.kerf`.
    pub field: String,
    /// The field's name for people.
    pub label: String,
    pub value: String,
    pub wrong: String,
    pub right: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({}): {} {}; {}", self.label, self.field, self.value, self.wrong, self.right)
    }
}

/// What a field holds, and how it stands in JSON.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Number of millimetres.
    Length,
    /// Number of kilograms.
    Mass,
    /// Decimal string.
    Money,
    /// Decimal string, in points.
    Percent,
    /// Number from 0 to 1; typed and shown in per cent.
    Share,
    /// Number of degrees.
    Angle,
    /// Number of minutes.
    Minutes,
    /// Number.
    Number,
    /// Decimal string.
    Decimal,
    /// Whole number.
    Count,
    Text,
    /// Name of a section: `rhs 60x40x3`.
    Section,
    /// Name of a grade: `S235`.
    Grade,
    /// `true` or `false`; typed as `yes` or nothing, as a check box sends it.
    Flag,
    /// One of these words, with its label.
    Choice(&'static [(&'static str, &'static str)]),
}

/// The permitted range in the unit of the JSON (mm, kg, points …), ends included; for texts the number of characters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    pub low: f64,
    pub high: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Dotted path in the document.
    pub path: String,
    /// Heading under which a page shows it.
    pub group: &'static str,
    pub label: String,
    pub kind: Kind,
    /// Unit that stands behind the box, where the kind does not say it.
    pub unit: &'static str,
    pub limit: Limit,
    /// May be left empty; then it follows from other things.
    pub optional: bool,
    pub help: &'static str,
}

/// How the shop types and reads.
#[derive(Clone, Copy, Debug)]
pub struct Hand<'a> {
    pub units: Units,
    pub money: &'a MoneyStyle,
}

/// What is wrong with a text that was not read, as it follows the text itself: “wide” *is not a length …*, Nothing *was entered …*.
fn unread(text: &str, fault: &impl fmt::Display) -> String {
    let said = fault.to_string();
    let follows = said.strip_prefix(&format!("“{text}” ")).or_else(|| said.strip_prefix("nothing "));
    follows.map_or_else(|| format!("cannot be read: {said}"), str::to_owned)
}

impl Field {
    /// The JSON value of what was typed.
    ///
    /// # Errors
    /// A text that cannot be read as the field's kind, or a value outside its range: what is wrong and what would be right.
    pub fn read(&self, text: &str, hand: Hand<'_>) -> Result<Value, Fault> {
        let text = text.trim();
        if text.is_empty() && self.optional {
            return Ok(Value::Null);
        }
        let value = self.parse(text, hand)?;
        self.within(&value).map_err(|wrong| self.fault(text, wrong.into(), hand))?;
        Ok(value)
    }

    /// Whether a value of the document is in the field's range.
    ///
    /// # Errors
    /// The value, what is wrong and what would be right.
    pub fn check(&self, value: &Value, hand: Hand<'_>) -> Result<(), Fault> {
        self.within(value).map_err(|wrong| self.fault(&self.write(value, hand), wrong.into(), hand))
    }

    /// A fault of this field found by a rule that looks at several fields.
    pub fn fault_of(&self, value: &Value, wrong: String, right: String, hand: Hand<'_>) -> Fault {
        let text = self.write(value, hand);
        let shown = match self.kind {
            Kind::Choice(words) => words.iter().find(|(word, _)| *word == text).map_or(&*text, |(_, label)| label),
            _ => &text,
        };
        Fault { right, ..self.fault(shown, wrong, hand) }
    }

    fn parse(&self, text: &str, hand: Hand<'_>) -> Result<Value, Fault> {
        let unreadable = |fault: ReadFault| self.fault(text, unread(text, &fault), hand);
        Ok(match self.kind {
            Kind::Length => Value::from(read_length(text, hand.units).map_err(unreadable)?.mm()),
            Kind::Mass => Value::from(read_mass(text, hand.units).map_err(unreadable)?.kg()),
            Kind::Money => decimal(read_money(text, hand.money).map_err(unreadable)?.0),
            Kind::Percent => decimal(read_percent(text).map_err(unreadable)?),
            Kind::Decimal => decimal(read_number(text).map_err(unreadable)?),
            Kind::Share => number(read_percent(text).map_err(unreadable)? / Decimal::ONE_HUNDRED),
            Kind::Angle => Value::from(read_angle(text).map_err(unreadable)?),
            Kind::Minutes => number(read_minutes(text).map_err(unreadable)?),
            Kind::Number => number(read_number(text).map_err(unreadable)?),
            Kind::Count => {
                let count = read_number(text).map_err(unreadable)?;
                let whole = if count.is_integer() { count.to_u32() } else { None };
                Value::from(whole.ok_or_else(|| self.fault(text, "is not a whole number".into(), hand))?)
            }
            Kind::Text => Value::from(text),
            Kind::Section => match text.parse::<Section>() {
                Ok(section) => Value::from(section.to_string()),
                Err(fault) => return Err(self.fault(text, unread(text, &fault), hand)),
            },
            Kind::Grade => match text.parse::<Grade>() {
                Ok(grade) => Value::from(grade.id()),
                Err(_) => return Err(self.fault(text, "is not a grade".into(), hand)),
            },
            Kind::Flag => match text {
                "yes" | "on" | "true" => Value::Bool(true),
                "" | "no" | "off" | "false" => Value::Bool(false),
                _ => return Err(self.fault(text, "is neither yes nor no".into(), hand)),
            },
            Kind::Choice(words) => match words
                .iter()
                .find(|(word, _)| *word == text)
                .or_else(|| words.iter().find(|(_, label)| label.eq_ignore_ascii_case(text)))
            {
                Some((word, _)) => Value::from(*word),
                None => return Err(self.fault(text, "is not one of the choices".into(), hand)),
            },
        })
    }

    /// What is wrong with a value, if anything is.
    fn within(&self, value: &Value) -> Result<(), &'static str> {
        let size = match (self.kind, value) {
            (Kind::Flag | Kind::Section | Kind::Grade, _) => return Ok(()),
            (Kind::Choice(words), _) => {
                let known = words.iter().any(|(word, _)| value.as_str() == Some(word));
                return if known || (self.optional && value.is_null()) {
                    Ok(())
                } else {
                    Err("is not one of the choices")
                };
            }
            (_, Value::Null) if self.optional => return Ok(()),
            (Kind::Text, Value::String(text)) => text.chars().count() as f64,
            (_, Value::String(text)) => text.parse().ok().and_then(|value: Decimal| value.to_f64()).unwrap_or(f64::NAN),
            (_, other) => other.as_f64().unwrap_or(f64::NAN),
        };
        match self.kind {
            _ if (self.limit.low..=self.limit.high).contains(&size) => Ok(()),
            _ if size.is_nan() => Err("is not a number"),
            Kind::Text if size == 0.0 => Err("was entered"),
            Kind::Text if size > self.limit.high => Err("has too many characters"),
            Kind::Text => Err("has too few characters"),
            _ if size < self.limit.low => Err("is too small"),
            _ => Err("is too large"),
        }
    }

    /// The text that a field shows for a value of the document; reading it back gives the same value.
    pub fn write(&self, value: &Value, hand: Hand<'_>) -> String {
        match (self.kind, value) {
            (_, Value::Null) => String::new(),
            (Kind::Length, _) => write_length(Length::from_mm(value.as_f64().unwrap_or_default()), hand.units),
            (Kind::Mass, _) => write_mass(Mass::from_kg(value.as_f64().unwrap_or_default()), hand.units),
            (Kind::Money, Value::String(text)) => match text.parse::<Decimal>() {
                // An amount finer than the smallest coin (a price a metre) is shown with all its decimals.
                Ok(amount) if amount.normalize().scale() <= hand.money.decimals => hand.money.show_bare(Money(amount)),
                Ok(amount) if hand.money.decimal_mark == ',' => amount.normalize().to_string().replace('.', ","),
                Ok(amount) => amount.normalize().to_string(),
                Err(_) => text.clone(),
            },
            (Kind::Percent | Kind::Decimal, Value::String(text)) => {
                text.parse::<Decimal>().map_or_else(|_| text.clone(), |value| value.normalize().to_string())
            }
            (Kind::Share, _) => format!("{} %", share(value)),
            (Kind::Flag, Value::Bool(true)) => "yes".into(),
            (Kind::Flag, _) => String::new(),
            (_, Value::String(text)) => text.clone(),
            (_, other) => match other.as_f64() {
                Some(figure) => figure.to_string(),
                None => other.to_string(),
            },
        }
    }

    /// What would be right, in words.
    pub fn right(&self, hand: Hand<'_>) -> String {
        let show = |size: f64| match self.kind {
            Kind::Length => write_length(Length::from_mm(size), hand.units),
            Kind::Mass => write_mass(Mass::from_kg(size), hand.units),
            Kind::Percent => format!("{size} %"),
            Kind::Share => format!("{} %", share(&Value::from(size))),
            Kind::Angle => format!("{size}°"),
            Kind::Minutes => format!("{size} min"),
            Kind::Money => hand.money.show(Money(Decimal::try_from(size).unwrap_or_default())),
            _ if self.unit.is_empty() => size.to_string(),
            _ => format!("{size} {}", self.unit),
        };
        let right = match self.kind {
            Kind::Text => format!("type {} to {} characters", self.limit.low, self.limit.high),
            Kind::Flag => "tick the box or leave it".into(),
            Kind::Choice(words) => {
                let labels: Vec<&str> = words.iter().map(|(_, label)| *label).collect();
                format!("choose one of: {}", labels.join(", "))
            }
            Kind::Section => "type a section such as rhs 60x40x3, shs 40x40x3, chs 48.3x3.2 or angle 50x50x5".into(),
            Kind::Grade => {
                let grades: Vec<&str> = Grade::all().map(Grade::id).collect();
                format!("type one of: {}", grades.join(", "))
            }
            Kind::Count => format!("type a whole number from {} to {}", self.limit.low, self.limit.high),
            _ => format!("type a value from {} to {}", show(self.limit.low), show(self.limit.high)),
        };
        if self.optional { format!("{right}, or leave it empty") } else { right }
    }

    /// The value in a document; `None` where the path leads nowhere.
    pub fn get<'a>(&self, document: &'a Value) -> Option<&'a Value> {
        document.pointer(&self.pointer())
    }

    /// Puts a value into a document; false where the path leads nowhere.
    pub fn set(&self, document: &mut Value, value: Value) -> bool {
        let (parent, last) = match self.path.rsplit_once('.') {
            Some((parent, last)) => (format!("/{}", parent.replace('.', "/")), last),
            None => (String::new(), self.path.as_str()),
        };
        match document.pointer_mut(&parent) {
            Some(Value::Object(map)) => {
                map.insert(last.to_owned(), value);
                true
            }
            Some(Value::Array(list)) => {
                let place = last.parse::<usize>().ok().and_then(|at| list.get_mut(at));
                place.map(|place| *place = value).is_some()
            }
            _ => false,
        }
    }

    fn pointer(&self) -> String {
        format!("/{}", self.path.replace('.', "/"))
    }

    fn fault(&self, text: &str, wrong: String, hand: Hand<'_>) -> Fault {
        let value = if text.is_empty() { "nothing".to_owned() } else { format!("“{text}”") };
        Fault { field: self.path.clone(), label: self.label.clone(), value, wrong, right: self.right(hand) }
    }
}

fn decimal(value: Decimal) -> Value {
    Value::from(value.to_string())
}

/// By way of the decimal text, so that the nearest f64 is found and writing it gives the same digits.
fn number(value: Decimal) -> Value {
    Value::from(value.normalize().to_string().parse::<f64>().unwrap_or(f64::NAN))
}

/// A part of the whole in per cent, exactly as its decimal digits say; a value that is no such decimal as it stands.
fn share(value: &Value) -> String {
    let value = value.as_f64().unwrap_or(f64::NAN);
    match value.to_string().parse::<Decimal>().ok().and_then(|part| part.checked_mul(Decimal::ONE_HUNDRED)) {
        Some(percent) => percent.normalize().to_string(),
        None => (value * 100.0).to_string(),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::measure::Grouping;

    fn pounds() -> MoneyStyle {
        MoneyStyle {
            currency_code: "GBP".into(),
            symbol: "£".into(),
            symbol_before: true,
            decimals: 2,
            group: Grouping::Western,
            decimal_mark: '.',
            group_mark: ',',
        }
    }

    fn field(kind: Kind, low: f64, high: f64) -> Field {
        Field {
            path: "policy.kerf".into(),
            group: "",
            label: "Saw kerf".into(),
            kind,
            unit: "",
            limit: Limit { low, high },
            optional: false,
            help: "",
        }
    }

    #[test]
    fn what_is_typed_reaches_the_document_and_comes_back() {
        let money = pounds();
        let hand = Hand { units: Units::Metric, money: &money };
        for (kind, typed, value, written) in [
            (Kind::Length, "1/8 in", json!(3.175), "3.175 mm"),
            (Kind::Mass, "1.2 t", json!(1200.0), "1200 kg"),
            (Kind::Money, "£1,250", json!("1250"), "1,250.00"),
            (Kind::Percent, "12.5 %", json!("12.5"), "12.5"),
            (Kind::Minutes, "1 h 30", json!(90.0), "90"),
            (Kind::Share, "57.5", json!(0.575), "57.5 %"),
            (Kind::Number, "1,000.5", json!(1000.5), "1000.5"),
            (Kind::Section, "RHS 60 x 40 x 3", json!("rhs 60x40x3"), "rhs 60x40x3"),
            (Kind::Grade, "s 235", json!("S235"), "S235"),
            (Kind::Count, "3", json!(3), "3"),
            (Kind::Flag, "yes", json!(true), "yes"),
            (Kind::Text, " pier 4 ", json!("pier 4"), "pier 4"),
        ] {
            let field = field(kind, 0.0, 1e6);
            let read = field.read(typed, hand).unwrap();
            assert_eq!(read, value, "{typed}");
            assert_eq!(field.write(&read, hand), written);
            assert_eq!(field.read(&field.write(&read, hand), hand).unwrap(), value);
            let mut document = json!({"policy": {"kerf": null}});
            assert!(field.set(&mut document, value.clone()));
            assert_eq!(field.get(&document), Some(&value));
        }
    }

    #[test]
    fn a_fault_says_what_would_be_right() {
        let money = pounds();
        let hand = Hand { units: Units::Metric, money: &money };
        let fault = field(Kind::Length, 0.0, 10.0).read("25", hand).unwrap_err();
        assert_eq!(fault.to_string(), "Saw kerf (policy.kerf): “25” is too large; type a value from 0 mm to 10 mm");
        let fault = field(Kind::Count, 1.0, 9.0).read("2.5", hand).unwrap_err();
        assert_eq!(fault.wrong, "is not a whole number");
        assert!(field(Kind::Text, 1.0, 9.0).read("", hand).unwrap_err().to_string().contains("nothing was entered"));
        assert!(!field(Kind::Text, 1.0, 9.0).set(&mut json!({}), json!(1)));
        let top = Field { path: "name".into(), ..field(Kind::Text, 1.0, 9.0) };
        let mut document = json!({"name": "one"});
        assert!(top.set(&mut document, json!("other")));
        assert_eq!(document, json!({"name": "other"}));
    }
}
