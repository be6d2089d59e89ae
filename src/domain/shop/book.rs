//! All that a shop brings to an estimate, as of one day. It is stored as JSON and frozen with every issued revision.

use serde::{Deserialize, Serialize};

use super::{Norms, Policy, RateBook};
use crate::domain::measure::{MoneyStyle, Units};

/// One shop: who it is, how it writes, what things cost, how long work takes, how it charges.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShopBook {
    pub name: String,
    #[serde(default)]
    pub town: String,
    pub currency: MoneyStyle,
    #[serde(default)]
    pub units: Units,
    #[serde(default)]
    pub policy: Policy,
    #[serde(default)]
    pub terms: Terms,
    /// As of [`RateBook::day`], which is also the day of the estimate.
    pub rates: RateBook,
    #[serde(default)]
    pub norms: Norms,
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
            currency: MoneyStyle,
            #[serde(default)]
            units: Units,
            #[serde(default)]
            policy: Policy,
            #[serde(default)]
            terms: Terms,
        }
        let fault = |file| move |fault: toml::de::Error| BookFault { file, fault: fault.to_string() };
        let Shop { name, town, currency, units, policy, terms } = toml::from_str(shop).map_err(fault("shop.toml"))?;
        let rates = toml::from_str(rates).map_err(fault("rates.toml"))?;
        let norms = Norms::from_toml(norms).map_err(fault("norms.toml"))?;
        Ok(Self { name, town, currency, units, policy, terms, rates, norms })
    }

    /// The demo shop: Saltmarsh Fabrications of Wick Sands, all of it invented.
    pub fn demo() -> Self {
        Self::from_toml(SHOP, RATES, super::norms::SEED)
            .unwrap_or_else(|fault| panic!("the built-in demo shop: {fault}"))
    }
}
