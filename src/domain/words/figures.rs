//! Numbers, money, measures and days as a language and region write them. The facts stand in its file.

use std::cmp::Ordering;

use jiff::civil::{Date, DateTime};
use rust_decimal::Decimal;

use super::Words;
use crate::measure::{Grouping, MICROGRAMS_PER_POUND, Money, MoneyStyle, Units, grouped, show_length, show_number};

/// What stands between digits.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Marks {
    decimal: String,
    group: String,
    money_group: String,
    grouping: Grouping,
}

impl Marks {
    pub(super) fn read(words: &Words) -> Self {
        let grouping = match words.say("grouping").text().as_str() {
            "indian" => Grouping::Indian,
            "none" => Grouping::None,
            _ => Grouping::Western,
        };
        let mark = |id: &str| words.say(id).text();
        Self {
            decimal: mark("decimal-mark"),
            group: mark("group-mark"),
            money_group: mark("money-group-mark"),
            grouping,
        }
    }

    /// What was written with points and commas.
    fn put(&self, text: &str, group: &str) -> String {
        let mut put = String::with_capacity(text.len());
        for letter in text.chars() {
            match letter {
                '.' => put.push_str(&self.decimal),
                ',' => put.push_str(group),
                other => put.push(other),
            }
        }
        put
    }
}

const KG_PER_POUND: f64 = MICROGRAMS_PER_POUND as f64 / 1e9;

impl Words {
    /// A number without unit, to at most so many decimals.
    pub fn number(&self, value: f64, decimals: usize) -> String {
        self.marks.put(&show_number(value, decimals, self.marks.grouping), &self.marks.group)
    }

    /// A figure as `show_…` writes it, with the marks of this language.
    pub fn written(&self, figure: &str) -> String {
        self.marks.put(figure, &self.marks.group)
    }

    /// Points of a hundred: `20 %`.
    pub fn percent(&self, points: Decimal) -> String {
        let number = self.marks.put(&points.normalize().to_string(), &self.marks.group);
        self.say("percent").with("number", number).text()
    }

    /// An amount with the sign and the decimals of the shop's currency, rounded to these.
    pub fn money(&self, amount: Money, style: &MoneyStyle) -> String {
        let rounded = amount.rounded(style.decimals).0;
        let digits = format!("{:.*}", style.decimals.min(28) as usize, rounded.abs());
        let (whole, fraction) = digits.split_once('.').unwrap_or((&digits, ""));
        let whole = grouped(whole, self.marks.grouping, ',');
        let text = if fraction.is_empty() { whole } else { format!("{whole}.{fraction}") };
        let is_below = rounded.is_sign_negative() && !rounded.is_zero();
        // CLDR, currencySpacing: a sign that ends in a letter stands apart from the digits.
        let space = if style.symbol.ends_with(char::is_alphabetic) { "\u{a0}" } else { "" };
        let written = self
            .say(if is_below { "money-below-zero" } else { "money" })
            .with("currency", &style.symbol)
            .with("space", space)
            .with("amount", self.marks.put(&text, &self.marks.money_group));
        // A shop without a sign of its currency: nothing stands apart from nothing.
        written.text().trim_matches(|letter: char| letter.is_whitespace()).to_owned()
    }

    /// What an amount is more or less than another, with its sign.
    pub fn difference(&self, amount: Money, style: &MoneyStyle) -> String {
        let say = |id: &str, amount| self.say(id).with("amount", self.money(amount, style)).text();
        match amount.0.cmp(&Decimal::ZERO) {
            Ordering::Less => say("money-less", Money(-amount.0)),
            Ordering::Equal => self.say("money-same").text(),
            Ordering::Greater => say("money-more", amount),
        }
    }

    /// A length of the drawing: metric to whole millimetres from 10 mm up.
    pub fn length(&self, mm: f64, units: Units) -> String {
        let mm = if units == Units::Metric && mm.abs() >= 9.95 { mm.round() } else { mm };
        self.marks.put(&show_length(mm, units), &self.marks.group).replace(" mm", "\u{a0}mm")
    }

    /// A mass to whole kilograms or pounds from 10 up: it is worked out from catalogues, not weighed.
    pub fn mass(&self, kg: f64, units: Units) -> String {
        let (value, unit) = match units {
            Units::Metric => (kg, "kg"),
            Units::Imperial => (kg / KG_PER_POUND, "lb"),
        };
        let decimals = usize::from(value.abs() < 9.95);
        format!("{}\u{a0}{unit}", self.number(value, decimals))
    }

    pub fn day(&self, day: Date) -> String {
        self.say("day")
            .with("day", day.day())
            .with("month", self.say(format!("month-{}", day.month())))
            .with("year", day.year())
            .text()
    }

    /// A day with its time.
    pub fn moment(&self, at: DateTime) -> String {
        let hour = at.hour();
        self.say("moment")
            .with("day", self.day(at.date()))
            .with("hour", format!("{hour:02}"))
            .with("hour-of-half", (hour + 11) % 12 + 1)
            .with("half", if hour < 12 { "am" } else { "pm" })
            .with("minute", format!("{:02}", at.minute()))
            .text()
    }
}
