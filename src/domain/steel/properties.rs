//! The properties of a section, from its geometry.

use std::f64::consts::PI;

use serde::Serialize;

use super::{
    hollow, open,
    outline::{Corner, corner, integrals, points},
    section::{Section, SectionKind},
};

/// Density of structural steel, kg/m³ (EN 1991-1-1 table A.4 gives 77–78.5 kN/m³; the section tables use 7850).
pub const STEEL_KG_PER_M3: f64 = 7850.0;

/// What weighing, analysis, checks and drawing need of a section. x is the axis across (bending in the depth), y the upright one (bending
/// in the width); both through the centroid.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Properties {
    /// Of steel, 7850 kg/m³, with the nominal wall.
    pub mass_kg_per_m: f64,
    /// With the design wall (A500), else the nominal one; so all that follow.
    pub area_mm2: f64,
    pub ix_mm4: f64,
    pub iy_mm4: f64,
    /// Product of inertia about x and y: zero but for angles, whose principal axes are inclined.
    pub ixy_mm4: f64,
    /// The smaller elastic modulus about x.
    pub wel_x_mm3: f64,
    pub wel_y_mm3: f64,
    pub wpl_x_mm3: f64,
    pub wpl_y_mm3: f64,
    /// St Venant torsion constant.
    pub j_mm4: f64,
    /// Torsion modulus: torque over the greatest shear stress.
    pub ct_mm3: f64,
    /// Shear area for a force along the depth, EN 1993-1-1 6.2.6(3).
    pub av_depth_mm2: f64,
    /// Shear area for a force along the width.
    pub av_width_mm2: f64,
    pub rx_mm: f64,
    pub ry_mm: f64,
    /// About the weak principal axis.
    pub r_min_mm: f64,
    pub outside_m2_per_m: f64,
    /// Zero for a section that is not hollow.
    pub inside_m2_per_m: f64,
    /// From the middle of the box around the section: across and up.
    pub centroid_mm: [f64; 2],
    /// Flat part for the section class along the depth: c of a tube's side (h − 3t), of a channel's web, the outstand of an angle's upright
    /// leg; zero for round and solid bars.
    pub flat_depth_mm: f64,
    /// Flat part along the width: c of a tube's side (b − 3t), the outstand of a channel's flange or of an angle's lying leg.
    pub flat_width_mm: f64,
    /// Formula, standard, and how sure.
    pub source: String,
}

impl Section {
    pub fn properties(&self) -> Properties {
        match self.kind() {
            SectionKind::Shs | SectionKind::Rhs => hollow::rectangular(self),
            SectionKind::Chs => hollow::circular(self),
            SectionKind::Angle => open::angle(self),
            SectionKind::Channel => open::channel(self),
            SectionKind::Flat | SectionKind::Square => rectangle(self),
            SectionKind::Round => round(self),
        }
    }

    /// Mass of a metre of another material, nominal wall.
    pub fn mass_kg_per_m(&self, density_kg_per_m3: f64) -> f64 {
        let mass_of_steel = match self.kind() {
            // The area alone, without the search for their plastic moduli.
            SectionKind::Angle => integrals(&open::angle_outline(self)).area * STEEL_KG_PER_M3 * 1e-6,
            SectionKind::Channel => integrals(&open::channel_outline(self)).area * STEEL_KG_PER_M3 * 1e-6,
            _ => self.properties().mass_kg_per_m,
        };
        mass_of_steel * density_kg_per_m3 / STEEL_KG_PER_M3
    }

    /// The outside of the section, anticlockwise, and of a tube the inside, nominal dimensions; origin in the middle of the box around it, x
    /// across, y up.
    pub(super) fn outlines(&self) -> Vec<Vec<Corner>> {
        let (depth, width, wall) = (self.depth_mm(), self.width_mm(), self.wall_mm());
        let box_of = |inset: f64, radius: f64| {
            let (x, y) = (width / 2.0 - inset, depth / 2.0 - inset);
            vec![corner(-x, -y, radius), corner(x, -y, radius), corner(x, y, radius), corner(-x, y, radius)]
        };
        match self.kind() {
            SectionKind::Shs | SectionKind::Rhs => {
                let (outside, inside) = self.corner_radii_mm(wall);
                vec![box_of(0.0, outside), box_of(wall, inside)]
            }
            SectionKind::Chs => vec![box_of(0.0, depth / 2.0), box_of(wall, depth / 2.0 - wall)],
            SectionKind::Round => vec![box_of(0.0, depth / 2.0)],
            SectionKind::Flat | SectionKind::Square => vec![box_of(0.0, 0.0)],
            SectionKind::Angle => vec![open::angle_outline(self)],
            SectionKind::Channel => vec![open::channel_outline(self)],
        }
    }

    /// The outlines as points for drawing (chords of 15°): the outside anticlockwise, then the inside of a tube; origin in the middle of the
    /// box around the section, x across, y up, mm.
    pub fn drawn(&self) -> Vec<Vec<[f64; 2]>> {
        self.drawn_within(15.0)
    }

    /// As [`Section::drawn`], with chords of at most so many degrees.
    pub fn drawn_within(&self, chord_deg: f64) -> Vec<Vec<[f64; 2]>> {
        self.outlines().iter().map(|outline| points(outline, chord_deg)).collect()
    }
}

/// Torsion constant of a solid rectangle; series solution as fitted by Roark, table 10.7, within 0.5 % (from memory).
fn rectangle_torsion(a: f64, b: f64) -> f64 {
    let (long, short) = (a.max(b), a.min(b));
    let ratio = short / long;
    long * short.powi(3) * (1.0 / 3.0 - 0.21 * ratio * (1.0 - ratio.powi(4) / 12.0))
}

fn rectangle(section: &Section) -> Properties {
    let (h, b) = (section.depth_mm(), section.width_mm());
    let (area, ix, iy) = (b * h, b * h.powi(3) / 12.0, h * b.powi(3) / 12.0);
    let (long, short) = (h.max(b), h.min(b));
    let ratio = short / long;
    // Greatest shear stress of a twisted rectangle, Roark table 10.7 (from memory), 0.208 a³ for a square.
    let stress = 1.0 + ratio * (0.6095 + ratio * (0.8865 + ratio * (-1.8023 + ratio * 0.91)));
    Properties {
        mass_kg_per_m: area * STEEL_KG_PER_M3 * 1e-6,
        area_mm2: area,
        ix_mm4: ix,
        iy_mm4: iy,
        ixy_mm4: 0.0,
        wel_x_mm3: 2.0 * ix / h,
        wel_y_mm3: 2.0 * iy / b,
        wpl_x_mm3: b * h * h / 4.0,
        wpl_y_mm3: h * b * b / 4.0,
        j_mm4: rectangle_torsion(h, b),
        ct_mm3: long * short * short / (3.0 * stress),
        av_depth_mm2: area,
        av_width_mm2: area,
        rx_mm: (ix / area).sqrt(),
        ry_mm: (iy / area).sqrt(),
        r_min_mm: (ix.min(iy) / area).sqrt(),
        outside_m2_per_m: 2.0 * (h + b) / 1000.0,
        inside_m2_per_m: 0.0,
        centroid_mm: [0.0, 0.0],
        flat_depth_mm: 0.0,
        flat_width_mm: 0.0,
        source:
            "Exact rectangle, sharp corners; torsion by Roark's formula for a rectangle (from memory, within 0.5 %)"
                .into(),
    }
}

fn round(section: &Section) -> Properties {
    let d = section.depth_mm();
    let (area, i, wel) = (PI * d * d / 4.0, PI * d.powi(4) / 64.0, PI * d.powi(3) / 32.0);
    Properties {
        mass_kg_per_m: area * STEEL_KG_PER_M3 * 1e-6,
        area_mm2: area,
        ix_mm4: i,
        iy_mm4: i,
        ixy_mm4: 0.0,
        wel_x_mm3: wel,
        wel_y_mm3: wel,
        wpl_x_mm3: d.powi(3) / 6.0,
        wpl_y_mm3: d.powi(3) / 6.0,
        j_mm4: 2.0 * i,
        ct_mm3: 2.0 * wel,
        av_depth_mm2: area,
        av_width_mm2: area,
        rx_mm: d / 4.0,
        ry_mm: d / 4.0,
        r_min_mm: d / 4.0,
        outside_m2_per_m: PI * d / 1000.0,
        inside_m2_per_m: 0.0,
        centroid_mm: [0.0, 0.0],
        flat_depth_mm: 0.0,
        flat_width_mm: 0.0,
        source: "Exact circle".into(),
    }
}
