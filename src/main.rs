use std::process::ExitCode;

use clap::Parser;
use hitchwright::{command::CommandLine, telemetry};

fn main() -> ExitCode {
    let line = CommandLine::parse();
    telemetry::start();
    line.run()
}
