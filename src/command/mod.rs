//! The command line: one file a command, each with `Args` (its doc comments are the `--help` text) and
//! `run(args) -> ExitCode`.
//!
//! To add a command: write `command/<name>.rs`, declare it below, add a variant to [`Command`] and a line to
//! [`CommandLine::run`].

mod backup;
mod check_plan;
mod document;
mod drawing;
mod estimate;
mod frame;
mod nest_bars;
mod nest_panels;
mod nesting;
mod restore;
mod road_rules;
mod scene;
mod schema;
mod section;
mod serve;
mod verify;

use std::{fmt, process::ExitCode};

use clap::{Parser, Subcommand};

/// From a trailer need to a safe, light design, a cutting list, hours and a price.
///
/// Without a command the shop's pages are served, as by `hitchwright serve`.
#[derive(Debug, Parser)]
#[command(version, args_conflicts_with_subcommands = true, max_term_width = 110)]
pub struct CommandLine {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    serve: serve::Args,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the shop's pages and the customer's copies
    Serve(serve::Args),
    Estimate(estimate::Args),
    Document(document::Args),
    Drawing(drawing::Args),
    /// Plan how bars are cut at the least net cost
    NestBars(nest_bars::Args),
    /// Plan how sheets are cut at the least net cost
    NestPanels(nest_panels::Args),
    /// Replay a cutting plan and name its faults
    CheckPlan(check_plan::Args),
    /// Say what the road rules of a region make of a trailer
    RoadRules(road_rules::Args),
    /// Solve a 3-D frame of beams
    Frame(frame::Args),
    Section(section::Args),
    Scene(scene::Args),
    Schema(schema::Args),
    Backup(backup::Args),
    Verify(verify::Args),
    Restore(restore::Args),
}

impl CommandLine {
    pub fn run(self) -> ExitCode {
        match self.command.unwrap_or(Command::Serve(self.serve)) {
            Command::Serve(args) => serve::run(args),
            Command::Estimate(args) => estimate::run(args),
            Command::Document(args) => document::run(args),
            Command::Drawing(args) => drawing::run(args),
            Command::NestBars(args) => nest_bars::run(args),
            Command::NestPanels(args) => nest_panels::run(args),
            Command::CheckPlan(args) => check_plan::run(args),
            Command::RoadRules(args) => road_rules::run(args),
            Command::Frame(args) => frame::run(args),
            Command::Section(args) => section::run(args),
            Command::Scene(args) => scene::run(args),
            Command::Schema(args) => schema::run(args),
            Command::Backup(args) => backup::run(args),
            Command::Verify(args) => verify::run(args),
            Command::Restore(args) => restore::run(args),
        }
    }
}

/// What was asked cannot be done: one line on standard error, exit code 1. (A wrong command line exits with 2.)
fn refuse(reason: impl fmt::Display) -> ExitCode {
    eprintln!("hitchwright: {reason}");
    ExitCode::FAILURE
}

/// Runs what waits for the store.
fn block_on<T>(work: impl Future<Output = T>) -> Result<T, String> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    runtime.map(|runtime| runtime.block_on(work)).map_err(|why| format!("cannot start: {why}"))
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        CommandLine::command().debug_assert();
    }

    #[test]
    fn without_a_command_the_pages_are_served_with_the_same_options() {
        let line = CommandLine::try_parse_from(["hitchwright", "--listen", "127.0.0.1:0"]).expect("a plain line");
        assert!(line.command.is_none());
        assert_eq!(line.serve.listen.port(), 0);
        CommandLine::try_parse_from(["hitchwright", "serve", "--listen", "127.0.0.1:0"]).expect("the same by name");
    }
}
