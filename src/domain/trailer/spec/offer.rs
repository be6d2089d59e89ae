//! What is set by hand around the derived estimate.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{choice::choice, measure::Money};

/// What is set by hand around the derived estimate.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Offer {
    /// By key of the derived line or quantity (`part/coupling`, `hours/welding`, `steel/rhs 60x40x3 S235`, `price/paint` …):
    /// kept while the spec moves, shown beside the derived value, dropped on request.
    pub overruled: BTreeMap<String, Overruled>,
    pub free_lines: Vec<FreeLine>,
    /// Off the price before tax.
    pub discount: Option<Money>,
    /// Price before tax for one trailer that was agreed by hand, instead of the derived one.
    pub agreed_price: Option<Money>,
    /// When absent, the shop's usual margin on price, per cent.
    #[schemars(with = "Option<String>")]
    pub margin_percent: Option<Decimal>,
    /// In which the customer reads the quote: a tag of [`crate::words`]. When absent, the shop's usual one.
    pub language: Option<String>,
    pub delivery: Delivery,
    #[schemars(with = "String")]
    pub delivery_km: Decimal,
    /// Written answers to failing checks, by the check's key; a revision keeps them.
    pub answers: BTreeMap<String, String>,
    /// What the customer may choose on their copy, in the order in which they read it.
    pub options: Vec<OfferOption>,
}

/// A named change to the design that the customer may choose.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct OfferOption {
    /// As the customer reads it: `Galvanised instead of painted`.
    pub name: String,
    /// What it does for them, in a sentence; may be empty.
    pub about: String,
    /// Options of one set exclude each other; free ones go with all others.
    pub in_set: bool,
    pub changes: Vec<OptionChange>,
}

/// One field of the design, put to another value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OptionChange {
    /// Path of the field: `design.finish.system`.
    pub field: String,
    /// As it would be typed there, with its unit; a choice by its word or its label.
    pub to: String,
}

/// A derived value replaced by hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Overruled {
    /// The amount (in the unit of the derived value), or the item code for a part.
    pub value: String,
    pub reason: String,
}

/// A price line written by hand, before tax, for the whole job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FreeLine {
    pub text: String,
    pub price: Money,
}

choice! {
    #[derive(Default)]
    Delivery {
        #[default]
        Collection = "collection" / "collected from the shop",
        Delivered = "delivered" / "delivered",
    }
}
