//! Members and panels as they are cut.

use super::{
    bodies::{cuboid, prism, rectangle, strip},
    mesh::{Mesh, Place, cross},
};
use crate::domain::{
    steel::SectionKind,
    trailer::{CutPlane, LongPoint, Member, Panel, Point},
};

/// Round corners of tubes as chords of so many degrees; whole rounds finer. A little more than a part of a right angle, so that
/// the last digits of an arc never make one chord more on one side of the wall.
const CORNER_DEG: f64 = 30.5;
const ROUND_DEG: f64 = 15.2;

pub fn member_place(member: &Member) -> Place {
    Place::along(member.from, member.direction().0, member.depth_axis)
}

/// The true section swept between both cuts, in the axes of [`member_place`].
pub fn member(member: &Member) -> Mesh {
    let round = matches!(member.section.kind(), SectionKind::Chs | SectionKind::Round);
    member_with_chords(member, if round { ROUND_DEG } else { CORNER_DEG })
}

pub fn member_with_chords(member: &Member, chord_deg: f64) -> Mesh {
    swept(member, &member.section.drawn_within(chord_deg))
}

/// The box around the section between both cuts: convex, for the still picture.
pub fn member_box(member: &Member) -> Mesh {
    let outlines = match member.section.kind() {
        SectionKind::Chs | SectionKind::Round => member.section.drawn_within(CORNER_DEG),
        _ => vec![rectangle(member.section.width_mm(), member.section.depth_mm())],
    };
    swept(member, &outlines[..outlines.len().min(1)])
}

fn swept(member: &Member, outlines: &[Vec<[f64; 2]>]) -> Mesh {
    let (_, length) = member.direction();
    let half = [member.section.width_mm() / 2.0, member.section.depth_mm() / 2.0];
    // The outlines' origin is the middle of the box; the member's line runs through the centroid.
    let centroid = match member.section.kind() {
        SectionKind::Angle | SectionKind::Channel => member.section.properties().centroid_mm,
        _ => [0.0; 2],
    };
    let back = |[right, up]: [f64; 2], end: usize| {
        let cut = member.cuts[end];
        // The top of the width plane is to the left.
        let (reach, half) = match cut.plane {
            CutPlane::Depth => (up, half[1]),
            CutPlane::Width => (-right, half[0]),
        };
        let long = match cut.long_point {
            LongPoint::Top => 1.0,
            LongPoint::Bottom => -1.0,
        };
        (half - reach * long) * cut.angle_deg.to_radians().tan()
    };
    let shifted: Vec<Vec<[f64; 2]>> = outlines
        .iter()
        .map(|outline| {
            let mut points: Vec<[f64; 2]> = outline.iter().map(|[x, y]| [x - centroid[0], y - centroid[1]]).collect();
            points.dedup_by(|a, b| (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-6);
            if let (Some(first), Some(last)) = (points.first(), points.last())
                && (first[0] - last[0]).hypot(first[1] - last[1]) < 1e-6
            {
                points.pop();
            }
            points
        })
        .collect();
    prism(&shifted, |[x, y]| {
        let point = [x + centroid[0], y + centroid[1]];
        let (from, to) = (back(point, 0), length - back(point, 1));
        // A piece shorter than its mitres ends where they meet.
        if from <= to { [from, to] } else { [f64::midpoint(from, to); 2] }
    })
}

pub fn panel_place(panel: &Panel) -> Place {
    Place { at: panel.centre, axes: [panel.along, panel.across, cross(panel.along, panel.across)] }
}

/// A plate with its cut-outs, or a sheet bent at its folds; in the axes of [`panel_place`]. And convex pieces of it, none
/// where it is convex itself (cut-outs are left closed in those).
pub fn panel(panel: &Panel) -> (Mesh, Vec<Mesh>) {
    let (length, width) = (panel.length.mm(), panel.width.mm());
    let folds: Vec<f64> = panel.folds_mm.iter().copied().filter(|fold| *fold > 1.0 && *fold < length - 1.0).collect();
    if !folds.is_empty() {
        return strip(&folded(length, &folds, panel.role.fold_deg()), panel.thickness_mm, width);
    }
    let whole = cuboid([length, width, panel.thickness_mm]);
    if panel.cut_outs.is_empty() { (whole, Vec::new()) } else { (pierced(panel), vec![whole]) }
}

/// The middle line of a folded sheet: each fold bends it down; its middle lies where the panel's centre is.
fn folded(length: f64, folds: &[f64], fold_deg: f64) -> Vec<[f64; 2]> {
    let bent_deg = |x: f64| fold_deg * folds.iter().filter(|fold| **fold < x).count() as f64;
    // What is longest, or in the middle, lies level.
    let mut places = vec![0.0];
    places.extend(folds);
    places.push(length);
    let level_deg = bent_deg(length) / if folds.len() > 1 { 2.0 } else { f64::INFINITY };
    let mut line = vec![[0.0, 0.0]];
    let (mut moment, mut at) = ([0.0; 2], [0.0; 2]);
    for pair in places.windows(2) {
        let run = pair[1] - pair[0];
        let (sin, cos) = (level_deg - bent_deg(f64::midpoint(pair[0], pair[1]))).to_radians().sin_cos();
        let next = [at[0] + run * cos, at[1] + run * sin];
        for axis in 0..2 {
            moment[axis] += run * f64::midpoint(at[axis], next[axis]);
        }
        at = next;
        line.push(at);
    }
    line.iter().map(|[x, z]| [x - moment[0] / length, z - moment[1] / length]).collect()
}

/// The plate as a grid between the edges of its cut-outs, walls where a cell has no neighbour.
fn pierced(panel: &Panel) -> Mesh {
    let (length, width, half) = (panel.length.mm(), panel.width.mm(), panel.thickness_mm / 2.0);
    let lines = |end: f64, axis: usize| {
        let mut at = vec![0.0, end];
        for cut in &panel.cut_outs {
            at.extend([cut[axis], cut[axis] + cut[axis + 2]].map(|edge| edge.clamp(0.0, end)));
        }
        at.sort_by(f64::total_cmp);
        at.dedup_by(|a, b| (*a - *b).abs() < 1e-3);
        at
    };
    let (xs, ys) = (lines(length, 0), lines(width, 1));
    let solid = |x: isize, y: isize| {
        if x < 0 || y < 0 || x + 1 >= xs.len() as isize || y + 1 >= ys.len() as isize {
            return false;
        }
        let (x, y) = (x as usize, y as usize);
        let middle = [f64::midpoint(xs[x], xs[x + 1]), f64::midpoint(ys[y], ys[y + 1])];
        !panel.cut_outs.iter().any(|[left, low, long, wide]| {
            middle[0] > *left && middle[0] < left + long && middle[1] > *low && middle[1] < low + wide
        })
    };
    let set = |x: usize, y: usize, z: f64| -> Point { [xs[x] - length / 2.0, ys[y] - width / 2.0, z] };
    let mut faces = Vec::new();
    for x in 0..xs.len() - 1 {
        for y in 0..ys.len() - 1 {
            let (column, row) = (x as isize, y as isize);
            if !solid(column, row) {
                continue;
            }
            let ring = [(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)];
            faces.push(ring.map(|(x, y)| set(x, y, half)).to_vec());
            faces.push(ring.iter().rev().map(|&(x, y)| set(x, y, -half)).collect());
            let neighbours = [(column, row - 1), (column + 1, row), (column, row + 1), (column - 1, row)];
            for (side, (beside_x, beside_y)) in neighbours.into_iter().enumerate() {
                if !solid(beside_x, beside_y) {
                    let (a, b) = (ring[side], ring[(side + 1) % 4]);
                    faces.push(vec![
                        set(a.0, a.1, -half),
                        set(b.0, b.1, -half),
                        set(b.0, b.1, half),
                        set(a.0, a.1, half),
                    ]);
                }
            }
        }
    }
    Mesh::closed(faces)
}
