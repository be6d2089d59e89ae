//! The parametric trailer: from what is asked ([`Spec`]) to what is built ([`Trailer`]).

mod assembly;
mod bend;
mod build;
mod built;
mod changes;
mod deck_split;
mod fault;
/// Every field of the spec: what the form asks, and texts to values and back.
pub mod fields;
/// The bought-in parts that follow from the spec.
pub mod fit_out;
mod layout;
mod marks;
mod members;
mod panels;
mod road_facts;
mod runs;
mod spec;
mod stations;
mod tyres;
/// Whether a spec can be built.
mod validate;
/// Cable runs from the plug to every lamp.
pub mod wiring;
mod take_off;
mod vector;
mod vents;

pub use build::{build, build_valid};
pub use built::*;
pub use changes::{option_to, put_option, read_change, with_options};
pub use deck_split::SheetStock;
pub use fault::*;
pub use layout::*;
pub use road_facts::road_facts;
pub use spec::*;
pub use take_off::*;
pub use tyres::*;
pub use validate::{validate, validate_shown};
pub use vents::unvented_closed_members;

use serde::{Deserialize, Serialize};

/// What building needs to know before it is known: ratings follow from masses, masses from the parts chosen by rating, and
/// the axle's place from both. The estimate starts from a guess and builds again until these stand still.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Assumed {
    /// Mass that the plate declares, kg.
    pub gross_kg: f64,
    /// Largest static load on the coupling, kg.
    pub coupling_load_kg: f64,
    /// Largest static load on one axle and on one wheel, kg.
    pub axle_load_kg: f64,
    pub wheel_load_kg: f64,
    /// Middle of the axle or the pair, mm from the coupling centre.
    pub axle_x_mm: f64,
}

impl Assumed {
    /// Before anything was weighed: the axles share all but a twentieth, the smallest usual share on the coupling.
    pub const fn guess(gross_kg: f64, coupling_load_kg: f64, axle_x_mm: f64, axles: u32) -> Self {
        let axle_load_kg = (gross_kg - coupling_load_kg.min(0.05 * gross_kg)) / if axles > 1 { 2.0 } else { 1.0 };
        Self { gross_kg, coupling_load_kg, axle_load_kg, wheel_load_kg: axle_load_kg / 2.0, axle_x_mm }
    }
}
