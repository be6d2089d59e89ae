//! Issuing a revision, and the list of those that were issued.

use std::{
    ops::ControlFlow,
    time::{Duration, Instant},
};

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};

use super::{Head, Tab, desk::Desk, price::gap, unbuilt::built, view::Gap};
use crate::{
    domain::{
        estimate::{Estimate, estimate},
        issued::IssuedQuote,
        nesting::{Progress, Stopped},
        pricing::dates::valid_until,
        shop::Rack,
        trailer::SpecFaults,
    },
    storage::{By, DecisionKind, Issued, JobId, NewRevision, RevisionHead},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        session::see_other,
    },
};

/// How long all the plans of a revision may take together: below the time that an answer may take.
const LONGEST_SEARCH: Duration = Duration::from_secs(22);

#[derive(Template)]
#[template(path = "web/job/revisions.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    blocks: Vec<Gap>,
    next_number: u32,
    /// Versions of need and design that the page was shown with.
    version: String,
    revisions: Vec<Row>,
}

struct Row {
    number: u32,
    issued: String,
    by: String,
    valid_until: String,
    total: String,
    answer: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::REVISIONS, get(show).post(issue))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    match built(&desk, &frame, Tab::Revisions).await? {
        Ok(estimate) => render(&state, frame, &desk, Form::default(), &estimate, StatusCode::OK).await,
        Err(unbuilt) => Ok(unbuilt),
    }
}

/// Works everything out again with the full budget, and freezes it.
async fn issue(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let Ok(estimate) = in_full(&state, &desk).await? else {
        return built(&desk, &frame, Tab::Revisions)
            .await?
            .map_or_else(Ok, |_| Err(Error::internal("a spec that cannot be built was built")));
    };
    if !form.value("version").is_empty() && form.value("version") != version(&desk) {
        form.wrong_altogether(
            "Need, design or offer were changed since this page was opened: look at the price again, then issue.",
        );
    }
    if !estimate.blocks().is_empty() {
        form.wrong_altogether("The revision was not issued: what stands in the way is listed below.");
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(&state, frame, &desk, form, &estimate, StatusCode::UNPROCESSABLE_ENTITY).await;
    };
    let body = serde_json::to_value(IssuedQuote::freeze(&estimate, &desk.shop)).map_err(Error::internal)?;
    let new = NewRevision {
        job,
        need: desk.job.version,
        variant: (desk.variant.id, desk.variant.version),
        price: estimate.build_up.total(),
        body: &body,
        valid_until: valid_until(desk.today, &desk.shop.policy),
        program: &estimate.program,
    };
    match state.store.issue(&new, By { who: &actor.signature(), at: clock::now() }).await? {
        Issued::Done { number, .. } => Ok(see_other(&paths::of_revision(paths::REVISION, &job, &number), &actor)),
        Issued::Missing => Err(Error::NotFound("There is no such job.")),
        Issued::Changed => {
            form.wrong_altogether(
                "Somebody changed need, design or offer at this moment: look at the price again, then issue.",
            );
            render(&state, frame, &desk, form, &estimate, StatusCode::CONFLICT).await
        }
        Issued::Refused(refused) => {
            form.wrong_altogether(format!("{refused}."));
            render(&state, frame, &desk, form, &estimate, StatusCode::UNPROCESSABLE_ENTITY).await
        }
    }
}

/// The estimate with the full budget; a search that the clock cut short says so, and then blocks the issue.
async fn in_full(state: &AppState, desk: &Desk) -> Result<Result<Estimate, SpecFaults>> {
    let (spec, shop, budget) = (desk.spec(), desk.shop.clone(), state.issue_budget);
    let work = move || {
        let started = Instant::now();
        let mut watch = |_: Progress| {
            if started.elapsed() < LONGEST_SEARCH {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(Stopped::Time)
            }
        };
        estimate(&spec, &shop, &Rack::default(), budget, &mut watch)
    };
    tokio::task::spawn_blocking(work).await.map_err(Error::internal)
}

fn version(desk: &Desk) -> String {
    format!("{}:{}", desk.job.version, desk.variant.version)
}

async fn render(
    state: &AppState,
    frame: Frame,
    desk: &Desk,
    form: Form,
    estimate: &Estimate,
    status: StatusCode,
) -> Result<Response> {
    let heads = state.store.revisions(desk.job.id).await?;
    let mut revisions = Vec::new();
    for head in &heads {
        revisions.push(row(state, desk, head).await?);
    }
    let page = Page {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Revisions),
        form,
        blocks: blocks(desk, estimate),
        next_number: heads.first().map_or(1, |head| head.number.saturating_add(1)),
        version: version(desk),
        revisions,
    };
    pages::page(status, &page)
}

async fn row(state: &AppState, desk: &Desk, head: &RevisionHead) -> Result<Row> {
    Ok(Row {
        number: head.number,
        issued: clock::moment(head.issued_at),
        by: head.issued_by.clone(),
        valid_until: desk.show.day(head.valid_until),
        total: desk.show.money(head.price),
        answer: answer(state, desk, head).await?,
    })
}

/// What was said to a revision, in words.
pub async fn answer(state: &AppState, desk: &Desk, head: &RevisionHead) -> Result<String> {
    Ok(match state.store.decision(head.id).await? {
        Some(decision) if decision.kind == DecisionKind::Accepted => {
            format!("accepted by {} on {}", decision.name, clock::moment(decision.at))
        }
        Some(decision) if decision.why.is_empty() => {
            format!("declined by {} on {}", decision.name, clock::moment(decision.at))
        }
        Some(decision) => {
            format!("declined by {} on {}: {}", decision.name, clock::moment(decision.at), decision.why)
        }
        None if head.superseded_at.is_some() => "superseded".into(),
        None if head.valid_until < desk.today => "no answer; no longer valid".into(),
        None => "none yet".into(),
    })
}

/// Why it cannot be issued, each with where it can be mended.
fn blocks(desk: &Desk, estimate: &Estimate) -> Vec<Gap> {
    let job = &desk.job.id;
    let mut blocks = Vec::new();
    if estimate.spec.need.loads.is_empty() {
        let why = "Nothing to carry is given yet.".to_owned();
        blocks.push(Gap { why, path: Tab::Need.path(job), mend: "Fill in the need" });
    }
    for check in estimate.unanswered() {
        let (path, mend) = if check.blocks_issue {
            (Tab::Trailer.path(job), "Change the trailer")
        } else {
            (format!("{}#checks-title", Tab::Price.path(job)), "Answer it in writing")
        };
        blocks.push(Gap { why: format!("{}: {}", check.name, check.says), path, mend });
    }
    for why in estimate.cutting.blocks() {
        blocks.push(Gap { why, path: Tab::Cutting.path(job), mend: "Look at the cutting plan" });
    }
    let findings = estimate.build_up.findings.iter().filter(|finding| finding.blocks_issue());
    blocks.extend(findings.map(|finding| gap(finding, desk)));
    blocks
}
