//! The rate book as of one day: what things cost, what sizes they come in, and what rules may ask of them.
//!
//! History (which price held from which day) is the store's; what the domain sees is the book of one day.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::parts::{Attributes, PartClass};
use crate::domain::{
    choice::choice,
    measure::{Length, Money},
    steel::{Grade, Section, SheetMaterial},
};

choice! {
    /// Classes share a mark-up, a bulk change and a warning about the price's age.
    ItemClass {
        HollowSection = "hollow-section" / "hollow sections",
        OpenSection = "open-section" / "angles, channels, flats, rounds",
        SteelSheet = "steel-sheet" / "steel sheet and plate",
        Aluminium = "aluminium" / "aluminium",
        Timber = "timber" / "plywood and timber",
        Part = "part" / "bought-in parts",
        Consumable = "consumable" / "consumables",
        Paint = "paint" / "paint",
        Labour = "labour" / "labour",
        OutsideWork = "outside-work" / "outside work",
    }
}

choice! {
    /// What one price buys.
    RateUnit {
        Metre = "metre" / "per metre",
        Kilogram = "kilogram" / "per kg",
        Bar = "bar" / "per bar",
        Sheet = "sheet" / "per sheet",
        Each = "each" / "each",
        Litre = "litre" / "per litre",
        Hour = "hour" / "per hour",
        CubicMetre = "cubic-metre" / "per m³",
        SquareMetre = "square-metre" / "per m²",
        Kilometre = "kilometre" / "per km",
    }
}

choice! {
    Trade {
        Fabricator = "fabricator" / "fabricator",
        Welder = "welder" / "welder",
        Painter = "painter" / "painter",
        Fitter = "fitter" / "fitter",
        Office = "office" / "office",
    }
}

choice! {
    /// What a consumable is used for.
    ConsumableUse {
        Wire = "wire" / "welding wire",
        Gas = "gas" / "shielding gas",
        Disc = "disc" / "cutting and flap discs",
        SawBlade = "saw-blade" / "saw blade wear, a cut",
        Primer = "primer" / "primer",
        TopCoat = "top-coat" / "top coat",
        Degreaser = "degreaser" / "degreaser",
        Masking = "masking" / "masking and abrasives, a m²",
        ZincSpray = "zinc-spray" / "zinc repair spray",
        Sealant = "sealant" / "sealant",
    }
}

choice! {
    OutsideService {
        Galvanising = "galvanising" / "hot-dip galvanising",
        PowderCoat = "powder-coat" / "powder coat",
        Profile = "profile" / "plasma or laser cutting, a metre",
        Delivery = "delivery" / "delivery",
        Inspection = "inspection" / "inspection and certificate",
    }
}

/// One line of the rate book, with the price that holds on its day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Item {
    /// Unique, as on the shop's own lists.
    pub code: String,
    pub name: String,
    pub class: ItemClass,
    #[serde(default)]
    pub supplier: String,
    pub unit: RateUnit,
    /// Price of one unit, before tax. For bars and sheets with a price list of their own, the price where the list has none.
    pub price: Money,
    /// The day from which it holds.
    pub from: Date,
    #[serde(default)]
    pub lead_days: u32,
    pub goods: Goods,
    /// Where the figures come from.
    #[serde(default)]
    pub source: String,
    /// No longer offered; kept for history.
    #[serde(default)]
    pub retired: bool,
}

/// What the item is, with the attributes that rules read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Goods {
    Bar {
        section: Section,
        grade: Grade,
        lengths: Vec<BarLength>,
    },
    Sheet {
        material: SheetMaterial,
        thickness: Length,
        sizes: Vec<SheetSize>,
    },
    Part {
        class: PartClass,
        /// Of one, kg.
        mass_kg: f64,
        #[serde(default)]
        minutes: Option<f64>,
        #[serde(default)]
        attributes: Attributes,
    },
    Consumable {
        used_for: ConsumableUse,
    },
    Labour {
        trade: Trade,
    },
    Outside {
        service: OutsideService,
        /// Smallest charge for one order.
        #[serde(default)]
        minimum: Money,
    },
}

/// A length that the bar is sold in; its own price where the supplier prices it so.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BarLength {
    pub length: Length,
    #[serde(default)]
    pub price: Option<Money>,
}

/// A size that the sheet is sold in; its grain or pattern lies along the length.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SheetSize {
    pub length: Length,
    pub width: Length,
    #[serde(default)]
    pub price: Option<Money>,
}

/// All items as of one day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RateBook {
    pub day: Date,
    pub items: Vec<Item>,
}
