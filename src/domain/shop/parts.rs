//! Bought-in parts: what a place asks for, and which item of the rate book was chosen for it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::{choice::choice, measure::Money};

choice! {
    /// The classes of bought-in parts that rules choose from.
    PartClass {
        Coupling = "coupling" / "coupling head",
        OverRun = "over-run" / "over-run device",
        JockeyWheel = "jockey-wheel" / "jockey wheel with clamp",
        SafetyChain = "safety-chain" / "safety chain",
        Shackle = "shackle" / "shackle",
        Breakaway = "breakaway" / "breakaway cable or switch",
        BeamAxle = "beam-axle" / "beam axle",
        TorsionAxle = "torsion-axle" / "rubber torsion axle",
        DonorAxle = "donor-axle" / "axle taken from a vehicle",
        LeafSpring = "leaf-spring" / "leaf spring",
        SpringHangers = "spring-hangers" / "hangers and shackles, a spring",
        Equaliser = "equaliser" / "equaliser set, a side",
        UBolts = "u-bolts" / "U-bolts with plate, a spring",
        CoilSpring = "coil-spring" / "coil spring",
        Link = "link" / "suspension link with bushes",
        Damper = "damper" / "damper",
        Hub = "hub" / "hub with bearings",
        Brakes = "brakes" / "brake set, an axle",
        Wheel = "wheel" / "wheel with tyre",
        Mudguard = "mudguard" / "mudguard",
        MudFlap = "mud-flap" / "mud flap",
        SpareCarrier = "spare-carrier" / "spare wheel carrier",
        WheelChock = "wheel-chock" / "wheel chock with holder",
        RearLamp = "rear-lamp" / "rear lamp cluster",
        PlateLamp = "plate-lamp" / "number-plate lamp",
        FrontLamp = "front-lamp" / "front position lamp",
        SideMarker = "side-marker" / "side marker lamp",
        OutlineLamp = "outline-lamp" / "end-outline lamp",
        FogLamp = "fog-lamp" / "rear fog lamp",
        ReverseLamp = "reverse-lamp" / "reversing lamp",
        WorkLamp = "work-lamp" / "work lamp",
        Reflector = "reflector" / "reflector",
        Connector = "connector" / "plug",
        JunctionBox = "junction-box" / "junction box",
        Cable = "cable" / "lamp cable, a metre",
        CableFixings = "cable-fixings" / "clips, grommets and terminals, a metre",
        LashingRing = "lashing-ring" / "lashing point",
        Strap = "strap" / "strap",
        PropStand = "prop-stand" / "prop stand",
        Hinge = "hinge" / "hinge",
        Latch = "latch" / "latch",
        RampLatch = "ramp-latch" / "ramp latch",
        Lock = "lock" / "lock",
        LiftSpring = "lift-spring" / "ramp lift spring",
        Winch = "winch" / "hand winch with strap",
        ToolBox = "tool-box" / "tool box",
        FuelCanHolder = "fuel-can-holder" / "fuel-can holder",
        TowEye = "tow-eye" / "tow eye",
        PlateHolder = "plate-holder" / "number-plate holder",
        MassPlate = "mass-plate" / "mass plate",
        DrawbarPin = "drawbar-pin" / "drawbar pin with clip",
        TubeCap = "tube-cap" / "tube end cap",
        BoltSet = "bolt-set" / "bolt with nut and washers",
        DeckScrew = "deck-screw" / "deck screw",
        Rivet = "rivet" / "blind rivet",
        Free = "free" / "free fitting",
    }
}

/// What an attribute of a part says: a figure (kilograms, millimetres, ways …) or a word.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Attribute {
    Figure(f64),
    Word(String),
}

/// Attributes by name: `rating_kg`, `static_load_kg`, `ball`, `wheel_load_kg`, `ways`, `size`, `width_mm` …
pub type Attributes = BTreeMap<String, Attribute>;

/// One rule that a part must satisfy.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Requirement {
    pub attribute: String,
    pub rule: Rule,
    /// What asks for it, in words: "gross mass 740 kg".
    pub because: String,
}

/// An attribute in words, and the unit of its figure (empty where it counts or is a word).
pub fn attribute_words(attribute: &str) -> (String, &'static str) {
    let said = match attribute {
        "rating_kg" => ("rating", "kg"),
        "wheel_load_kg" => ("load on one wheel", "kg"),
        "static_load_kg" => ("load on the coupling", "kg"),
        "least_kg" => ("smallest gross mass", "kg"),
        "d_value_kn" => ("D value", "kN"),
        "moment_nm" => ("moment", "N·m"),
        "speed_km_h" => ("speed", "km/h"),
        "least_rim_in" => ("smallest rim", "in"),
        "rate_n_per_mm" => ("spring rate", "N/mm"),
        "leaf_mm" => ("thickness of a leaf", "mm"),
        "arm_mm" => ("arm of the torsion axle", "mm"),
        "free_deg" => ("arm below level, unloaded", "°"),
        "rated_deg" => ("arm below level, at its rating", "°"),
        "class" => ("strength class", ""),
        "core_mm2" => ("area of a core", "mm²"),
        "earth_mm2" => ("area of the earth core", "mm²"),
        "watts" => ("power", "W"),
        "amps" => ("current", "A"),
        "approval_un" => ("UN approval", ""),
        "approval_sae" => ("SAE approval", ""),
        "approval_adr" => ("ADR approval", ""),
        other => {
            let (name, unit) = match other.rsplit_once('_') {
                Some((name, "kg")) => (name, "kg"),
                Some((name, "mm")) => (name, "mm"),
                Some((name, "watts")) => (name, "W"),
                _ => (other, ""),
            };
            return (name.replace('_', " "), unit);
        }
    };
    (said.0.to_owned(), said.1)
}

impl Requirement {
    /// What is asked, in words; `figure` shows a value with its unit.
    pub fn words(&self, figure: impl Fn(f64, &str) -> String) -> String {
        let (name, unit) = attribute_words(&self.attribute);
        let figure = |value: f64| figure(value, unit);
        match &self.rule {
            // An approval mark is there or not.
            Rule::AtLeast(_) | Rule::Is(Attribute::Figure(_)) if self.attribute.starts_with("approval_") => name,
            Rule::AtLeast(value) => format!("{name} at least {}", figure(*value)),
            Rule::AtMost(value) => format!("{name} at most {}", figure(*value)),
            Rule::Is(Attribute::Figure(value)) => format!("{name} {}", figure(*value)),
            Rule::Is(Attribute::Word(word)) => format!("{name} {word}"),
        }
    }
}

impl PartNeed {
    /// The rules that decide: of several "at least" (or "at most") for one attribute the strictest.
    pub fn deciding(&self) -> Vec<&Requirement> {
        let beats = |other: &Requirement, rule: &Requirement| match (&other.rule, &rule.rule) {
            _ if other.attribute != rule.attribute => false,
            (Rule::AtLeast(a), Rule::AtLeast(b)) => a > b,
            (Rule::AtMost(a), Rule::AtMost(b)) => a < b,
            _ => false,
        };
        let all = &self.requirements;
        all.iter().filter(|rule| !all.iter().any(|other| beats(other, rule))).collect()
    }

    /// What asks for them, each reason once.
    pub fn reasons(&self) -> Vec<&str> {
        let mut reasons: Vec<&str> = Vec::new();
        for rule in &self.requirements {
            if !reasons.contains(&rule.because.as_str()) {
                reasons.push(&rule.because);
            }
        }
        reasons
    }
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    AtLeast(f64),
    AtMost(f64),
    Is(Attribute),
}

/// What a place on the trailer asks for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartNeed {
    /// Stable key: overruled choices refer to it as `part/KEY`.
    pub key: String,
    pub class: PartClass,
    /// Pieces (or metres, for goods by length) on one trailer.
    pub count: f64,
    pub requirements: Vec<Requirement>,
}

/// The item chosen for a need: the cheapest that satisfies every rule, or the one picked by hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ChosenPart {
    pub need: PartNeed,
    /// None when nothing in the rate book satisfies the rules: a finding that stands beside the price.
    pub item: Option<PartItem>,
    /// Rules that the item picked by hand does not satisfy.
    pub falls_short: Vec<String>,
    /// Reason, when the item was picked by hand.
    pub overruled: Option<String>,
    /// Codes of the other items that satisfy, cheapest first.
    pub others: Vec<String>,
}

/// What of an item goes into the trailer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartItem {
    pub code: String,
    pub name: String,
    /// Of one piece (or metre).
    pub mass_kg: f64,
    pub price: Money,
    /// Fitting minutes of one; when absent the norm of the class.
    pub minutes: Option<f64>,
    pub attributes: Attributes,
}

impl PartNeed {
    /// What it is called: its class, and what it is for where the class alone does not tell it from another: `wheel with tyre (spare wheel)`.
    pub fn name(&self) -> String {
        let (class, own) = (self.class.label(), self.key.replace('-', " "));
        if class.contains(&own) || self.key == self.class.word() { class.into() } else { format!("{class} ({own})") }
    }
}

impl PartItem {
    pub fn figure(&self, attribute: &str) -> Option<f64> {
        match self.attributes.get(attribute) {
            Some(Attribute::Figure(value)) => Some(*value),
            _ => None,
        }
    }
}

impl ChosenPart {
    /// Mass of all pieces; an unchosen part weighs nothing, and is a finding.
    pub fn mass_kg(&self) -> f64 {
        self.item.as_ref().map_or(0.0, |item| item.mass_kg * self.need.count)
    }
}
