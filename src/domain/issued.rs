//! What an issued revision freezes: the whole estimate, and of the shop's books what it was made from.
//!
//! Name and address of the customer stand outside, so that they can be erased while the revision stays whole.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::{
    estimate::Estimate,
    measure::{MoneyStyle, Units},
    nesting::cutting::Source,
    options::Options,
    shop::{Norms, Policy, RateBook, ShopBook, Terms},
};

/// Raised when the shape of [`IssuedQuote`] changes so that an older body no longer reads.
pub const FORMAT: u32 = 1;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct IssuedQuote {
    pub format: u32,
    pub shop: IssuedShop,
    /// The items that the estimate used, with their prices of the day.
    pub rates: RateBook,
    pub estimate: Estimate,
    /// What the customer may choose; none in revisions older than options are.
    #[serde(default, skip_serializing_if = "Options::is_empty")]
    pub options: Options,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct IssuedShop {
    pub name: String,
    pub town: String,
    /// Tag of the language and region in which the customer reads it; empty (English) in revisions older than that.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub language: String,
    /// The same of the shop itself: what it builds from is drawn in it, whoever the customer is.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub works_in: String,
    /// Name of the time zone (IANA) of its days; empty in revisions older than that.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub time_zone: String,
    pub currency: MoneyStyle,
    pub units: Units,
    pub policy: Policy,
    pub norms: Norms,
    pub terms: Terms,
}

impl IssuedQuote {
    pub fn freeze(estimate: &Estimate, options: Options, book: &ShopBook) -> Self {
        let used = codes_used(estimate);
        let language = estimate.spec.offer.language.as_deref().unwrap_or(&book.language);
        let items = book.rates.items.iter().filter(|item| used.contains(item.code.as_str())).cloned().collect();
        Self {
            format: FORMAT,
            shop: IssuedShop {
                name: book.name.clone(),
                town: book.town.clone(),
                language: language.to_owned(),
                works_in: book.language.clone(),
                time_zone: book.time_zone.clone(),
                currency: book.currency.clone(),
                units: book.units,
                policy: book.policy.clone(),
                norms: book.norms.clone(),
                terms: book.terms_in(language).clone(),
            },
            rates: RateBook { day: book.rates.day, items },
            estimate: estimate.clone(),
            options,
        }
    }
}

/// Codes of the items that parts, plans and price lines name.
fn codes_used(estimate: &Estimate) -> BTreeSet<&str> {
    let parts =
        estimate.trailer.fittings.iter().filter_map(|fitting| fitting.part.item.as_ref()).map(|item| &*item.code);
    let lines = estimate.build_up.lines.iter().filter_map(|line| line.code.as_deref());
    let bars = estimate.cutting.bars.iter().flat_map(|cut| &cut.sources);
    let sheets = estimate.cutting.sheets.iter().flat_map(|cut| &cut.sources);
    let bought = bars.chain(sheets).filter_map(|source| match source {
        Source::New(code) => Some(code.as_str()),
        Source::Rack(_) => None,
    });
    parts.chain(lines).chain(bought).collect()
}
