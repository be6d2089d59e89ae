//! Issuing a revision, and the list of those that were issued.

use std::{sync::Arc, time::Duration};

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use jiff::civil::Date;

use super::{Head, Tab, desk::Desk, plan, price::gap, unbuilt::built, view::Gap};
use crate::{
    domain::{
        estimate::{Estimate, estimate},
        issued::IssuedQuote,
        options,
        pricing::dates::valid_until,
        shop::{Rack, ShopBook},
        trailer::Spec,
    },
    storage::{By, DecisionKind, Issued, JobId, NewRevision, RevisionHead, VariantId, Version},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        planning::{Busy, Outcome, Task},
        session::see_other,
    },
};

/// A plan that ends within this time is answered at once, without a page of its own.
const QUICK: Duration = Duration::from_millis(1200);
pub(super) const CHANGED: &str =
    "Somebody changed need, design or offer at this moment: look at the price again, then issue.";

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
    /// The address of the plan that is being made, and who asked for it.
    running: Option<(String, String)>,
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

/// Has everything worked out again with the full budget, and freezes it. What is quick is answered at once; what takes longer has a page
/// that shows how far it is.
async fn issue(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let preview = match built(&desk, &frame, Tab::Revisions).await? {
        Ok(estimate) => estimate,
        Err(unbuilt) => return Ok(unbuilt),
    };
    if !form.value("version").is_empty() && form.value("version") != version(&desk) {
        form.wrong_altogether(
            "Need, design or offer were changed since this page was opened: look at the price again, then issue.",
        );
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(&state, frame, &desk, form, &preview, StatusCode::UNPROCESSABLE_ENTITY).await;
    };
    let asked = Asked {
        spec: desk.spec(),
        shop: desk.shop.clone(),
        rack: desk.rack.clone(),
        today: desk.today,
        need: desk.job.version,
        variant: (desk.variant.id, desk.variant.version),
        by: actor.signature(),
    };
    let problems = plan::problems(&preview.take_off, preview.spec.need.count, &desk.show);
    let work = {
        let state = state.clone();
        move |task| async move {
            make(&state, &task, asked).await.unwrap_or_else(|fault| {
                tracing::error!(%fault, "a revision could not be issued");
                Outcome::Failed
            })
        }
    };
    let task = match state.planning.start(job, actor.name().to_owned(), problems, work) {
        Ok(task) => task,
        Err(Busy::Same(task)) => return Ok(see_other(&paths::of_plan(paths::PLAN, &job, &task.id), &actor)),
        Err(Busy::Server) => {
            form.wrong_altogether(
                "Other revisions are being planned at this moment, as many as go at once. Nothing was issued: try again in a moment.",
            );
            return render(&state, frame, &desk, form, &preview, StatusCode::SERVICE_UNAVAILABLE).await;
        }
    };
    match task.ended_within(QUICK).await {
        Some(Outcome::Issued(number)) => Ok(see_other(&paths::of_revision(paths::REVISION, &job, &number), &actor)),
        Some(Outcome::Blocked(estimate)) => {
            form.wrong_altogether("The revision was not issued: what stands in the way is listed below.");
            render(&state, frame, &desk, form, &estimate, StatusCode::UNPROCESSABLE_ENTITY).await
        }
        Some(Outcome::Changed(estimate)) => {
            form.wrong_altogether(CHANGED);
            render(&state, frame, &desk, form, &estimate, StatusCode::CONFLICT).await
        }
        Some(Outcome::Refused(estimate, why)) => {
            form.wrong_altogether(format!("{why}."));
            render(&state, frame, &desk, form, &estimate, StatusCode::UNPROCESSABLE_ENTITY).await
        }
        Some(Outcome::Failed) => Err(Error::internal("a revision could not be issued")),
        Some(Outcome::CutShort(_)) | None => Ok(see_other(&paths::of_plan(paths::PLAN, &job, &task.id), &actor)),
    }
}

/// What a revision is made from: the state of the moment at which it was asked for.
struct Asked {
    spec: Spec,
    shop: Arc<ShopBook>,
    /// What of the rack its price counts on.
    rack: Arc<Rack>,
    today: Date,
    need: Version,
    variant: (VariantId, Version),
    by: String,
}

/// Plans, checks and freezes. A plan that was cancelled or timed out is never issued.
async fn make(state: &AppState, task: &Arc<Task<JobId, Outcome>>, asked: Asked) -> Result<Outcome> {
    let work = {
        let (task, spec, budget) = (task.clone(), asked.spec, state.issue_budget);
        let (shop, rack) = (asked.shop.clone(), asked.rack.clone());
        move || estimate(&spec, &shop, &rack, budget, &mut |at| task.look(at)).map(Arc::new)
    };
    let worked = tokio::task::spawn_blocking(work).await.map_err(Error::internal)?;
    let estimate = worked.map_err(|_| Error::internal("a spec that could be built can no longer be built"))?;
    if let Some(why) = task.cut_short() {
        return Ok(Outcome::CutShort(why));
    }
    if !estimate.blocks().is_empty() {
        return Ok(Outcome::Blocked(estimate));
    }
    let work = {
        let (task, estimate, budget) = (task.clone(), estimate.clone(), state.issue_budget);
        let (shop, rack) = (asked.shop.clone(), asked.rack.clone());
        move || options::work_out(&estimate, &shop, &rack, budget, &mut |done, of| task.combine(done, of))
    };
    let options = match tokio::task::spawn_blocking(work).await.map_err(Error::internal)? {
        Ok(options) => options,
        Err(why) => return Ok(Outcome::CutShort(why)),
    };
    let body = serde_json::to_value(IssuedQuote::freeze(&estimate, options, &asked.shop)).map_err(Error::internal)?;
    let new = NewRevision {
        job: task.about,
        need: asked.need,
        variant: asked.variant,
        price: estimate.build_up.total(),
        body: &body,
        valid_until: valid_until(asked.today, &asked.shop.policy),
        program: &estimate.program,
    };
    Ok(match state.store.issue(&new, By { who: &asked.by, at: clock::now() }).await? {
        Issued::Done { number, .. } => Outcome::Issued(number),
        Issued::Missing => Outcome::Refused(estimate, "There is no such job any more".into()),
        Issued::Changed => Outcome::Changed(estimate),
        Issued::Refused(refused) => Outcome::Refused(estimate, refused.to_string()),
    })
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
        running: state
            .planning
            .running(&desk.job.id)
            .map(|task| (paths::of_plan(paths::PLAN, &task.about, &task.id), task.by.clone())),
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
pub(super) fn blocks(desk: &Desk, estimate: &Estimate) -> Vec<Gap> {
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
