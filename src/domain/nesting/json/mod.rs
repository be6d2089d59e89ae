//! Problems and plans as JSON, read exactly: every number is taken from its decimal text, never through a binary float.
//!
//! Part lengths, kerf, trims and the least kept offcut round up to a tenth of a millimetre, stock rounds down; `notes` of
//! what was read say so. Unknown and doubled fields are refused, and a fault names the field. Answers print by their
//! own `Serialize`: lengths as millimetres with tenths, money as decimal text.

use super::{Fault, proof::Proof};

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

/// Reads a proof, as printed.
///
/// # Errors
/// The first field that cannot be read.
pub fn read_proof(text: &str) -> Result<Proof, Fault> {
    let mut reader = serde_json::Deserializer::from_str(text);
    let proof = serde_path_to_error::deserialize(&mut reader).map_err(|fault| {
        let field = fault.path().to_string();
        Fault::new(if field == "." { "" } else { &field }, format!("is not a proof's: {}", fault.inner()))
    })?;
    reader.end().map_err(|fault| Fault::new("", format!("is more than a proof: {fault}")))?;
    Ok(proof)
}

/// Whether a problem's text is about panels: its stock or parts have a width.
pub fn is_panels(text: &str) -> bool {
    let Ok(value) = serde_json::from_str::<serde_json::Value>(text) else { return false };
    ["stock", "parts"].iter().any(|list| value[list][0].get("width_mm").is_some())
        || value.get("cuts").is_some()
        || value.get("edge_trim_mm").is_some()
}
