//! Sheets and boards: what a square metre weighs.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::{choice::choice, measure::Length, working::Sure};

choice! {
    /// What a deck, a side or a mudguard is made of.
    SheetMaterial {
        MeshPly = "mesh-ply" / "phenolic mesh-faced plywood",
        ExteriorPly = "exterior-ply" / "plain exterior plywood",
        TreadSteel = "tread-steel" / "steel tread plate",
        TreadAluminium = "tread-aluminium" / "aluminium tread plate",
        HardwoodBoards = "hardwood-boards" / "hardwood boards",
        ExpandedMetal = "expanded-metal" / "expanded metal",
        SheetSteel = "sheet-steel" / "steel sheet",
        SheetAluminium = "sheet-aluminium" / "aluminium sheet",
        GalvanisedSheet = "galvanised-sheet" / "galvanised sheet",
    }
}

/// Mass of a square metre with its source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetMass {
    pub kg_per_m2: f64,
    pub sure: Sure,
    pub source: &'static str,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    material: SheetMaterial,
    #[serde(default)]
    per_mm: f64,
    #[serde(default)]
    points: Vec<[f64; 2]>,
    #[serde(default)]
    extra: f64,
    sure: Sure,
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    sheet: Vec<Row>,
}

/// `seed-data/sheets.toml`; a test makes sure that every material stands there.
static SHEETS: LazyLock<Vec<Row>> = LazyLock::new(|| {
    toml::from_str::<Table>(include_str!("../../../seed-data/sheets.toml"))
        .map_or_else(|_| Vec::new(), |table| table.sheet)
});

impl SheetMaterial {
    /// Wood does not corrode, conduct or weld; plates do.
    pub const fn is_wood(self) -> bool {
        matches!(self, Self::MeshPly | Self::ExteriorPly | Self::HardwoodBoards)
    }

    pub const fn is_aluminium(self) -> bool {
        matches!(self, Self::TreadAluminium | Self::SheetAluminium)
    }

    /// The mass of a square metre of this thickness (of tread plate: of its plain part; of expanded metal: of the sheet it was made from).
    pub fn mass(self, thickness: Length) -> SheetMass {
        let Some(row) = SHEETS.iter().find(|row| row.material == self) else {
            return SheetMass { kg_per_m2: f64::NAN, sure: Sure::Memory, source: "no data" };
        };
        let mm = thickness.mm();
        let kg_per_m2 = if row.points.is_empty() { row.per_mm * mm } else { between(&row.points, mm) } + row.extra;
        SheetMass { kg_per_m2, sure: row.sure, source: &row.source }
    }
}

/// The mass of a square metre, kg.
pub fn sheet_mass_kg_per_m2(material: SheetMaterial, thickness: Length) -> f64 {
    material.mass(thickness).kg_per_m2
}

/// By straight lines between the points, beyond them in proportion to the nearest one.
fn between(points: &[[f64; 2]], mm: f64) -> f64 {
    for pair in points.windows(2) {
        let ([from, low], [to, high]) = (pair[0], pair[1]);
        if (from..=to).contains(&mm) {
            return low + (high - low) * (mm - from) / (to - from);
        }
    }
    let nearest = if points.first().is_some_and(|[first, _]| mm < *first) { points.first() } else { points.last() };
    nearest.map_or(0.0, |[at, mass]| mass * mm / at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_material_stands_in_the_table_once() {
        let table = toml::from_str::<Table>(include_str!("../../../seed-data/sheets.toml")).unwrap();
        assert_eq!(table.sheet.len(), SheetMaterial::ALL.len());
        for &material in SheetMaterial::ALL {
            assert_eq!(table.sheet.iter().filter(|row| row.material == material).count(), 1, "{material}");
        }
    }

    fn mass(material: SheetMaterial, mm: f64) -> f64 {
        sheet_mass_kg_per_m2(material, Length::from_mm(mm))
    }

    /// Source: birch plywood datasheet, sheet of 1220 × 2440 mm and 18 mm: 36.7 kg raw.
    #[test]
    fn plywood_weighs_what_its_datasheet_says() {
        let film = 0.34;
        assert!(((mass(SheetMaterial::MeshPly, 18.0) - film) * 1.22 * 2.44 - 36.7).abs() < 0.05);
        let between = mass(SheetMaterial::MeshPly, 16.5) - film;
        assert!((between - (10.35 + 12.33) / 2.0).abs() < 1e-9);
        assert!((mass(SheetMaterial::MeshPly, 6.0) - film - 6.38 * 6.0 / 9.0).abs() < 1e-9);
    }

    /// A pattern only adds: tread plate is never lighter than plain plate (7.85 t, aluminium 2.70 t).
    #[test]
    fn tread_plate_is_heavier_than_plain_plate() {
        for mm in [2.0, 3.0, 4.5, 6.0, 8.0] {
            assert!(mass(SheetMaterial::TreadSteel, mm) > 7.85 * mm);
            assert!(mass(SheetMaterial::TreadAluminium, mm) > 2.70 * mm);
        }
    }
}
