//! Strength.

pub mod frame;
