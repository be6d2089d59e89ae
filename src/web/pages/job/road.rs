//! What the road rules of the region say about the trailer, grouped by outcome, each with why it applies and where it comes from.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{Head, Tab, unbuilt};
use crate::{
    domain::{
        estimate::Estimate,
        road::{FactKind, FactWords, Outcome, Ship, Value},
        roadworthy::{Compared, Missing, RoadRules, RuleFinding},
    },
    storage::JobId,
    web::{AppState, Result, extract::Path, frame::Frame, paths, show::Show},
};

#[derive(Template)]
#[template(path = "web/job/road.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    region: String,
    authority: String,
    authority_at: String,
    read_until: String,
    counts: Vec<Count>,
    groups: Vec<Group>,
    facts: Vec<FactRow>,
    not_applying: Vec<Line>,
}

struct Count {
    key: &'static str,
    words: &'static str,
    number: usize,
}

/// Rules of one outcome.
struct Group {
    key: &'static str,
    title: &'static str,
    /// Mark and word of the verdict.
    kind: &'static str,
    word: &'static str,
    note: &'static str,
    rules: Vec<Line>,
}

struct Line {
    id: String,
    text: String,
    because: String,
    threshold: String,
    missing: Vec<Need>,
    confirm: bool,
    source: String,
    sure: String,
}

/// A fact that is missing, and where it can be given.
struct Need {
    words: String,
    path: Option<String>,
}

struct FactRow {
    words: String,
    value: String,
    found: String,
}

/// The outcomes in the order in which they need a look: title, verdict, what it means.
const GROUPS: [(Outcome, &str, &str, &str, &str); 10] = [
    (
        Outcome::Fail,
        "Fails",
        "fails",
        "fails",
        "Each stands beside the price too, where it takes a written answer before the quote can be issued.",
    ),
    (
        Outcome::NeedFact,
        "Cannot tell yet",
        "unknown",
        "cannot tell",
        "A fact is missing; until it is known the rule may apply.",
    ),
    (
        Outcome::Warn,
        "Outside the figure that we have",
        "close",
        "confirm",
        "The figure is not a firm one: confirm it before you change the trailer.",
    ),
    (Outcome::Judge, "For a person to judge", "unknown", "judge", "Nothing here computes these: someone has to look."),
    (Outcome::ToFit, "To fit", "plain", "asks for", ""),
    (Outcome::ToMark, "To mark", "plain", "asks for", "Plates, labels and papers on the trailer."),
    (Outcome::ToFile, "To file", "plain", "asks for", "Papers to hand in."),
    (Outcome::Ask, "To ask the authority", "plain", "ask", ""),
    (Outcome::Pass, "Holds", "holds", "holds", ""),
    (Outcome::Info, "To know", "plain", "to know", ""),
];

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::ROAD, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    unbuilt::results(&state, frame, job, Tab::Road, Page::of).await
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        let rules = &estimate.road;
        let line = |found: &RuleFinding| Line::of(found, &head, show);
        let groups = GROUPS.iter().map(|&(outcome, title, kind, word, note)| Group {
            key: outcome.word(),
            title,
            kind,
            word,
            note,
            rules: rules.of_outcome(outcome).map(line).collect(),
        });
        let groups = groups.filter(|group| !group.rules.is_empty()).collect();
        let facts = rules.facts.iter().filter_map(|fact| {
            let words = FactWords::of(&fact.name)?;
            Some(FactRow {
                words: match &fact.vehicle {
                    Some(vehicle) if !vehicle.is_empty() => format!("{}: {vehicle}", words.words),
                    _ => words.words.to_owned(),
                },
                value: shown(words, &fact.value, show),
                found: fact.found.clone(),
            })
        });
        Self {
            region: rules.name.clone(),
            authority: rules.authority.clone(),
            authority_at: rules.authority_at.clone(),
            read_until: rules.read_until.map(|day| show.day(day)).unwrap_or_default(),
            counts: counts(rules),
            groups,
            facts: facts.collect(),
            not_applying: rules.of_outcome(Outcome::NotApplicable).map(line).collect(),
            frame,
            head,
        }
    }
}

fn counts(rules: &RoadRules) -> Vec<Count> {
    let count = |key, words, which: &dyn Fn(&RuleFinding) -> bool| Count {
        key,
        words,
        number: rules.applying().filter(|found| which(found)).count(),
    };
    vec![
        count("firm", "firm lines that apply", &|found| {
            found.ship == Ship::Check && found.outcome != Outcome::NeedFact
        }),
        count("confirm", "to be confirmed", &|found| found.ship == Ship::Note && found.outcome != Outcome::NeedFact),
        count("need-fact", "cannot tell", &|found| found.outcome == Outcome::NeedFact),
        count("fails", "fail", &|found| found.outcome == Outcome::Fail),
    ]
}

impl Line {
    fn of(found: &RuleFinding, head: &Head, show: &Show) -> Self {
        let applies = found.outcome != Outcome::NotApplicable;
        let known = |compared: &&Compared| match compared.holds() {
            Some(holds) => holds == applies,
            None => false,
        };
        let reasons: Vec<String> = found.when.iter().filter(known).map(|compared| reason(compared, show)).collect();
        let limits: Vec<String> =
            found.limit.iter().filter(|limit| limit.is.is_some()).map(|compared| reason(compared, show)).collect();
        let mut because = match (found.when.is_empty(), reasons.is_empty(), applies) {
            (true, _, true) => "Applies always".to_owned(),
            (_, false, true) => format!("Applies because {}", reasons.join(" and ")),
            (_, true, true) => "May apply".to_owned(),
            (_, false, false) => format!("Does not apply: not {}", reasons.join(", not ")),
            (_, true, false) => "Another rule stands in its place".to_owned(),
        };
        if applies && !limits.is_empty() {
            because = format!("{because}; compared: {}", limits.join(", "));
        }
        if let Some(vehicle) = &found.vehicle {
            because = format!("{because}; towed by {vehicle}");
        }
        Self {
            id: found.rule.clone(),
            text: found.text.clone(),
            because: format!("{because}."),
            threshold: if found.threshold == "—" { String::new() } else { found.threshold.clone() },
            missing: found.missing.iter().map(|missing| Need::of(missing, head)).collect(),
            confirm: found.ship == Ship::Note,
            source: found.source.clone(),
            sure: format!("{}, {}, {} confidence", found.mark, found.tier, found.confidence),
        }
    }
}

impl Need {
    fn of(missing: &Missing, head: &Head) -> Self {
        let words = FactWords::of(&missing.fact).map_or(missing.fact.as_str(), |fact| fact.words);
        let path = missing.field.as_ref().map(|field| {
            // Without a vehicle there is no field to go to yet.
            let place = if field.ends_with("vehicles") { String::new() } else { format!("#f-{field}") };
            format!("{}{place}", paths::of_job(paths::NEED, &head.job))
        });
        Self { words: words.to_owned(), path }
    }
}

/// `gross mass 1,500 kg > 750 kg`.
fn reason(compared: &Compared, show: &Show) -> String {
    let Some(fact) = FactWords::of(&compared.fact) else { return compared.fact.clone() };
    let is = compared.is.as_ref().map(|is| shown(fact, is, show)).unwrap_or_default();
    match (&compared.value, fact.kind) {
        (Value::YesNo(_), _) => format!("{}: {is}", fact.words),
        (Value::Word(wanted), _) if compared.holds() == Some(false) => format!("{} {wanted} (it is {is})", fact.words),
        (Value::Word(_), _) => format!("{} is {is}", fact.words),
        (wanted, _) => format!("{} {is} {} {}", fact.words, compared.op, shown(fact, wanted, show)),
    }
}

fn shown(fact: &FactWords, value: &Value, show: &Show) -> String {
    match (value, fact.kind) {
        (Value::Number(kg), FactKind::Mass) => show.mass(*kg).main,
        (Value::Number(mm), FactKind::Length) => show.length(*mm).main,
        (Value::Number(ratio), FactKind::Ratio) => show.number(*ratio, 3),
        (Value::Number(count), _) => show.number(*count, 0),
        (Value::YesNo(yes), _) => if *yes { "yes" } else { "no" }.to_owned(),
        (Value::Word(word), _) => word.clone(),
    }
}
