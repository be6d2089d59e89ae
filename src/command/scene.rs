//! `hitchwright scene`: the built trailer as binary glTF.

use std::{path::PathBuf, process::ExitCode};

use super::{estimate::read_json, refuse};
use crate::{
    documents::{Shown, glb},
    domain::{
        estimate::estimate,
        nesting::{Budget, unwatched},
        shop::{Rack, ShopBook},
        trailer::Spec,
    },
};

/// Write the built trailer as binary glTF 2.0, to be turned in any viewer
///
/// The spec is JSON and names only what differs from the defaults (see `hitchwright schema`). Parts are chosen from the demo
/// shop's books. Layers: frame, deck and sides, running gear, loads.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The spec; `-` reads standard input
    spec: PathBuf,
    /// The file to write
    #[arg(long, value_name = "FILE.glb")]
    output: PathBuf,
    /// Leave out marks, sections and lengths
    #[arg(long)]
    shapes_only: bool,
}

pub fn run(args: Args) -> ExitCode {
    match written(&args) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => refuse(why),
    }
}

fn written(args: &Args) -> Result<(), String> {
    let spec: Spec = read_json(&args.spec)?;
    let book = ShopBook::demo();
    let estimate = estimate(&spec, &book, &Rack::default(), Budget::preview(), &mut unwatched).map_err(|faults| {
        let lines = faults.0.iter().map(|fault| format!("  {fault}"));
        format!("this spec cannot be built:\n{}", lines.collect::<Vec<_>>().join("\n"))
    })?;
    let shown = if args.shapes_only { Shown::Shapes } else { Shown::Marks };
    std::fs::write(&args.output, glb(&estimate.trailer, &estimate.weights, shown))
        .map_err(|fault| format!("cannot write {}: {fault}", args.output.display()))
}
