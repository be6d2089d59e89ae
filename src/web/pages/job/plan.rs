//! How far the plan of a revision is while it is being made, and what became of it.

use std::time::Duration;

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::{HeaderMap, StatusCode},
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};

use super::{Head, Tab, desk::Desk, revisions, view::Gap};
use crate::{
    domain::{measure::Money, nesting::Stopped, trailer::TakeOff},
    storage::JobId,
    web::{
        AppState, Result,
        extract::Path,
        frame::{Frame, Room},
        pages, paths,
        planning::{Outcome, Planned, Task},
        show::Show,
    },
};

/// A cancelled search ends at its next look at the clock, some milliseconds on.
pub const CANCEL_WITHIN: Duration = Duration::from_secs(2);

#[derive(Template)]
#[template(path = "web/job/plan.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    path: String,
    cancel: String,
    by: String,
    /// How far the customer's options are.
    combined: Option<(usize, usize)>,
    rows: Vec<Row>,
    /// What became of it; none while it runs.
    ended: Option<Ended>,
}

struct Ended {
    kind: &'static str,
    title: &'static str,
    says: String,
    blocks: Vec<Gap>,
}

/// One section or sheet, as `web/job/progress.html` shows it.
pub struct Row {
    pub title: String,
    pub parts: u32,
    pub net: String,
    pub bound: String,
    pub gap: String,
    /// Share of the work allowed, 0 to 100, for the bar; and in words.
    pub used: u32,
    pub state: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::PLAN, get(show)).route(paths::PLAN_CANCEL, post(cancel))
}

/// What is planned of so many trailers, in the order of the plans.
pub fn problems(take_off: &TakeOff, count: u32, show: &Show) -> Vec<Planned> {
    let parts = |quantities: &mut dyn Iterator<Item = u32>| {
        quantities.fold(0_u32, |sum, quantity| sum.saturating_add(quantity.saturating_mul(count)))
    };
    let bars = take_off.bars.iter().map(|bars| Planned {
        title: format!("{} {}", bars.section, bars.grade),
        parts: parts(&mut bars.parts.iter().map(|part| part.quantity)),
    });
    let sheets = take_off.sheets.iter().map(|sheets| Planned {
        title: format!("{} {}", sheets.material.label(), show.length(sheets.thickness.mm()).main),
        parts: parts(&mut sheets.parts.iter().map(|part| part.quantity)),
    });
    bars.chain(sheets).collect()
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, id)): Path<(JobId, i64)>,
    headers: HeaderMap,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let task = state.planning.task(id).filter(|task| task.about == job);
    let outcome = task.as_ref().and_then(|task| task.outcome());
    let path = paths::of_plan(paths::PLAN, &job, &id);
    // The script replaces a part of the page: once the plan has ended it opens the page anew, and comes by here like a browser without it.
    if headers.contains_key("hx-request") && (task.is_none() || outcome.is_some()) {
        return Ok([("hx-redirect", path)].into_response());
    }
    if let Some(Outcome::Issued(number)) = &outcome {
        return Ok(Redirect::to(&paths::of_revision(paths::REVISION, &job, number)).into_response());
    }
    let ended = match (&task, outcome) {
        (Some(_), outcome) => outcome.map(|outcome| ended(&desk, outcome)),
        (None, _) => Some(Ended::plain(
            "caution",
            "This plan is no longer known",
            "The program was started again meanwhile, or it is long ago. A plan that was still being made was not issued; \
             what was issued is listed under Revisions.",
        )),
    };
    let page = Page {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Revisions),
        path,
        cancel: paths::of_plan(paths::PLAN_CANCEL, &job, &id),
        by: task.as_ref().map(|task| task.by.clone()).unwrap_or_default(),
        combined: task.as_ref().filter(|_| ended.is_none()).and_then(|task| task.combined()),
        rows: task.as_ref().filter(|_| ended.is_none()).map(|task| rows(task, &desk.show)).unwrap_or_default(),
        ended,
    };
    pages::page(StatusCode::OK, &page)
}

async fn cancel(State(state): State<AppState>, Path((job, id)): Path<(JobId, i64)>) -> Result<Response> {
    if let Some(task) = state.planning.task(id).filter(|task| task.about == job) {
        task.cancel();
        task.ended_within(CANCEL_WITHIN).await;
    }
    Ok(Redirect::to(&paths::of_plan(paths::PLAN, &job, &id)).into_response())
}

impl Ended {
    fn plain(kind: &'static str, title: &'static str, says: impl Into<String>) -> Self {
        Self { kind, title, says: says.into(), blocks: Vec::new() }
    }
}

fn ended(desk: &Desk, outcome: Outcome) -> Ended {
    const NOTHING: &str = "Nothing was issued";
    match outcome {
        Outcome::Issued(number) => {
            Ended::plain("holds", "The revision is issued", format!("Revision {number} is frozen with its plans."))
        }
        Outcome::CutShort(Stopped::Cancelled) => Ended::plain(
            "plain",
            NOTHING,
            "The plan was cancelled. Need, design and offer are as they were: try again when you like.",
        ),
        Outcome::CutShort(_) => Ended::plain(
            "caution",
            NOTHING,
            "The plan took too long and was ended by the clock; such a plan is not issued. Please try again when the computer has less to do.",
        ),
        Outcome::Blocked(estimate) => Ended {
            blocks: revisions::blocks(desk, &estimate),
            ..Ended::plain("fails", NOTHING, "The plans are made, but this stands in the way:")
        },
        Outcome::Changed(_) => Ended::plain("caution", NOTHING, revisions::CHANGED),
        Outcome::Refused(_, why) => Ended::plain("fails", NOTHING, format!("{why}.")),
        Outcome::Failed => {
            Ended::plain("fails", NOTHING, "Something went wrong here; it is in the log. Please try again.")
        }
    }
}

/// While the task runs: the problem in hand with its figures; the last look at one that is done is not its outcome, so it has none.
pub fn rows<S, O: Clone>(task: &Task<S, O>, show: &Show) -> Vec<Row> {
    let seen = task.seen();
    let last = seen.last();
    let row = |(at, planned): (usize, &Planned)| {
        let done = last.is_some_and(|last| last.problem > at);
        let Some(progress) = last.filter(|last| last.problem == at) else {
            let state = if done { "done" } else { "waits" };
            return Row { used: if done { 100 } else { 0 }, ..Row::still(planned, state.to_owned()) };
        };
        let money = |amount: Option<Money>| amount.map_or_else(|| "none yet".to_owned(), |amount| show.money(amount));
        Row {
            net: money(progress.net_cost),
            bound: money(progress.lower_bound),
            gap: progress.gap().map_or_else(String::new, |gap| show.share(gap)),
            used: progress.percent(),
            ..Row::still(planned, format!("{} of the work allowed", show.share(progress.share())))
        }
    };
    task.problems.iter().enumerate().map(row).collect()
}

impl Row {
    fn still(planned: &Planned, state: String) -> Self {
        let nothing = String::new;
        Self {
            title: planned.title.clone(),
            parts: planned.parts,
            net: nothing(),
            bound: nothing(),
            gap: nothing(),
            used: 0,
            state,
        }
    }
}
