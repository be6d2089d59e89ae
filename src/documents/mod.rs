//! Floor 1: what is printed and drawn. Values of the domain in, bytes or text out.

mod arrangement;
mod balance;
/// A value over days as a line.
pub mod chart;
mod cutting;
/// What a customer reads of a revision.
pub mod customer;
mod dimension;
mod drawing;
/// Flat parts as DXF.
pub mod dxf;
mod letters;
/// Formulas as MathML.
pub mod mathml;
/// Printed documents.
pub mod paper;
/// Figures as people read them.
pub mod show;
/// Drawings on sheets of paper to a true scale.
pub mod sheet;
/// Outlines of flat parts.
mod shape_of_panel;
/// The built trailer in three dimensions: as glTF and as a still picture.
mod scene;
mod solid;
/// How full the frame is.
mod strength;
mod svg;

pub use arrangement::{Letters, plan_view, side_view};
pub use balance::{balance_picture, drawn_cases, load_at};
pub use cutting::{Fence, Stop, bar_picture, fences, sheet_picture, stops, waste_picture};
pub use dimension::Measured;
pub use drawing::{Drawing, Ink, Shape};
pub use scene::{Shown, glb, still};
pub use strength::{Used, use_plan, use_side};
