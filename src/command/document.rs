//! `hitchwright document`: what is printed of a spec, as PDF.

use std::{path::PathBuf, process::ExitCode};

use clap::ValueEnum;

use super::{
    drawing::sheet_facts,
    estimate::{UNREADABLE, read_json, worked_out},
};
use crate::{
    documents::{
        customer::{self, Voice},
        paper::{Document, Paper, drawing_sheet, pdf, quote},
        sheet,
        show::Show,
    },
    domain::{issued::IssuedQuote, nesting::Budget, options::Options, shop::ShopBook, trailer::Spec},
    web::pages::job::{calculation, cutting},
};

/// Print a spec: quote, drawing, calculation or cutting list as PDF
///
/// The spec is JSON as for `hitchwright estimate`; prices, norms and policy are the demo shop's. The same spec gives the same file, byte
/// for byte. Nothing is issued by this: every page says so.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[arg(value_enum)]
    kind: Kind,
    /// The spec; `-` reads standard input
    spec: PathBuf,
    /// The file to write
    #[arg(long, short, value_name = "FILE")]
    output: PathBuf,
    /// What the job is called
    #[arg(long, default_value = "Trailer")]
    title: String,
    /// Plan the cutting as while typing, not as when a quote is issued
    #[arg(long)]
    preview: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Kind {
    Quote,
    Drawing,
    Calculation,
    Cutting,
}

/// What stands in the head of every page.
const OPEN: &str = "open spec, not issued";

pub fn run(args: Args) -> ExitCode {
    match written(&args) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::from(UNREADABLE)
        }
    }
}

fn written(args: &Args) -> Result<(), String> {
    let spec: Spec = read_json(&args.spec)?;
    let book = ShopBook::demo();
    let budget = if args.preview { Budget::preview() } else { Budget::full() };
    let estimate = worked_out(&spec, &book, budget)?;
    let show = Show::of(&book);
    let (job, shop, stands_for) = (args.title.clone(), book.name.clone(), OPEN.to_owned());
    let document: Document = match args.kind {
        Kind::Quote => {
            let frozen = IssuedQuote::freeze(&estimate, Options::default(), &book);
            let issue = customer::Issue { job_title: job, ..Default::default() };
            let voice = Voice::of_issued(&frozen.shop);
            let copy = customer::copy(&frozen, &issue, None, None, &voice);
            let choices = quote::Choices::default();
            quote::quote(&copy, &choices, None, None, Paper::of(book.units), voice.words)
        }
        Kind::Drawing => {
            let facts = sheet::Facts { job, ..sheet_facts(&estimate, &book, book.units) };
            let paper = sheet::PaperSize::usual(book.units);
            drawing_sheet::drawings(&facts, sheet::all_sheets(&estimate, &facts, paper), None)
        }
        Kind::Calculation => {
            let subject = calculation::PaperSubject { job, shop, stands_for, ..Default::default() };
            calculation::on_paper(&estimate, &show, &subject)
        }
        Kind::Cutting => {
            let subject = cutting::PaperSubject { job, shop, stands_for, ..Default::default() };
            cutting::on_paper(&estimate, &show, subject)
        }
    };
    let bytes = pdf(&document).map_err(|fault| fault.to_string())?;
    std::fs::write(&args.output, bytes).map_err(|fault| format!("cannot write {}: {fault}", args.output.display()))
}
