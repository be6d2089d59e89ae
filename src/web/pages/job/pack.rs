//! The job pack: the workshop's papers of each issued revision, frozen, and of the job as it stands. No money on it.

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};

use super::{Head, Tab, desk::Desk};
use crate::{
    storage::{DecisionKind, JobId},
    web::{
        AppState, Result, clock,
        extract::Path,
        frame::{Frame, Room},
        pages, paths,
    },
};

#[derive(Template)]
#[template(path = "web/job/pack.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    /// The latest first.
    revisions: Vec<Issue>,
}

struct Issue {
    number: u32,
    issued: String,
    /// The customer accepted this one: it is the one to build.
    is_accepted: bool,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::PACK, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let mut revisions = Vec::new();
    for head in state.store.revisions(job).await? {
        let decision = state.store.decision(head.id).await?;
        revisions.push(Issue {
            number: head.number,
            issued: clock::moment(head.issued_at),
            is_accepted: decision.is_some_and(|decision| decision.kind == DecisionKind::Accepted),
        });
    }
    let page = Page { frame: frame.at(Room::Jobs), head: desk.head(Tab::Pack), revisions };
    pages::page(StatusCode::OK, &page)
}

#[cfg(test)]
impl Page {
    pub(super) fn sample(frame: Frame, head: Head) -> Self {
        let issue = |number, is_accepted| Issue { number, issued: "5 Nov 2026, 14:05".into(), is_accepted };
        Self { frame, head, revisions: vec![issue(2, true), issue(1, false)] }
    }
}
