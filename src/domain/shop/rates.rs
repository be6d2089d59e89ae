//! The rate book as of one day: what things cost, what sizes they come in, and what rules may ask of them.
//!
//! History (which price held from which day) is the store's; what the domain sees is the book of one day.

use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::parts::{Attributes, PartClass};
use crate::{
    choice::choice,
    measure::{Length, Money},
    steel::{Grade, Section, SheetMaterial, sheet_mass_kg_per_m2},
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

impl RateUnit {
    /// Behind a quantity.
    pub const fn short(self) -> &'static str {
        match self {
            Self::Metre => "m",
            Self::Kilogram => "kg",
            Self::Bar => "bars",
            Self::Sheet => "sheets",
            Self::Each => "pieces",
            Self::Litre => "l",
            Self::Hour => "h",
            Self::CubicMetre => "m³",
            Self::SquareMetre => "m²",
            Self::Kilometre => "km",
        }
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

impl Item {
    /// Buying price of a whole bar of one of its lengths, to 4 decimals; `None` for what is not sold as a bar.
    pub fn bar_price(&self, bar: &BarLength) -> Option<Money> {
        let Goods::Bar { section, grade, .. } = &self.goods else { return None };
        let metres = Decimal::from(bar.length.nm()) / Decimal::from(1_000_000_000);
        let price = bar.price.or(match self.unit {
            RateUnit::Metre => Some(self.price * metres),
            RateUnit::Bar | RateUnit::Each => Some(self.price),
            RateUnit::Kilogram => {
                let kg = section.mass_kg_per_m(grade.density_kg_per_m3());
                Some(self.price * (Decimal::try_from(kg).ok()? * metres))
            }
            _ => None,
        });
        price.map(|price| price.rounded(4))
    }

    /// Buying price of a whole sheet of one of its sizes, to 4 decimals; `None` for what is not sold as a sheet.
    pub fn sheet_price(&self, sheet: &SheetSize) -> Option<Money> {
        let Goods::Sheet { material, thickness, .. } = &self.goods else { return None };
        let side = |length: Length| Decimal::from(length.nm()) / Decimal::from(1_000_000_000);
        let m2 = side(sheet.length) * side(sheet.width);
        let price = sheet.price.or(match self.unit {
            RateUnit::SquareMetre => Some(self.price * m2),
            RateUnit::Sheet | RateUnit::Each => Some(self.price),
            RateUnit::Kilogram => {
                let kg = sheet_mass_kg_per_m2(*material, *thickness);
                Some(self.price * (Decimal::try_from(kg).ok()? * m2))
            }
            _ => None,
        });
        price.map(|price| price.rounded(4))
    }

    /// Days since its price was set; negative for a price that holds only later.
    pub fn price_age_days(&self, day: Date) -> i32 {
        (day - self.from).get_days()
    }
}

impl RateBook {
    /// Items that are still offered.
    pub fn offered(&self) -> impl Iterator<Item = &Item> {
        self.items.iter().filter(|item| !item.retired)
    }

    pub fn item(&self, code: &str) -> Option<&Item> {
        self.items.iter().find(|item| item.code == code)
    }

    /// The cheapest offered item (by its own unit) for which `of` holds.
    fn cheapest(&self, of: impl Fn(&Goods) -> bool) -> Option<&Item> {
        self.offered().filter(|item| of(&item.goods)).min_by_key(|item| (item.price, &item.code))
    }

    /// The items that a section of a grade is sold as, however it lies in the trailer.
    pub fn bars(&self, section: Section, grade: Grade) -> impl Iterator<Item = &Item> {
        self.offered().filter(move |item| {
            matches!(&item.goods, Goods::Bar { section: sold, grade: of, .. } if sold.upright() == section.upright() && *of == grade)
        })
    }

    pub fn sheets(&self, material: SheetMaterial, thickness: Length) -> impl Iterator<Item = &Item> {
        self.offered().filter(move |item| {
            matches!(&item.goods, Goods::Sheet { material: sold, thickness: of, .. } if *sold == material && *of == thickness)
        })
    }

    pub fn consumable(&self, used_for: ConsumableUse) -> Option<&Item> {
        self.cheapest(|goods| matches!(goods, Goods::Consumable { used_for: of } if *of == used_for))
    }

    pub fn labour(&self, trade: Trade) -> Option<&Item> {
        self.cheapest(|goods| matches!(goods, Goods::Labour { trade: of } if *of == trade))
    }

    pub fn outside(&self, service: OutsideService) -> Option<&Item> {
        self.cheapest(|goods| matches!(goods, Goods::Outside { service: of, .. } if *of == service))
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::shop::ShopBook;

    /// What the trade pays for small quantities, low and high, in the demo's currency; from memory, for the demo alone.
    fn range(class: ItemClass) -> (f64, f64) {
        match class {
            ItemClass::HollowSection => (1.3, 3.0),
            ItemClass::OpenSection | ItemClass::SteelSheet => (1.2, 11.0),
            ItemClass::Aluminium => (5.0, 10.0),
            _ => (0.0, f64::MAX),
        }
    }

    #[test]
    fn the_demo_book_is_whole_and_plausible() {
        let shop = ShopBook::demo();
        let book = &shop.rates;
        let codes: BTreeSet<&str> = book.items.iter().map(|item| item.code.as_str()).collect();
        assert_eq!(codes.len(), book.items.len(), "a code stands twice");
        assert!(book.items.len() >= 120);
        for item in &book.items {
            assert!(item.price > Money::ZERO, "{}", item.code);
            assert_eq!(item.source, "invented for the demo");
            let age = item.price_age_days(book.day);
            assert!((0..=120).contains(&age), "{}: {age} days", item.code);
            let per_kg = match &item.goods {
                Goods::Bar { section, grade, lengths } => {
                    let bar = &lengths[0];
                    let kg = section.mass_kg_per_m(grade.density_kg_per_m3()) * bar.length.mm() / 1000.0;
                    Some((item.bar_price(bar), kg))
                }
                Goods::Sheet { material, thickness, sizes } => {
                    let kg = sheet_mass_kg_per_m2(*material, *thickness);
                    let sheet = &sizes[0];
                    Some((item.sheet_price(sheet), kg * sheet.length.mm() * sheet.width.mm() / 1e6))
                }
                Goods::Part { mass_kg, .. } => {
                    assert!(*mass_kg > 0.0 && *mass_kg < 100.0, "{}", item.code);
                    None
                }
                _ => None,
            };
            if let Some((price, kg)) = per_kg {
                let price: f64 = price.unwrap().0.try_into().unwrap();
                let (low, high) = range(item.class);
                assert!((low..=high).contains(&(price / kg)), "{}: {} a kg", item.code, price / kg);
            }
        }
        let old =
            book.items.iter().filter(|item| item.price_age_days(book.day) > shop.policy.age_days(item.class) as i32);
        assert!(old.count() >= 3, "no old prices to warn about");
    }

    #[test]
    fn every_class_of_part_and_every_use_has_an_item() {
        let book = ShopBook::demo().rates;
        for class in PartClass::ALL {
            // Made from the spec, not bought from the book.
            if matches!(class, PartClass::DonorAxle | PartClass::Free) {
                continue;
            }
            let has = |item: &Item| matches!(&item.goods, Goods::Part { class: of, .. } if of == class);
            assert!(book.items.iter().any(has), "{class}");
        }
        assert!(ConsumableUse::ALL.iter().all(|used_for| book.consumable(*used_for).is_some()));
        assert!(Trade::ALL.iter().all(|trade| book.labour(*trade).is_some()));
        assert!(OutsideService::ALL.iter().all(|service| book.outside(*service).is_some()));
        for material in SheetMaterial::ALL {
            assert!(
                book.items
                    .iter()
                    .any(|item| matches!(&item.goods, Goods::Sheet { material: of, .. } if of == material)),
                "{material}"
            );
        }
    }

    #[test]
    fn a_bar_costs_its_own_price_or_its_metres_or_its_mass() {
        let book = ShopBook::demo().rates;
        let item = |unit, price: &str, own: Option<&str>| Item {
            unit,
            price: Money(price.parse().unwrap()),
            goods: Goods::Bar {
                section: "shs 50x50x3".parse().unwrap(),
                grade: "S235".parse().unwrap(),
                lengths: vec![BarLength {
                    length: Length::from_mm(6000.0),
                    price: own.map(|own| Money(own.parse().unwrap())),
                }],
            },
            ..book.items[0].clone()
        };
        let price = |item: &Item| match &item.goods {
            Goods::Bar { lengths, .. } => item.bar_price(&lengths[0]).unwrap().0.to_string(),
            _ => unreachable!(),
        };
        assert_eq!(price(&item(RateUnit::Metre, "8.00", None)), "48.00");
        assert_eq!(price(&item(RateUnit::Bar, "47.50", None)), "47.50");
        assert_eq!(price(&item(RateUnit::Bar, "47.50", Some("45.10"))), "45.10");
        // 4.245 kg/m (EN 10219-2 Annex B) × 6 m × 2.00.
        let by_mass: f64 = price(&item(RateUnit::Kilogram, "2.00", None)).parse().unwrap();
        assert!((by_mass - 50.94).abs() < 0.02, "{by_mass}");
        assert_eq!(
            item(RateUnit::Litre, "2.00", None).bar_price(&BarLength { length: Length::from_mm(1.0), price: None }),
            None
        );
    }
}
