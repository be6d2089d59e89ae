//! `hitchwright road-rules FACTS.json --region ID`: what each road rule says about the facts of a trailer.

use std::{
    io::{self, Write as _},
    path::PathBuf,
    process::ExitCode,
};

use serde::Serializer as _;

use super::nesting;
use crate::domain::road::{FACTS, FactKind, Facts, Finding, Region, RuleBook, judge, seed};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Prints {rule: outcome} as JSON. Outcomes: n/a, pass, FAIL, WARN (outside the figure we have: confirm), to fit, to mark, to file, \
                  ask, info, need-fact (a fact is missing), judge (nothing to compute). Data for a shop's checklist, not legal advice: the \
                  authority decides.\nExit: 0 with outcomes, also where a rule fails; 2 for facts or a region that cannot be used."
)]
pub struct Args {
    /// Facts as a JSON object, kilograms and millimetres; `-` reads standard input
    #[arg(required_unless_present = "list")]
    facts: Option<PathBuf>,
    /// Whose rules, such as gb, eu, us-ca
    #[arg(long, value_name = "ID", required_unless_present = "list")]
    region: Option<String>,
    /// List the facts and the regions
    #[arg(long)]
    list: bool,
}

pub fn run(args: Args) -> ExitCode {
    match printed(&args) {
        Ok(text) => {
            // A reader that closed the pipe has read enough.
            let _ = writeln!(io::stdout(), "{text}");
            ExitCode::SUCCESS
        }
        Err(why) => nesting::unreadable(why),
    }
}

fn printed(args: &Args) -> Result<String, String> {
    let book = seed();
    if args.list {
        return Ok(listed(book));
    }
    let (Some(file), Some(id)) = (&args.facts, &args.region) else {
        return Err("name a file of facts and a region".into());
    };
    let region = region(book, id)?;
    let text = nesting::read(file).map_err(|why| format!("cannot read {}: {why}", file.display()))?;
    let facts = Facts::from_json(&text).map_err(|faults| format!("{}: {}", file.display(), faults.join("; ")))?;
    outcomes(&judge(book, region, &facts))
}

fn region<'b>(book: &'b RuleBook, id: &str) -> Result<&'b Region, String> {
    book.region(id).ok_or_else(|| {
        let known: Vec<&str> = book.regions.iter().map(|region| region.id.as_str()).collect();
        format!("“{id}” is no region: use one of {}", known.join(", "))
    })
}

/// In the order of the rules.
fn outcomes(findings: &[Finding<'_>]) -> Result<String, String> {
    let mut json = Vec::new();
    serde_json::Serializer::pretty(&mut json)
        .collect_map(findings.iter().map(|found| (&found.rule.id, found.outcome.word())))
        .map_err(|fault| format!("cannot write the outcomes: {fault}"))?;
    String::from_utf8(json).map_err(|fault| format!("cannot write the outcomes: {fault}"))
}

fn listed(book: &RuleBook) -> String {
    let facts = FACTS.iter().map(|fact| {
        let kind = match fact.kind {
            FactKind::Mass => "kilograms".to_owned(),
            FactKind::Length => "millimetres".to_owned(),
            FactKind::Count => "whole number".to_owned(),
            FactKind::Ratio => "number; follows from the others".to_owned(),
            FactKind::YesNo => "true or false".to_owned(),
            FactKind::Word([]) => "word".to_owned(),
            FactKind::Word(words) => words.join(", "),
        };
        format!("  {:<24} {}: {kind}", fact.name, fact.words)
    });
    let regions = book.regions.iter().map(|region| format!("  {:<6} {}", region.id, region.name));
    let facts: Vec<String> = facts.collect();
    let regions: Vec<String> = regions.collect();
    format!("facts\n{}\nregions\n{}", facts.join("\n"), regions.join("\n"))
}
