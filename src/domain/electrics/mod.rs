//! The electrics of the built trailer: which circuit sits on which pin, what each lamp draws, what its cores lose, and whether plug and cables
//! do. The wiring table is what the workshop wires from.
//!
//! Not reckoned with: the vehicle's own cable, contacts, fuses and flashers of the vehicle, 24 V.

mod checks;
mod table;

use serde::{Deserialize, Serialize};

use super::{
    shop::{PartClass, PartItem},
    trailer::{
        Fitting, Spec, Trailer,
        wiring::{Cable, CoreArea, Harness},
    },
    working::{Check, Sure},
};

/// A revision freezes it; empty in those that are older.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Electrics {
    /// Ways and standard of the plug.
    pub plug: String,
    pub source: String,
    pub sure: Option<Sure>,
    pub pins: Vec<PinUse>,
    pub lamps: Vec<LampDraw>,
    pub wires: Vec<Wire>,
}

/// A pin of the plug.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PinUse {
    pub pin: String,
    /// The standard's name of the contact, where it has one.
    pub letter: String,
    pub words: String,
    pub core: String,
    pub is_used: bool,
    /// At the plug: of all that it feeds, or of what returns by it at most.
    pub amps: Option<f64>,
}

/// What one kind of lamp draws for one of its lights, each.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LampDraw {
    pub lamp: String,
    /// As the rate book names it; empty where none was chosen.
    pub item: String,
    pub light: String,
    pub count: usize,
    pub watts: f64,
    pub amps: f64,
    /// From the rate book, not the usual figure.
    pub is_known: bool,
}

/// One core from one place to another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Wire {
    pub circuit: String,
    /// Empty where the plug has no pin for it.
    pub pin: String,
    /// Colour of the core at the plug.
    pub core: String,
    pub from: String,
    pub to: String,
    /// To cut, up to the next 10 mm.
    pub length_mm: f64,
    pub core_mm2: Option<f64>,
    pub amps: Option<f64>,
    /// Lost from the plug to its end and back.
    pub volts: Option<f64>,
}

/// Pins, currents and wires of the trailer; their checks are added to the others.
pub fn examine(spec: &Spec, trailer: &Trailer, checks: &mut Vec<Check>) -> Electrics {
    let harness = Harness::of(spec, &trailer.layout, &trailer.fittings);
    let laid = Laid { harness: &harness, fittings: &trailer.fittings };
    checks.extend(checks::all(spec, &laid));
    table::of(&laid)
}

/// The harness with the cables chosen for it.
struct Laid<'a> {
    harness: &'a Harness,
    fittings: &'a [Fitting],
}

impl Laid<'_> {
    /// The item chosen for a cable.
    fn item(&self, cable: Cable) -> Option<&PartItem> {
        let key = cable.key();
        let of = |fitting: &&Fitting| fitting.class == PartClass::Cable && fitting.part.need.key == key;
        self.fittings.iter().find(of)?.part.item.as_ref()
    }

    /// Areas of its cores; none where no cable was chosen or the rate book does not say.
    fn area(&self, cable: Cable) -> Option<CoreArea> {
        let item = self.item(cable)?;
        let figure = |attribute| item.figure(attribute).filter(|mm2: &f64| mm2.is_finite() && *mm2 > 0.0);
        let core_mm2 = figure("core_mm2")?;
        Some(CoreArea { core_mm2, earth_mm2: figure("earth_mm2").unwrap_or(core_mm2) })
    }
}
