//! The list of jobs: search, stage, sort, pages.

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use serde::Deserialize;

use crate::{
    domain::quote::StageKind,
    storage::{JobId, JobPage, JobQuery, JobSort},
    web::{
        AppState, Result, clock,
        extract::Query,
        form::Form,
        frame::{Frame, Room},
        pages::{self, Pager, job},
        paths,
    },
};

/// Jobs on one page of the list.
const ROWS: u32 = 50;

#[derive(Template)]
#[template(path = "web/jobs/list.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    rows: Vec<Row>,
    total: u64,
    pager: Pager,
}

struct Row {
    job: JobId,
    number: String,
    title: String,
    customer: String,
    stage: &'static str,
    stage_kind: &'static str,
    changed: String,
}

#[derive(Debug, Default, Deserialize)]
struct Asked {
    #[serde(default)]
    search: String,
    #[serde(default)]
    stage: String,
    #[serde(default)]
    sort: String,
    #[serde(default)]
    page: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::JOBS, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response> {
    let page = asked.page.parse().unwrap_or(1).max(1);
    let found = state.store.jobs(&asked.query(page)).await?;
    pages::page(StatusCode::OK, &Page::of(frame.at(Room::Jobs), &asked, page, found))
}

impl Asked {
    fn query(&self, page: u32) -> JobQuery {
        JobQuery {
            search: self.search.clone(),
            stages: StageKind::from_word(&self.stage).into_iter().collect(),
            asked: false,
            sort: match self.sort.as_str() {
                "number" => JobSort::Number,
                "title" => JobSort::Title,
                _ => JobSort::Updated,
            },
            offset: Pager::offset(page, ROWS),
            limit: ROWS,
        }
    }

    /// The list's path with what was asked, without a page.
    fn path(&self) -> String {
        let encoded = paths::encoded;
        let (search, stage, sort) = (encoded(&self.search), encoded(&self.stage), encoded(&self.sort));
        format!("{}?search={search}&stage={stage}&sort={sort}", paths::JOBS)
    }
}

impl Page {
    /// Where a job opens: the workshop begins with its papers.
    fn first_page(&self) -> &'static str {
        if self.frame.may_open(paths::JOB) { paths::JOB } else { paths::PACK }
    }

    fn of(frame: Frame, asked: &Asked, page: u32, found: JobPage) -> Self {
        let rows = found.rows.into_iter().map(|row| Row {
            job: row.id,
            number: row.summary.number.to_string(),
            stage: row.summary.stage.kind().label(),
            stage_kind: job::stage_mark(row.summary.stage.kind()),
            title: row.summary.title,
            customer: row.summary.customer,
            changed: clock::moment(row.updated_at),
        });
        Self {
            frame,
            form: Form::filled([
                ("search", asked.search.as_str()),
                ("stage", asked.stage.as_str()),
                ("sort", asked.sort.as_str()),
            ]),
            rows: rows.collect(),
            total: found.total,
            pager: Pager::new(asked.path(), page, found.total, ROWS),
        }
    }

    fn stages(&self) -> Vec<(&'static str, &'static str)> {
        [("", "all")].into_iter().chain(StageKind::WORDS.iter().copied()).collect()
    }

    fn sorts(&self) -> [(&'static str, &'static str); 3] {
        [("changed", "changed last"), ("number", "number"), ("title", "title")]
    }

    fn is_narrowed(&self) -> bool {
        !self.form.value("search").is_empty() || !self.form.value("stage").is_empty()
    }

    fn found(&self) -> String {
        match (self.total, self.is_narrowed()) {
            (0, true) => "No job is like that.".into(),
            (0, false) => "There is no job yet.".into(),
            (1, _) => "1 job".into(),
            (many, _) => format!("{many} jobs"),
        }
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let row = Row {
            job: JobId(7),
            number: "2026-007".into(),
            title: "Hives".into(),
            customer: "Ann <b>".into(),
            stage: "enquiry",
            stage_kind: "open",
            changed: "5 Nov 2026".into(),
        };
        let pager = |page| Pager::new("/jobs?search=a".into(), page, 120, ROWS);
        vec![
            Self { frame: nobody, form: Form::filled([("search", "<b>")]), rows: vec![], total: 0, pager: pager(1) },
            Self { frame: ann, form: Form::default(), rows: vec![row], total: 51, pager: pager(2) },
        ]
    }
}
