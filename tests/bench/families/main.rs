//! Cutting plans of the published families, of the shop's kind, and of files that a user has.
//!
//! ```sh
//! cargo bench --bench families                                  # a small fixed choice of all, below two minutes
//! cargo bench --bench families -- falkenauer-t scholl-3 --seeds 1..20 --seconds 10 --each
//! cargo bench --bench families -- --problems FOLDER --seconds 2 # JSON of the commands, or the published text forms
//! ```
//!
//! One thread; seconds are those that a processor spent on it, so that other work on the machine hardly changes the figures.
//! Each plan is replayed by the verifier, and its claims are held against the least number of bars where the family's
//! construction tells it; the exit code is 1 when one of them is wrong.

use std::{ops::ControlFlow, path::PathBuf, process::ExitCode, time::Duration};

use clap::Parser;
use cpu_time::ThreadTime;
use hitchwright_domain::nesting::{self, Budget, Status, Stopped, bars, check};

mod figures;
mod files;
mod identical;
mod lengths;
mod panels;
mod problem;
mod random;
mod round_up;
mod sheets;

use figures::Outcome;
use problem::{Family, Problem, What};

#[derive(Parser)]
struct Options {
    /// Families to run; all of them when neither families nor files are named
    families: Vec<String>,
    /// Seeds of each family, such as 7 or 1..20, both ends included
    #[arg(long, value_parser = seeds)]
    seeds: Option<(u64, u64)>,
    /// The seconds of computing that end a search
    #[arg(long, default_value_t = 2.0)]
    seconds: f64,
    /// The counted work that ends a search; so much that it does not bind when it is not given
    #[arg(long, default_value_t = u64::MAX / 1_000)]
    units: u64,
    /// A file, or a folder of files, with problems; may be given more than once
    #[arg(long, value_name = "PATH")]
    problems: Vec<PathBuf>,
    /// Writes one line for each problem to a file, as JSON
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
    /// Writes the problems as JSON into a folder instead of solving them
    #[arg(long, value_name = "FOLDER")]
    write: Option<PathBuf>,
    /// Prints a line for each problem too
    #[arg(long)]
    each: bool,
    /// Lists the families and their sources
    #[arg(long)]
    list: bool,
    /// Given by cargo
    #[arg(long, hide = true)]
    bench: bool,
}

fn seeds(text: &str) -> Result<(u64, u64), String> {
    let read = |word: &str| word.parse::<u64>().ok().filter(|&n| n > 0).ok_or(format!("\"{word}\" is not a seed"));
    let (from, to) = text.split_once("..").unwrap_or((text, text));
    Ok((read(from)?, read(to)?))
}

fn all() -> Vec<Family> {
    let bars = identical::FAMILIES.into_iter().chain(round_up::FAMILIES).chain(lengths::FAMILIES);
    bars.chain(panels::FAMILIES).chain(sheets::FAMILIES).collect()
}

/// Shipped problems of the shop's kind, made by `tests/bench/shop_jobs.py`.
const SHOP: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/bench/problems");

fn main() -> ExitCode {
    match run(&Options::parse()) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(why) => {
            eprintln!("families: {why}");
            ExitCode::from(2)
        }
    }
}

fn run(options: &Options) -> Result<bool, String> {
    if options.list {
        all().iter().for_each(|family| println!("{:<16} {:>3}  {}", family.name, family.size, family.source));
        return Ok(true);
    }
    let problems = chosen(options)?;
    if let Some(folder) = &options.write {
        write(&problems, folder)?;
        return Ok(true);
    }
    let mut outcomes = Vec::new();
    let mut sound = true;
    for problem in &problems {
        let outcome = solved(problem, options)?;
        for fault in &outcome.faults {
            println!("WRONG {} {}: {fault}", outcome.family, outcome.name);
        }
        sound &= outcome.faults.is_empty();
        if options.each {
            println!("{outcome}");
        }
        outcomes.push(outcome);
    }
    print!("{}", figures::table(&outcomes, options.seconds));
    if let Some(file) = &options.json {
        let lines: String = outcomes.iter().map(|outcome| format!("{}\n", outcome.line())).collect();
        std::fs::write(file, lines).map_err(|why| format!("{}: {why}", file.display()))?;
    }
    Ok(sound)
}

/// The problems asked for. With nothing asked: the first two of each family and the shipped ones.
fn chosen(options: &Options) -> Result<Vec<Problem>, String> {
    let mut problems = Vec::new();
    let all = all();
    for name in &options.families {
        if all.iter().all(|family| family.name != name) {
            return Err(format!("there is no family \"{name}\"; --list names them"));
        }
    }
    let nothing = options.families.is_empty() && options.problems.is_empty();
    for family in &all {
        let named = options.families.iter().any(|name| name == family.name);
        if !named && !nothing {
            continue;
        }
        let (from, to) = options.seeds.unwrap_or((1, if named { family.size } else { 2 }));
        problems.extend((from..=to).map(family.problem));
    }
    let shipped = if nothing { vec![PathBuf::from(SHOP)] } else { Vec::new() };
    for path in shipped.iter().chain(&options.problems) {
        problems.extend(files::read(path)?);
    }
    Ok(problems)
}

fn write(problems: &[Problem], folder: &std::path::Path) -> Result<(), String> {
    for problem in problems {
        let folder = folder.join(&problem.family);
        let file = folder.join(format!("{}.json", problem.name));
        let text = format!("{:#}\n", files::written(&problem.what));
        let written = std::fs::create_dir_all(&folder).and_then(|()| std::fs::write(&file, text));
        written.map_err(|why| format!("{}: {why}", file.display()))?;
    }
    Ok(())
}

fn solved(problem: &Problem, options: &Options) -> Result<Outcome, String> {
    let limit = Duration::from_secs_f64(options.seconds);
    let budget = Budget::of_units(options.units);
    let started = ThreadTime::now();
    let mut work = 0;
    let mut fuse = |progress: hitchwright_domain::nesting::Progress| {
        work = progress.work;
        if started.elapsed() >= limit { ControlFlow::Break(Stopped::Time) } else { ControlFlow::Continue(()) }
    };
    let refused = |fault| format!("{} {}: {fault}", problem.family, problem.name);
    let (status, cost, bound, pieces, faults, elapsed);
    match &problem.what {
        What::Bars(bars) => {
            let answer = bars::solve(bars, budget, &mut fuse).map_err(refused)?;
            elapsed = started.elapsed();
            faults = check::bar_plan(bars, &answer);
            (status, cost, bound, pieces) = (answer.status, answer.net_cost, answer.lower_bound, answer.bars);
        }
        What::Panels(panels) => {
            let answer = nesting::panels::solve(panels, budget, &mut fuse).map_err(refused)?;
            elapsed = started.elapsed();
            faults = check::panel_plan(panels, &answer);
            (status, cost, bound, pieces) = (answer.status, answer.net_cost, answer.lower_bound, answer.sheets);
        }
    }
    let number = |money: Option<hitchwright_domain::measure::Money>| money.map(|m| m.0);
    let mut outcome = Outcome {
        family: problem.family.clone(),
        name: problem.name.clone(),
        status,
        cost: number(cost),
        bound: number(bound),
        pieces,
        seconds: elapsed.as_secs_f64(),
        work,
        faults,
    };
    if let Some(least) = problem.least {
        outcome.compare(least);
    }
    if status == Status::Infeasible {
        outcome.faults.push("called infeasible: every family can be cut".into());
    }
    Ok(outcome)
}
