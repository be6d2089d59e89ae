//! The price as the customer sees it. Nothing here can hold cost, hours, rates or margin.

use serde::{Deserialize, Serialize};

use crate::{choice::choice, measure::Money, trailer::Group};

choice! {
    /// What a trailer's price is told apart by on the customer's copy.
    Assembly {
        Frame = "frame" / "Frame and drawbar",
        Body = "body" / "Deck, sides and loading",
        RunningGear = "running-gear" / "Axle, wheels and brakes",
        Towing = "towing" / "Coupling and towing parts",
        Electrics = "electrics" / "Lamps and wiring",
        Fittings = "fittings" / "Fittings",
        Finish = "finish" / "Finish",
    }
}

impl From<Group> for Assembly {
    fn from(group: Group) -> Self {
        match group {
            Group::Frame | Group::Drawbar => Self::Frame,
            Group::Deck | Group::Sides | Group::Loading => Self::Body,
            Group::RunningGear => Self::RunningGear,
            Group::Towing => Self::Towing,
            Group::Electrics => Self::Electrics,
            Group::Fittings => Self::Fittings,
            Group::Finish => Self::Finish,
        }
    }
}

/// A line of the customer's copy, before tax, for all trailers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CustomerLine {
    pub text: String,
    /// What it is, for its name in another language: the word of an assembly, `trailer`, `trailers`, `delivery` or `discount`;
    /// empty where the text was written by hand, and in revisions older than this.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub word: String,
    pub amount: Money,
    /// Tax on this line, where tax is worked out line by line.
    pub tax: Option<Money>,
}

/// `before_tax` is the sum of the lines, `total` is `before_tax + tax + rounding`, to the coin.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CustomerPrice {
    /// Identical trailers.
    pub count: u32,
    /// One trailer, before tax.
    pub each: Money,
    pub lines: Vec<CustomerLine>,
    pub before_tax: Money,
    /// `VAT 20 %`.
    pub tax_name: String,
    pub tax: Money,
    pub rounding: Money,
    pub total: Money,
}
