//! What a sheet bears under a wheel between its supports.

use crate::{steel::SheetMaterial, working::Sure};

/// Strength and stiffness of a sheet across its supports.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetStrength {
    /// Bending strength (wood: characteristic, metal: yield), MPa.
    pub strength_mpa: f64,
    pub e_mpa: f64,
    /// W = f b t² : 1/6 elastic, 1/4 where a metal plate yields through.
    pub modulus: f64,
    pub source: &'static str,
    pub sure: Sure,
}

/// None where the sheet is no plain plate: expanded metal's strength is its mesh's.
pub fn strength(material: SheetMaterial) -> Option<SheetStrength> {
    let wood = |strength_mpa, e_mpa, source| SheetStrength {
        strength_mpa,
        e_mpa,
        modulus: 1.0 / 6.0,
        source,
        sure: Sure::Memory,
    };
    let metal = |strength_mpa, e_mpa, source, sure| SheetStrength { strength_mpa, e_mpa, modulus: 0.25, source, sure };
    Some(match material {
        SheetMaterial::MeshPly => wood(34.0, 7500.0, "birch plywood across the weaker grain, from memory"),
        SheetMaterial::ExteriorPly => wood(20.0, 6000.0, "softwood plywood across the weaker grain, from memory"),
        SheetMaterial::HardwoodBoards => wood(40.0, 12_000.0, "hardwood of class D40, from memory"),
        SheetMaterial::TreadSteel | SheetMaterial::SheetSteel | SheetMaterial::GalvanisedSheet => {
            metal(235.0, 210_000.0, "S235 plate, EN 1993-1-1 table 3.1; its pattern not counted", Sure::Read)
        }
        SheetMaterial::SheetAluminium => metal(160.0, 70_000.0, "5052-H32, least value from memory", Sure::Memory),
        SheetMaterial::TreadAluminium => {
            metal(130.0, 70_000.0, "tread plate of a 5000 alloy, from memory; its pattern not counted", Sure::Memory)
        }
        SheetMaterial::ExpandedMetal => return None,
    })
}

/// A wheel in the middle of a span.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    pub force_n: f64,
    /// Between the supports, clear.
    pub span_mm: f64,
    /// Of the wheel, along and across the span.
    pub contact_mm: f64,
    pub width_mm: f64,
}

impl Patch {
    /// Width of sheet that carries it: the tyre's and half of the span on each side taken together (common practice, no source).
    pub fn bearing_mm(&self, sheet_width_mm: f64) -> f64 {
        (self.width_mm + self.span_mm / 2.0).min(sheet_width_mm.max(self.width_mm))
    }

    /// M = F s / 4 (1 − c / (2 s)), N·mm: simply supported, the force spread over the contact. Source: statics.
    pub fn moment_nmm(&self) -> f64 {
        let contact = self.contact_mm.min(self.span_mm);
        self.force_n * self.span_mm / 4.0 * (1.0 - contact / (2.0 * self.span_mm.max(1.0)))
    }

    /// F s³ / (48 E I), mm.
    pub fn deflection_mm(&self, e_mpa: f64, bearing_mm: f64, thickness_mm: f64) -> f64 {
        let inertia = bearing_mm * thickness_mm.powi(3) / 12.0;
        self.force_n * self.span_mm.powi(3) / (48.0 * e_mpa * inertia)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Statics: a force spread over the whole span gives F s / 8; at a point F s / 4; F s³ / 48 E I in the middle.
    #[test]
    fn a_patch_lies_between_point_and_spread_load() {
        let patch = |contact_mm| Patch { force_n: 1000.0, span_mm: 400.0, contact_mm, width_mm: 80.0 };
        assert!((patch(0.0).moment_nmm() - 100_000.0).abs() < 1e-9);
        assert!((patch(400.0).moment_nmm() - 50_000.0).abs() < 1e-9);
        assert!((patch(900.0).moment_nmm() - 50_000.0).abs() < 1e-9);
        let deflection = patch(0.0).deflection_mm(7500.0, 280.0, 15.0);
        let by_hand = 1000.0 * 400f64.powi(3) / (48.0 * 7500.0 * 280.0 * 15f64.powi(3) / 12.0);
        assert!((deflection - by_hand).abs() < 1e-9);
    }
}
