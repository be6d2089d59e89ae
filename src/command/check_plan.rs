//! `hitchwright check-plan PROBLEM.json PLAN.json [--proof PROOF.json]`: replays a cutting plan with code of its own, and
//! rechecks the proof of its bound without searching.

use std::{
    io::{self, Write},
    path::{Path, PathBuf},
    process::ExitCode,
};

use serde::Serialize;

use super::nesting;
use crate::domain::nesting::{Fault, check, json, proof::Proof};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Exit: 0 when the plan is sound and the proof, if given, proves its bound; 1 otherwise; 2 for unreadable input."
)]
pub struct Args {
    /// Problem that `nest-bars` or `nest-panels` was given
    problem: PathBuf,
    /// Answer that it gave
    plan: PathBuf,
    /// Proof that it wrote with `--proof`
    #[arg(long)]
    proof: Option<PathBuf>,
}

#[derive(Serialize)]
struct Report {
    sound: bool,
    faults: Vec<String>,
    /// What the proof proves, in a sentence; null where none was given or it failed.
    #[serde(skip_serializing_if = "Option::is_none")]
    proof: Option<Rechecked>,
}

#[derive(Serialize)]
struct Rechecked {
    holds: bool,
    says: String,
}

pub fn run(args: Args) -> ExitCode {
    match report(&args) {
        Ok(report) => {
            let good = report.sound && report.proof.as_ref().is_none_or(|proof| proof.holds);
            let written = serde_json::to_string_pretty(&report)
                .map_err(io::Error::from)
                .and_then(|json| writeln!(io::stdout().lock(), "{json}"));
            match written {
                Err(why) => nesting::unreadable(format!("cannot write the report: {why}")),
                Ok(()) if good => ExitCode::SUCCESS,
                Ok(()) => ExitCode::FAILURE,
            }
        }
        Err(line) => nesting::unreadable(line),
    }
}

fn report(args: &Args) -> Result<Report, String> {
    let problem = text(&args.problem)?;
    let plan = text(&args.plan)?;
    let proof = match &args.proof {
        Some(file) => Some(json::read_proof(&text(file)?).map_err(within(file))?),
        None => None,
    };
    let (faults, rechecked) = if json::is_panels(&problem) {
        let problem = json::read_panels(&problem).map_err(within(&args.problem))?.problem;
        let answer = json::read_panel_plan(&plan).map_err(within(&args.plan))?;
        let rechecked = proof.map(|proof| match proof {
            Proof::Panels(proof) => check::panel_proof(&problem, &answer, &proof),
            Proof::Bars(_) => Err("the proof is about bars, the problem about panels".to_owned()),
        });
        (check::panel_plan(&problem, &answer), rechecked)
    } else {
        let problem = json::read_bars(&problem).map_err(within(&args.problem))?.problem;
        let answer = json::read_bar_plan(&plan).map_err(within(&args.plan))?;
        let rechecked = proof.map(|proof| match proof {
            Proof::Bars(tree) => check::bar_proof(&problem, &answer, &tree),
            Proof::Panels(_) => Err("the proof is about panels, the problem about bars".to_owned()),
        });
        (check::bar_plan(&problem, &answer), rechecked)
    };
    let proof = rechecked.map(|verdict| match verdict {
        Ok(proven) => Rechecked { holds: true, says: proven.to_string() },
        Err(why) => Rechecked { holds: false, says: why },
    });
    Ok(Report { sound: faults.is_empty(), faults, proof })
}

fn text(file: &PathBuf) -> Result<String, String> {
    nesting::read(file).map_err(|why| format!("cannot read {}: {why}", file.display()))
}

fn within(file: &Path) -> impl Fn(Fault) -> String {
    move |fault| format!("{}: {fault}", file.display())
}
