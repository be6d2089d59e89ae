//! Floor 0, in reading order: each module uses only those above it.

/// Lengths, masses and money: types, reading what people type, and the only rounding.
pub mod measure;
