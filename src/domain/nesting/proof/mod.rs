//! Why no plan costs less: what makes a bound checkable without searching.
//!
//! A solver records it, [`super::check`] rechecks it with arithmetic of its own, and a file holds it as JSON. Nothing in
//! a proof is believed: costs, lengths and demands are the problem's, only the choices of the search (prices, branches)
//! are taken from here. A wrong proof proves less or nothing; it cannot prove what is not so.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// Proofs about bars: a tree of cases, each closed by prices.
pub mod bars;
/// Proofs about panels: measures of which no sheet holds more than its own.
pub mod panels;

/// The proof that goes with an answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Proof {
    Bars(bars::Tree),
    Panels(panels::Proof),
}

/// SHA-256 of a problem's canonical JSON, in hexadecimal: names the problem that a proof is about.
pub fn digest(problem: &impl Serialize) -> String {
    let json = serde_json::to_vec(problem).unwrap_or_default();
    Sha256::digest(&json).iter().map(|byte| format!("{byte:02x}")).collect()
}
