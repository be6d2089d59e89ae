//! Fillet welds between members, by the simplified method: whatever its direction, the resultant force on a millimetre of run is compared
//! with throat × f_vw,d.
//!
//! Source: EN 1993-1-8 4.5.3.3, f_vw,d = f_u / (√3 β_w γ_M2) with the weaker part's f_u, γ_M2 = 1.25 (read); the run as a line with the
//! outline of the contact, linear elastic (textbook). The standard's scope begins at 4 mm of material (2.5 mm for hollow sections to its
//! chapter 7) and at a throat of 3 mm (from memory): a smaller weld is still worked, and said to be outside it.

use super::{
    built::{Contact, along, at},
    frame::{
        Six,
        vector::{V3, cross, dot, halves, norm, scaled, sub},
    },
};
use crate::{
    steel::{Grade, Metal, SectionKind},
    trailer::{Trailer, Weld, WeldKind},
};

pub const GAMMA_M2: f64 = 1.25;
/// Least throat in the standard's scope, mm (from memory).
pub const LEAST_THROAT_MM: f64 = 3.0;

/// A run of fillet round a contact, as a line.
#[derive(Clone, Copy, Debug)]
pub struct Seam {
    pub number: u32,
    pub throat_mm: f64,
    /// f_vw,d, MPa.
    pub strength: f64,
    pub fu: f64,
    pub beta: f64,
    /// N/mm.
    pub capacity: f64,
    pub aluminium: bool,
    pub run_mm: f64,
    /// Out of the contact, and two across it.
    axes: [V3; 3],
    /// Section moduli of the line about the two across, and its polar one, mm².
    moduli: [f64; 3],
}

/// β_w by grade (table 4.1, read for S235, S275 and S355); the highest for a grade that the table does not name.
pub fn beta_w(grade: Grade) -> f64 {
    match grade.id() {
        "S235" => 0.8,
        "S275" => 0.85,
        _ => 0.9,
    }
}

/// f_vw,d, MPa.
pub fn shear_strength(fu: f64, beta: f64) -> f64 {
    fu / (3f64.sqrt() * beta * GAMMA_M2)
}

impl Seam {
    /// The fillet of a contact; none where the weld is a butt or there is none.
    pub fn of(trailer: &Trailer, contact: &Contact) -> Option<Self> {
        let weld: &Weld = trailer.welds.iter().find(|weld| weld.joint == contact.joint)?;
        if weld.kind != WeldKind::Fillet {
            return None;
        }
        let [first, second] = contact.members.map(|member| &trailer.members[member]);
        let strength_of = |grade: Grade, wall: f64| {
            let left = if grade.metal() == Metal::Aluminium { grade.haz_factor() } else { 1.0 };
            grade.fu_mpa(wall) * left
        };
        let fu =
            strength_of(first.grade, first.section.wall_mm()).min(strength_of(second.grade, second.section.wall_mm()));
        let aluminium = first.grade.metal() == Metal::Aluminium;
        let beta = if aluminium { 1.0 } else { beta_w(first.grade).max(beta_w(second.grade)) };
        let throat_mm = weld.size_mm / 2f64.sqrt();
        let strength = shear_strength(fu, beta);
        let on_line = at(first, along(first, contact.place));
        let out = sub(contact.place, on_line);
        let direction = first.direction().0;
        let (axes, moduli) = if norm(out) > 5.0 {
            // It lies on the other: a lozenge, reckoned as the rectangle of its sides.
            let normal = scaled(out, 1.0 / norm(out));
            let other = second.direction().0;
            let sine = norm(cross(direction, other)).max(0.2);
            let (p, q) = (second.section.width_mm() / sine, first.section.width_mm() / sine);
            let lie = sub(direction, scaled(normal, dot(direction, normal)));
            let lie = scaled(lie, 1.0 / norm(lie).max(1e-9));
            ([normal, lie, cross(normal, lie)], rectangle(p, q))
        } else {
            // Its end stands on the other: the outline of its section.
            let up = first.depth_axis;
            let moduli = match first.section.kind() {
                SectionKind::Chs | SectionKind::Round => circle(first.section.depth_mm()),
                _ => rectangle(first.section.depth_mm(), first.section.width_mm()),
            };
            ([direction, up, cross(direction, up)], moduli)
        };
        Some(Self {
            number: weld.number,
            throat_mm,
            strength,
            fu,
            beta,
            capacity: throat_mm * strength,
            aluminium,
            run_mm: weld.run_mm,
            axes,
            moduli,
        })
    }

    /// The greatest resultant on a millimetre of run, N/mm, from force and moment about the contact's middle.
    pub fn demand(&self, forces: &Six) -> f64 {
        let [force, moment] = halves(*forces);
        let [normal, p, q] = self.axes;
        let (pull, twist) = (dot(force, normal), dot(moment, normal));
        let shear = norm(sub(force, scaled(normal, pull)));
        // A moment about one axis across bends the line along the other.
        let bent = dot(moment, q).abs() / self.moduli[0] + dot(moment, p).abs() / self.moduli[1];
        let normal = pull.abs() / self.run_mm + bent;
        let along = shear / self.run_mm + twist.abs() / self.moduli[2];
        normal.hypot(along)
    }

    pub fn in_scope(&self) -> bool {
        self.throat_mm + 1e-9 >= LEAST_THROAT_MM && !self.aluminium
    }
}

/// Of a line round a rectangle p × q: moduli for bending along p, along q, and for turning in its plane.
fn rectangle(p: f64, q: f64) -> [f64; 3] {
    let (along_p, along_q) = (q * p * p / 2.0 + p.powi(3) / 6.0, p * q * q / 2.0 + q.powi(3) / 6.0);
    [along_p / (p / 2.0), along_q / (q / 2.0), (along_p + along_q) / (p.hypot(q) / 2.0)]
}

fn circle(d: f64) -> [f64; 3] {
    let bent = std::f64::consts::PI * d * d / 4.0;
    [bent, bent, 2.0 * bent]
}
