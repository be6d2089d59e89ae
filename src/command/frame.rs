//! `hitchwright frame FILE`: forces, moments and displacements of a 3-D frame.

use std::{
    io::{self, Read as _, Write as _},
    ops::ControlFlow,
    path::PathBuf,
    process::ExitCode,
};

use serde::Serialize;

use crate::domain::{
    estimate::estimate,
    nesting::{Budget, Progress},
    shop::{Rack, ShopBook},
    strength::{
        self,
        frame::{Answer, Problem, answer},
    },
    trailer::Spec,
};

/// Solve a 3-D frame of beams: reactions, end forces, forces along every beam, displacements, as JSON
///
/// The frame is JSON: nodes (place, held), beams (ends with node, offset, released; up; stiffness e, g, area, iy, iz, j, shear), links, supports,
/// and named loads on nodes and beams. Newtons, millimetres, radians, megapascals. Node forces and displacements are along the frame's
/// axes, end forces along the beam's own: x from its first end to its second, z along `up`. A design aid, not a certification.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The frame; `-` reads standard input
    file: PathBuf,
    /// The file is a trailer's spec: its frame with its unit loads is solved, and printed beside the answer
    #[arg(long)]
    trailer: bool,
}

#[derive(Serialize)]
struct Both {
    problem: Problem,
    answer: Answer,
}

pub fn run(args: Args) -> ExitCode {
    match printed(&args) {
        Ok(text) => {
            // A reader that closed the pipe has read enough.
            let _ = writeln!(io::stdout(), "{text}");
            ExitCode::SUCCESS
        }
        Err(why) => super::refuse(why),
    }
}

fn printed(args: &Args) -> Result<String, String> {
    let mut text = String::new();
    let read = if args.file.as_os_str() == "-" {
        io::stdin().read_to_string(&mut text).map(|_| ())
    } else {
        std::fs::read_to_string(&args.file).map(|found| text = found)
    };
    read.map_err(|why| format!("cannot read {}: {why}", args.file.display()))?;
    let unreadable = |why: serde_json::Error| format!("{}: {why}", args.file.display());
    let unwritten = |why: serde_json::Error| format!("cannot write the answer: {why}");
    if !args.trailer {
        let problem: Problem = serde_json::from_str(&text).map_err(unreadable)?;
        let answer = answer(&problem).map_err(|fault| fault.to_string())?;
        return serde_json::to_string(&answer).map_err(unwritten);
    }
    let spec: Spec = serde_json::from_str(&text).map_err(unreadable)?;
    let mut watch = |_: Progress| ControlFlow::Continue(());
    let estimate = estimate(&spec, &ShopBook::demo(), &Rack::default(), Budget::preview(), &mut watch)
        .map_err(|faults| format!("this spec cannot be built: {faults}"))?;
    let problem = strength::problem(&spec, &estimate.trailer, &estimate.weights);
    let answer = answer(&problem).map_err(|fault| fault.to_string())?;
    serde_json::to_string(&Both { problem, answer }).map_err(unwritten)
}
