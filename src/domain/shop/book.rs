//! All that a shop brings to an estimate, as of one day. It is stored as JSON and frozen with every issued revision.

use std::collections::BTreeMap;

use serde::{Deserialize, Deserializer, Serialize};

use super::{Norms, Policy, RateBook};
use crate::{
    measure::{MoneyStyle, Units},
    words::Words,
};

/// One shop: who it is, how it writes, what things cost, how long work takes, how it charges.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShopBook {
    pub name: String,
    #[serde(default)]
    pub town: String,
    /// In which customers read their quotes, unless one is made in another: a tag of [`crate::words`].
    #[serde(default = "first_language")]
    pub language: String,
    /// Of the days and hours of its papers: a name of the IANA database. Empty: that of the machine.
    #[serde(default)]
    pub time_zone: String,
    pub currency: MoneyStyle,
    #[serde(default)]
    pub units: Units,
    #[serde(default)]
    pub policy: Policy,
    #[serde(default)]
    pub terms: Terms,
    /// The same in other languages: every language of the catalogue has its own, empty until somebody writes them.
    #[serde(default = "no_terms", deserialize_with = "of_every_language")]
    pub other_terms: BTreeMap<String, Terms>,
    /// As of [`RateBook::day`], which is also the day of the estimate.
    pub rates: RateBook,
    #[serde(default)]
    pub norms: Norms,
}

fn first_language() -> String {
    Words::english().tag().to_owned()
}

fn no_terms() -> BTreeMap<String, Terms> {
    Words::all().iter().map(|words| (words.language().to_owned(), Terms::default())).collect()
}

fn of_every_language<'de, D: Deserializer<'de>>(from: D) -> Result<BTreeMap<String, Terms>, D::Error> {
    let mut terms = no_terms();
    terms.extend(BTreeMap::<String, Terms>::deserialize(from)?);
    Ok(terms)
}

/// What stands under a quote, in the shop's words.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Terms {
    pub payment: String,
    pub warranty: String,
    pub variation: String,
    pub exclusions: String,
    pub title: String,
}

/// A file of the shop's data that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{file}: {fault}")]
pub struct BookFault {
    pub file: &'static str,
    pub fault: String,
}

const SHOP: &str = include_str!("../../../seed-data/shop.toml");
const RATES: &str = include_str!("../../../seed-data/rates.toml");

impl ShopBook {
    /// A shop from its three files: who it is and its policy, its rate book, its norms.
    ///
    /// # Errors
    /// Names the file, and the line and field that cannot be read.
    pub fn from_toml(shop: &str, rates: &str, norms: &str) -> Result<Self, BookFault> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Shop {
            name: String,
            #[serde(default)]
            town: String,
            #[serde(default = "first_language")]
            language: String,
            #[serde(default)]
            time_zone: String,
            currency: MoneyStyle,
            #[serde(default)]
            units: Units,
            #[serde(default)]
            policy: Policy,
            #[serde(default)]
            terms: Terms,
            #[serde(default = "no_terms", deserialize_with = "of_every_language")]
            other_terms: BTreeMap<String, Terms>,
        }
        let fault = |file| move |fault: toml::de::Error| BookFault { file, fault: fault.to_string() };
        let Shop { name, town, language, time_zone, currency, units, policy, terms, other_terms } =
            toml::from_str(shop).map_err(fault("shop.toml"))?;
        let rates = toml::from_str(rates).map_err(fault("rates.toml"))?;
        let norms = Norms::from_toml(norms).map_err(fault("norms.toml"))?;
        Ok(Self { name, town, language, time_zone, currency, units, policy, terms, other_terms, rates, norms })
    }

    /// The terms in the language of a tag; where the shop wrote none in it, its own.
    pub fn terms_in(&self, tag: &str) -> &Terms {
        let of = |tag: &str| Words::of(tag).language();
        if of(tag) == of(&self.language) {
            return &self.terms;
        }
        self.other_terms.get(of(tag)).filter(|terms| **terms != Terms::default()).unwrap_or(&self.terms)
    }

    /// The demo shop: Saltmarsh Fabrications of Wick Sands, all of it invented.
    pub fn demo() -> Self {
        Self::from_toml(SHOP, RATES, super::norms::SEED)
            .unwrap_or_else(|fault| panic!("the built-in demo shop: {fault}"))
    }
}
