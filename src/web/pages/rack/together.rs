//! Choosing accepted jobs that are planned together.

use std::{sync::Arc, time::Duration};

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};

use crate::{
    domain::{
        nesting::several::{self, Job, OpenPiece},
        quote::StageKind,
        rack::State as Place,
    },
    storage::{JobId, JobQuery, JobRow, JobSort},
    web::{
        AppState, Result,
        bought_for::Theirs,
        clock,
        form::Form,
        frame::{Frame, Room},
        pages::{
            self,
            job::{desk::Desk, plan},
        },
        paths,
        planning::{Basis, Busy, Joint, Kept, Planned, Task, Together},
        session::see_other,
        show::Show,
    },
};

/// A plan that ends within this time is shown at once, without a page that says how far it is.
const QUICK: Duration = Duration::from_millis(1200);
/// So many jobs at most are listed, and planned together.
const MOST_LISTED: u32 = 200;
const MOST_PLANNED: usize = 20;

#[derive(Template)]
#[template(path = "web/rack/together.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    rows: Vec<Row>,
}

/// An accepted job.
struct Row {
    id: String,
    number: String,
    title: String,
    customer: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::TOGETHER, get(show).post(start))
}

async fn show(State(state): State<AppState>, frame: Frame) -> Result<Response> {
    render(frame, Form::default(), &accepted(&state).await?, StatusCode::OK)
}

/// Plans the chosen jobs together, beside the requests.
async fn start(State(state): State<AppState>, frame: Frame, mut form: Form) -> Result<Response> {
    let listed = accepted(&state).await?;
    let chosen: Vec<&JobRow> = listed.iter().filter(|row| form.is_chosen("job", &row.id.to_string())).collect();
    if form.values("job").any(|id| !listed.iter().any(|row| row.id.to_string() == id)) {
        form.wrong_altogether(
            "A job that was chosen is not accepted any more, or went to the workshop meanwhile. The list below is the one of now: choose again.",
        );
    } else if chosen.len() < 2 || chosen.len() > MOST_PLANNED {
        form.wrong(
            "job",
            "Jobs",
            format!(
                "{} chosen: tick at least 2 and at most {MOST_PLANNED}, which are then planned together.",
                chosen.len()
            ),
        );
    }
    let ids: Vec<JobId> = chosen.iter().map(|row| row.id).collect();
    let found = if form.is_right() { matter(&state, &ids).await? } else { Err(Vec::new()) };
    for number in found.as_ref().err().into_iter().flatten() {
        form.wrong_altogether(format!(
            "Job {number} cannot be built as it stands, so it cannot be cut: mend it on its page Trailer, or plan the others without it."
        ));
    }
    let (Some(actor), Ok((jobs, from, left_out)), true) = (form.actor(&frame), found, form.is_right()) else {
        return render(frame, form, &listed, StatusCode::UNPROCESSABLE_ENTITY);
    };
    let problems = problems(&jobs, &Show::of(&from.shop));
    let budget = state.issue_budget;
    let work = |task: Arc<Task<Vec<JobId>, Together>>| async move {
        let search = task.clone();
        let plan = move || {
            let plan = several::plan(jobs, &from.rack, &from.shop, budget, &mut |at| search.look(at));
            Joint { plan, from, left_out }
        };
        match (tokio::task::spawn_blocking(plan).await, task.cut_short()) {
            (_, Some(why)) => Together::CutShort(why),
            (Ok(joint), None) => Together::Planned(Arc::new(joint)),
            (Err(fault), None) => {
                tracing::error!(%fault, "jobs could not be planned together");
                Together::Failed
            }
        }
    };
    let task = match state.together.start(ids, actor.name().to_owned(), problems, work) {
        Ok(task) | Err(Busy::Same(task)) => task,
        Err(Busy::Server) => {
            form.wrong_altogether(
                "Other jobs are being planned together at this moment: try again when that has ended.",
            );
            return render(frame, form, &listed, StatusCode::SERVICE_UNAVAILABLE);
        }
    };
    task.ended_within(QUICK).await;
    Ok(see_other(&paths::of_common_plan(paths::COMMON_PLAN, &task.id), &actor))
}

/// Accepted jobs, which the workshop does not have yet, by their numbers.
async fn accepted(state: &AppState) -> Result<Vec<JobRow>> {
    let query = JobQuery {
        search: String::new(),
        stages: vec![StageKind::Accepted],
        asked: false,
        sort: JobSort::Number,
        offset: 0,
        limit: MOST_LISTED,
    };
    let mut rows = state.store.jobs(&query).await?.rows;
    rows.reverse();
    Ok(rows)
}

/// What the jobs cut, and all that their plan is made from, with what was bought for others; or the numbers of those that cannot be built.
pub async fn matter(state: &AppState, ids: &[JobId]) -> Result<std::result::Result<Matter, Vec<String>>> {
    let (mut jobs, mut kept, mut unbuilt) = (Vec::new(), Vec::new(), Vec::new());
    for id in ids {
        let desk = Desk::open(state, *id).await?;
        let number = desk.job.number.to_string();
        match desk.work_out().await? {
            Ok(estimate) => {
                jobs.push(Job { number, take_off: estimate.take_off.clone(), count: estimate.spec.need.count });
                let variant = (desk.variant.id, desk.variant.version);
                kept.push(Kept { job: *id, need: desk.job.version, variant, estimate });
            }
            Err(_) => unbuilt.push(number),
        }
    }
    let shop = state.shop(clock::today()).await?;
    let (rack, left_out) = open_pieces(state, ids).await?;
    Ok(if unbuilt.is_empty() { Ok((jobs, Basis { jobs: kept, rack, shop }, left_out)) } else { Err(unbuilt) })
}

type Matter = (Vec<Job>, Basis, Vec<Theirs>);

/// What lies free on the rack and what is reserved for one of these jobs; what was bought for one of them is its own, and what was bought
/// for others is left out.
async fn open_pieces(state: &AppState, jobs: &[JobId]) -> Result<(Vec<OpenPiece>, Vec<Theirs>)> {
    let pieces = state.store.rack_pieces().await?;
    let bought_for = state.bought_for(&pieces).await?;
    let place_of = |job: JobId| jobs.iter().position(|other| *other == job);
    let (mut open, mut left_out) = (Vec::new(), Vec::new());
    for piece in pieces {
        let owner = bought_for.owner(&piece).cloned();
        let reserved_for = match (piece.state, owner) {
            (Place::Gone, _) => continue,
            (Place::Free, None) => None,
            (Place::Free, Some(owner)) => match place_of(owner.job) {
                Some(place) => Some(place),
                None => {
                    left_out.push(Theirs { piece, owner });
                    continue;
                }
            },
            (Place::Reserved(job), _) => match place_of(job) {
                Some(place) => Some(place),
                None => continue,
            },
        };
        open.push(OpenPiece { piece: piece.on_rack, reserved_for });
    }
    Ok((open, left_out))
}

fn problems(jobs: &[Job], show: &Show) -> Vec<Planned> {
    let mut all = Vec::new();
    for (at, take_off) in several::steps(jobs) {
        let number =
            at.and_then(|at| jobs.get(at)).map(|job| format!("{} by itself: ", job.number)).unwrap_or_default();
        let planned = plan::problems(&take_off, 1, show).into_iter();
        all.extend(planned.map(|planned| Planned { title: format!("{number}{}", planned.title), ..planned }));
    }
    all
}

fn render(frame: Frame, form: Form, jobs: &[JobRow], status: StatusCode) -> Result<Response> {
    let rows = jobs.iter().map(|row| Row {
        id: row.id.to_string(),
        number: row.summary.number.to_string(),
        title: row.summary.title.clone(),
        customer: row.summary.customer.clone(),
    });
    pages::page(status, &Page { rows: rows.collect(), frame: frame.at(Room::Rack), form })
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let row =
            Row { id: "7".into(), number: "2026-007".into(), title: "Hives <i>".into(), customer: "Ann <b>".into() };
        let mut form = Form::filled([("job", "7")]);
        form.wrong("job", "Jobs", "1 chosen: tick at least 2.");
        vec![
            Self { frame: nobody, form: Form::default(), rows: Vec::new() },
            Self { frame: ann, form, rows: vec![row] },
        ]
    }
}
