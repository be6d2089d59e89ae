//! Reading a JSON object field by field, each fault with the path of its field.

use std::fmt;

use rust_decimal::Decimal;
use serde::{
    Deserialize, Deserializer,
    de::{MapAccess, Visitor},
};
use serde_json::value::RawValue;

use super::{Fault, number};
use crate::measure::{Money, Tenths};

/// An object's fields that are not taken yet.
pub(super) struct Fields<'a> {
    path: String,
    left: Vec<(String, &'a RawValue)>,
}

/// The fields in their order, doubled ones included: a map would silently keep one of them.
struct Pairs<'a>(Vec<(String, &'a RawValue)>);

impl<'de> Deserialize<'de> for Pairs<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Seen;
        impl<'de> Visitor<'de> for Seen {
            type Value = Pairs<'de>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry::<String, &'de RawValue>()? {
                    pairs.push(pair);
                }
                Ok(Pairs(pairs))
            }
        }
        deserializer.deserialize_map(Seen)
    }
}

fn join(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
}

/// A value as it can stand in a one-line message.
fn short(raw: &str) -> String {
    let line: String = raw.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() > 40 { line.chars().take(39).chain(['…']).collect() } else { line }
}

impl<'a> Fields<'a> {
    pub fn whole(text: &'a str) -> Result<Self, Fault> {
        // Syntax first, so that "not JSON" is told from "not an object".
        let raw: &RawValue = serde_json::from_str(text).map_err(|why| Fault::new("", format!("not JSON: {why}")))?;
        Self::of(String::new(), raw)
    }

    fn of(path: String, raw: &'a RawValue) -> Result<Self, Fault> {
        let wrong = || Fault::new(path.clone(), format!("{} is not an object with fields", short(raw.get())));
        let Pairs(left) = serde_json::from_str(raw.get()).map_err(|_| wrong())?;
        let mut names: Vec<&String> = left.iter().map(|(name, _)| name).collect();
        names.sort();
        if let Some(pair) = names.windows(2).find(|pair| pair[0] == pair[1]) {
            return Err(Fault::new(join(&path, pair[0]), "stands twice"));
        }
        Ok(Self { path, left })
    }

    pub fn field(&self, name: &str) -> String {
        join(&self.path, name)
    }

    fn take(&mut self, name: &str) -> Option<&'a RawValue> {
        let at = self.left.iter().position(|(n, _)| n == name)?;
        Some(self.left.remove(at).1)
    }

    /// A field that may be left out or null.
    fn given(&mut self, name: &str) -> Option<&'a RawValue> {
        self.take(name).filter(|raw| raw.get() != "null")
    }

    /// Refuses what nobody asked for.
    pub fn done(self) -> Result<(), Fault> {
        match self.left.first() {
            Some((name, _)) => Err(Fault::new(join(&self.path, &short(name)), "is not a field that is known here")),
            None => Ok(()),
        }
    }

    /// Skips fields that do not matter to the reader.
    pub fn skip(&mut self, names: &[&str]) {
        self.left.retain(|(name, _)| !names.contains(&name.as_str()));
    }

    fn missing(&self, name: &str) -> Fault {
        Fault::new(self.field(name), "is missing")
    }

    fn wrong(&self, name: &str, raw: &RawValue, right: &str) -> Fault {
        Fault::new(self.field(name), format!("{} is not {right}", short(raw.get())))
    }

    pub fn list(&mut self, name: &str) -> Result<Vec<Fields<'a>>, Fault> {
        let raw = self.given(name).ok_or_else(|| self.missing(name))?;
        let items: Vec<&RawValue> = serde_json::from_str(raw.get()).map_err(|_| self.wrong(name, raw, "a list"))?;
        items.into_iter().enumerate().map(|(at, raw)| Fields::of(format!("{}[{at}]", self.field(name)), raw)).collect()
    }

    pub fn list_if_given(&mut self, name: &str) -> Result<Option<Vec<Fields<'a>>>, Fault> {
        if self.left.iter().any(|(n, raw)| n == name && raw.get() != "null") {
            self.list(name).map(Some)
        } else {
            self.take(name);
            Ok(None)
        }
    }

    pub fn texts(&mut self, name: &str) -> Result<Vec<String>, Fault> {
        let raw = self.given(name).ok_or_else(|| self.missing(name))?;
        serde_json::from_str(raw.get()).map_err(|_| self.wrong(name, raw, "a list of texts"))
    }

    pub fn text(&mut self, name: &str) -> Result<String, Fault> {
        let raw = self.given(name).ok_or_else(|| self.missing(name))?;
        serde_json::from_str(raw.get()).map_err(|_| self.wrong(name, raw, "a text"))
    }

    /// One of a few words.
    pub fn word<T: serde::de::DeserializeOwned>(&mut self, name: &str, words: &str) -> Result<Option<T>, Fault> {
        let Some(raw) = self.given(name) else { return Ok(None) };
        serde_json::from_str(raw.get()).map(Some).map_err(|_| self.wrong(name, raw, words))
    }

    pub fn flag(&mut self, name: &str) -> Result<Option<bool>, Fault> {
        self.word(name, "true or false")
    }

    pub fn number(&mut self, name: &str) -> Result<Option<f64>, Fault> {
        self.word(name, "a number")
    }

    pub fn count(&mut self, name: &str) -> Result<Option<u32>, Fault> {
        let Some(raw) = self.given(name) else { return Ok(None) };
        let count = number::whole(raw.get()).and_then(|n| u32::try_from(n).ok());
        count.map(Some).ok_or_else(|| self.wrong(name, raw, "a whole number, 0 or more"))
    }

    pub fn milliseconds(&mut self, name: &str) -> Result<Option<u64>, Fault> {
        let Some(raw) = self.given(name) else { return Ok(None) };
        number::whole(raw.get()).map(Some).ok_or_else(|| self.wrong(name, raw, "a whole number of milliseconds"))
    }

    /// A price or worth: decimal text, or a number taken by its digits.
    pub fn money(&mut self, name: &str) -> Result<Option<Money>, Fault> {
        let Some(raw) = self.given(name) else { return Ok(None) };
        let inner = raw.get().strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).unwrap_or(raw.get());
        let amount: Option<Decimal> = number::decimal(inner);
        amount.map(|a| Some(Money(a))).ok_or_else(|| self.wrong(name, raw, "an amount like \"41.20\""))
    }

    /// A length that rounds to a tenth; the note of it, if it did.
    pub fn length(&mut self, name: &str, up: bool, notes: &mut Vec<String>) -> Result<Option<Tenths>, Fault> {
        let Some(raw) = self.given(name) else { return Ok(None) };
        let length = self.tenths(name, raw, up)?;
        Ok(Some(noted(self.field(name), raw, length, up, notes)))
    }

    fn tenths(&self, name: &str, raw: &RawValue, up: bool) -> Result<(i64, bool), Fault> {
        number::tenths(raw.get(), up).ok_or_else(|| self.wrong(name, raw, "a length in mm"))
    }

    pub fn needed_length(&mut self, name: &str, up: bool, notes: &mut Vec<String>) -> Result<Tenths, Fault> {
        self.length(name, up, notes)?.ok_or_else(|| self.missing(name))
    }

    /// A list of so many lengths.
    pub fn lengths<const N: usize>(
        &mut self,
        name: &str,
        notes: &mut Vec<String>,
    ) -> Result<Option<[Tenths; N]>, Fault> {
        let Some(raw) = self.given(name) else { return Ok(None) };
        let wrong = || self.wrong(name, raw, &format!("a list of {N} lengths in mm"));
        let items: Vec<&RawValue> = serde_json::from_str(raw.get()).map_err(|_| wrong())?;
        let mut lengths = Vec::with_capacity(N);
        for (at, raw) in items.into_iter().enumerate() {
            let item = format!("{name}[{at}]");
            let length = self.tenths(&item, raw, true)?;
            lengths.push(noted(self.field(&item), raw, length, true, notes));
        }
        lengths.try_into().map(Some).map_err(|_| wrong())
    }

    /// A length that must be whole tenths: plans are not rounded.
    pub fn exact_length(&mut self, name: &str) -> Result<Tenths, Fault> {
        let raw = self.given(name).ok_or_else(|| self.missing(name))?;
        match number::tenths(raw.get(), true) {
            Some((length, false)) => Ok(Tenths(length)),
            _ => Err(self.wrong(name, raw, "a length in mm with at most one decimal")),
        }
    }
}

fn noted(field: String, raw: &RawValue, (length, rounded): (i64, bool), up: bool, notes: &mut Vec<String>) -> Tenths {
    let length = Tenths(length);
    if rounded {
        notes.push(format!(
            "{field}: {} mm rounded {} to {length} mm",
            short(raw.get()),
            if up { "up" } else { "down" }
        ));
    }
    length
}
