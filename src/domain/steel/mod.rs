//! Sections, grades, gauges and sheets: properties from geometry, strengths and densities from tables with their sources.

mod channels;
mod grade;
mod hollow;
mod open;
mod outline;
mod parse;
mod properties;
#[cfg(test)]
mod reference_tests;
mod section;
mod sheet;

pub use grade::{Grade, GradeFault, Metal};
pub use properties::{Properties, STEEL_KG_PER_M3};
pub use section::{Section, SectionFault, SectionKind, Standard};
pub use sheet::{SheetMass, SheetMaterial, sheet_mass_kg_per_m2};

pub use super::measure::{GaugeTable, gauge_range, gauge_thickness, nearest_gauge};
