//! Vectors of three.

pub type V3 = [f64; 3];

pub fn add(a: V3, b: V3) -> V3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

pub fn sub(a: V3, b: V3) -> V3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

pub fn scaled(a: V3, by: f64) -> V3 {
    a.map(|part| part * by)
}

pub fn dot(a: V3, b: V3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub fn cross(a: V3, b: V3) -> V3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

pub fn norm(a: V3) -> f64 {
    dot(a, a).sqrt()
}

/// The first and the last three of six.
pub fn halves(six: [f64; 6]) -> [V3; 2] {
    [[six[0], six[1], six[2]], [six[3], six[4], six[5]]]
}

pub fn six(force: V3, moment: V3) -> [f64; 6] {
    [force[0], force[1], force[2], moment[0], moment[1], moment[2]]
}
