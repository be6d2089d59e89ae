//! `hitchwright drawing`: a sheet of the arrangement or of a part as SVG, or a flat part as DXF.

use std::{ops::ControlFlow, path::PathBuf, process::ExitCode};

use super::{estimate::read_json, refuse};
use crate::{
    documents::{
        dxf::dxf,
        sheet::{Facts, Options, PaperSize, Projection, arrangement_sheets, flat_part, flat_parts, part_sheets},
    },
    domain::{
        estimate::{Estimate, estimate},
        measure::Units,
        nesting::Budget,
        shop::{Rack, ShopBook},
        trailer::Spec,
        words::Words,
    },
};

/// Draw the trailer of a spec on a sheet at true scale, as SVG, or a flat part as DXF
///
/// Without `--part` a sheet of the arrangement is drawn. The spec is as for `hitchwright estimate`. A design aid, not a
/// certification.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The spec; `-` reads standard input
    spec: PathBuf,
    /// Which sheet of the arrangement
    #[arg(long, default_value_t = 1, value_name = "N", conflicts_with = "part")]
    sheet: usize,
    /// The part with this mark of the cut list
    #[arg(long, value_name = "MARK")]
    part: Option<String>,
    /// Write the flat part as DXF, in millimetres, layers CUT, FOLD and MARK
    #[arg(long, requires = "part")]
    dxf: bool,
    /// A4, A3, letter or ledger [default: A4, with --imperial letter]
    #[arg(long)]
    paper: Option<String>,
    /// Leave the deck out, so that the frame is seen
    #[arg(long)]
    no_deck: bool,
    /// Leave the loads out
    #[arg(long)]
    no_loads: bool,
    /// Show the marks of the cut list
    #[arg(long)]
    marks: bool,
    /// Feet and inches
    #[arg(long)]
    imperial: bool,
    /// The file to write
    #[arg(long, value_name = "FILE")]
    output: PathBuf,
}

/// Exit code 1 and one line on standard error where it cannot be drawn.
pub fn run(args: Args) -> ExitCode {
    let written = drawn(&args).and_then(|text| {
        std::fs::write(&args.output, text).map_err(|fault| format!("cannot write {}: {fault}", args.output.display()))
    });
    match written {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => refuse(why),
    }
}

fn drawn(args: &Args) -> Result<String, String> {
    let units = if args.imperial { Units::Imperial } else { Units::Metric };
    let paper = match &args.paper {
        None => PaperSize::usual(units),
        Some(name) => {
            PaperSize::named(name).ok_or(format!("“{name}” is no paper; A4, A3, letter or ledger is wanted"))?
        }
    };
    let spec: Spec = read_json(&args.spec)?;
    let book = ShopBook::demo();
    let worked = estimate(&spec, &book, &Rack::default(), Budget::preview(), &mut |_| ControlFlow::Continue(()));
    let estimate = worked.map_err(|faults| {
        let told = faults.0.iter().map(ToString::to_string).collect::<Vec<_>>();
        format!("this spec cannot be built: {}", told.join("; "))
    })?;
    let facts = sheet_facts(&estimate, &book, units);
    let Some(mark) = &args.part else {
        let options = Options { deck: !args.no_deck, loads: !args.no_loads, marks: args.marks };
        let sheets = arrangement_sheets(&estimate.trailer, &estimate.weights, &facts, paper, options);
        let sheet = args.sheet.checked_sub(1).and_then(|at| sheets.get(at));
        return sheet.map(|sheet| sheet.svg("sheet")).ok_or(format!(
            "there is no sheet {}: the arrangement has sheets 1 to {}",
            args.sheet,
            sheets.len()
        ));
    };
    if args.dxf {
        let marks = || flat_parts(&estimate).iter().map(|(part, _)| part.id.clone()).collect::<Vec<_>>().join(", ");
        let panel =
            flat_part(&estimate, mark).ok_or_else(|| format!("“{mark}” is no flat part; there are {}", marks()))?;
        return Ok(dxf(panel, mark));
    }
    let sheets = part_sheets(&estimate, &facts, paper);
    let found = sheets.iter().find(|sheet| sheet.name == *mark);
    found.map(|sheet| sheet.svg("sheet")).ok_or_else(|| {
        let marks: Vec<&str> = sheets.iter().map(|sheet| sheet.name.as_str()).collect();
        format!("“{mark}” is no mark of the cut list; there are {}", marks.join(", "))
    })
}

/// What title blocks say of a spec that no shop has issued.
pub(super) fn sheet_facts(estimate: &Estimate, book: &ShopBook, units: Units) -> Facts {
    Facts {
        shop: book.name.clone(),
        job: String::new(),
        number: "draft".into(),
        revision: None,
        day: String::new(),
        program: estimate.program.clone(),
        words: Words::of(&book.language),
        units,
        projection: Projection::usual(&estimate.spec.need.usage.region),
    }
}
