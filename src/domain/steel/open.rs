//! Angles and channels: exact areas and moments of their outlines, torsion by the formulas for open sections.

use super::{
    channels::{Rolled, angle_root_mm, rolled_channel},
    outline::{Corner, corner, integrals, plastic_modulus},
    properties::{Properties, STEEL_KG_PER_M3},
    section::Section,
};

/// The upright leg at the left, the lying one below; root fillet, toes rounded with half its radius.
pub fn angle_outline(section: &Section) -> Vec<Corner> {
    let (depth, width, t) = (section.depth_mm(), section.width_mm(), section.wall_mm());
    let (root, toe) = angle_radii(section);
    let (x, y) = (width / 2.0, depth / 2.0);
    vec![
        corner(-x, -y, 0.0),
        corner(x, -y, 0.0),
        corner(x, -y + t, toe),
        corner(-x + t, -y + t, root),
        corner(-x + t, y, toe),
        corner(-x, y, 0.0),
    ]
}

fn angle_radii(section: &Section) -> (f64, f64) {
    let t = section.wall_mm();
    let leg = section.depth_mm().min(section.width_mm()) - t;
    // A thick small leg leaves less room than the table's radius takes.
    let root = angle_root_mm(section).0.min(leg / 1.5);
    (root, (root / 2.0).min(t))
}

/// The web at the left, flanges to the right.
pub fn channel_outline(section: &Section) -> Vec<Corner> {
    let (depth, width, web, flange) =
        (section.depth_mm(), section.width_mm(), section.wall_mm(), section.flange().mm());
    let (x, y) = (width / 2.0, depth / 2.0);
    let shape = channel_shape(section);
    let nominal_at = if shape.at_outstand { (width + web) / 2.0 } else { width / 2.0 };
    let thickness = |from_back: f64| flange + shape.taper * (nominal_at - from_back);
    let (tip, root) = (thickness(width), thickness(web));
    let back = if is_pressed(section) { 2.0 * web } else { 0.0 };
    vec![
        corner(-x, -y, back),
        corner(x, -y, 0.0),
        corner(x, -y + tip, shape.toe_mm.min(0.9 * tip)),
        corner(-x + web, -y + root, shape.root_mm),
        corner(-x + web, y - root, shape.root_mm),
        corner(x, y - tip, shape.toe_mm.min(0.9 * tip)),
        corner(x, y, 0.0),
        corner(-x, y, back),
    ]
}

fn is_pressed(section: &Section) -> bool {
    section.wall() == section.flange()
}

/// Pressed from sheet: inside radius = thickness, no taper. The radii are held to the room that the sides leave.
fn channel_shape(section: &Section) -> Rolled {
    let (web, flange) = (section.wall_mm(), section.flange().mm());
    let shape = if is_pressed(section) {
        Rolled { root_mm: web, toe_mm: 0.0, taper: 0.0, at_outstand: false, read: false }
    } else {
        rolled_channel(section)
    };
    let outstand = section.width_mm() - web;
    let inside = section.depth_mm() - 2.0 * flange;
    let room = (0.4 * outstand).min(0.4 * inside);
    // The tip keeps a fifth of the flange.
    let taper = shape.taper.min(1.6 * flange / section.width_mm());
    Rolled { root_mm: shape.root_mm.min(room), toe_mm: shape.toe_mm.min(room), taper, ..shape }
}

pub fn angle(section: &Section) -> Properties {
    let (d, b, t) = (section.depth_mm(), section.width_mm(), section.wall_mm());
    let (root, toe) = angle_radii(section);
    let long = d.max(b);
    let other = d.min(b) - t;
    let joint = joint_torsion(t, t, root);
    let j = torsion_of_end(long, t) + other * t.powi(3) * (1.0 / 3.0 - 0.105 * t / other) + joint;
    let tabled = angle_root_mm(section).1;
    let radii = if tabled { "EN 10056-1, from memory" } else { "of the nearest equal angle, EN 10056-1, from memory" };
    Properties {
        av_depth_mm2: d * t,
        av_width_mm2: b * t,
        flat_depth_mm: d,
        flat_width_mm: b,
        source: format!(
            "Exact area of the outline with root radius {root:.1} mm and toe {toe:.1} mm ({radii}); torsion by the formula for an L of two \
             rectangles and a fillet (Roark table 10.7, from memory, within 5 % of finite elements)"
        ),
        ..of_outline(&angle_outline(section), j, t)
    }
}

pub fn channel(section: &Section) -> Properties {
    let (h, b, web, flange) = (section.depth_mm(), section.width_mm(), section.wall_mm(), section.flange().mm());
    let shape = channel_shape(section);
    let inside = h - 2.0 * flange;
    let pressed = is_pressed(section);
    let corners = if pressed { 0.0 } else { 2.0 * joint_torsion(web, flange, shape.root_mm) };
    let area = integrals(&channel_outline(section)).area;
    let j = if pressed {
        area * web.powi(2) / 3.0
    } else {
        // ∫t³ over a tapered flange is greater than that of its mean thickness.
        let tapered = 1.0 + (shape.taper * (b - web) / 2.0 / flange).powi(2);
        2.0 * torsion_of_end(b, flange) * tapered + inside * web.powi(3) / 3.0 + corners
    };
    let source = if pressed {
        "Exact area of the outline of a pressed channel, inside radius = thickness (assumed), parallel flanges; torsion A t²/3".to_owned()
    } else {
        format!(
            "Exact area of the outline with flange taper {:.1} %, root radius {:.1} mm, toe {:.1} mm ({}); torsion by the formula for a channel \
             (Roark table 10.7, from memory, within 5 % of finite elements)",
            100.0 * shape.taper,
            shape.root_mm,
            shape.toe_mm,
            if shape.read {
                "AISC dimensions, read; toe and taper from memory"
            } else {
                "DIN 1026-1 or IS 808, from memory"
            }
        )
    };
    Properties {
        // EN 1993-1-1 6.2.6(3)b and d: load along the web, never below the web itself; across, all but the web.
        av_depth_mm2: (area - 2.0 * b * flange + (web + shape.root_mm) * flange).max(inside * web),
        av_width_mm2: area - inside * web,
        flat_depth_mm: inside - 2.0 * shape.root_mm,
        flat_width_mm: b - web - shape.root_mm,
        source,
        ..of_outline(&channel_outline(section), j, web.max(flange))
    }
}

/// A rectangle of an open section with one free end and one end in a joint, its full length counted.
fn torsion_of_end(length: f64, t: f64) -> f64 {
    let ratio = t / length;
    length * t.powi(3) * (1.0 / 3.0 - 0.21 * ratio * (1.0 - ratio.powi(4) / 12.0))
}

/// What a filleted L-joint adds: α D⁴ with D the circle inscribed in the joint.
fn joint_torsion(one: f64, other: f64, root: f64) -> f64 {
    let (thin, thick) = (one.min(other), one.max(other));
    let share = thin / thick * (0.07 + 0.076 * root / thick);
    let circle = 2.0 * (3.0 * root + thin + thick - (2.0 * (2.0 * root + thin) * (2.0 * root + thick)).sqrt());
    share * circle.powi(4)
}

/// All that follows from an open outline alone; shear areas, flat parts and the source are the caller's.
fn of_outline(outline: &[Corner], j: f64, thickest: f64) -> Properties {
    let whole = integrals(outline);
    let centroid = [whole.x / whole.area, whole.y / whole.area];
    let (iy, ix, ixy) = whole.central();
    let reach = |pick: fn(&Corner) -> f64, centre: f64| {
        outline.iter().map(|corner| (pick(corner) - centre).abs()).fold(0.0, f64::max)
    };
    let weak = (ix + iy) / 2.0 - ((ix - iy) / 2.0).hypot(ixy);
    // Turned by a quarter, x → y, so that one function gives both plastic moduli.
    let turned: Vec<Corner> = outline.iter().map(|c| corner(-c.y, c.x, c.radius)).collect();
    Properties {
        mass_kg_per_m: whole.area * STEEL_KG_PER_M3 * 1e-6,
        area_mm2: whole.area,
        ix_mm4: ix,
        iy_mm4: iy,
        ixy_mm4: if ixy.abs() < 1e-6 * ix { 0.0 } else { ixy },
        wel_x_mm3: ix / reach(|c| c.y, centroid[1]),
        wel_y_mm3: iy / reach(|c| c.x, centroid[0]),
        wpl_x_mm3: plastic_modulus(outline),
        wpl_y_mm3: plastic_modulus(&turned),
        j_mm4: j,
        ct_mm3: j / thickest,
        av_depth_mm2: 0.0,
        av_width_mm2: 0.0,
        rx_mm: (ix / whole.area).sqrt(),
        ry_mm: (iy / whole.area).sqrt(),
        r_min_mm: (weak / whole.area).sqrt(),
        outside_m2_per_m: whole.around / 1000.0,
        inside_m2_per_m: 0.0,
        centroid_mm: centroid,
        flat_depth_mm: 0.0,
        flat_width_mm: 0.0,
        source: String::new(),
    }
}
