//! Problems and plans as JSON, read exactly: every number is taken from its decimal text, never through a binary float.
//!
//! Part lengths, kerf, trims and the least kept offcut round up to a tenth of a millimetre, stock rounds down; `notes` of
//! what was read say so. Unknown and doubled fields are refused, and a fault names the field. Answers print by their
//! own `Serialize`: lengths as millimetres with tenths, money as decimal text.

use super::Fault;

mod bars;
mod fields;
mod number;
mod panels;

pub use bars::{answer as read_bar_plan, problem as read_bars};
pub use panels::{answer as read_panel_plan, problem as read_panels};

/// A problem as it was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Read<P> {
    pub problem: P,
    /// What was rounded on reading.
    pub notes: Vec<String>,
    /// A fuse for the caller's clock; the search itself counts work.
    pub time_limit_ms: Option<u64>,
}

/// Whether a problem's text is about panels: its stock or parts have a width.
pub fn is_panels(text: &str) -> bool {
    let Ok(value) = serde_json::from_str::<serde_json::Value>(text) else { return false };
    ["stock", "parts"].iter().any(|list| value[list][0].get("width_mm").is_some())
        || value.get("cuts").is_some()
        || value.get("edge_trim_mm").is_some()
}
