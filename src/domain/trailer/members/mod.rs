//! The pieces of section, group by group.

pub mod drawbar;
pub mod frame;
