//! How a copy speaks: its words, with the units, the money and the time zone of its shop.

use jiff::{Timestamp, civil::Date, tz::TimeZone};

use crate::{
    documents::show::Both,
    domain::{
        issued::IssuedShop,
        measure::{Money, MoneyStyle, Units},
        shop::ShopBook,
        words::{Said, Words},
    },
};

#[derive(Clone, Debug)]
pub struct Voice {
    pub words: &'static Words,
    pub units: Units,
    money: MoneyStyle,
    zone: TimeZone,
}

impl Voice {
    /// As on the day on which a revision was issued.
    pub fn of_issued(shop: &IssuedShop) -> Self {
        Self::new(&shop.language, shop.units, &shop.currency, &shop.time_zone)
    }

    /// Of the shop as it is, in its usual language.
    pub fn of_shop(shop: &ShopBook) -> Self {
        Self::new(&shop.language, shop.units, &shop.currency, &shop.time_zone)
    }

    /// The shop's own pages are English.
    pub fn english(units: Units, money: &MoneyStyle) -> Self {
        Self::new(Words::english().tag(), units, money, "")
    }

    fn new(language: &str, units: Units, money: &MoneyStyle, zone: &str) -> Self {
        let zone = if zone.is_empty() { TimeZone::system() } else { TimeZone::get(zone).unwrap_or(TimeZone::UTC) };
        Self { words: Words::of(language), units, money: money.clone(), zone }
    }

    pub fn say(&self, id: impl Into<String>) -> Said<'static> {
        self.words.say(id)
    }

    pub fn money(&self, amount: Money) -> String {
        self.words.money(amount, &self.money)
    }

    pub fn difference(&self, amount: Money) -> String {
        self.words.difference(amount, &self.money)
    }

    pub fn length(&self, mm: f64) -> Both {
        let of = |units| self.words.length(mm, units);
        Both { main: of(self.units), other: of(self.units.other()) }
    }

    pub fn mass(&self, kg: f64) -> Both {
        let of = |units| self.words.mass(kg, units);
        Both { main: of(self.units), other: of(self.units.other()) }
    }

    pub fn angle(&self, degrees: f64) -> String {
        format!("{}°", self.words.number(degrees, 0))
    }

    pub fn day(&self, day: Date) -> String {
        self.words.day(day)
    }

    /// The shop's day of a moment.
    pub fn day_of(&self, at: Timestamp) -> String {
        self.day(at.to_zoned_datetime(self.zone.clone()).date())
    }

    pub fn moment(&self, at: Timestamp) -> String {
        self.words.moment(at.to_zoned_datetime(self.zone.clone()).datetime())
    }
}
