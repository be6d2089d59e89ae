//! Solving every unit load once, and summing the cases: the fullest place of every member, of every weld, and what gives most.

use super::{
    built::{Built, Contact},
    capacity::{Capacity, Fill},
    cases::{Case, Plan, Stand, Unit},
    frame::{
        Forces, Frame, FrameFault, Local, Run, Six, Solver, peaks,
        vector::{V3, add, cross, sub},
    },
    standing::Hitched,
    welds::Seam,
};
use crate::{shop::StrengthFactors, trailer::Trailer};

/// What is kept of a unit load's solution.
pub struct Solved {
    /// Forces at every station of every beam, one after the other.
    stations: Vec<f64>,
    /// Through each contact, along the frame's axes, moments about its place.
    contacts: Vec<Six>,
    pub supports: Vec<f64>,
    pub coupling: Six,
    /// Up and down, of each node.
    lifted: Vec<f64>,
    pub residual: f64,
}

pub struct Solutions {
    runs: Vec<Run>,
    pub units: Vec<Solved>,
    /// Equations of the hitched frame.
    pub equations: usize,
}

/// The fullest place of one member over all cases.
#[derive(Clone, Copy, Debug)]
pub struct Worst {
    pub usage: f64,
    pub case: usize,
    pub at_mm: f64,
    pub forces: Forces,
    pub fill: Fill,
}

#[derive(Clone, Copy, Debug)]
pub struct WorstWeld {
    pub usage: f64,
    pub case: usize,
    pub contact: usize,
    /// N/mm of run.
    pub demand: f64,
    pub capacity: f64,
}

#[derive(Clone, Copy, Debug)]
pub struct Deflection {
    pub mm: f64,
    pub case: usize,
    pub node: usize,
}

pub struct Found {
    /// Of each member; none for those that are not analysed.
    pub members: Vec<Option<Worst>>,
    /// Of each beam.
    pub beams: Vec<f64>,
    pub welds: Vec<Option<WorstWeld>>,
    pub deflection: Option<Deflection>,
}

/// # Errors
/// A frame that can move freely.
pub fn solve(stands: &[(Stand, Frame)], units: &[Unit], built: &Built) -> Result<Solutions, FrameFault> {
    let mut solvers = Vec::new();
    for (stand, frame) in stands {
        if units.iter().any(|unit| unit.stand == *stand) {
            solvers.push((*stand, Solver::new(frame)?));
        }
    }
    let beams = built.frame.beams.len();
    let mut on: Vec<Vec<usize>> = vec![Vec::new(); beams];
    for (index, load) in units.iter().flat_map(|unit| &unit.load.beams).enumerate() {
        on[load.beam()].push(index);
    }
    let all: Vec<_> = units.iter().flat_map(|unit| &unit.load.beams).collect();
    let lengths: Vec<f64> = built.frame.beams.iter().map(|beam| built.frame.beam_length(beam)).collect();
    let runs: Vec<Run> =
        on.iter().zip(&lengths).map(|(loads, length)| Run::of(*length, loads.iter().map(|&load| all[load]))).collect();
    let mut solved = Vec::with_capacity(units.len());
    let mut equations = 0;
    for unit in units {
        let Some((stand, solver)) = solvers.iter().find(|(stand, _)| *stand == unit.stand) else { continue };
        if *stand == Stand::Hitched {
            equations = solver.size().0;
        }
        let solution = solver.solve(&unit.load);
        let mut own: Vec<Vec<Local>> = vec![Vec::new(); beams];
        for load in &unit.load.beams {
            own[load.beam()].push(Local::of(&solver.element(load.beam()).axes, load));
        }
        let mut stations = Vec::new();
        for ((run, ends), loads) in runs.iter().zip(&solution.ends).zip(&own) {
            run.forces(ends, loads).iter().for_each(|forces| stations.extend(forces));
        }
        let contacts = built.contacts.iter().map(|contact| through(contact, solver, &solution.ends)).collect();
        solved.push(Solved {
            stations,
            contacts,
            supports: solution.supports,
            coupling: solution.held[built.coupling],
            lifted: solution.moved.iter().map(|node| node[2]).collect(),
            residual: solution.residual,
        });
    }
    Ok(Solutions { runs, units: solved, equations })
}

/// What the joint's other members do to the first one, about the contact's place.
fn through(contact: &Contact, solver: &Solver<'_>, ends: &[[f64; 12]]) -> Six {
    let (mut force, mut moment): (V3, V3) = ([0.0; 3], [0.0; 3]);
    for &(beam, end) in &contact.ends {
        let axes = &solver.element(beam).axes;
        let local = &ends[beam][6 * end..6 * end + 6];
        let f = axes.to_frame([local[0], local[1], local[2]]);
        let m = axes.to_frame([local[3], local[4], local[5]]);
        let place = axes.at(if end == 0 { 0.0 } else { axes.length });
        force = add(force, f);
        moment = add(moment, add(m, cross(sub(place, contact.place), f)));
    }
    super::frame::vector::six(force, moment)
}

impl Solutions {
    fn sum(&self, terms: &[(usize, f64)], of: impl Fn(&Solved) -> &[f64], into: &mut Vec<f64>) {
        into.clear();
        for &(unit, factor) in terms {
            let Some(unit) = self.units.get(unit) else { continue };
            let values = of(unit);
            into.resize(into.len().max(values.len()), 0.0);
            for (total, value) in into.iter_mut().zip(values) {
                *total += factor * value;
            }
        }
    }

    /// A sum over a case's units of one figure each.
    pub fn total(&self, terms: &[(usize, f64)], of: impl Fn(&Solved) -> f64) -> f64 {
        terms.iter().filter_map(|(unit, factor)| Some(factor * of(self.units.get(*unit)?))).sum()
    }

    pub fn residual(&self) -> f64 {
        self.units.iter().map(|unit| unit.residual).fold(0.0, f64::max)
    }

    /// Goes through all cases.
    pub fn search(&self, search: &Search<'_>) -> Found {
        let built = search.built;
        let mut found = Found {
            members: vec![None; built.beams_of.len()],
            beams: vec![0.0; built.pieces.len()],
            welds: vec![None; built.contacts.len()],
            deflection: None,
        };
        let mut sum = Vec::new();
        for (nth, case) in search.cases.iter().enumerate() {
            let divisor = if case.service { search.factors.divisor_service } else { search.factors.divisor_test };
            self.sum(&case.terms, |unit| &unit.stations, &mut sum);
            self.members(search, nth, divisor, &sum, &mut found);
            self.welds(search, nth, divisor, &mut found);
            if case.service {
                self.sum(&case.terms, |unit| &unit.lifted, &mut sum);
                self.deflection(search, nth, &sum, &mut found);
            }
        }
        found
    }

    fn members(&self, search: &Search<'_>, case: usize, divisor: f64, sum: &[f64], found: &mut Found) {
        let mut stations = sum.chunks_exact(6).map(|six| [six[0], six[1], six[2], six[3], six[4], six[5]]);
        for (beam, (run, piece)) in self.runs.iter().zip(&search.built.pieces).enumerate() {
            let Some(capacity) = &search.capacities[piece.member] else { continue };
            let mut last: Option<(f64, Forces)> = None;
            let mut full = found.beams[beam];
            let mut look = |at: f64, forces: &Forces| {
                let fill = capacity.fill(forces);
                let usage = fill.stress * divisor / capacity.strength;
                if usage > full {
                    full = usage;
                    let worst = &mut found.members[piece.member];
                    if worst.is_none_or(|worst| usage > worst.usage) {
                        *worst = Some(Worst { usage, case, at_mm: piece.from_mm + at, forces: *forces, fill });
                    }
                }
            };
            for &at in &run.at {
                let Some(forces) = stations.next() else { return };
                look(at, &forces);
                if let Some((from, before)) = last
                    && at - from > 1e-3
                    && (before[1] * forces[1] < 0.0 || before[2] * forces[2] < 0.0)
                {
                    peaks(at - from, &before, &forces).for_each(|(x, forces)| look(from + x, &forces));
                }
                last = Some((at, forces));
            }
            found.beams[beam] = full;
        }
    }

    fn welds(&self, search: &Search<'_>, case: usize, divisor: f64, found: &mut Found) {
        for (contact, seam) in search.seams.iter().enumerate() {
            let Some(seam) = seam else { continue };
            let mut forces = [0.0; 6];
            for &(unit, factor) in &search.cases[case].terms {
                let Some(unit) = self.units.get(unit) else { continue };
                for (total, value) in forces.iter_mut().zip(unit.contacts[contact]) {
                    *total += factor * value;
                }
            }
            let (demand, capacity) = (seam.demand(&forces), seam.capacity / divisor);
            let usage = demand / capacity;
            if found.welds[contact].is_none_or(|worst| usage > worst.usage) {
                found.welds[contact] = Some(WorstWeld { usage, case, contact, demand, capacity });
            }
        }
    }

    /// Against the plane through the coupling and the wheels: what the frame bends, not what the springs give.
    fn deflection(&self, search: &Search<'_>, case: usize, lifted: &[f64], found: &mut Found) {
        let terms = &search.cases[case].terms;
        let hitched = terms.iter().all(|(unit, _)| search.plan.units[*unit].stand == Stand::Hitched);
        if !hitched || lifted.is_empty() {
            return;
        }
        let frame = &search.hitched.frame;
        let side = |wanted: f64| {
            let own = || search.hitched.wheels.iter().filter(move |wheels| wheels.side == wanted);
            let count = own().count().max(1) as f64;
            let (mut place, mut travel) = ([0.0; 3], 0.0);
            for wheels in own() {
                let Some(support) = frame.supports.get(wheels.support) else { continue };
                travel -= self.total(terms, |unit| unit.supports[wheels.support]) / support.stiffness / count;
                for at in &support.places {
                    let here = add(frame.nodes[at.node].place, at.offset);
                    place = add(place, here.map(|part| part * at.share / count));
                }
            }
            (place, travel)
        };
        let ((left, down_left), (right, down_right)) = (side(-1.0), side(1.0));
        let (x, apart) = (f64::midpoint(left[0], right[0]), right[1] - left[1]);
        if x < 1.0 || apart < 1.0 {
            return;
        }
        let tilt = (down_right - down_left) / apart;
        let pitch = (f64::midpoint(down_left, down_right) - tilt * f64::midpoint(left[1], right[1])) / x;
        for (node, up) in lifted.iter().enumerate() {
            let place = frame.nodes[node].place;
            let mm = up - pitch * place[0] - tilt * place[1];
            if found.deflection.is_none_or(|worst| mm.abs() > worst.mm.abs()) {
                found.deflection = Some(Deflection { mm, case, node });
            }
        }
    }
}

/// All that a search goes through.
pub struct Search<'a> {
    pub trailer: &'a Trailer,
    pub built: &'a Built,
    pub hitched: &'a Hitched,
    pub plan: &'a Plan,
    pub cases: &'a [Case],
    pub factors: &'a StrengthFactors,
    /// By the road.
    pub dynamic: f64,
    /// Of each member; none for those that are not analysed.
    pub capacities: &'a [Option<Capacity>],
    /// Of each contact; none where it is no fillet.
    pub seams: &'a [Option<Seam>],
}
