//! `hitchwright restore`: a backup takes the place of the shop's file.

use std::{
    io::{self, Write},
    path::PathBuf,
    process::ExitCode,
};

use super::verify;
use crate::{
    command::{block_on, refuse},
    storage::restore,
    web::clock,
};

/// Put a backup in the place of the shop's file; what was there is kept aside
///
/// Verifies the backup first. Refuses while a server has the file open.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The backup
    backup: PathBuf,
    /// The shop's database file, which it replaces
    #[arg(long, value_name = "FILE", env = "HITCHWRIGHT_DATABASE", default_value = "hitchwright.sqlite")]
    database: PathBuf,
}

pub fn run(args: Args) -> ExitCode {
    let backup = args.backup.display().to_string();
    match block_on(verify::report(&args.backup)) {
        Err(fault) | Ok(Err(fault)) => return refuse(fault),
        Ok(Ok(report)) if !report.is_sound() => {
            eprint!("{}", verify::written(&report, &backup));
            return refuse("nothing was restored");
        }
        Ok(Ok(_)) => {}
    }
    match restore(&args.backup, &args.database, clock::now()) {
        Err(fault) => refuse(fault),
        Ok(aside) => {
            let aside = aside.map_or_else(String::new, |aside| format!(" What was there is now {}.", aside.display()));
            let _ = writeln!(io::stdout(), "{} holds {backup}.{aside}", args.database.display());
            ExitCode::SUCCESS
        }
    }
}
