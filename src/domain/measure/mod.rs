//! Quantities as types, reading what people type, and the only rounding functions of the house.
//!
//! Geometry is computed in `f64` millimetres and kilograms; what is asked ([`Length`], [`Mass`]), what is cut
//! ([`Tenths`]) and what is paid ([`Money`]) are integers or decimals, so that they compare, hash and add exactly.

mod beside;
mod fault;
mod gauge;
mod number;
mod quantity;
mod read;
/// The rounding functions of the house.
pub mod round;
mod show;
mod style;
mod units;

pub use beside::{beside, beside_each, lengths_beside, masses_beside, percent_of_limit};
pub use fault::{Asked, ReadFault};
pub use gauge::{GaugeTable, gauge_range, gauge_thickness, nearest_gauge};
pub use quantity::{Length, Mass, Money, Tenths};
pub use read::{read_angle, read_length, read_mass, read_minutes, read_money, read_number, read_percent};
pub use round::Rounding;
pub use show::{
    show_area, show_force, show_length, show_mass, show_number, show_other_length, show_other_mass, write_length,
    write_mass, write_mm,
};
pub use style::{Grouping, MoneyStyle, grouped, show_money};
pub use units::{MICROGRAMS_PER_POUND, Units};
