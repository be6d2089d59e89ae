//! Closed bodies of flat faces, and where they stand.

use crate::domain::trailer::Point;

/// A closed body: flat faces, each with its corners anticlockwise as seen from outside, millimetres.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    pub faces: Vec<Vec<Point>>,
}

/// Where a body stands: its origin and its three axes, right-handed unit vectors, in the trailer's axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    pub at: Point,
    pub axes: [Point; 3],
}

pub fn cross(a: Point, b: Point) -> Point {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

pub fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub fn minus(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// `point` moved by `by` along `direction`.
pub fn moved(point: Point, direction: Point, by: f64) -> Point {
    [0, 1, 2].map(|axis| point[axis] + direction[axis] * by)
}

fn unit(v: Point) -> Option<Point> {
    let length = dot(v, v).sqrt();
    (length > 1e-12).then(|| v.map(|part| part / length))
}

/// Outward unit normal of a face (Newell: twice the projected areas); none of a face without area.
pub fn normal(face: &[Point]) -> Option<Point> {
    let mut sum = [0.0; 3];
    for (nth, a) in face.iter().enumerate() {
        let part = cross(*a, face[(nth + 1) % face.len()]);
        sum = moved(sum, part, 1.0);
    }
    unit(sum)
}

impl Place {
    pub const ORIGIN: Self = Self { at: [0.0; 3], axes: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] };

    pub const fn level(at: Point) -> Self {
        Self { at, axes: Self::ORIGIN.axes }
    }

    /// The first axis along a direction, the third as near to `up` as it can be.
    pub fn along(at: Point, direction: Point, up: Point) -> Self {
        let x = unit(direction).unwrap_or([1.0, 0.0, 0.0]);
        let spare = if x[2].abs() > 0.9 { [1.0, 0.0, 0.0] } else { [0.0, 0.0, 1.0] };
        let y = unit(cross(up, x)).or_else(|| unit(cross(spare, x))).unwrap_or([0.0, 1.0, 0.0]);
        Self { at, axes: [x, y, cross(x, y)] }
    }

    pub fn of(&self, local: Point) -> Point {
        let [x, y, z] = self.axes;
        moved(moved(moved(self.at, x, local[0]), y, local[1]), z, local[2])
    }
}

impl Mesh {
    /// The faces, turned inside out where they were given from inside, without corners that coincide.
    pub fn closed(faces: Vec<Vec<Point>>) -> Self {
        let faces = faces.into_iter().map(without_repeats).filter(|face| normal(face).is_some()).collect();
        let mut mesh = Self { faces };
        if mesh.volume_mm3() < 0.0 {
            for face in &mut mesh.faces {
                face.reverse();
            }
        }
        mesh
    }

    /// By the divergence theorem: the sum of the pyramids on all faces.
    pub fn volume_mm3(&self) -> f64 {
        let fans = self.faces.iter().map(|face| {
            let pairs = face.windows(2).skip(1);
            pairs.map(|pair| dot(face[0], cross(pair[0], pair[1])) / 6.0).sum::<f64>()
        });
        fans.sum()
    }

    pub fn placed(&self, place: &Place) -> Self {
        let set = |face: &Vec<Point>| face.iter().map(|point| place.of(*point)).collect();
        Self { faces: self.faces.iter().map(set).collect() }
    }

    pub fn points(&self) -> impl Iterator<Item = Point> + '_ {
        self.faces.iter().flatten().copied()
    }

    /// Least and greatest coordinates.
    pub fn bounds(&self) -> [Point; 2] {
        self.points().fold([[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]], |[low, high], point| {
            [[0, 1, 2].map(|axis| low[axis].min(point[axis])), [0, 1, 2].map(|axis| high[axis].max(point[axis]))]
        })
    }
}

fn without_repeats(face: Vec<Point>) -> Vec<Point> {
    let same = |a: &Point, b: &Point| minus(*a, *b).iter().all(|part| part.abs() < 1e-7);
    let mut kept: Vec<Point> = Vec::with_capacity(face.len());
    for point in face {
        if kept.last().is_none_or(|last| !same(last, &point)) {
            kept.push(point);
        }
    }
    while kept.len() > 1 && same(&kept[0], &kept[kept.len() - 1]) {
        kept.pop();
    }
    kept
}

#[cfg(test)]
pub mod tests {
    use std::collections::BTreeMap;

    use super::*;

    /// Every edge is shared by faces that run along it in opposite directions: the body is closed and of one orientation.
    pub fn assert_closed(mesh: &Mesh) {
        let key = |point: &Point| point.map(|part| (part * 1e4).round() as i64);
        let mut edges: BTreeMap<_, i32> = BTreeMap::new();
        for face in &mesh.faces {
            for (nth, from) in face.iter().enumerate() {
                let (from, to) = (key(from), key(&face[(nth + 1) % face.len()]));
                *edges.entry((from, to)).or_default() += 1;
            }
        }
        for ((from, to), count) in &edges {
            assert_eq!(edges.get(&(*to, *from)), Some(count), "open along {from:?} to {to:?}");
        }
        assert!(mesh.volume_mm3() > 0.0, "inside out");
    }

    #[test]
    fn a_body_given_inside_out_is_turned() {
        let base = |z: f64| vec![[0.0, 0.0, z], [1.0, 0.0, z], [0.0, 1.0, z]];
        let (low, high) = (base(0.0), base(3.0));
        let mut faces = vec![low.clone(), high.iter().rev().copied().collect()];
        for nth in 0..3 {
            let next = (nth + 1) % 3;
            faces.push(vec![low[next], low[nth], high[nth], high[next]]);
        }
        let mesh = Mesh::closed(faces);
        assert_closed(&mesh);
        assert!((mesh.volume_mm3() - 1.5).abs() < 1e-12);
    }
}
