//! Printed documents as PDF: set from blocks by real widths of letters, with tags for those who listen, and the same bytes for the same
//! content: nothing here asks a clock.

mod block;
/// The whole calculation.
pub mod calculation;
/// The cutting list.
pub mod cutting;
/// Drawings on sheets.
pub mod drawing_sheet;
mod face;
mod formula;
mod picture;
/// The quote.
pub mod quote;
mod set;
mod table;
#[cfg(test)]
mod tests;
mod text;
mod write;

pub use block::{Block, Document, Facts, Paper, Row, Table};
pub use face::Face;
pub use text::{Run, Style};
pub use write::pdf;

/// Why a document could not be written: a fault of this program, never of its input.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PaperFault {
    #[error("the font {0:?} of printed documents cannot be read")]
    Font(Face),
    #[error("the PDF could not be written: {0}")]
    Written(String),
}
