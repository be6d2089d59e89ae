//! Floor 1: what is printed and drawn. Values of the domain in, bytes or text out.

mod arrangement;
mod balance;
mod cutting;
mod drawing;
/// Formulas as MathML.
pub mod mathml;
/// Printed documents.
pub mod paper;
mod solid;
/// How full the frame is.
mod strength;
mod svg;

pub use arrangement::{plan_view, side_view};
pub use balance::{balance_picture, drawn_cases, load_at};
pub use cutting::{Fence, Stop, bar_picture, fences, sheet_picture, stops, waste_picture};
pub use drawing::{Drawing, Ink, Shape};
pub use strength::{Used, use_plan, use_side};
