//! `hitchwright check-plan PROBLEM.json PLAN.json`: replays a cutting plan with code of its own.

use std::{
    io::{self, Write},
    path::PathBuf,
    process::ExitCode,
};

use serde_json::json;

use super::nesting;
use crate::domain::nesting::{Fault, check, json};

#[derive(Debug, clap::Args)]
#[command(after_help = "Exit: 0 when the plan is sound, 1 when it has faults, 2 for unreadable input.")]
pub struct Args {
    /// Problem that `nest-bars` or `nest-panels` was given
    problem: PathBuf,
    /// Answer that it gave
    plan: PathBuf,
}

pub fn run(args: Args) -> ExitCode {
    let mut texts = Vec::new();
    for file in [&args.problem, &args.plan] {
        match nesting::read(file) {
            Ok(text) => texts.push(text),
            Err(why) => return nesting::unreadable_file(file, &why),
        }
    }
    let faults = match faults(&texts[0], &texts[1], &args) {
        Ok(faults) => faults,
        Err(line) => return nesting::unreadable(line),
    };
    let report = json!({ "sound": faults.is_empty(), "faults": faults });
    if let Err(why) = writeln!(io::stdout().lock(), "{report:#}") {
        return nesting::unreadable(format!("cannot write the report: {why}"));
    }
    if faults.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn faults(problem: &str, plan: &str, args: &Args) -> Result<Vec<String>, String> {
    let in_problem = |fault: Fault| format!("{}: {fault}", args.problem.display());
    let in_plan = |fault: Fault| format!("{}: {fault}", args.plan.display());
    if json::is_panels(problem) {
        let read = json::read_panels(problem).map_err(in_problem)?;
        Ok(check::panel_plan(&read.problem, &json::read_panel_plan(plan).map_err(in_plan)?))
    } else {
        let read = json::read_bars(problem).map_err(in_problem)?;
        Ok(check::bar_plan(&read.problem, &json::read_bar_plan(plan).map_err(in_plan)?))
    }
}
