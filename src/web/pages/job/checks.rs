//! Checks as pages show them: by area, the worst first, with what cannot be told and what would tell it.

use std::collections::BTreeMap;

use super::{Tab, view::FaultView, workings::WorkingView};
use crate::{
    domain::{
        trailer::{
            Spec,
            fields::{self, Entered},
        },
        working::{Area, Check, Verdict, show_use},
    },
    storage::JobId,
    web::{paths, show::Show},
};

/// The written answers, by key of the check.
pub type Answers = BTreeMap<String, String>;

/// All checks of an estimate for one page.
#[derive(Clone, Debug, Default)]
pub struct Checks {
    /// How many came out how, in words, with where they begin.
    pub counts: Vec<Count>,
    pub areas: Vec<AreaView>,
    pub missing: Vec<Missing>,
}

/// "3 fail", with the place of the first.
#[derive(Clone, Debug)]
pub struct Count {
    pub kind: &'static str,
    pub words: String,
    pub to: String,
}

#[derive(Clone, Debug)]
pub struct AreaView {
    pub word: &'static str,
    pub label: &'static str,
    pub counts: Vec<Count>,
    /// What fails, cannot be told or comes close.
    pub telling: Vec<CheckView>,
    pub holding: Vec<CheckView>,
}

/// An input that checks lack.
#[derive(Clone, Debug)]
pub struct Missing {
    pub what: String,
    /// Where it can be given; empty where no field is known.
    pub path: String,
    pub mend: String,
    /// Names of the checks that wait for it.
    pub checks: Vec<String>,
}

impl Checks {
    pub fn of(checks: &[Check], spec: &Spec, job: &JobId, show: &Show) -> Self {
        let views = CheckView::all(checks, &spec.offer.answers, show);
        let mut areas: Vec<AreaView> = Area::ALL.into_iter().filter_map(|area| AreaView::of(area, &views)).collect();
        // The area with the worst check first; within alike ones the engineer's order.
        areas.sort_by_key(|area| area.telling.first().map_or(3, |check| order(check.kind)));
        Self { counts: counts(&views), areas, missing: missing(checks, spec, job) }
    }

    /// A check by its key.
    pub fn find(&mut self, key: &str) -> Option<&mut CheckView> {
        self.areas.iter_mut().flat_map(|area| &mut area.telling).find(|check| check.key == key)
    }
}

impl AreaView {
    /// Something in it waits for a person: an answer, an input, another spec.
    pub fn waits(&self) -> bool {
        self.telling.iter().any(|check| match check.kind {
            "fails" => check.blocks || !check.is_answered() || check.fault.is_some(),
            kind => kind == "unknown",
        })
    }

    fn of(area: Area, all: &[CheckView]) -> Option<Self> {
        let (holding, telling): (Vec<_>, Vec<_>) =
            all.iter().filter(|check| check.area == area).cloned().partition(|check| check.kind == "holds");
        let all: Vec<CheckView> = telling.iter().chain(&holding).cloned().collect();
        (!all.is_empty()).then(|| Self {
            word: area.word(),
            label: area.label(),
            counts: counts(&all),
            telling,
            holding,
        })
    }
}

const KINDS: [&str; 4] = ["fails", "unknown", "close", "holds"];

fn order(kind: &str) -> usize {
    KINDS.iter().position(|known| *known == kind).unwrap_or(KINDS.len())
}

fn counts(checks: &[CheckView]) -> Vec<Count> {
    let count = |kind: &'static str| {
        let of_kind: Vec<&CheckView> = checks.iter().filter(|check| check.kind == kind).collect();
        let first = of_kind.first()?;
        let many = of_kind.len();
        let words = match (kind, many) {
            ("fails", many) => {
                let answered = of_kind.iter().filter(|check| check.is_answered()).count();
                let fails = if many == 1 { "1 fails".to_owned() } else { format!("{many} fail") };
                if answered == 0 { fails } else { format!("{fails}, {answered} answered") }
            }
            ("unknown", many) => format!("{many} cannot tell"),
            ("close", 1) => "1 is close".to_owned(),
            ("close", many) => format!("{many} are close"),
            (_, 1) => "1 holds".to_owned(),
            (_, many) => format!("{many} hold"),
        };
        Some(Count { kind, words, to: first.id.clone() })
    };
    KINDS.into_iter().filter_map(count).collect()
}

/// What checks lack, each input once.
fn missing(checks: &[Check], spec: &Spec, job: &JobId) -> Vec<Missing> {
    let document = serde_json::to_value(spec).unwrap_or_default();
    let mut found: Vec<Missing> = Vec::new();
    for check in checks {
        let Verdict::CannotTell(what) = &check.verdict else { continue };
        match found.iter_mut().find(|missing| missing.what == *what) {
            Some(missing) if missing.checks.contains(&check.name) => {}
            Some(missing) => missing.checks.push(check.name.clone()),
            None => {
                let (path, mend) = place(what, &document, job).unwrap_or_default();
                found.push(Missing { what: what.clone(), path, mend, checks: vec![check.name.clone()] });
            }
        }
    }
    found
}

/// Where what a check lacks is entered, and what to do there.
fn place(what: &str, document: &serde_json::Value, job: &JobId) -> Option<(String, String)> {
    Some(match fields::entered(what, document)? {
        Entered::InRateBook => (paths::RATES.to_owned(), "Look at the rate book".to_owned()),
        Entered::InField { path, label } => (FaultView::path(&path, job), format!("Fill in: {label}")),
        Entered::AsItem { item, .. } => (Tab::Need.path(job), format!("Add a {item}")),
    })
}

/// A check as pages show it.
#[derive(Clone, Debug)]
pub struct CheckView {
    pub key: String,
    /// For links and labels on a page.
    pub id: String,
    pub area: Area,
    pub name: String,
    /// Demand over capacity.
    pub usage: String,
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
            (Some(demand), Some(capacity)) => show.beside(demand, capacity, &check.unit).join(" of "),
            _ => String::new(),
        };
        let says = match &check.verdict {
            Verdict::CannotTell(missing) if !check.says.contains(missing.as_str()) => {
                format!("{} It needs {missing}.", check.says)
            }
            _ => check.says.clone(),
        };
        // What the sentence names already is not said twice.
        let said = says.to_lowercase();
        let place: Vec<&str> = [&check.loading_case, &check.part]
            .into_iter()
            .flatten()
            .map(String::as_str)
            .filter(|place| !said.contains(&place.to_lowercase()))
            .collect();
        let fails = check.verdict == Verdict::Fails;
        Self {
            key: check.key.clone(),
            id: slug(&check.key),
            area: Area::of(&check.key),
            name: check.name.clone(),
            usage: check.usage.map_or_else(String::new, show_use),
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

    /// All checks, what fails first; of those that hold the fullest first.
    pub fn all(checks: &[Check], answers: &Answers, show: &Show) -> Vec<Self> {
        let mut checks: Vec<&Check> = checks.iter().collect();
        checks.sort_by(|a, b| rank(a).cmp(&rank(b)).then(b.usage.unwrap_or(0.0).total_cmp(&a.usage.unwrap_or(0.0))));
        let mut views: Vec<Self> =
            checks.iter().map(|check| Self::of(check, answers.get(&check.key).map(String::as_str), show)).collect();
        // Two keys may look alike as ids.
        let mut seen = BTreeMap::new();
        for view in &mut views {
            let times = seen.entry(view.id.clone()).or_insert(0);
            *times += 1;
            if *times > 1 {
                view.id = format!("{}-{times}", view.id);
            }
        }
        views
    }

    pub fn is_answered(&self) -> bool {
        self.takes_answer && !self.answer.trim().is_empty()
    }
}

const fn rank(check: &Check) -> u8 {
    match check.verdict {
        Verdict::Fails => 0,
        Verdict::CannotTell(_) => 1,
        Verdict::Close => 2,
        Verdict::Holds => 3,
    }
}

/// A key as the id of an element: letters, digits and hyphens.
fn slug(key: &str) -> String {
    let plain = key.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' });
    format!("check-{}", plain.collect::<String>())
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
    use crate::domain::{
        trailer::TowingVehicle,
        working::{Sure, Working},
    };

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
        assert_eq!(view.compared, "120\u{a0}kg of 75\u{a0}kg");
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

    #[test]
    fn a_hundred_checks_are_counted_and_sorted_by_area() {
        let many = (0..100).map(|number| {
            let key = format!("{}/{number}", ["strength", "balance", "road"][number % 3]);
            match number {
                4 => Check::told(key, "n", Verdict::Fails, "s"),
                6 | 8 => Check::cannot_tell(key, "n", "the kerb mass of van", "s"),
                _ => Check::compared(key, "n", number as f64, 200.0, "kg", "s"),
            }
        });
        let mut spec = Spec::default();
        spec.need.towing_vehicles = vec![
            TowingVehicle { name: "pick-up".into(), ..TowingVehicle::default() },
            TowingVehicle { name: "van".into(), ..TowingVehicle::default() },
        ];
        let checks = Checks::of(&many.collect::<Vec<_>>(), &spec, &JobId(7), &Show::sample());
        let words: Vec<_> = checks.counts.iter().map(|count| count.words.as_str()).collect();
        assert_eq!(words, ["1 fails", "2 cannot tell", "97 hold"]);
        assert_eq!(checks.areas[0].label, "Masses and balance");
        assert_eq!(checks.areas.iter().map(|area| area.telling.len() + area.holding.len()).sum::<usize>(), 100);
        assert_eq!(checks.missing.len(), 1);
        assert_eq!(checks.missing[0].path, "/jobs/7/need#f-need.towing_vehicles.1.kerb");
        assert_eq!(checks.missing[0].checks, ["n"], "each name once");
    }
}
