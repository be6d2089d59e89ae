//! The parametric trailer: everything from the bed on.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{
    choice::choice,
    measure::{Length, Mass, Money},
    steel::{Grade, Section, SheetMaterial},
};

/// The parametric trailer.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Design {
    pub bed: Bed,
    pub frame: Frame,
    pub drawbar: Drawbar,
    pub running_gear: RunningGear,
    pub deck: Deck,
    pub sides: Sides,
    pub loading: Loading,
    pub towing: Towing,
    pub electrics: Electrics,
    pub fittings: Fittings,
    pub finish: Finish,
    pub factors: Factors,
}

/// What loads are raised by and strengths divided by. Common practice, no source: each is an input that the checks show.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Factors {
    /// On vertical loads while driving; when absent: by the road (2.0 sealed, 2.5 gravel, 3.0 rough).
    pub dynamic: Option<f64>,
    /// Braking and cornering, in multiples of the earth's acceleration.
    pub braking_g: f64,
    pub cornering_g: f64,
    /// Yield strength is divided by this in what happens in service.
    pub service_divisor: f64,
    /// And by this in test loads and on the jack: no permanent set.
    pub test_divisor: f64,
}

impl Default for Factors {
    fn default() -> Self {
        Self { dynamic: None, braking_g: 0.6, cornering_g: 0.5, service_divisor: 1.5, test_divisor: 1.0 }
    }
}

choice! {
    BedPlace { Between = "between" / "between the wheels", Over = "over" / "over the wheels" }
}

/// The load platform: outside length and width of the bed frame.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Bed {
    pub length: Length,
    pub width: Length,
    pub place: BedPlace,
    /// Top of the deck above level ground, empty; when absent it follows from wheel and suspension.
    pub height: Option<Length>,
    /// The whole trailer must stay narrower than every towing vehicle's body.
    pub within_vehicle_width: bool,
}

impl Default for Bed {
    fn default() -> Self {
        Self {
            length: Length::from_mm(2400.0),
            width: Length::from_mm(1300.0),
            place: BedPlace::Between,
            height: None,
            within_vehicle_width: false,
        }
    }
}

choice! { Corner { Mitred = "mitred" / "mitred at 45°", Butted = "butted" / "square, butted" } }
choice! {
    /// Where the drawbar lies against the bed frame.
    Stack { Stacked = "stacked" / "drawbar under the bed frame", Flush = "flush" / "drawbar level with the bed frame" }
}

/// Sections are named with their depth (standing) first.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Frame {
    pub side_rail: Section,
    pub end_rail: Section,
    pub cross_member: Section,
    pub grade: Grade,
    pub corner: Corner,
    /// Largest distance between cross-member centres; when absent it follows from the deck's span.
    pub largest_pitch: Option<Length>,
    pub stack: Stack,
}

impl Default for Frame {
    fn default() -> Self {
        Self {
            side_rail: known("rhs 60x40x3"),
            end_rail: known("rhs 60x40x3"),
            cross_member: known("shs 40x40x3"),
            grade: grade("S235"),
            corner: Corner::Mitred,
            largest_pitch: None,
            stack: Stack::Stacked,
        }
    }
}

choice! {
    DrawbarForm { Pole = "pole" / "one pole", AFrame = "a-frame" / "A-frame, two legs" }
}
choice! {
    PoleReach { RearRail = "rear-rail" / "runs to the rear end rail", CrossMember = "cross-member" / "ends at a cross-member" }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Drawbar {
    pub form: DrawbarForm,
    pub section: Section,
    pub grade: Grade,
    /// From the coupling centre to the bed's front edge; for a telescopic drawbar at its shortest.
    pub length: Length,
    /// Pole only.
    pub reach: PoleReach,
    /// Behind the bed's front edge, where a pole that ends at a cross-member or an A-frame's legs end; when absent: 45 % of
    /// the bed for a pole; for an A-frame where its legs meet the side rails.
    pub end_station: Option<Length>,
    /// Angle between the legs of an A-frame, degrees.
    pub included_angle_deg: f64,
    pub telescopic: bool,
    /// Telescopic: how much longer it pulls out.
    pub travel: Length,
    pub pin_pitch: Length,
    pub pin_diameter: Length,
    /// Telescopic: the tube that slides inside.
    pub inner_section: Section,
    /// Centre of the coupling above level ground.
    pub coupling_height: Length,
}

impl Default for Drawbar {
    fn default() -> Self {
        Self {
            form: DrawbarForm::AFrame,
            section: known("rhs 80x40x4"),
            grade: grade("S235"),
            length: Length::from_mm(1200.0),
            reach: PoleReach::CrossMember,
            end_station: None,
            included_angle_deg: 50.0,
            telescopic: false,
            travel: Length::from_mm(200.0),
            pin_pitch: Length::from_mm(50.0),
            pin_diameter: Length::from_mm(16.0),
            inner_section: known("shs 60x60x4"),
            coupling_height: Length::from_mm(430.0),
        }
    }
}

choice! {
    Suspension {
        Leaf = "leaf" / "leaf springs",
        CoilLinks = "coil-links" / "coil springs on links",
        RubberTorsion = "rubber-torsion" / "rubber torsion axle",
        FromVehicle = "from-vehicle" / "axle taken from a vehicle",
    }
}
choice! {
    Brakes { None = "none" / "none", OverRun = "over-run" / "over-run", Electric = "electric" / "electric" }
}
choice! {
    AxlePlaceBy {
        Find = "find" / "find it",
        Share = "share" / "share of the bed's length from its front",
        Distance = "distance" / "distance from the bed's front edge",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct RunningGear {
    pub axles: u32,
    /// Between the axles of a pair.
    pub spacing: Length,
    /// A pair shares its load evenly.
    pub equalised: bool,
    pub suspension: Suspension,
    /// Rate at one wheel, N/mm; when absent the bought spring's.
    pub spring_rate_n_per_mm: Option<f64>,
    /// What one axle may carry; when absent it is chosen by rule.
    pub axle_rating: Option<Mass>,
    /// Wheel travel from standing empty to the stop.
    pub bump_travel: Length,
    pub leaf: LeafSpring,
    pub donor: DonorAxle,
    pub wheel: Wheel,
    /// Between tyre middles; when absent it follows from the bed and the tyres.
    pub track: Option<Length>,
    pub brakes: Brakes,
    pub place_by: AxlePlaceBy,
    /// Axle (or pair) middle behind the bed's front edge over the bed's length, 0 to 1.
    pub share: f64,
    /// Axle (or pair) middle behind the bed's front edge.
    pub distance: Length,
    pub target_share: f64,
    /// Loaded, the coupling carries at least and at most this share of the actual mass (common practice, no source).
    pub least_share: f64,
    pub most_share: f64,
    /// A case counts as loaded from this share of the heaviest trip on (common practice, no source).
    pub loaded_from: f64,
}

impl Default for RunningGear {
    fn default() -> Self {
        Self {
            axles: 1,
            spacing: Length::from_mm(760.0),
            equalised: true,
            suspension: Suspension::RubberTorsion,
            spring_rate_n_per_mm: None,
            axle_rating: None,
            bump_travel: Length::from_mm(80.0),
            leaf: LeafSpring::default(),
            donor: DonorAxle::default(),
            wheel: Wheel::default(),
            track: None,
            brakes: Brakes::None,
            place_by: AxlePlaceBy::Find,
            share: 0.6,
            distance: Length::from_mm(1440.0),
            target_share: 0.1,
            least_share: 0.05,
            most_share: 0.15,
            loaded_from: 0.25,
        }
    }
}

/// The leaves of one spring. What is not known makes the check of its stress say so.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct LeafSpring {
    pub leaves: Option<u32>,
    /// How many of them, the main leaf counted, run the whole length.
    pub full_length: u32,
    pub width: Option<Length>,
    pub thickness: Option<Length>,
    /// Eye to eye.
    pub length: Option<Length>,
    /// What the leaves' steel may bear at full bump.
    pub strength_mpa: f64,
}

impl Default for LeafSpring {
    fn default() -> Self {
        Self { leaves: None, full_length: 1, width: None, thickness: None, length: None, strength_mpa: 1200.0 }
    }
}

/// An axle with springs, links and dampers taken from a vehicle. What is not known makes the suspension checks say so.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct DonorAxle {
    pub description: String,
    /// Axle with springs, links and dampers, without wheels.
    pub mass: Option<Mass>,
    pub price: Option<Money>,
    /// Between the spring seats, across.
    pub spring_seats: Option<Length>,
    /// Between the link mounts, across.
    pub link_mounts: Option<Length>,
    pub link_length: Option<Length>,
    pub damper_closed: Option<Length>,
    pub damper_open: Option<Length>,
    /// What the axle carried in its vehicle.
    pub rating: Option<Mass>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Wheel {
    /// Size as written on the tyre.
    pub size: String,
    pub rim_inches: f64,
    pub rolling_radius: Length,
    pub section_width: Length,
    pub load_index: u32,
    pub speed_symbol: String,
    pub pressure_bar: f64,
}

impl Default for Wheel {
    fn default() -> Self {
        Self {
            size: "155/80 R13".into(),
            rim_inches: 13.0,
            rolling_radius: Length::from_mm(276.0),
            section_width: Length::from_mm(157.0),
            load_index: 79,
            speed_symbol: "N".into(),
            pressure_bar: 2.8,
        }
    }
}

choice! { DeckFixing { Screwed = "screwed" / "screwed", Bolted = "bolted" / "bolted", Welded = "welded" / "welded" } }

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Deck {
    pub material: SheetMaterial,
    pub thickness: Length,
    pub fixing: DeckFixing,
    pub fixing_pitch: Length,
}

impl Default for Deck {
    fn default() -> Self {
        Self {
            material: SheetMaterial::MeshPly,
            thickness: Length::from_mm(15.0),
            fixing: DeckFixing::Screwed,
            fixing_pitch: Length::from_mm(300.0),
        }
    }
}

choice! {
    SideForm {
        None = "none" / "none",
        Rails = "rails" / "rails",
        Sheeted = "sheeted" / "sheeted",
        Mesh = "mesh" / "mesh",
    }
}
choice! {
    FrontForm {
        None = "none" / "none",
        Board = "board" / "front board",
        StoneGuard = "stone-guard" / "stone guard",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Sides {
    pub form: SideForm,
    pub height: Length,
    pub post: Section,
    pub top_rail: Section,
    /// Sheet or mesh of sides, front and tailgate.
    pub sheet: SheetMaterial,
    pub sheet_thickness: Length,
    pub front: FrontForm,
    pub front_height: Length,
    pub drop_tailgate: bool,
}

impl Default for Sides {
    fn default() -> Self {
        Self {
            form: SideForm::None,
            height: Length::from_mm(350.0),
            post: known("shs 30x30x2"),
            top_rail: known("shs 30x30x2"),
            sheet: SheetMaterial::SheetSteel,
            sheet_thickness: Length::from_mm(1.5),
            front: FrontForm::None,
            front_height: Length::from_mm(600.0),
            drop_tailgate: false,
        }
    }
}

choice! {
    RampForm {
        None = "none" / "none",
        Loose = "loose" / "loose, stowed under the bed",
        Hinged = "hinged" / "hinged, serves as tailgate",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Loading {
    pub ramp: RampForm,
    pub ramp_length: Length,
    pub ramp_width: Length,
    pub ramp_sheet: SheetMaterial,
    pub ramp_sheet_thickness: Length,
    pub ramp_stile: Section,
    pub ramp_rung: Section,
    pub ramp_rung_pitch: Length,
    pub ramp_grade: Grade,
    /// Loose ramp: places across the rear where it hooks on.
    pub docking_places: u32,
    pub ramp_lock: bool,
    pub prop_stands: u32,
    pub wheel_chocks: u32,
    /// On the deck or the rails' tops.
    pub lashing_top: LashingPoints,
    /// On the outside of the frame.
    pub lashing_frame: LashingPoints,
    pub winch_post: bool,
}

impl Default for Loading {
    fn default() -> Self {
        Self {
            ramp: RampForm::None,
            ramp_length: Length::from_mm(1800.0),
            ramp_width: Length::from_mm(500.0),
            ramp_sheet: SheetMaterial::TreadAluminium,
            ramp_sheet_thickness: Length::from_mm(3.0),
            ramp_stile: known("rhs 50x25x2"),
            ramp_rung: known("shs 25x25x2"),
            ramp_rung_pitch: Length::from_mm(300.0),
            ramp_grade: grade("S235"),
            docking_places: 1,
            ramp_lock: false,
            prop_stands: 0,
            wheel_chocks: 0,
            lashing_top: LashingPoints::default(),
            lashing_frame: LashingPoints { count: 0, ..LashingPoints::default() },
            winch_post: false,
        }
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct LashingPoints {
    pub count: u32,
    /// What one point may be pulled with; when absent the cheapest in the rate book that suits.
    pub rating: Option<Mass>,
}

impl Default for LashingPoints {
    fn default() -> Self {
        Self { count: 4, rating: None }
    }
}

choice! {
    CouplingForm {
        Ball50 = "ball-50" / "50 mm ball",
        Ball1_7_8 = "ball-1-7-8" / "1 7/8 in ball",
        Ball2 = "ball-2" / "2 in ball",
        Ball2_5_16 = "ball-2-5-16" / "2 5/16 in ball",
        Eye = "eye" / "towing eye",
    }
}
choice! {
    ChainPurpose {
        None = "none" / "none",
        Secondary = "secondary" / "rated secondary coupling",
        KeepsOnly = "keeps-only" / "keeps it with the vehicle only",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Towing {
    pub coupling: CouplingForm,
    /// When absent: chosen by rule from the gross mass.
    pub coupling_rating: Option<Mass>,
    pub jockey_wheel: bool,
    pub jockey_rating: Option<Mass>,
    pub chains: ChainPurpose,
    pub chain_count: u32,
    pub chain_rating: Option<Mass>,
    pub breakaway: bool,
    /// What one person may lift at the coupling (common practice, no source).
    pub hand_lift: Mass,
    /// How hard one person may push or pull the trailer, as a mass (common practice, no source).
    pub hand_push: Mass,
}

impl Default for Towing {
    fn default() -> Self {
        Self {
            coupling: CouplingForm::Ball50,
            coupling_rating: None,
            jockey_wheel: true,
            jockey_rating: None,
            chains: ChainPurpose::Secondary,
            chain_count: 1,
            chain_rating: None,
            breakaway: false,
            hand_lift: Mass::from_kg(50.0),
            hand_push: Mass::from_kg(20.0),
        }
    }
}

choice! {
    Connector { Five = "5" / "5 ways", Seven = "7" / "7 ways", Thirteen = "13" / "13 ways" }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Electrics {
    pub connector: Connector,
    /// These lamps are fitted where the road rules ask for them, and where they are wanted besides.
    pub reverse_lamps: bool,
    pub fog_lamp: bool,
    pub work_lamp: bool,
    pub side_markers: bool,
    /// Upright poles at the rear's outer edges, seen in the mirrors when reversing.
    pub guide_poles: bool,
}

impl Default for Electrics {
    fn default() -> Self {
        Self {
            connector: Connector::Seven,
            reverse_lamps: false,
            fog_lamp: false,
            work_lamp: false,
            side_markers: false,
            guide_poles: false,
        }
    }
}

choice! { Mudguards { None = "none" / "none", Bought = "bought" / "bought", Made = "made" / "made in house" } }
choice! {
    SparePlace {
        None = "none" / "none",
        Drawbar = "drawbar" / "on the drawbar",
        Front = "front" / "at the bed's front",
        UnderBed = "under-bed" / "under the bed",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Fittings {
    pub spare_wheel: SparePlace,
    pub tool_boxes: u32,
    pub fuel_can_holders: u32,
    pub rear_tow_eye: bool,
    pub mudguards: Mudguards,
    pub mud_flaps: bool,
    pub rear_bumper: bool,
    pub number_plate_holder: bool,
    pub free: Vec<FreeFitting>,
}

impl Default for Fittings {
    fn default() -> Self {
        Self {
            spare_wheel: SparePlace::None,
            tool_boxes: 0,
            fuel_can_holders: 0,
            rear_tow_eye: false,
            mudguards: Mudguards::Bought,
            mud_flaps: false,
            rear_bumper: false,
            number_plate_holder: true,
            free: Vec::new(),
        }
    }
}

/// A fitting that the tool does not know, with all that weighing and pricing need.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct FreeFitting {
    pub name: String,
    pub count: u32,
    /// Of one.
    pub mass: Mass,
    /// Behind the bed's front edge; negative on the drawbar.
    pub along: Length,
    pub across: Length,
    /// Above the deck.
    pub above: Length,
    /// Buying price of one.
    pub price: Money,
    /// Fitting minutes of one.
    pub minutes: f64,
}

choice! {
    FinishSystem {
        None = "none" / "none",
        Paint = "paint" / "primer and top coat",
        Galvanised = "galvanised" / "hot-dip galvanised",
        Powder = "powder" / "powder coat",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Finish {
    pub system: FinishSystem,
    /// Paint: primer and top coats together.
    pub coats: u32,
    /// Dry film of one coat, µm.
    pub coat_um: f64,
    pub colour: String,
}

impl Default for Finish {
    fn default() -> Self {
        Self { system: FinishSystem::Paint, coats: 2, coat_um: 60.0, colour: "grey".into() }
    }
}

/// A section of the defaults: the literals above are covered by a test.
fn known(text: &str) -> Section {
    text.parse().unwrap_or_else(|fault| panic!("default section {text}: {fault}"))
}

fn grade(text: &str) -> Grade {
    text.parse().unwrap_or_else(|fault| panic!("default grade {text}: {fault}"))
}
