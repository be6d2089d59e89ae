//! Prisms along a line and bodies turned about it: all that a trailer is made of.

use std::f64::consts::TAU;

use super::{
    clip::triangles,
    mesh::{Mesh, Place},
};
use crate::domain::trailer::Point;

type Flat = [f64; 2];

/// Around a wheel; around a small part.
pub const ROUND: usize = 32;
pub const SMALL: usize = 12;

/// An outline swept along the first axis. Its points are x to the right and y up as seen along that axis, anticlockwise; a
/// second outline with as many points is a hole through it. `ends` say where each point's line begins and ends.
pub fn prism(outlines: &[Vec<Flat>], ends: impl Fn(Flat) -> [f64; 2]) -> Mesh {
    let Some(outside) = outlines.first() else { return Mesh::default() };
    let set = |point: Flat, end: usize| [ends(point)[end], -point[0], point[1]];
    let mut faces = Vec::new();
    let mut walls = |outline: &[Flat], outwards: bool| {
        for (nth, a) in outline.iter().enumerate() {
            let b = outline[(nth + 1) % outline.len()];
            let mut face = vec![set(b, 0), set(*a, 0), set(*a, 1), set(b, 1)];
            if !outwards {
                face.reverse();
            }
            faces.push(face);
        }
    };
    walls(outside, true);
    let mut caps: Vec<Vec<Flat>> = Vec::new();
    match outlines.get(1).filter(|inside| inside.len() == outside.len()) {
        Some(inside) => {
            walls(inside, false);
            for nth in 0..outside.len() {
                let next = (nth + 1) % outside.len();
                caps.push(vec![outside[nth], outside[next], inside[next], inside[nth]]);
            }
        }
        None if is_convex(outside) => caps.push(outside.clone()),
        None => caps.extend(triangles(outside).iter().map(|corners| corners.map(|at| outside[at]).to_vec())),
    }
    for cap in caps {
        faces.push(cap.iter().map(|point| set(*point, 0)).collect());
        faces.push(cap.iter().rev().map(|point| set(*point, 1)).collect());
    }
    Mesh::closed(faces)
}

fn is_convex(outline: &[Flat]) -> bool {
    let count = outline.len();
    (0..count).all(|at| {
        let [a, b, c] = [0, 1, 2].map(|step| outline[(at + step) % count]);
        (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) >= -1e-9
    })
}

/// A box around its middle.
pub fn cuboid([length, width, height]: Point) -> Mesh {
    prism(&[rectangle(width, height)], |_| [-length / 2.0, length / 2.0])
}

pub fn rectangle(width: f64, height: f64) -> Vec<Flat> {
    let (x, y) = (width / 2.0, height / 2.0);
    vec![[-x, -y], [x, -y], [x, y], [-x, y]]
}

/// A profile of (place along the first axis, radius) turned about that axis; a closed ring unless it begins and ends on the
/// axis.
pub fn turned(profile: &[Flat], around: usize) -> Mesh {
    let spot = |[along, radius]: Flat, nth: usize| {
        let (sin, cos) = (TAU * (nth % around) as f64 / around as f64).sin_cos();
        [along, radius * cos, radius * sin]
    };
    let on_axis = |point: Option<&Flat>| point.is_some_and(|[_, radius]| *radius == 0.0);
    let open = on_axis(profile.first()) && on_axis(profile.last());
    let steps = profile.len() - usize::from(open);
    let mut faces = Vec::with_capacity(steps * around);
    for step in 0..steps {
        let (a, b) = (profile[step], profile[(step + 1) % profile.len()]);
        // A flat end is one face.
        if open && a[0] == b[0] && (a[1] == 0.0 || b[1] == 0.0) {
            let rim = if a[1] == 0.0 { b } else { a };
            let mut face: Vec<Point> = (0..around).map(|nth| spot(rim, nth)).collect();
            if b[1] == 0.0 {
                face.reverse();
            }
            faces.push(face);
            continue;
        }
        for nth in 0..around {
            faces.push(vec![spot(a, nth), spot(b, nth), spot(b, nth + 1), spot(a, nth + 1)]);
        }
    }
    Mesh::closed(faces)
}

/// A round bar around its middle.
pub fn cylinder(length: f64, radius: f64, around: usize) -> Mesh {
    let half = length / 2.0;
    turned(&[[-half, 0.0], [-half, radius], [half, radius], [half, 0.0]], around)
}

/// A strip of so thick a sheet, bent along a line of (x, z) and so wide across it: whole, and its straight pieces.
pub fn strip(line: &[Flat], thickness: f64, width: f64) -> (Mesh, Vec<Mesh>) {
    let count = line.len();
    let slope = |from: usize| {
        let [dx, dz] = [line[from + 1][0] - line[from][0], line[from + 1][1] - line[from][1]];
        let length = dx.hypot(dz).max(1e-9);
        [-dz / length, dx / length]
    };
    let offsets: Vec<Flat> = (0..count)
        .map(|at| {
            let (before, after) = (slope(at.saturating_sub(1).min(count - 2)), slope(at.min(count - 2)));
            let sum = [before[0] + after[0], before[1] + after[1]];
            // Along the bisector the sheet is as thick as its mitre is long.
            let by = thickness / (sum[0] * sum[0] + sum[1] * sum[1]).max(0.2);
            [sum[0] * by, sum[1] * by]
        })
        .collect();
    let side = |at: usize, sign: f64| [line[at][0] + sign * offsets[at][0], line[at][1] + sign * offsets[at][1]];
    let between = |from: usize, to: usize| {
        let under = (from..=to).map(|at| side(at, -1.0));
        let over = (from..=to).rev().map(|at| side(at, 1.0));
        let outline: Vec<Flat> = under.chain(over).collect();
        // Swept across: the second axis, so the outline's x is the body's x.
        let across = Place { at: [0.0; 3], axes: [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]] };
        prism(&[outline], |_| [-width / 2.0, width / 2.0]).placed(&across)
    };
    (between(0, count - 1), (0..count - 1).map(|at| between(at, at + 1)).collect())
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::{super::mesh::tests::assert_closed, *};

    #[test]
    fn simple_bodies_are_closed_and_as_large_as_the_formulas_say() {
        let near = |mesh: &Mesh, expect: f64, within: f64| {
            assert_closed(mesh);
            let found = mesh.volume_mm3();
            assert!((found / expect - 1.0).abs() < within, "{found} instead of {expect}");
        };
        near(&cuboid([2.0, 3.0, 4.0]), 24.0, 1e-9);
        // A polygon of n sides fills n/2 sin(2π/n) / π of its circle.
        let share = ROUND as f64 / 2.0 * (TAU / ROUND as f64).sin() / PI;
        near(&cylinder(10.0, 5.0, ROUND), PI * 250.0 * share, 1e-9);
        let ring = turned(&[[-1.0, 4.0], [1.0, 4.0], [1.0, 5.0], [-1.0, 5.0]], ROUND);
        near(&ring, PI * (25.0 - 16.0) * 2.0 * share, 1e-9);
        let (bent, pieces) = strip(&[[0.0, 0.0], [100.0, 0.0], [100.0 + 60.0, -80.0]], 2.0, 50.0);
        near(&bent, 200.0 * 2.0 * 50.0, 1e-9);
        assert!((pieces.iter().map(Mesh::volume_mm3).sum::<f64>() / bent.volume_mm3() - 1.0).abs() < 1e-9);
    }
}
