//! `hitchwright verify`: whether a shop's file, or a backup of it, is sound.

use std::{
    io::{self, Write},
    path::PathBuf,
    process::ExitCode,
};

use crate::{
    command::{block_on, refuse},
    storage::{OpenError, Report, Store},
};

/// Check a shop's file or a backup: pages, references, hashes and sums of issued revisions, audit trail, the rack
///
/// Reads only, beside a running server too. Ends with 0 when all is well, with 1 when something is wrong or the file cannot be read.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The file to check
    file: PathBuf,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

pub fn run(args: Args) -> ExitCode {
    match block_on(report(&args.file)) {
        Err(fault) | Ok(Err(fault)) => refuse(fault),
        Ok(Ok(report)) => {
            let text = if args.json {
                match serde_json::to_string_pretty(&report) {
                    Ok(text) => text + "\n",
                    Err(fault) => return refuse(fault),
                }
            } else {
                written(&report, &args.file.display().to_string())
            };
            match io::stdout().write_all(text.as_bytes()) {
                Ok(()) if report.is_sound() => ExitCode::SUCCESS,
                Ok(()) => ExitCode::FAILURE,
                Err(fault) => refuse(fault),
            }
        }
    }
}

/// Opens a file to read it and runs every check.
pub(super) async fn report(file: &std::path::Path) -> Result<Report, String> {
    let cannot = |fault: OpenError| fault.to_string();
    let store = Store::open_to_read(file).await.map_err(cannot)?;
    let report = store.report().await;
    store.close().await;
    report.map_err(|fault| match fault {
        crate::storage::Error::Database(why) => format!("{} cannot be read to its end: {why}", file.display()),
        other => other.to_string(),
    })
}

pub(super) fn written(report: &Report, file: &str) -> String {
    let mut text = String::new();
    for finding in &report.findings {
        let verdict = if finding.faults.is_empty() { "well" } else { "WRONG" };
        text += &format!("{verdict:<6}{} ({})\n", finding.check, finding.looked_at);
        for fault in &finding.faults {
            text += &format!("      - {fault}\n");
        }
    }
    if report.schema < report.known {
        text += &format!(
            "note  schema {}, this program has {}: the next start of a server brings the file up\n",
            report.schema, report.known
        );
    }
    text + &if report.is_sound() {
        format!("{file} is sound.\n")
    } else {
        format!("{file} is NOT sound. Keep it as it is, and restore a backup that is.\n")
    }
}
