//! Figures, checks and workings as a job's pages show them.

use crate::{
    documents::{plan_view, side_view},
    domain::{
        estimate::Estimate,
        form::Fault,
        measure::Units,
        trailer::SpecFaults,
        working::{Check, Verdict, Working},
    },
    storage::JobId,
    web::{
        forms::{sentence, spec::Part},
        pages::job::Tab,
        show::{Both, Show},
    },
};

/// One figure of a strip.
#[derive(Clone, Debug)]
pub struct Figure {
    /// A stable name for tests.
    pub key: &'static str,
    pub words: String,
    pub value: Both,
    pub note: String,
}

/// The strip of figures that move as the spec is typed.
#[derive(Clone, Debug, Default)]
pub struct Headline {
    pub figures: Vec<Figure>,
}

impl Headline {
    pub fn of(estimate: &Estimate, show: &Show) -> Self {
        let headline = estimate.headline();
        let figure = |key, words: &str, value, note: String| Figure { key, words: words.into(), value, note };
        let failing = match headline.failing_checks {
            0 => "no check fails".to_owned(),
            1 => "1 check fails".to_owned(),
            many => format!("{many} checks fail"),
        };
        let share = format!("{} of the heaviest case", show.share(headline.coupling_share));
        let count = estimate.build_up.count;
        let price_note = if count > 1 { format!("for {count}, with tax") } else { "with tax".to_owned() };
        let figures = vec![
            figure("empty-mass", "Empty mass", show.mass(headline.empty_mass_kg), String::new()),
            figure("gross", "Gross for the plate", show.mass(headline.gross_kg), String::new()),
            figure("payload", "Payload left", show.mass(headline.payload_left_kg), String::new()),
            figure("coupling", "On the coupling", show.mass(headline.coupling_kg), share),
            figure("bars", "Bars", Both::plain(headline.bars.to_string()), String::new()),
            figure("sheets", "Sheets", Both::plain(headline.sheets.to_string()), String::new()),
            figure("price", "Price", Both::plain(show.money(estimate.build_up.total())), price_note),
            figure("checks", "Checks", Both::plain(estimate.checks.len().to_string()), failing),
        ];
        Self { figures }
    }
}

/// The faults of a spec, each with the way to its field.
pub fn faults_of(faults: &SpecFaults, job: &JobId) -> Vec<FaultView> {
    faults.0.iter().map(|fault| FaultView::of(fault, job)).collect()
}

impl FaultView {
    pub fn of(fault: &Fault, job: &JobId) -> Self {
        let tab = if Part::Need.holds(&fault.field) {
            Tab::Need
        } else if Part::Offer.holds(&fault.field) {
            Tab::Price
        } else {
            Tab::Trailer
        };
        let path = format!("{}#f-{}", tab.path(job), fault.field);
        Self { path, label: fault.label.clone(), message: sentence(fault) }
    }
}

/// Plan and side view.
pub fn trailer_drawings(estimate: &Estimate, units: Units) -> Vec<Drawing> {
    let plan = plan_view(&estimate.trailer, &estimate.weights, units);
    let side = side_view(&estimate.trailer, &estimate.weights, units);
    vec![
        Drawing { shows: "From above".into(), svg: plan.svg("plan") },
        Drawing { shows: "From the left-hand side".into(), svg: side.svg("side") },
    ]
}

/// A fault of the spec, with the page on which it can be put right.
#[derive(Clone, Debug)]
pub struct FaultView {
    pub path: String,
    pub label: String,
    pub message: String,
}

/// A text and an amount.
#[derive(Clone, Debug)]
pub struct Line {
    pub text: String,
    pub note: String,
    pub amount: String,
}

/// An SVG made by `documents`, with what it shows.
#[derive(Clone, Debug)]
pub struct Drawing {
    pub shows: String,
    pub svg: String,
}

/// Something that stands in the way, why, and where it can be mended.
#[derive(Clone, Debug)]
pub struct Gap {
    pub why: String,
    pub path: String,
    pub mend: &'static str,
}

#[derive(Clone, Debug)]
pub struct WorkingView {
    pub title: String,
    pub formula: String,
    pub given: Vec<GivenView>,
    pub result: String,
    pub source: String,
    pub sure: &'static str,
}

#[derive(Clone, Debug)]
pub struct GivenView {
    pub symbol: String,
    pub words: String,
    pub value: String,
}

impl WorkingView {
    pub fn of(working: &Working, show: &Show) -> Self {
        let given = working.given.iter().map(|given| GivenView {
            symbol: given.symbol.clone(),
            words: given.words.clone(),
            value: show.result(given.value, &given.unit),
        });
        Self {
            title: working.title.clone(),
            formula: working.formula.clone(),
            given: given.collect(),
            result: show.result(working.result, &working.unit),
            source: working.source.clone(),
            sure: working.sure.label(),
        }
    }
}

#[derive(Clone, Debug)]
pub struct CheckView {
    pub key: String,
    pub name: String,
    /// Ending of the verdict's class: holds, close, fails or unknown.
    pub kind: &'static str,
    pub word: &'static str,
    /// Demand and capacity.
    pub compared: String,
    pub says: String,
    /// Loading case and part.
    pub place: String,
    pub working: Option<WorkingView>,
    /// No answer lifts it.
    pub blocks: bool,
    pub takes_answer: bool,
    pub answer: String,
    pub fault: Option<String>,
}

impl CheckView {
    pub fn of(check: &Check, answer: Option<&str>, show: &Show) -> Self {
        let compared = match (check.demand, check.capacity) {
            (Some(demand), Some(capacity)) => {
                format!("{} of {}", show.result(demand, &check.unit), show.result(capacity, &check.unit))
            }
            _ => String::new(),
        };
        let says = match &check.verdict {
            Verdict::CannotTell(missing) if !check.says.contains(missing.as_str()) => {
                format!("{} It needs {missing}.", check.says)
            }
            _ => check.says.clone(),
        };
        let place: Vec<&str> = [&check.loading_case, &check.part].into_iter().flatten().map(String::as_str).collect();
        let fails = check.verdict == Verdict::Fails;
        Self {
            key: check.key.clone(),
            name: check.name.clone(),
            kind: kind(&check.verdict),
            word: check.verdict.label(),
            compared,
            says,
            place: place.join(", "),
            working: check.working.as_ref().map(|working| WorkingView::of(working, show)),
            blocks: fails && check.blocks_issue,
            takes_answer: fails && !check.blocks_issue,
            answer: answer.unwrap_or_default().to_owned(),
            fault: None,
        }
    }

    /// All checks, what fails first.
    pub fn all(checks: &[Check], answers: &std::collections::BTreeMap<String, String>, show: &Show) -> Vec<Self> {
        let mut checks: Vec<&Check> = checks.iter().collect();
        checks.sort_by_key(|check| match check.verdict {
            Verdict::Fails => 0,
            Verdict::CannotTell(_) => 1,
            Verdict::Close => 2,
            Verdict::Holds => 3,
        });
        checks.iter().map(|check| Self::of(check, answers.get(&check.key).map(String::as_str), show)).collect()
    }
}

/// The mark of a verdict.
pub fn kind(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "holds",
        Verdict::Close => "close",
        Verdict::Fails => "fails",
        Verdict::CannotTell(_) => "unknown",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::working::Sure;

    fn check(verdict: Verdict, blocks_issue: bool) -> Check {
        Check {
            key: "balance/share".into(),
            name: "Share on the coupling".into(),
            demand: Some(120.0),
            capacity: Some(75.0),
            unit: "kg".into(),
            usage: Some(1.6),
            verdict,
            says: "Move the axle back.".into(),
            loading_case: Some("hives".into()),
            part: None,
            working: Some(
                Working::new("Coupling load", "S = M (L − x) / L")
                    .given("M", "gross mass", 740.0, "kg")
                    .gives("S", 120.0, "kg")
                    .source("statics", Sure::Computed),
            ),
            blocks_issue,
        }
    }

    #[test]
    fn a_failing_check_takes_an_answer_unless_none_can_lift_it() {
        let show = Show::sample();
        let view = CheckView::of(&check(Verdict::Fails, false), Some("agreed"), &show);
        assert!(view.takes_answer && !view.blocks && view.answer == "agreed");
        assert_eq!(view.compared, "120 kg of 75 kg");
        let view = CheckView::of(&check(Verdict::Fails, true), None, &show);
        assert!(!view.takes_answer && view.blocks);
        let view = CheckView::of(&check(Verdict::CannotTell("the kerb mass".into()), true), None, &show);
        assert!(!view.takes_answer && !view.blocks && view.says.contains("the kerb mass"));
    }

    #[test]
    fn what_fails_stands_first() {
        let checks = [check(Verdict::Holds, false), check(Verdict::Fails, false), check(Verdict::Close, false)];
        let words: Vec<_> =
            CheckView::all(&checks, &Default::default(), &Show::sample()).iter().map(|check| check.word).collect();
        assert_eq!(words, ["fails", "close", "holds"]);
    }
}
