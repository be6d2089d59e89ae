//! `hitchwright nest-panels FILE`: the least-cost cutting plan of sheets.

use std::process::ExitCode;

use super::nesting;
pub use super::nesting::Options as Args;
use crate::domain::nesting::{choices, json, panels, proof::Proof};

pub fn run(args: Args) -> ExitCode {
    nesting::run(&args, |text, budget, started| {
        let read = json::read_panels(text)?;
        let (mut answer, proof) =
            panels::prove(&read.problem, budget, &mut nesting::fuse(started, read.time_limit_ms))?;
        answer.notes.splice(0..0, read.notes);
        let rack: Vec<bool> = read.problem.stock.iter().map(|stock| stock.quantity.is_some()).collect();
        let choices = args.choices.then(|| choices::of_panels(&read.problem, &answer, &rack));
        Ok((answer.status, nesting::Told { answer, choices }, proof.map(Proof::Panels)))
    })
}
