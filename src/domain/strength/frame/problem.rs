//! A frame with its loads as one JSON document, and its answer.

use serde::{Deserialize, Serialize};

use super::{
    along::{Forces, Run, peaks},
    model::{BeamLoad, Frame, FrameFault, Load, Six},
    solve::Solver,
};

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Problem {
    pub frame: Frame,
    pub loads: Vec<Named>,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Named {
    pub name: String,
    #[serde(default)]
    pub nodes: Vec<super::model::NodeLoad>,
    #[serde(default)]
    pub beams: Vec<BeamLoad>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    pub equations: usize,
    pub cases: Vec<Case>,
}

/// Newtons, millimetres, radians; forces act on the frame, end forces on the beam in its own axes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Case {
    pub name: String,
    pub moved: Vec<Six>,
    pub reactions: Vec<Six>,
    pub supports: Vec<f64>,
    pub ends: Vec<[f64; 12]>,
    /// At the ends, at loads, and where a shear force vanishes.
    pub along: Vec<Vec<Station>>,
    pub residual: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Station {
    pub at: f64,
    /// N, Vy, Vz, T, My, Mz.
    pub forces: Forces,
}

/// # Errors
/// The first wrong figure, or how the frame can move freely.
pub fn answer(problem: &Problem) -> Result<Answer, FrameFault> {
    let solver = Solver::new(&problem.frame)?;
    let mut cases = Vec::with_capacity(problem.loads.len());
    for named in &problem.loads {
        let load = Load { nodes: named.nodes.clone(), beams: named.beams.clone() };
        problem.frame.validate_load(&load)?;
        let solution = solver.solve(&load);
        let along = (0..problem.frame.beams.len()).map(|beam| stations(&solver, beam, &load, &solution.ends[beam]));
        cases.push(Case {
            name: named.name.clone(),
            along: along.collect(),
            moved: solution.moved,
            reactions: solution.held,
            supports: solution.supports,
            ends: solution.ends,
            residual: solution.residual,
        });
    }
    Ok(Answer { equations: solver.size().0, cases })
}

fn stations(solver: &Solver<'_>, beam: usize, load: &Load, ends: &[f64; 12]) -> Vec<Station> {
    let on_beam = || load.beams.iter().filter(|on| on.beam() == beam);
    let run = Run::of(solver.element(beam).axes.length, on_beam());
    let forces = run.forces(ends, &solver.local(beam, &load.beams));
    let mut all: Vec<Station> = Vec::with_capacity(run.at.len() + 2);
    for (nth, (&at, forces)) in run.at.iter().zip(&forces).enumerate() {
        if let Some(last) = nth.checked_sub(1) {
            let from = run.at[last];
            let mut between: Vec<Station> = peaks(at - from, &run_forces(&all), forces)
                .map(|(x, forces)| Station { at: from + x, forces })
                .collect();
            between.sort_by(|a, b| a.at.total_cmp(&b.at));
            all.extend(between);
        }
        all.push(Station { at, forces: *forces });
    }
    all
}

/// Forces at the last station.
fn run_forces(all: &[Station]) -> Forces {
    all.last().map_or([0.0; 6], |station| station.forces)
}
