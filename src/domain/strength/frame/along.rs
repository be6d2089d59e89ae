//! What goes through a beam at any place along it.

use super::{
    beam::{Local, Twelve},
    model::BeamLoad,
    solve::Solver,
    vector::{V3, add, cross, scaled, sub},
};

/// Through a section, in the beam's own axes: what the part behind it does to the part before it. N, Vy, Vz (N), T, My, Mz (N mm). Tension is
/// positive; My presses nothing at z above, so σ = N / A + My z / Iy − Mz y / Iz.
pub type Forces = [f64; 6];

/// The stations of one beam: fixed places where forces are known for every load, in falling order of nothing but x.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// mm from the first end. A place where a point load acts stands twice: just before it and just behind it.
    pub at: Vec<f64>,
}

impl Run {
    /// Both ends, and every place at which one of these loads acts, begins or ends.
    pub fn of<'l>(length: f64, loads: impl Iterator<Item = &'l BeamLoad>) -> Self {
        let mut at = vec![0.0, length];
        for load in loads {
            match *load {
                BeamLoad::Point { at: place, .. } => at.extend([place, place]),
                BeamLoad::Line { from, to, .. } => at.extend([from, to]),
            }
        }
        at.iter_mut().for_each(|place| *place = place.clamp(0.0, length));
        at.sort_by(f64::total_cmp);
        // A point load needs its place twice, more is nothing new.
        let mut kept: Vec<f64> = Vec::with_capacity(at.len());
        for place in at {
            let close = kept.iter().rev().take_while(|other| (place - **other).abs() < 1e-6).count();
            if close < 2 {
                kept.push(place);
            }
        }
        Self { at: kept }
    }

    /// Forces at every station, from the forces on the first end and the loads on the beam. Of a doubled station the first stands
    /// before, the second behind the loads that act there.
    pub fn forces(&self, ends: &Twelve, loads: &[Local]) -> Vec<Forces> {
        let doubled = |nth: usize| nth > 0 && (self.at[nth] - self.at[nth - 1]).abs() < 1e-6;
        (0..self.at.len()).map(|nth| at_place(ends, loads, self.at[nth], doubled(nth))).collect()
    }
}

fn at_place(ends: &Twelve, loads: &[Local], x: f64, behind: bool) -> Forces {
    let here = [x, 0.0, 0.0];
    let mut force: V3 = [ends[0], ends[1], ends[2]];
    let mut moment = sub([ends[3], ends[4], ends[5]], cross(here, force));
    let mut count = |at: f64, f: V3, m: V3| {
        force = add(force, f);
        moment = add(moment, add(m, cross([at - x, 0.0, 0.0], f)));
    };
    for load in loads {
        match *load {
            Local::Point { at, force, moment } => {
                if at < x - 1e-6 || (behind && at < x + 1e-6) {
                    count(at, force, moment);
                }
            }
            Local::Line { from, to, per_mm } if from < x => {
                let share = if to > from { ((x - from) / (to - from)).min(1.0) } else { 1.0 };
                let last = add(scaled(per_mm[0], 1.0 - share), scaled(per_mm[1], share));
                let part = Local::Line { from, to: x.min(to), per_mm: [per_mm[0], last] };
                part.points().into_iter().for_each(|(at, f, m)| count(at, f, m));
            }
            Local::Line { .. } => {}
        }
    }
    [-force[0], -force[1], -force[2], -moment[0], -moment[1], -moment[2]]
}

/// Where a shear force vanishes between two stations, and the forces there. Between stations loads are straight lines, so shear is a
/// parabola and the moment a cubic, both known from their values at the two ends.
pub fn peaks(length: f64, a: &Forces, b: &Forces) -> impl Iterator<Item = (f64, Forces)> {
    // dMy/dx = Vz, dMz/dx = −Vy.
    let planes = [(2, 4, 1.0), (1, 5, -1.0)];
    let load = |v: usize, m: usize, sign: f64| {
        // V(b) − V(a) = l (q0 + q1) / 2; M(b) − M(a) = V(a) l + l² (2 q0 + q1) / 6.
        let sum = 2.0 * (b[v] - a[v]) / length;
        let twice = 6.0 * (sign * (b[m] - a[m]) - a[v] * length) / (length * length);
        (twice - sum, 2.0 * sum - twice)
    };
    let at = move |x: f64, a: &Forces, b: &Forces| {
        let share = x / length;
        let mut here: Forces = [0, 1, 2, 3, 4, 5].map(|part| a[part] + share * (b[part] - a[part]));
        for (v, m, sign) in planes {
            let sum = 2.0 * (b[v] - a[v]) / length;
            let twice = 6.0 * (sign * (b[m] - a[m]) - a[v] * length) / (length * length);
            let (q0, q1) = (twice - sum, 2.0 * sum - twice);
            let slope = (q1 - q0) / length;
            here[v] = a[v] + q0 * x + slope * x * x / 2.0;
            here[m] = a[m] + sign * (a[v] * x + q0 * x * x / 2.0 + slope * x.powi(3) / 6.0);
        }
        here
    };
    let mut found = Vec::new();
    for (v, m, sign) in planes {
        if a[v] * b[v] >= 0.0 || length < 1e-6 {
            continue;
        }
        let (q0, q1) = load(v, m, sign);
        let slope = (q1 - q0) / length;
        // slope/2 x² + q0 x + V(a) = 0, the root between the ends, without cancelling.
        let (c, root) = (a[v], (q0 * q0 - 2.0 * slope * a[v]).max(0.0).sqrt());
        let q = -(q0 + q0.signum() * root);
        let roots = [2.0 * c / q, q / slope];
        if let Some(x) = roots.into_iter().find(|x| x.is_finite() && *x > 0.0 && *x < length) {
            found.push((x, at(x, a, b)));
        }
    }
    found.into_iter()
}

impl Solver<'_> {
    /// Loads on one beam in its own axes.
    pub fn local(&self, beam: usize, loads: &[BeamLoad]) -> Vec<Local> {
        let axes = &self.element(beam).axes;
        loads.iter().filter(|load| load.beam() == beam).map(|load| Local::of(axes, load)).collect()
    }
}
