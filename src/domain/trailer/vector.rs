//! The little vector arithmetic that building needs.

use super::Point;

pub const FORWARD: Point = [-1.0, 0.0, 0.0];
pub const REARWARD: Point = [1.0, 0.0, 0.0];
pub const RIGHT: Point = [0.0, 1.0, 0.0];
pub const UP: Point = [0.0, 0.0, 1.0];

/// `point` moved by `by` along `direction`.
pub fn moved(point: Point, direction: Point, by: f64) -> Point {
    [0, 1, 2].map(|axis| point[axis] + direction[axis] * by)
}

pub fn cross(a: Point, b: Point) -> Point {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

pub fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Angle between two lines, 0 to 90 degrees.
pub fn angle_between_deg(a: Point, b: Point) -> f64 {
    dot(a, b).abs().min(1.0).acos().to_degrees()
}
