//! The pieces of section, group by group.

pub mod drawbar;
pub mod fittings;
pub mod frame;
pub mod loading;
pub mod sides;
