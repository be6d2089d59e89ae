//! `hitchwright estimate`: everything that follows from a spec, to read or as JSON.

use std::{
    fmt::Write as _,
    io::{self, Read as _, Write as _},
    ops::ControlFlow,
    path::{Path, PathBuf},
    process::ExitCode,
    time::{Duration, Instant},
};

use clap::ValueEnum;
use serde::de::DeserializeOwned;

use crate::domain::{
    estimate::{Estimate, estimate},
    measure::{Units, show_length, show_mass, show_money, show_number},
    nesting::{Budget, Progress, Stopped, unwatched},
    pricing::FindingKind,
    shop::{Rack, RateBook, ShopBook},
    trailer::{Spec, SpecFaults},
    working::Verdict,
};

/// Exit code for input that cannot be read or a spec that cannot be built.
pub(super) const UNREADABLE: u8 = 2;

/// Work a spec out: masses, balance, cutting plan, parts, hours and price
///
/// The spec is JSON and names only what differs from the defaults (see `hitchwright schema`); lengths are millimetres, masses
/// kilograms. Prices, norms and policy are the demo shop's unless files are named. A design aid, not a certification.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The spec; `-` reads standard input
    spec: PathBuf,
    /// A rate book instead of the demo shop's, as TOML
    #[arg(long, value_name = "FILE")]
    rates: Option<PathBuf>,
    /// What lies on the rack, as JSON
    #[arg(long, value_name = "FILE")]
    rack: Option<PathBuf>,
    /// How hard the cutting plans are searched: `preview` as while typing, `full` as when a quote is issued
    #[arg(long, value_enum, default_value_t = Effort::Full)]
    budget: Effort,
    /// Stop searching after so many milliseconds; a plan that this cuts short says so
    #[arg(long, value_name = "MS", default_value_t = 60_000)]
    time_limit_ms: u64,
    /// Print the whole estimate as JSON
    #[arg(long)]
    json: bool,
    /// Print inches and pounds
    #[arg(long)]
    imperial: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Effort {
    Preview,
    Full,
}

pub fn run(args: Args) -> ExitCode {
    match printed(&args) {
        Ok(text) => {
            // A reader that closed the pipe has read enough.
            let _ = writeln!(io::stdout(), "{text}");
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("{why}");
            ExitCode::from(UNREADABLE)
        }
    }
}

fn printed(args: &Args) -> Result<String, String> {
    let spec: Spec = read_json(&args.spec)?;
    let mut book = ShopBook::demo();
    if let Some(path) = &args.rates {
        book.rates = read_rates(path)?;
    }
    if args.imperial {
        book.units = Units::Imperial;
    }
    let rack = args.rack.as_deref().map(read_json).transpose()?.unwrap_or_else(Rack::default);
    let budget = match args.budget {
        Effort::Preview => Budget::preview(),
        Effort::Full => Budget::full(),
    };
    let until = Instant::now() + Duration::from_millis(args.time_limit_ms);
    let mut watch = |_: Progress| {
        if Instant::now() < until { ControlFlow::Continue(()) } else { ControlFlow::Break(Stopped::Time) }
    };
    let estimate = estimate(&spec, &book, &rack, budget, &mut watch).map_err(unbuilt)?;
    if args.json {
        serde_json::to_string_pretty(&estimate).map_err(|fault| format!("cannot write the estimate: {fault}"))
    } else {
        Ok(to_read(&estimate, &book))
    }
}

fn unbuilt(faults: SpecFaults) -> String {
    let lines = faults.0.iter().map(|fault| format!("  {fault}"));
    format!("This spec cannot be built:\n{}", lines.collect::<Vec<_>>().join("\n"))
}

/// The estimate of a spec without a rack and without a clock: the same every time.
pub(super) fn worked_out(spec: &Spec, book: &ShopBook, budget: Budget) -> Result<Estimate, String> {
    estimate(spec, book, &Rack::default(), budget, &mut unwatched).map_err(unbuilt)
}

fn read_text(path: &Path) -> Result<String, String> {
    let mut text = String::new();
    let read = if path == Path::new("-") {
        io::stdin().read_to_string(&mut text).map(|_| ())
    } else {
        std::fs::read_to_string(path).map(|found| text = found)
    };
    read.map_err(|fault| format!("cannot read {}: {fault}", path.display()))?;
    Ok(text)
}

pub(super) fn read_json<T: DeserializeOwned>(path: &Path) -> Result<T, String> {
    parse_json(&read_text(path)?).map_err(|why| format!("{}: {why}", path.display()))
}

/// JSON with the field that cannot be read named by its path.
fn parse_json<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    if text.trim().is_empty() {
        return Err("the file is empty; a JSON object such as {} is wanted".into());
    }
    if !text.trim_start().starts_with('{') {
        return Err("a JSON object in braces is wanted, such as {\"design\":{\"bed\":{\"length\":2400}}}".into());
    }
    let mut reader = serde_json::Deserializer::from_str(text);
    let value = serde_path_to_error::deserialize(&mut reader).map_err(|fault| {
        let (path, why) = (fault.path().to_string(), plain(&fault.into_inner().to_string()));
        // An unknown field and broken JSON name their own place.
        if path == "." || path.is_empty() || why.starts_with("unknown field") { why } else { format!("{path}: {why}") }
    })?;
    reader.end().map_err(|fault| plain(&fault.to_string()))?;
    Ok(value)
}

/// What a value should have been, without the words of the program.
fn plain(said: &str) -> String {
    [
        ("expected f64", "a number is wanted (millimetres, kilograms)"),
        ("expected u32", "a whole number from 0 to 4294967295 is wanted"),
        ("expected u64", "a whole number from 0 is wanted"),
        (
            "expected a Decimal type representing a fixed-point number",
            "a decimal number in quotes is wanted, such as \"24.5\"",
        ),
        ("expected a boolean", "true or false is wanted"),
        ("invalid type: ", "found "),
        ("invalid value: ", "found "),
    ]
    .iter()
    .fold(said.to_owned(), |said, (from, to)| said.replace(from, to))
}

fn read_rates(path: &Path) -> Result<RateBook, String> {
    toml::from_str(&read_text(path)?).map_err(|fault| format!("{}: {fault}", path.display()))
}

/// The estimate as a page of text.
fn to_read(estimate: &Estimate, book: &ShopBook) -> String {
    let mut page = Page { out: String::new(), book };
    page.summary(estimate);
    page.balance(estimate);
    page.cutting(estimate);
    page.parts(estimate);
    page.hours(estimate);
    page.price(estimate);
    page.checks(estimate);
    page.out.push_str(
        "\nAn estimate and a design aid, not a certification: have a licensed engineer check frame, drawbar and welds; local law\n\
         and the authority decide; weigh the finished trailer.",
    );
    page.out
}

/// `1 bar`, `2 bars`.
fn counted(count: impl Into<u64>, what: &str) -> String {
    let count: u64 = count.into();
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

struct Page<'b> {
    out: String,
    book: &'b ShopBook,
}

impl Page<'_> {
    fn line(&mut self, text: impl AsRef<str>) {
        let _ = writeln!(self.out, "{}", text.as_ref());
    }

    fn title(&mut self, text: &str) {
        let _ = writeln!(self.out, "\n{text}\n{}", "─".repeat(text.chars().count()));
    }

    fn length(&self, mm: f64) -> String {
        show_length(mm, self.book.units)
    }

    fn mass(&self, kg: f64) -> String {
        show_mass(kg, self.book.units)
    }

    fn summary(&mut self, estimate: &Estimate) {
        let layout = &estimate.trailer.layout;
        let head = estimate.headline();
        self.line(format!(
            "Bed {} × {}, overall {} × {}, axle {} behind the coupling",
            self.length(layout.bed_rear_x_mm - layout.bed_front_x_mm),
            self.length(layout.bed_width_mm),
            self.length(layout.overall_length_mm),
            self.length(layout.overall_width_mm),
            self.length(layout.axle_x_mm),
        ));
        self.line(format!(
            "Empty {}, gross {}, payload left {}; {}, {}",
            self.mass(head.empty_mass_kg),
            self.mass(head.gross_kg),
            self.mass(head.payload_left_kg),
            counted(head.bars, "bar"),
            counted(head.sheets, "sheet"),
        ));
        let price = &estimate.build_up.customer;
        let gaps = estimate.build_up.findings.iter().filter(|finding| finding.kind == FindingKind::Missing).count();
        self.line(format!(
            "Price {} before {}, {} with it{}",
            show_money(price.before_tax, &self.book.currency),
            price.tax_name,
            show_money(price.total, &self.book.currency),
            if gaps == 0 { String::new() } else { format!("; NOT COMPLETE, see the {gaps} missing under Price") },
        ));
    }

    fn balance(&mut self, estimate: &Estimate) {
        self.title("Weights and balance");
        for group in &estimate.weights.groups {
            self.line(format!(
                "  {:<24}{:>12}  {:>5.1} %",
                group.group.label(),
                self.mass(group.body.mass_kg),
                group.percent
            ));
        }
        for case in &estimate.weights.cases {
            self.line(format!(
                "  {:<44}{:>12}  coupling {:>10} ({:>4.1} %)  axle {:>12}",
                case.name,
                self.mass(case.body.mass_kg),
                self.mass(case.coupling_kg),
                case.coupling_share * 100.0,
                self.mass(case.axle_kg),
            ));
        }
    }

    fn cutting(&mut self, estimate: &Estimate) {
        self.title(if estimate.cutting.full { "Cutting plan" } else { "Cutting plan (preview)" });
        for cut in &estimate.cutting.bars {
            match &cut.answer {
                Err(fault) => self.line(format!("  {} {}: {fault}", cut.section, cut.grade)),
                Ok(answer) => {
                    let status = format!("{:?}", answer.status).to_lowercase();
                    self.line(format!("  {} {}: {status}", cut.section, cut.grade));
                    for bar in &answer.plan {
                        let fate = if bar.kept { "keep" } else { "scrap" };
                        let left = self.length(bar.remainder.mm() + bar.shared_gain.mm());
                        self.line(format!("    {} × {}: {}; {fate} {left}", bar.count, bar.stock, bar.parts.join(" ")));
                    }
                }
            }
        }
        for cut in &estimate.cutting.sheets {
            let name = format!("{} {}", cut.material.label(), self.length(cut.thickness.mm()));
            match &cut.answer {
                Err(fault) => self.line(format!("  {name}: {fault}")),
                Ok(answer) => {
                    self.line(format!("  {name}: {}", format!("{:?}", answer.status).to_lowercase()));
                    for sheet in &answer.plan {
                        let parts: Vec<&str> = sheet.placed.iter().map(|placed| placed.part.as_str()).collect();
                        self.line(format!("    {} × {}: {}", sheet.count, sheet.stock, parts.join(" ")));
                    }
                }
            }
        }
    }

    fn parts(&mut self, estimate: &Estimate) {
        self.title("Bought-in parts");
        for part in &estimate.take_off.parts {
            let name = part.part.item.as_ref().map_or_else(
                || format!("nothing suits: {}", part.part.need.class.label()),
                |item| format!("{} {}", item.code, item.name),
            );
            self.line(format!("  {:>7}  {name}", show_number(part.quantity, 2, self.book.currency.group)));
        }
    }

    fn hours(&mut self, estimate: &Estimate) {
        self.title("Hours");
        for line in &estimate.hours.lines {
            self.line(format!("  {:<44}{:>8.2} h", line.operation, line.hours));
        }
        self.line(format!("  {:<44}{:>8.2} h", "all", estimate.hours.total()));
    }

    fn price(&mut self, estimate: &Estimate) {
        self.title("Price");
        for (step, amount) in estimate.build_up.steps() {
            self.line(format!("  {:<44}{:>14}", step.label(), show_money(amount, &self.book.currency)));
        }
        let total = show_money(estimate.build_up.total(), &self.book.currency);
        self.line(format!("  {:<44}{total:>14}", "total"));
        if let Some(margin) = estimate.build_up.margin_percent() {
            self.line(format!("  margin on price {} %", margin.round_dp(1)));
        }
        for finding in &estimate.build_up.findings {
            self.line(format!("  {}: {}", finding.kind.label(), finding.says));
        }
    }

    fn checks(&mut self, estimate: &Estimate) {
        self.title("Checks");
        for check in &estimate.checks {
            let missing = match &check.verdict {
                Verdict::CannotTell(what) => format!(" (needs {what})"),
                _ => String::new(),
            };
            self.line(format!("  {:<11} {}: {}{missing}", check.verdict.label(), check.name, check.says));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_of_the_file_names_field_value_and_what_would_be_right() {
        let why = |text: &str| parse_json::<Spec>(text).expect_err("a fault");
        assert_eq!(
            why(r#"{"design":{"bed":{"length":"350 kg"}}}"#),
            "design.bed.length: found string \"350 kg\", a number is wanted (millimetres, kilograms) at line 1 column 35"
        );
        assert!(why(r#"{"need":{"count":-1}}"#).starts_with("need.count: found integer `-1`, a whole number from 0"));
        assert!(
            why(r#"{"offer":{"margin_percent":"abc"}}"#)
                .starts_with("offer.margin_percent: found string \"abc\", a decimal")
        );
        assert!(
            why(r#"{"design":{"frame":{"side_rail":"foo"}}}"#)
                .starts_with("design.frame.side_rail: “foo” is not a kind")
        );
        assert!(why(r#"{"need":{"loads":[{"mass":"x"}]}}"#).starts_with("need.loads[0].mass: "));
        assert!(
            why(r#"{"design":{"bed":{"lenght":1}}}"#).starts_with("unknown field `lenght`, expected one of `length`")
        );
        assert!(why("").starts_with("the file is empty"));
        assert!(why("[]").starts_with("a JSON object in braces is wanted"));
        assert!(why("{").contains("line 1 column 1"));
        assert!(why("{} {}").contains("trailing characters"));
        assert_eq!(parse_json::<Spec>("{}"), Ok(Spec::default()));
    }
}
