//! What the customer must carry, with what, where.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{
    choice::choice,
    measure::{Length, Mass},
};

/// What the customer must carry, with what, where.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Need {
    #[serde(rename = "use")]
    pub usage: Usage,
    /// Identical trailers asked for.
    pub count: u32,
    /// For the plate; when absent: empty mass + heaviest trip + allowance, rounded up to 10 kg.
    pub declared_gross: Option<Mass>,
    /// Added to empty mass and heaviest trip for the default declared gross mass (straps, tools, mud).
    pub gross_allowance: Mass,
    pub loads: Vec<Load>,
    /// Which loads ride together. Without any, all loads ride in one trip.
    pub trips: Vec<Trip>,
    pub towing_vehicles: Vec<TowingVehicle>,
}

impl Default for Need {
    fn default() -> Self {
        Self {
            usage: Usage::default(),
            count: 1,
            declared_gross: None,
            gross_allowance: Mass::from_kg(20.0),
            loads: Vec::new(),
            trips: Vec::new(),
            towing_vehicles: Vec::new(),
        }
    }
}

choice! {
    /// The road sets the vertical dynamic factor.
    Road { Sealed = "sealed" / "sealed roads", Gravel = "gravel" / "gravel roads", Rough = "rough" / "rough tracks" }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Usage {
    /// Rule set of the road rules, for example `gb`, `eu`, `au`, `us-ca`.
    pub region: String,
    pub state: Option<String>,
    pub road: Road,
    /// Salt or marine use.
    pub marine: bool,
    pub max_speed_km_h: f64,
    pub commercial: bool,
    pub own_use: bool,
    pub living_space: bool,
    pub body: Body,
}

impl Default for Usage {
    fn default() -> Self {
        Self {
            region: "gb".into(),
            state: None,
            road: Road::Sealed,
            marine: false,
            max_speed_km_h: 97.0,
            commercial: false,
            own_use: false,
            living_space: false,
            body: Body::Tray,
        }
    }
}

choice! {
    /// The body kinds that road rules tell apart.
    Body {
        Tray = "tray" / "open bed",
        Box = "box" / "closed box",
        Boat = "boat" / "boat trailer",
        Livestock = "livestock" / "livestock",
    }
}

choice! {
    LoadKind {
        Motorcycle = "motorcycle" / "motorcycle",
        Quad = "quad" / "quad bike",
        Machine = "machine" / "ride-on machine",
        Boat = "boat" / "boat",
        Pallet = "pallet" / "pallet",
        Crate = "crate" / "livestock crate",
        Box = "box" / "box",
        Other = "other" / "other",
    }
}

/// One thing that is carried.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Load {
    /// Names are unique within a need; trips refer to them.
    pub name: String,
    pub kind: LoadKind,
    pub mass: Mass,
    /// Along the trailer as it stands on the bed.
    pub length: Length,
    pub width: Length,
    pub height: Length,
    /// Height of its centre of gravity above the bed; when absent, half its height.
    pub centre_height: Option<Length>,
    /// From its front to its centre of gravity; when absent, half its length.
    pub centre_from_front: Option<Length>,
    pub wheelbase: Option<Length>,
    pub track: Option<Length>,
    /// Width of one of its tyres.
    pub tyre_width: Option<Length>,
    /// Between its wheels, above the ground.
    pub ground_clearance: Option<Length>,
    /// The steepest slope that it may be driven up, degrees.
    pub steepest_deg: Option<f64>,
    pub held: Restraint,
}

impl Default for Load {
    fn default() -> Self {
        Self {
            name: "load".into(),
            kind: LoadKind::Other,
            mass: Mass::from_kg(200.0),
            length: Length::from_mm(1200.0),
            width: Length::from_mm(800.0),
            height: Length::from_mm(900.0),
            centre_height: None,
            centre_from_front: None,
            wheelbase: None,
            track: None,
            tyre_width: None,
            ground_clearance: None,
            steepest_deg: None,
            held: Restraint::default(),
        }
    }
}

choice! {
    StrapMethod { Direct = "direct" / "direct, from the load to the points", OverTop = "over-top" / "over the top" }
}

choice! {
    /// What a load stands on the deck with: friction follows from it and from the deck.
    Footing {
        NotKnown = "not-known" / "not known",
        SawnTimber = "sawn-timber" / "sawn timber or a wooden pallet",
        PlanedWood = "planed-wood" / "planed wood",
        PlasticPallet = "plastic-pallet" / "plastic pallet",
        SteelCrate = "steel-crate" / "steel crate",
        RoughMetal = "rough-metal" / "rough bare metal",
        PaintedRough = "painted-rough" / "rough painted metal",
        SmoothMetal = "smooth-metal" / "smooth metal",
        ShrinkFilm = "shrink-film" / "shrink film",
        Concrete = "concrete" / "rough concrete",
        Mat = "mat" / "anti-slip mats",
    }
}

/// How a load is held.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Restraint {
    pub straps: u32,
    /// What one strap may pull in use (lashing capacity or working load limit).
    pub strap_rating: Option<Mass>,
    /// Tension that its ratchet leaves in an over-top strap by hand (S_TF on the label).
    pub strap_tension: Option<Mass>,
    pub method: StrapMethod,
    pub footing: Footing,
    /// It stands against the front board.
    pub against_front: bool,
    /// Wheels or feet held by chocks.
    pub chocks: bool,
    /// How far it may stand off its place, each way along and across; when absent 25 mm, or nothing where it is strapped to
    /// chocks (common practice, no source).
    pub play: Option<Length>,
}

impl Restraint {
    /// Off its place each way, mm.
    pub fn play_mm(&self) -> f64 {
        let fixed = self.chocks && self.straps > 0;
        self.play.map_or(if fixed { 0.0 } else { USUAL_PLAY_MM }, Length::mm)
    }
}

/// How exactly a load is put in its place (common practice, no source).
const USUAL_PLAY_MM: f64 = 25.0;

impl Default for Restraint {
    fn default() -> Self {
        Self {
            straps: 4,
            strap_rating: None,
            strap_tension: None,
            method: StrapMethod::Direct,
            footing: Footing::NotKnown,
            against_front: false,
            chocks: false,
            play: None,
        }
    }
}

/// Loads that ride together. Footprints may overlap only between trips.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Trip {
    pub name: String,
    pub carries: Vec<Placed>,
}

/// A load at its place on the bed.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Placed {
    /// Name of the load.
    pub load: String,
    /// From the bed's front edge to the middle of its footprint; when absent the tool places it.
    pub along: Option<Length>,
    /// From the bed's centre line to the middle of its footprint, right positive; when absent the tool places it.
    pub across: Option<Length>,
    /// Turned by a quarter: its length lies across the bed.
    pub turned: bool,
}

/// What tows. A figure that is not known makes the checks that need it say so.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct TowingVehicle {
    pub name: String,
    pub kerb: Option<Mass>,
    pub gross: Option<Mass>,
    pub limit_braked: Option<Mass>,
    pub limit_unbraked: Option<Mass>,
    /// Largest mass of vehicle and trailer together.
    pub train: Option<Mass>,
    /// Largest static load on its coupling.
    pub coupling_limit: Option<Mass>,
    /// Least static load on its coupling, where its maker states one.
    pub coupling_least: Option<Mass>,
    pub coupling_height: Option<Length>,
    pub body_width: Option<Length>,
    /// From its rear axle to the coupling.
    pub rear_overhang: Option<Length>,
    /// Largest pull upwards on its coupling while the trailer behind it is loaded.
    pub uplift_limit: Option<Mass>,
    pub brake_controller: bool,
}
