//! `hitchwright nest-panels FILE`: the least-cost cutting plan of sheets.

use std::{process::ExitCode, time::Instant};

use super::nesting::{self, Options};
use crate::domain::nesting::{json, panels};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Exit: 0 with a plan, 3 when the stock cannot give the parts, 4 undecided, 2 for unreadable input."
)]
pub struct Args {
    #[command(flatten)]
    options: Options,
}

pub fn run(args: Args) -> ExitCode {
    let started = Instant::now();
    let file = &args.options.file;
    let text = match nesting::read(file) {
        Ok(text) => text,
        Err(why) => return nesting::unreadable_file(file, &why),
    };
    let solved = json::read_panels(&text).and_then(|read| {
        let mut watch = nesting::fuse(started, read.time_limit_ms);
        let mut answer = panels::solve(&read.problem, args.options.budget.budget(), &mut watch)?;
        answer.notes.splice(0..0, read.notes);
        Ok(answer)
    });
    match solved {
        Ok(answer) => {
            let status = answer.status;
            nesting::print(answer, started, status)
        }
        Err(fault) => nesting::unreadable(fault),
    }
}
