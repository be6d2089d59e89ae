//! Norms: how long an operation takes, and the figures of the trade that consumables follow from. They are data: the
//! built-in set stands in `seed-data/norms.toml` with a source for every row, and a shop edits its own.

use std::{collections::BTreeMap, sync::OnceLock};

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{PartClass, rates::Trade};
use crate::working::Sure;

/// One norm. For an operation the value is minutes of one skilled person for one unit; for a figure of the trade it is in
/// the unit that it names.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Norm {
    /// `saw/handle`, `weld/operator-factor`, `fit/coupling` …
    pub key: String,
    pub operation: String,
    pub trade: Trade,
    pub value: f64,
    /// What the value counts: `min per piece`, `kg/h`, `cm²/min`.
    pub unit: String,
    pub source: String,
    pub sure: Sure,
    pub from: Date,
}

/// The shop's norms by key. A key that the shop has not set falls back to the built-in row.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(from = "Rows", into = "Rows")]
pub struct Norms(BTreeMap<String, Norm>);

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    norms: Vec<Norm>,
}

impl From<Rows> for Norms {
    fn from(rows: Rows) -> Self {
        Self(rows.norms.into_iter().map(|norm| (norm.key.clone(), norm)).collect())
    }
}

impl From<Norms> for Rows {
    fn from(norms: Norms) -> Self {
        Self { norms: norms.0.into_values().collect() }
    }
}

pub(super) const SEED: &str = include_str!("../../../seed-data/norms.toml");

impl Norms {
    /// # Errors
    /// The line and field that cannot be read.
    pub fn from_toml(text: &str) -> Result<Self, toml::de::Error> {
        toml::from_str::<Rows>(text).map(Self::from)
    }

    /// The built-in set.
    pub fn built_in() -> &'static Self {
        static BUILT_IN: OnceLock<Norms> = OnceLock::new();
        BUILT_IN.get_or_init(|| Self::from_toml(SEED).unwrap_or_else(|fault| panic!("the built-in norms: {fault}")))
    }

    /// The shop's row, else the built-in one; `None` for a key that nobody knows.
    pub fn get(&self, key: &str) -> Option<&Norm> {
        self.0.get(key).or_else(|| Self::built_in().0.get(key))
    }

    /// The value of a norm; 0 for a key that nobody knows (a test sees to it that the built-in set has every key used).
    pub fn value(&self, key: &str) -> f64 {
        self.get(key).map_or(0.0, |norm| norm.value)
    }

    /// Fitting minutes of one part of a class.
    pub fn fitting_minutes(&self, class: PartClass) -> f64 {
        self.value(&format!("fit/{}", class.word()))
    }

    /// Every norm in force, by key: the shop's own and the built-in ones that it has not replaced.
    pub fn all(&self) -> impl Iterator<Item = &Norm> {
        let own = |key: &str| self.0.contains_key(key);
        let mut all: Vec<&Norm> = self.0.values().collect();
        all.extend(Self::built_in().0.values().filter(|norm| !own(&norm.key)));
        all.sort_by(|one, other| one.key.cmp(&other.key));
        all.into_iter()
    }

    /// Sets or replaces the shop's row of its key.
    pub fn set(&mut self, norm: Norm) {
        self.0.insert(norm.key.clone(), norm);
    }

    /// Drops the shop's own row, so that the built-in one holds again.
    pub fn drop_own(&mut self, key: &str) {
        self.0.remove(key);
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn the_built_in_set_has_every_key_once_and_every_class_of_part() {
        let rows: Rows = toml::from_str(SEED).unwrap();
        let keys: BTreeSet<&str> = rows.norms.iter().map(|norm| norm.key.as_str()).collect();
        assert_eq!(keys.len(), rows.norms.len(), "a key stands twice");
        for class in PartClass::ALL {
            assert!(keys.contains(format!("fit/{}", class.word()).as_str()), "fit/{}", class.word());
        }
        for norm in &rows.norms {
            assert!(norm.value.is_finite() && norm.value >= 0.0 && norm.value <= 10_000.0, "{}", norm.key);
            assert!(!norm.source.is_empty() && !norm.unit.is_empty(), "{}", norm.key);
        }
    }

    #[test]
    fn a_shop_replaces_a_norm_and_may_drop_it_again() {
        let mut norms = Norms::default();
        let built_in = norms.value("saw/handle");
        let own = Norm { value: 4.0, ..norms.get("saw/handle").unwrap().clone() };
        norms.set(own);
        assert_eq!(norms.value("saw/handle"), 4.0);
        let text = serde_json::to_string(&norms).unwrap();
        assert_eq!(serde_json::from_str::<Norms>(&text).unwrap(), norms);
        norms.drop_own("saw/handle");
        assert_eq!(norms.value("saw/handle"), built_in);
        assert_eq!(norms.value("nobody/knows"), 0.0);
    }
}
