//! What a member bears: an elastic check of its section under N, My, Mz, V and T, with the class of its flat parts, the buckling of
//! slender members, and an allowance for thin walls.
//!
//! Source: EN 1993-1-1. 6.2.1(5), eq. (6.1) in the elastic form √(σ² + 3 τ²) ≤ f_y; class limits of table 5.2 (read); a part beyond class 3 is
//! allowed the stress at which it just reaches it, 5.5.2(9) (from memory); flexural buckling 6.3.1 with curve c, which suits cold-formed
//! hollow sections (from memory); lateral-torsional buckling of open sections in `lateral`. Aluminium: the same mechanics with its own modulus, and the strength of the heat-affected zone
//! where it is welded, after EN 1999-1-1 (from memory).

use super::{frame::Forces, lateral::Lateral};
use crate::{
    steel::{Grade, Metal, Properties, Section, SectionKind},
    trailer::Member,
};

/// Imperfection factors of buckling curves c and d (EN 1993-1-1 table 6.1, from memory).
pub const CURVE_C: f64 = 0.49;
pub const CURVE_D: f64 = 0.76;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    One = 1,
    Two = 2,
    Three = 3,
    Four = 4,
}

/// Class of an internal flat part, and of an outstand, by width over thickness; ε = √(235 / f_y). EN 1993-1-1 table 5.2 (read; outstands and
/// round tubes from memory).
pub fn class_in_bending(c_over_t: f64, fy: f64) -> Class {
    class(c_over_t, fy, [72.0, 83.0, 124.0])
}

pub fn class_in_compression(c_over_t: f64, fy: f64) -> Class {
    class(c_over_t, fy, [33.0, 38.0, 42.0])
}

fn class(c_over_t: f64, fy: f64, limits: [f64; 3]) -> Class {
    let epsilon = (235.0 / fy).sqrt();
    let classes = [Class::One, Class::Two, Class::Three];
    classes
        .into_iter()
        .zip(limits)
        .find(|(_, limit)| c_over_t <= limit * epsilon)
        .map_or(Class::Four, |(class, _)| class)
}

/// A member's section, ready to be checked thousands of times.
#[derive(Clone, Debug)]
pub struct Capacity {
    /// Yield strength that may be reckoned with, MPa: heat-affected zone and wall allowance taken off.
    pub strength: f64,
    pub section: Properties,
    /// 1 / A, and the same after class and buckling for compression.
    tension: f64,
    compression: f64,
    /// 1 / W about y and z, after class.
    bending: [f64; 2],
    /// 1 / shear area along y and z.
    shear: [f64; 2],
    /// 1 / torsion modulus.
    torsion: f64,
    /// Elastic critical forces about y and z, N.
    critical: [f64; 2],
    round: bool,
    /// Outline points of an angle about its principal axes, divided by Iz and Iy: σ from My and Mz.
    corners: Vec<[f64; 2]>,
    pub class: Class,
    /// Of an open section bent about its strong axis.
    pub lateral: Option<Lateral>,
}

/// How full a section is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Fill {
    /// √(σ² + 3 τ²), MPa.
    pub stress: f64,
    pub direct: f64,
    pub shear: f64,
    /// Parts of the direct stress: N, My, Mz.
    pub parts: [f64; 3],
}

/// Beyond this share of the critical force the growth of bending is no longer followed: the member is lost.
const MOST_OF_CRITICAL: f64 = 0.9;

impl Capacity {
    /// `turned`: of an angle's principal axes against its own. `allowance`: share by which a hollow section's wall may be thin. `unheld_mm`: the
    /// longest stretch between places where it is kept from tilting.
    pub fn of(member: &Member, turned: f64, welded: bool, allowance: f64, unheld_mm: f64) -> Self {
        let (section, grade) = (member.section, member.grade);
        let properties = section.properties();
        let (fy, class, reduced) =
            (section_strength(section, grade, welded), worst_class(&section, grade), reduced(&section, grade));
        let hollow = section.is_hollow();
        // A thin wall takes 0.9 of its share from the moduli (10 % of wall: 9 % of W, computed with the formulas of EN 10219).
        let left = if hollow { 1.0 - 0.9 * allowance } else { 1.0 };
        let length = member.direction().1;
        let critical = [properties.ix_mm4, properties.iy_mm4]
            .map(|i| std::f64::consts::PI.powi(2) * grade.e_mpa() * i / length.powi(2).max(1.0));
        let weakest = critical[0].min(critical[1]);
        let slender = (properties.area_mm2 * fy / weakest.max(1e-9)).sqrt();
        let chi = buckling_factor(slender, CURVE_C);
        let lateral = Lateral::of(&section, grade, properties.wel_x_mm3 * reduced[0] * fy, unheld_mm);
        let tilted = lateral.as_ref().map_or(1.0, |lateral| lateral.left);
        let corners = if properties.ixy_mm4.abs() > 1e-6 * properties.ix_mm4 {
            corners(&section, &properties, turned)
        } else {
            Vec::new()
        };
        Self {
            strength: fy * left,
            tension: 1.0 / properties.area_mm2,
            compression: 1.0 / (properties.area_mm2 * chi * reduced[2]),
            bending: [1.0 / (properties.wel_x_mm3 * reduced[0] * tilted), 1.0 / (properties.wel_y_mm3 * reduced[1])],
            shear: [1.0 / properties.av_width_mm2, 1.0 / properties.av_depth_mm2],
            torsion: 1.0 / properties.ct_mm3,
            critical,
            round: matches!(section.kind(), SectionKind::Chs | SectionKind::Round),
            corners,
            section: properties,
            class,
            lateral,
        }
    }

    /// How much worse a force along it (N, tension positive) makes bending about y and z: 1 / (1 − N / N_cr), at most tenfold.
    pub fn magnified(&self, n: f64) -> [f64; 2] {
        self.critical.map(|critical| {
            let share = (-n / critical).max(0.0);
            if share < MOST_OF_CRITICAL { 1.0 / (1.0 - share) } else { 1.0 / (1.0 - MOST_OF_CRITICAL) }
        })
    }

    /// Pressed so close to its elastic critical force that its use is no measure of how much is missing.
    pub fn buckles(&self, n: f64) -> bool {
        self.critical.iter().any(|critical| -n / critical >= MOST_OF_CRITICAL)
    }

    pub fn fill(&self, &[n, vy, vz, t, my, mz]: &Forces) -> Fill {
        let axial = if n >= 0.0 { n * self.tension } else { -n * self.compression };
        let [about_y, about_z] = self.magnified(n);
        let (my, mz) = (my * about_y, mz * about_z);
        let (by, bz) = if self.corners.is_empty() {
            (my.abs() * self.bending[0], mz.abs() * self.bending[1])
        } else {
            let most = self.corners.iter().map(|[y, z]| (my * z - mz * y).abs()).fold(0.0, f64::max);
            (most, 0.0)
        };
        let (bending, across) = if self.round {
            (by.hypot(bz), vy.hypot(vz) * self.shear[0])
        } else {
            (by + bz, vy.abs() * self.shear[0] + vz.abs() * self.shear[1])
        };
        let direct = axial + bending;
        let shear = across + t.abs() * self.torsion;
        Fill { stress: (direct * direct + 3.0 * shear * shear).sqrt(), direct, shear, parts: [axial, by, bz] }
    }
}

/// Yield strength of the section's wall; of welded aluminium that of its heat-affected zone.
fn section_strength(section: Section, grade: Grade, welded: bool) -> f64 {
    let fy = grade.fy_mpa(section.wall_mm());
    if grade.metal() == Metal::Aluminium && welded { fy * grade.haz_factor() } else { fy }
}

/// Flat parts over their thickness: along the depth, along the width; and whether the latter stands out.
fn flats(section: &Section) -> ([f64; 2], bool) {
    let properties = section.properties();
    let outstand = matches!(section.kind(), SectionKind::Channel | SectionKind::Angle);
    let (web, flange) = (section.design_wall_mm().max(0.1), section.flange().mm().max(0.1));
    match section.kind() {
        SectionKind::Channel | SectionKind::Angle => {
            ([properties.flat_depth_mm / web, properties.flat_width_mm / flange], outstand)
        }
        _ => ([properties.flat_depth_mm / web, properties.flat_width_mm / web], outstand),
    }
}

/// Of the flange in compression and the web in bending, the worse.
fn worst_class(section: &Section, grade: Grade) -> Class {
    let fy = grade.fy_mpa(section.wall_mm());
    let ([depth, width], outstand) = flats(section);
    if section.kind() == SectionKind::Chs {
        let ratio = section.depth_mm() / section.design_wall_mm() / (235.0 / fy);
        return if ratio <= 50.0 {
            Class::One
        } else if ratio <= 70.0 {
            Class::Two
        } else if ratio <= 90.0 {
            Class::Three
        } else {
            Class::Four
        };
    }
    let flange = if outstand { class(width, fy, [9.0, 10.0, 14.0]) } else { class_in_compression(width, fy) };
    flange.max(class_in_bending(depth, fy))
}

/// What is left of the strength in bending about y, about z and in compression where a part is beyond class 3.
fn reduced(section: &Section, grade: Grade) -> [f64; 3] {
    let fy = grade.fy_mpa(section.wall_mm());
    let epsilon = (235.0 / fy).sqrt();
    let ([depth, width], outstand) = flats(section);
    let left = |c_over_t: f64, limit: f64| {
        if c_over_t > limit * epsilon { (limit * epsilon / c_over_t).powi(2) } else { 1.0 }
    };
    let pressed = |c_over_t: f64| left(c_over_t, if outstand { 14.0 } else { 42.0 });
    let bent = |c_over_t: f64| left(c_over_t, 124.0);
    if section.kind() == SectionKind::Chs {
        let ratio = section.depth_mm() / section.design_wall_mm();
        let left = (90.0 * epsilon * epsilon / ratio).min(1.0);
        return [left; 3];
    }
    let web = if outstand && section.kind() == SectionKind::Angle { pressed(depth) } else { left(depth, 42.0) };
    [
        pressed(width).min(bent(depth)),
        web.min(if outstand { pressed(width) } else { bent(width) }),
        pressed(width).min(web),
    ]
}

/// χ of EN 1993-1-1 6.3.1.2, and of 6.3.2.2 in the same form (from memory).
pub fn buckling_factor(slenderness: f64, imperfection: f64) -> f64 {
    if slenderness <= 0.2 {
        return 1.0;
    }
    let phi = 0.5 * (1.0 + imperfection * (slenderness - 0.2) + slenderness * slenderness);
    (1.0 / (phi + (phi * phi - slenderness * slenderness).sqrt())).min(1.0)
}

/// Outline points in the principal axes, as factors: z / Iy and y / Iz.
fn corners(section: &Section, properties: &Properties, turned: f64) -> Vec<[f64; 2]> {
    let (ix, iy, ixy) = (properties.ix_mm4, properties.iy_mm4, properties.ixy_mm4);
    let (middle, half) = ((ix + iy) / 2.0, (ix - iy) / 2.0);
    let part = half * (2.0 * turned).cos() - ixy * (2.0 * turned).sin();
    let (about_y, about_z) = (middle + part, middle - part);
    let (sin, cos) = turned.sin_cos();
    let outline = section.drawn().into_iter().next().unwrap_or_default();
    outline
        .into_iter()
        .map(|[x, y]| {
            let (across, up) = (x - properties.centroid_mm[0], y - properties.centroid_mm[1]);
            let (u, v) = (across * cos + up * sin, up * cos - across * sin);
            // The beam's y points to the section's left.
            [-u / about_z, v / about_y]
        })
        .collect()
}
