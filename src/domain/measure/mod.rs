//! Quantities as types, reading what people type, and the only rounding functions of the house.
//!
//! Geometry is computed in `f64` millimetres and kilograms; what is asked ([`Length`], [`Mass`]), what is cut
//! ([`Tenths`]) and what is paid ([`Money`]) are integers or decimals, so that they compare, hash and add exactly.

mod quantity;

pub use quantity::{Length, Mass, Money, Tenths};
