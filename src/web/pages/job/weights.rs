//! Masses by group, centre of gravity, load on the coupling empty and loaded, with their workings.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{
    Head, Tab, unbuilt,
    view::{CheckView, Headline, WorkingView},
};
use crate::{
    documents::{balance_picture, drawn_cases, load_at},
    domain::{
        estimate::Estimate,
        weights::{AxleWindow, Body, Extreme, Governing, Interval, LoadedCase, MassGroup, Unhitched, Weights},
        working::Check,
    },
    storage::JobId,
    web::{
        AppState, Result,
        extract::Path,
        frame::Frame,
        paths,
        show::{Both, Show},
    },
};

#[derive(Template)]
#[template(path = "web/job/weights.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    headline: Headline,
    groups: Vec<Group>,
    empty: Row,
    cases: Vec<Case>,
    /// SVG of the coupling load against the axle's place.
    picture: String,
    lines: Vec<Line>,
    behind: String,
    /// Where the axle may stand, in words.
    axle: String,
    openings: Vec<String>,
    worst: Vec<Worst>,
    standing: Vec<Fact>,
    checks: Vec<CheckView>,
    limits: Vec<Limit>,
    workings: Vec<WorkingView>,
}

/// A group with what is in it.
struct Group {
    row: Row,
    items: Vec<Row>,
}

struct Row {
    name: String,
    mass: Both,
    behind: Both,
    above: Both,
}

struct Case {
    name: String,
    mass: Both,
    coupling: Both,
    share: String,
    axle: Both,
    working: WorkingView,
}

/// A line of the picture.
struct Line {
    number: usize,
    case: String,
    here: String,
    allowed: String,
    suits: String,
    sets: &'static str,
}

/// The worst case of a check.
struct Worst {
    what: &'static str,
    value: String,
    case: String,
}

/// A figure of the trailer standing unhitched.
struct Fact {
    words: &'static str,
    value: Both,
}

/// What the trailer may weigh before a part is full.
struct Limit {
    part: String,
    gross: Both,
    because: String,
    working: Option<WorkingView>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::WEIGHTS, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    unbuilt::results(&state, frame, job, Tab::Weights, Page::of).await
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        let weights = &estimate.weights;
        let limits = weights.rating.limits.iter().map(|limit| Limit {
            part: limit.part.clone(),
            gross: show.mass(limit.gross_kg),
            because: limit.because.clone(),
            working: limit.working.as_ref().map(|working| WorkingView::of(working, show)),
        });
        Self {
            frame,
            head,
            headline: Headline::of(estimate, show),
            groups: weights.groups.iter().map(|group| Group::of(group, weights, show)).collect(),
            empty: Row::of("empty", &weights.empty, show),
            picture: balance_picture(weights, &estimate.trailer.layout, show.units).svg("balance"),
            lines: lines(&weights.window, weights.axle_x_mm, show),
            behind: behind(&weights.window, show),
            axle: axle(&weights.window, weights.axle_x_mm, show),
            openings: weights.window.openings.iter().map(|opening| opening.says(&weights.trips)).collect(),
            worst: weights.envelope.governing.iter().map(|governing| Worst::of(governing, show)).collect(),
            standing: standing(&weights.unhitched, show),
            checks: estimate.checks.iter().filter(of_balance).map(|check| CheckView::of(check, None, show)).collect(),
            cases: weights.cases.iter().map(|case| Case::of(case, show)).collect(),
            limits: limits.collect(),
            workings: weights.workings.iter().map(|working| WorkingView::of(working, show)).collect(),
        }
    }
}

impl Group {
    fn of(group: &MassGroup, weights: &Weights, show: &Show) -> Self {
        let items = weights.items.iter().filter(|item| item.group == group.group);
        Self {
            row: Row::of(group.group.label(), &group.body, show),
            items: items.map(|item| Row::of(&item.name, &item.body, show)).collect(),
        }
    }
}

impl Row {
    fn of(name: &str, body: &Body, show: &Show) -> Self {
        let [behind, _, above] = body.centre;
        Self {
            name: name.to_owned(),
            mass: show.mass(body.mass_kg),
            behind: show.length(behind),
            above: show.length(above),
        }
    }
}

impl Case {
    fn of(case: &LoadedCase, show: &Show) -> Self {
        Self {
            name: case.name.clone(),
            mass: show.mass(case.body.mass_kg),
            coupling: show.mass(case.coupling_kg),
            share: show.share(case.coupling_share),
            axle: show.mass(case.axle_kg),
            working: WorkingView::of(&case.working(), show),
        }
    }
}

/// The checks that this page shows beside their figures.
fn of_balance(check: &&Check) -> bool {
    ["balance/", "handling/", "towing/uplift/", "towing/coupling/"].iter().any(|start| check.key.starts_with(start))
}

fn lines(window: &AxleWindow, place: f64, show: &Show) -> Vec<Line> {
    let mass = |kg: f64| show.mass(kg).main;
    let range = |from: String, to: String| if from == to { from } else { format!("{from} to {to}") };
    let line = |(number, case): (usize, &Interval)| Line {
        number: number + 1,
        case: case.case.clone(),
        here: load_at(case, place).map_or_else(String::new, |[back, forward]| range(mass(back), mass(forward))),
        allowed: match case.most_kg {
            Some(most) if most < case.least_kg => {
                format!("at least {}, yet at most {}", mass(case.least_kg), mass(most))
            }
            Some(most) => format!("{} to {}", mass(case.least_kg), mass(most)),
            None => format!("from {}", mass(case.least_kg)),
        },
        suits: match (case.from_mm <= case.to_mm, case.to_mm < ENDLESS_MM) {
            (false, _) if case.most_kg.is_some_and(|most| most < case.least_kg) => {
                "nowhere: the coupling may not bear what the case asks for".into()
            }
            (false, _) => "nowhere: its play alone is too much".into(),
            (_, true) => format!("{} to {}", show.length(case.from_mm).main, show.length(case.to_mm).main),
            _ => format!("from {}", show.length(case.from_mm).main),
        },
        sets: match case.sets {
            [true, true] => "sets both ends",
            [true, false] => "sets the front end",
            [false, true] => "sets the rear end",
            _ => "",
        },
    };
    drawn_cases(window).into_iter().enumerate().map(line).collect()
}

/// From here on a place stands for "without end".
const ENDLESS_MM: f64 = 1e6;

fn behind(window: &AxleWindow, show: &Show) -> String {
    let drawn = drawn_cases(window).len();
    format!(
        "{} of {} cases are drawn: the empty trailer, each trip, loads alone, and those that set an end of the window. Every other case \
         lies between them.",
        drawn,
        show.number(window.cases.max(drawn) as f64, 0)
    )
}

fn axle(window: &AxleWindow, place: f64, show: &Show) -> String {
    let length = |mm: f64| show.length(mm).main;
    match (window.window_mm, &window.fight) {
        (Some([from, to]), _) => {
            let to = if to < ENDLESS_MM { length(to) } else { "any distance further back".into() };
            format!(
                "Every case is in its limits with the axle {} to {to} behind the coupling. It stands at {}.",
                length(from),
                length(place)
            )
        }
        (None, Some([back, fore])) => {
            if let Some(alone) = window.impossible() {
                let (least, most) = (show.mass(alone.least_kg).main, show.mass(alone.most_kg.unwrap_or_default()).main);
                return format!(
                    "No place suits every case: “{}” wants at least {least} on the coupling, and at most {most} may rest there.",
                    alone.case
                );
            }
            let [from, to] = window.fight_mm.unwrap_or_default();
            format!(
                "No place suits every case: “{back}” wants the axle at least {} behind the coupling, “{fore}” at most {}.",
                length(from),
                length(to)
            )
        }
        (None, None) => "There is nothing to balance yet.".into(),
    }
}

impl Worst {
    fn of(Governing { extreme, case }: &Governing, show: &Show) -> Self {
        let value = match extreme {
            Extreme::MostShare | Extreme::LeastShare => show.share(case.coupling_share),
            Extreme::MostAxle => show.mass(case.axles_kg.iter().copied().fold(0.0, f64::max)).main,
            Extreme::MostLeft => show.mass(case.wheels_kg[0]).main,
            Extreme::MostRight => show.mass(case.wheels_kg[1]).main,
            _ => show.mass(case.coupling_kg).main,
        };
        Self { what: extreme.label(), value, case: case.name.clone() }
    }
}

fn standing(of: &Unhitched, show: &Show) -> Vec<Fact> {
    let fact = |words, value| Fact { words, value };
    let kg = |words, kg: Option<f64>| kg.map(|kg| fact(words, show.mass(kg)));
    [
        kg("Largest mass rolled onto the rear edge, unhitched, without prop stands", of.tip_mass_kg),
        kg(
            "Hitched while loading: on the coupling (negative pulls up)",
            of.over_rear.as_ref().map(|over| over.hitched_kg),
        ),
        kg("On the prop stands, nose free", of.prop_kg),
        kg("On the jockey wheel, loaded", of.jockey_kg),
        kg("To lift at the coupling, empty", Some(of.lift_empty_kg)),
        kg("To lift at the coupling, loaded", Some(of.lift_loaded_kg)),
        kg("To push by hand on a fall of 1 in 50, empty", Some(of.push_empty_kg)),
        kg("To push by hand on a fall of 1 in 50, loaded", Some(of.push_loaded_kg)),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_case_that_no_place_suits_says_why() {
        let case = |most_kg| Interval {
            case: "mowing".into(),
            from_mm: 2_000.0,
            to_mm: 1_900.0,
            least_kg: 108.8,
            most_kg,
            loaded: true,
            line: vec![[1_500.0, 50.0, 60.0], [2_500.0, 90.0, 110.0]],
            sets: [false, true],
        };
        let said = |most_kg| {
            let window = AxleWindow { intervals: vec![case(most_kg)], ..AxleWindow::default() };
            lines(&window, 2_000.0, &Show::sample()).remove(0)
        };
        let crossed = said(Some(15.0));
        assert_eq!(crossed.allowed, "at least 108.8\u{a0}kg, yet at most 15\u{a0}kg");
        assert_eq!(crossed.suits, "nowhere: the coupling may not bear what the case asks for");
        let loose = said(Some(120.0));
        assert_eq!(
            (loose.allowed.as_str(), loose.suits.as_str()),
            ("108.8\u{a0}kg to 120\u{a0}kg", "nowhere: its play alone is too much")
        );
    }
}
