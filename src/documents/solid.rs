//! Members and panels as solids, and their outlines seen from one side.

use crate::domain::trailer::{CutPlane, LongPoint, Member, Panel, Point};

use super::drawing::Spot;

fn cross(a: Point, b: Point) -> Point {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn add(a: Point, b: Point, by: f64) -> Point {
    [0, 1, 2].map(|i| a[i] + b[i] * by)
}

/// Seen from above with the coupling, and so the way of travel, to the left: what is right of the trailer lies above, and y of a drawing
/// runs down.
pub(super) fn from_above([x, y, _]: Point) -> Spot {
    [x, -y]
}

/// The eight corners of a member's bounding box, each end moved back from the long point as it is cut.
pub(super) fn member_corners(member: &Member) -> [Point; 8] {
    let (direction, _) = member.direction();
    let depth_axis = member.depth_axis;
    let width_axis = cross(direction, depth_axis);
    let (depth, width) = (member.section.depth_mm() / 2.0, member.section.width_mm() / 2.0);
    let mut corners = [[0.0; 3]; 8];
    let mut index = 0;
    for (end, inward) in [(0, 1.0), (1, -1.0)] {
        let cut = member.cuts[end];
        for (up, side) in [(1.0, 1.0), (1.0, -1.0), (-1.0, -1.0), (-1.0, 1.0)] {
            let (reach, half) = match cut.plane {
                CutPlane::Depth => (up, depth),
                // The width axis points right, the top of the width plane is left.
                CutPlane::Width => (-side, width),
            };
            let long = match cut.long_point {
                LongPoint::Top => 1.0,
                LongPoint::Bottom => -1.0,
            };
            let back = (1.0 - reach * long) * half * cut.angle_deg.to_radians().tan();
            let at = add([member.from, member.to][end], direction, inward * back);
            corners[index] = add(add(at, depth_axis, up * depth), width_axis, side * width);
            index += 1;
        }
    }
    corners
}

pub(super) fn panel_corners(panel: &Panel) -> [Point; 8] {
    let normal = cross(panel.along, panel.across);
    let mut corners = [[0.0; 3]; 8];
    for (index, corner) in corners.iter_mut().enumerate() {
        let sign = |bit: usize| if index & bit == 0 { -0.5 } else { 0.5 };
        let flat =
            add(add(panel.centre, panel.along, sign(1) * panel.length.mm()), panel.across, sign(2) * panel.width.mm());
        *corner = add(flat, normal, sign(4) * panel.thickness_mm);
    }
    corners
}

/// Convex outline of points seen in the plane (monotone chain).
pub(super) fn outline(mut points: Vec<Spot>) -> Vec<Spot> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let turn = |o: Spot, a: Spot, b: Spot| (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
    let mut hull: Vec<Spot> = Vec::new();
    for pass in 0..2 {
        let start = hull.len();
        let forward: Vec<Spot> = if pass == 0 { points.clone() } else { points.iter().rev().copied().collect() };
        for point in forward {
            while hull.len() >= start + 2 && turn(hull[hull.len() - 2], hull[hull.len() - 1], point) <= 1e-9 {
                hull.pop();
            }
            hull.push(point);
        }
        hull.pop();
    }
    hull
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The left side rail of a mitred bed, front to rear: y is to the right, so its outer side is at the lesser y.
    const LEFT_RAIL: &str = r#"{"mark": "SR1", "role": "side-rail", "group": "frame", "section": "rhs 80x40x4", "grade": "S235",
        "from": [1000.0, -680.0, 500.0], "to": [3000.0, -680.0, 500.0], "depth_axis": [0.0, 0.0, 1.0],
        "cuts": [{"angle_deg": 45.0, "plane": "width", "long_point": "bottom", "capped": false},
                 {"angle_deg": 45.0, "plane": "width", "long_point": "bottom", "capped": false}],
        "length": 2000.0, "holes": []}"#;

    #[test]
    fn a_mitred_rail_is_longest_on_its_outer_side() {
        let rail: Member = serde_json::from_str(LEFT_RAIL).unwrap();
        let mut seen: Vec<[i64; 2]> =
            member_corners(&rail).iter().map(|[x, y, _]| [x.round() as i64, y.round() as i64]).collect();
        seen.sort_unstable();
        seen.dedup();
        assert_eq!(seen, [[1000, -700], [1040, -660], [2960, -660], [3000, -700]]);
    }

    #[test]
    fn the_outline_of_a_box_is_its_four_corners() {
        let points = vec![[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0], [1.0, 0.5], [1.0, 0.0]];
        assert_eq!(outline(points), vec![[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]]);
    }
}
