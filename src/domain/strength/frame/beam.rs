//! One beam: its axes, its stiffness, and what a load on it does to its clamped ends.

use super::{
    model::{Beam, BeamLoad, Frame, Stiffness},
    vector::{V3, add, cross, dot, norm, scaled, six, sub},
};

pub type Twelve = [f64; 12];
pub type Matrix12 = [[f64; 12]; 12];

/// A beam's own axes as rows, its ends and its length.
#[derive(Clone, Copy, Debug)]
pub struct Axes {
    pub rows: [V3; 3],
    pub start: V3,
    pub length: f64,
}

impl Axes {
    pub fn of(frame: &Frame, beam: &Beam) -> Self {
        let (start, end) = (frame.end_place(&beam.ends[0]), frame.end_place(&beam.ends[1]));
        let along = sub(end, start);
        let length = norm(along);
        let x = scaled(along, 1.0 / length);
        // Where `up` is along the beam (or nothing), the axis that it is least along.
        let mut up = sub(beam.up, scaled(x, dot(beam.up, x)));
        if norm(up) < 1e-6 {
            let least = (0..3).min_by(|&a, &b| x[a].abs().total_cmp(&x[b].abs())).unwrap_or(2);
            let mut axis = [0.0; 3];
            axis[least] = 1.0;
            up = sub(axis, scaled(x, dot(axis, x)));
        }
        let z = scaled(up, 1.0 / norm(up));
        Self { rows: [x, cross(z, x), z], start, length }
    }

    pub fn to_local(&self, v: V3) -> V3 {
        self.rows.map(|row| dot(row, v))
    }

    pub fn to_frame(&self, v: V3) -> V3 {
        add(add(scaled(self.rows[0], v[0]), scaled(self.rows[1], v[1])), scaled(self.rows[2], v[2]))
    }

    pub fn at(&self, along: f64) -> V3 {
        add(self.start, scaled(self.rows[0], along))
    }
}

/// The stiffness in the beam's own axes, releases not yet let go.
pub fn stiffness(s: &Stiffness, length: f64) -> Matrix12 {
    let (l, l2, l3) = (length, length * length, length.powi(3));
    let mut k = [[0.0; 12]; 12];
    let mut set = |i: usize, j: usize, value: f64| {
        k[i][j] = value;
        k[j][i] = value;
    };
    for (dof, value) in [(0, s.e * s.area / l), (3, s.g * s.j / l)] {
        set(dof, dof, value);
        set(dof + 6, dof + 6, value);
        set(dof, dof + 6, -value);
    }
    // In the plane of x and y (moment about z), then of x and z (moment about y, with the other sign).
    for (shift, turn, sign, i, area) in
        [(1, 5, 1.0, s.iz, s.shear.map(|areas| areas[0])), (2, 4, -1.0, s.iy, s.shear.map(|areas| areas[1]))]
    {
        let phi = area.map_or(0.0, |area| 12.0 * s.e * i / (s.g * area * l2));
        let base = s.e * i / (1.0 + phi);
        let (a, b, c, d) = (12.0 * base / l3, 6.0 * base / l2 * sign, (4.0 + phi) * base / l, (2.0 - phi) * base / l);
        set(shift, shift, a);
        set(shift + 6, shift + 6, a);
        set(shift, shift + 6, -a);
        set(shift, turn, b);
        set(shift, turn + 6, b);
        set(shift + 6, turn, -b);
        set(shift + 6, turn + 6, -b);
        set(turn, turn, c);
        set(turn + 6, turn + 6, c);
        set(turn, turn + 6, d);
    }
    k
}

/// A load in a beam's own axes.
#[derive(Clone, Copy, Debug)]
pub enum Local {
    Point { at: f64, force: V3, moment: V3 },
    Line { from: f64, to: f64, per_mm: [V3; 2] },
}

impl Local {
    pub fn of(axes: &Axes, load: &BeamLoad) -> Self {
        match *load {
            BeamLoad::Point { at, force, moment, .. } => {
                Self::Point { at, force: axes.to_local(force), moment: axes.to_local(moment) }
            }
            BeamLoad::Line { from, to, per_mm, .. } => {
                Self::Line { from, to, per_mm: per_mm.map(|end| axes.to_local(end)) }
            }
        }
    }

    /// Point loads that do to the ends exactly what this load does: a line load's effect on a tip is a polynomial of the fourth degree in
    /// the place, which three Gauss points integrate without error.
    pub fn points(&self) -> Vec<(f64, V3, V3)> {
        match *self {
            Self::Point { at, force, moment } => vec![(at, force, moment)],
            Self::Line { from, to, per_mm } => {
                let (middle, half) = (f64::midpoint(from, to), (to - from) / 2.0);
                let root = 0.6f64.sqrt();
                [(-root, 5.0 / 9.0), (0.0, 8.0 / 9.0), (root, 5.0 / 9.0)]
                    .into_iter()
                    .map(|(at, weight)| {
                        let share = f64::midpoint(at, 1.0);
                        let here = add(scaled(per_mm[0], 1.0 - share), scaled(per_mm[1], share));
                        (middle + half * at, scaled(here, weight * half), [0.0; 3])
                    })
                    .collect()
            }
        }
    }
}

/// Forces of the clamped ends on the beam under a point load: the tip of a cantilever moves so much, and is pushed back.
pub fn clamped(s: &Stiffness, k: &Matrix12, length: f64, (at, force, moment): (f64, V3, V3)) -> Twelve {
    let (ey, ez) = (s.e * s.iy, s.e * s.iz);
    let [shear_y, shear_z] = s.shear.map_or([0.0; 2], |areas| areas.map(|area| 1.0 / (s.g * area)));
    let arm = at * at * (3.0 * length - at) / 6.0;
    let turn = at * (length - at / 2.0);
    let half = at * at / 2.0;
    let tip = [
        force[0] * at / (s.e * s.area),
        force[1] * (arm / ez + at * shear_y) + moment[2] * turn / ez,
        force[2] * (arm / ey + at * shear_z) - moment[1] * turn / ey,
        moment[0] * at / (s.g * s.j),
        (moment[1] * at - force[2] * half) / ey,
        (moment[2] * at + force[1] * half) / ez,
    ];
    let mut ends = [0.0; 12];
    for row in 0..6 {
        ends[6 + row] = -(0..6).map(|column| k[6 + row][6 + column] * tip[column]).sum::<f64>();
    }
    let (far, far_moment) = ([ends[6], ends[7], ends[8]], [ends[9], ends[10], ends[11]]);
    let near = scaled(add(force, far), -1.0);
    let arms = add(cross([at, 0.0, 0.0], force), cross([length, 0.0, 0.0], far));
    let near_moment = scaled(add(add(moment, far_moment), arms), -1.0);
    ends[..6].copy_from_slice(&six(near, near_moment));
    ends
}

/// A beam with its released ends let go: stiffness, and for each released place the row that turns clamped forces into free ones.
pub struct Element {
    pub axes: Axes,
    /// In its own axes, releases let go.
    pub stiffness: Matrix12,
    clamped: Matrix12,
    releases: Vec<(usize, Twelve)>,
}

impl Element {
    pub fn of(frame: &Frame, beam: &Beam) -> Self {
        let axes = Axes::of(frame, beam);
        let clamped = stiffness(&beam.stiffness, axes.length);
        let mut k = clamped;
        let mut releases = Vec::new();
        for dof in 0..12 {
            if !beam.ends[dof / 6].released[dof % 6] || k[dof][dof].abs() < 1e-9 * clamped[dof][dof] {
                continue;
            }
            let pivot = k[dof][dof];
            let row = k[dof].map(|value| value / pivot);
            for other in &mut k {
                let factor = other[dof];
                other.iter_mut().zip(row).for_each(|(value, share)| *value -= factor * share);
            }
            releases.push((dof, row));
        }
        for &(dof, _) in &releases {
            k[dof] = [0.0; 12];
            k.iter_mut().for_each(|row| row[dof] = 0.0);
        }
        Self { axes, stiffness: k, clamped, releases }
    }

    /// End forces under a load with both nodes held, releases let go.
    pub fn held_ends(&self, s: &Stiffness, load: &Local) -> Twelve {
        let mut sum = [0.0; 12];
        for point in load.points() {
            for (total, part) in sum.iter_mut().zip(clamped(s, &self.clamped, self.axes.length, point)) {
                *total += part;
            }
        }
        for &(dof, row) in &self.releases {
            let freed = sum[dof];
            for (total, share) in sum.iter_mut().zip(row) {
                *total -= freed * share;
            }
        }
        sum
    }

    /// Of a node's six displacements (or of an end's forces the other way round): one end's own axes over its rigid offset.
    /// local = R (u + θ × o).
    pub fn end_matrix(&self, offset: V3) -> [[f64; 6]; 6] {
        let mut t = [[0.0; 6]; 6];
        for (row, axis) in self.axes.rows.iter().enumerate() {
            t[row][..3].copy_from_slice(axis);
            // axis · (θ × o) = θ · (o × axis)
            t[row][3..].copy_from_slice(&cross(offset, *axis));
            t[row + 3][3..].copy_from_slice(axis);
        }
        t
    }

    /// The whole transformation, node displacements to local ones, as its two diagonal blocks.
    pub fn end_matrices(&self, beam: &Beam) -> [[[f64; 6]; 6]; 2] {
        beam.ends.map(|end| self.end_matrix(end.offset))
    }
}
