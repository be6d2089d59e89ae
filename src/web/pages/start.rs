//! The first page: what waits for us, what waits for customers, each with the next step.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
    routing::get,
};
use jiff::civil::Date;

use crate::{
    domain::{
        quote::{ForWhom, Stage, StageKind, waiting},
        shop::ItemClass,
    },
    storage::{JobId, JobQuery, JobRow, JobSort},
    web::{
        AppState, Result, clock,
        frame::{Frame, Room},
        pages, paths,
    },
};

/// As many as fit on a page that is read at a glance; the list of jobs has the others.
const MOST: u32 = 200;

#[derive(Template)]
#[template(path = "web/start.html")]
pub struct Page {
    frame: Frame,
    ours: Vec<Line>,
    theirs: Vec<Line>,
    has_jobs: bool,
    /// Why the last try to copy the shop's file failed, for whoever can act on it.
    copy_failed: Option<String>,
}

/// Something that waits.
struct Line {
    job: JobId,
    title: String,
    customer: String,
    /// What it waits for.
    why: String,
    /// The step that would bring it on, as the link's text.
    next: &'static str,
    path: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::START, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame) -> Result<Response> {
    if !frame.rooms().contains(&Room::Waiting) {
        let in_the_shop = format!("{}?stage={}", paths::JOBS, StageKind::InTheShop.word());
        return Ok(Redirect::to(&in_the_shop).into_response());
    }
    let query = |stages: &[StageKind], asked| JobQuery {
        search: String::new(),
        stages: stages.to_vec(),
        asked,
        sort: JobSort::Updated,
        offset: 0,
        limit: MOST,
    };
    let open = [StageKind::Enquiry, StageKind::Quoted, StageKind::Accepted];
    let mut rows = state.store.jobs(&query(&[], true)).await?.rows;
    let more = state.store.jobs(&query(&open, false)).await?.rows;
    let asked: Vec<JobId> = rows.iter().map(|row| row.id).collect();
    rows.extend(more.into_iter().filter(|row| !asked.contains(&row.id)));
    let has_jobs = !rows.is_empty() || state.store.jobs(&query(&[], false)).await?.total > 0;
    let today = clock::today();
    // Steel moves fastest: its age is what makes a whole quote's prices too old.
    let holds = state.shop(today).await?.policy.age_days(ItemClass::HollowSection);
    let mut page = Page::of(frame.at(Room::Waiting), &rows, today, holds, has_jobs);
    if page.frame.may_open(paths::COPIES) {
        page.copy_failed = state.nightly.failed().map(|failed| failed.why);
    }
    pages::page(StatusCode::OK, &page)
}

impl Page {
    fn of(frame: Frame, rows: &[JobRow], today: Date, price_holds_days: u32, has_jobs: bool) -> Self {
        let (mut ours, mut theirs) = (Vec::new(), Vec::new());
        for row in rows {
            let Some(waits) = waiting(&row.summary, today, price_holds_days) else { continue };
            let line = Line::of(row, waits.next_step);
            match waits.for_whom {
                ForWhom::Us => ours.push(line),
                ForWhom::Customer => theirs.push(line),
            }
        }
        Self { frame, ours, theirs, has_jobs, copy_failed: None }
    }
}

impl Line {
    fn of(row: &JobRow, next_step: String) -> Self {
        let job = &row.summary;
        let of = |pattern| paths::of_job(pattern, &row.id);
        let is_open_enquiry = matches!(job.stage, Stage::Enquiry { .. });
        let (why, next, path) = match job.stage {
            _ if job.open_questions > 0 => (next_step, "Answer", format!("{}#messages-title", of(paths::JOB))),
            Stage::Accepted { .. } => (next_step, "Start it", format!("{}#stage-title", of(paths::JOB))),
            _ if is_open_enquiry && row.headline.is_none() => {
                ("say what it must carry, until a trailer follows from it".into(), "Fill in the need", of(paths::NEED))
            }
            _ if is_open_enquiry && job.unanswered_checks > 0 => {
                (next_step, "Look at the checks", format!("{}#checks-title", of(paths::PRICE)))
            }
            Stage::Enquiry { .. } if next_step.contains("rate book") => {
                (next_step, "Update prices", paths::RATES.into())
            }
            Stage::Enquiry { .. } => (next_step, "Issue", of(paths::REVISIONS)),
            _ => (next_step, "See the quote", of(paths::REVISIONS)),
        };
        Self { job: row.id, title: job.title.clone(), customer: job.customer.clone(), why, next, path }
    }
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let line = || Line {
            job: JobId(7),
            title: "Four hives".into(),
            customer: "Ann <b>".into(),
            why: "answer the customer's question".into(),
            next: "Answer",
            path: "/jobs/7".into(),
        };
        let [nobody, ann] = Frame::samples();
        vec![
            Self { frame: nobody, ours: vec![], theirs: vec![], has_jobs: false, copy_failed: None },
            Self {
                frame: ann,
                ours: vec![line()],
                theirs: vec![line()],
                has_jobs: true,
                copy_failed: Some("there is no folder /Ann <b>".into()),
            },
        ]
    }
}
