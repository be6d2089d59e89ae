//! `hitchwright schema`: the form of a spec file.

use std::{
    io::{self, Write as _},
    process::ExitCode,
};

use crate::domain::trailer::fields;

/// The JSON Schema of a spec: every field with its meaning, unit and permitted range.
///
/// A spec file names only what differs from the defaults: `{"design": {"bed": {"length": 2100}}}`. Lengths are millimetres, masses
/// kilograms, money decimal strings.
#[derive(Debug, clap::Args)]
pub struct Args {}

pub fn run(_: Args) -> ExitCode {
    match serde_json::to_string_pretty(&fields::schema()) {
        Ok(text) => {
            // A reader that closed the pipe has read enough.
            let _ = writeln!(io::stdout(), "{text}");
            ExitCode::SUCCESS
        }
        Err(error) => super::refuse(format_args!("cannot print the schema: {error}")),
    }
}
