//! What the cutting-plan commands share: reading, the clock that is a fuse, printing.

use std::{
    io::{self, Read, Write},
    ops::ControlFlow,
    path::{Path, PathBuf},
    process::ExitCode,
    time::{Duration, Instant},
};

use clap::{Args, ValueEnum};
use serde::Serialize;

use crate::domain::nesting::{Budget, Fault, Progress, Status, Stopped, choices::Choice, proof::Proof};

/// Input that cannot be read.
const UNREADABLE: u8 = 2;
const INFEASIBLE: u8 = 3;
const UNDECIDED: u8 = 4;

/// More text than this is no cutting problem.
const MOST_BYTES: u64 = 64 * 1024 * 1024;

#[derive(Debug, Args)]
#[command(
    after_help = "Exit: 0 with a plan, 3 when the stock cannot give the parts, 4 undecided, 2 for unreadable input."
)]
pub struct Options {
    /// Problem as JSON; `-` reads standard input
    pub file: PathBuf,
    /// How much the search may work; the same budget gives the same plan on any machine
    #[arg(long, value_enum, default_value = "thorough")]
    pub budget: Effort,
    /// Write the proof of the plan's bound to this file; `check-plan` rechecks it
    #[arg(long, value_name = "FILE")]
    pub proof: Option<PathBuf>,
    /// Also say what other choices of stock would cost, in the field `choices`; stock of a limited quantity counts as what lies on the rack
    #[arg(long)]
    pub choices: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Effort {
    /// About a millisecond
    Preview,
    /// About a second: what an issued quote is planned with
    Full,
    /// Until the proof, or until the problem's own `time_limit_ms`
    Thorough,
}

impl Effort {
    pub fn budget(self) -> Budget {
        match self {
            Self::Preview => Budget::preview(),
            Self::Full => Budget::full(),
            Self::Thorough => Budget::thorough(),
        }
    }
}

/// An answer as printed: as the domain gives it, and how long it took.
#[derive(Serialize)]
struct Timed<A> {
    #[serde(flatten)]
    answer: A,
    elapsed_ms: f64,
}

/// An answer with what other choices of stock would cost, where that was asked for.
#[derive(Serialize)]
pub struct Told<A> {
    #[serde(flatten)]
    pub answer: A,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub choices: Option<Vec<Choice>>,
}

/// Reads the problem, solves it and prints the answer.
pub fn run<A: Serialize>(
    options: &Options,
    solve: impl FnOnce(&str, Budget, Instant) -> Result<(Status, A, Option<Proof>), Fault>,
) -> ExitCode {
    let started = Instant::now();
    let text = match read(&options.file) {
        Ok(text) => text,
        Err(why) => return unreadable_file(&options.file, &why),
    };
    match solve(&text, options.budget.budget(), started) {
        Ok((status, answer, proof)) => match write_proof(options.proof.as_deref(), proof) {
            Ok(()) => print(answer, started, status),
            Err(why) => unreadable(why),
        },
        Err(fault) => unreadable(fault),
    }
}

fn write_proof(file: Option<&Path>, proof: Option<Proof>) -> Result<(), String> {
    let Some(file) = file else { return Ok(()) };
    let Some(proof) = proof else {
        eprintln!("hitchwright: no proof was written: there is no plan whose bound it would prove");
        return Ok(());
    };
    let json = serde_json::to_vec(&proof).map_err(|why| format!("cannot write the proof: {why}"))?;
    std::fs::write(file, json).map_err(|why| format!("cannot write {}: {why}", file.display()))
}

pub fn read(file: &PathBuf) -> io::Result<String> {
    let mut text = String::new();
    let read = if file.as_os_str() == "-" {
        io::stdin().lock().take(MOST_BYTES + 1).read_to_string(&mut text)
    } else {
        std::fs::File::open(file)?.take(MOST_BYTES + 1).read_to_string(&mut text)
    }?;
    if read as u64 > MOST_BYTES {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "more than 64 MB"));
    }
    Ok(text)
}

/// One line on standard error, nothing on standard output.
pub fn unreadable(why: impl std::fmt::Display) -> ExitCode {
    let line: String = why.to_string().replace(['\n', '\r'], " ");
    eprintln!("hitchwright: {line}");
    ExitCode::from(UNREADABLE)
}

pub fn unreadable_file(file: &std::path::Path, why: &io::Error) -> ExitCode {
    unreadable(format!("cannot read {}: {why}", file.display()))
}

/// A watch that breaks when the time is over.
pub fn fuse(started: Instant, limit_ms: Option<u64>) -> impl FnMut(Progress) -> ControlFlow<Stopped> {
    move |_| match limit_ms {
        Some(limit) if started.elapsed() >= Duration::from_millis(limit) => ControlFlow::Break(Stopped::Time),
        _ => ControlFlow::Continue(()),
    }
}

fn print<A: Serialize>(answer: A, started: Instant, status: Status) -> ExitCode {
    let elapsed_ms = (started.elapsed().as_secs_f64() * 1e4).round() / 10.0;
    let written = serde_json::to_string_pretty(&Timed { answer, elapsed_ms })
        .map_err(io::Error::from)
        .and_then(|json| writeln!(io::stdout().lock(), "{json}"));
    if let Err(why) = written {
        return unreadable(format!("cannot write the answer: {why}"));
    }
    match status {
        Status::Optimal | Status::Feasible => ExitCode::SUCCESS,
        Status::Infeasible => ExitCode::from(INFEASIBLE),
        Status::Undecided => ExitCode::from(UNDECIDED),
    }
}
