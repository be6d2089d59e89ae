//! What a job takes from the rack: reserved in one press while it is accepted; and what of its released plan returns to the rack.

use std::iter::repeat_n;

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::Response,
    routing::{get, post},
};

use super::{
    Head, Tab,
    desk::Desk,
    details,
    rack_plan::{self, How, RackPlan, tags},
};
use crate::{
    domain::{
        nesting::cutting::{Kept, Source},
        quote::StageKind,
        rack::State as Where,
    },
    storage::{By, Came, JobId, Piece, Release, Remainder, Reserved},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages::{
            self,
            rack::{described, measured},
        },
        paths,
        session::see_other,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/job/rack.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    /// The customer accepted, and the workshop does not have it yet.
    is_accepted: bool,
    /// The workshop has it or had it.
    is_started: bool,
    /// Whether prices count on the rack.
    counts: bool,
    /// What the plan takes.
    taken: Vec<Taken>,
    /// What was bought for other jobs and is left out, in words.
    left_out: String,
    /// Tags of pieces that are reserved for the job and that its plan no longer takes.
    spare: String,
    /// All that is taken is reserved, and nothing else.
    is_reserved: bool,
    /// Tags of what is taken: what is reserved is what was looked at.
    seen: String,
    released: Option<ReleasedView>,
}

pub struct Taken {
    pub tag: String,
    pub stock: String,
    pub size: String,
    pub place: String,
    pub state: String,
}

struct ReleasedView {
    at: String,
    who: String,
    /// Tags of the pieces that were booked as cut.
    cut: String,
    /// The numbers of the jobs that were released by the same plan.
    together: String,
    left: Vec<Left>,
    /// Who returned the remainders, and when.
    returned: Option<String>,
    /// Tags under which they came back.
    back: Vec<String>,
}

/// A remainder of the released plan.
struct Left {
    /// Its place in the list of remainders: what the form names it by.
    at: String,
    stock: String,
    size: String,
    from: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::JOB_RACK, get(show))
        .route(paths::JOB_RESERVE, post(reserve))
        .route(paths::JOB_RETURN, post(give_back))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    render(&state, frame, &desk, Form::default()).await
}

/// Reserves what the plan takes, if it is still what was looked at.
async fn reserve(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let plan = match rack_plan::built(&desk, &state, &frame, How::default()).await? {
        Ok(plan) => plan,
        Err(unbuilt) => return Ok(unbuilt),
    };
    let Some(actor) = form.actor(&frame) else { return Err(Error::SignedOut) };
    let by = By { who: &actor.signature(), at: clock::now() };
    let seen = form.value("seen").to_owned();
    let outcome = if seen == seen_tags(&plan) {
        state.store.reserve_for_job(job, &plan.pieces(), by).await?
    } else {
        Reserved::Taken(seen.split_whitespace().filter(|tag| !plan.open.contains(*tag)).map(str::to_owned).collect())
    };
    match outcome {
        Reserved::Done => return Ok(see_other(&Tab::Rack.path(&job), &actor)),
        Reserved::Taken(gone) => form.wrong_altogether(moved(&gone)),
        Reserved::Closed => form.wrong_altogether(
            "Pieces are reserved while a job is accepted and not yet released to the workshop: this one is not.",
        ),
    }
    render(&state, frame, &desk, form).await
}

fn seen_tags(plan: &RackPlan) -> String {
    plan.taken.iter().map(|piece| piece.on_rack.tag.as_str()).collect::<Vec<_>>().join(" ")
}

/// What was bought for other jobs and is left out.
fn left_out(plan: &RackPlan) -> String {
    let of = plan.left_out.iter().map(|of| format!("{} (job {})", of.piece.on_rack.tag, of.owner.number));
    of.collect::<Vec<_>>().join(", ")
}

/// Why nothing was done, where pieces that were looked at can no longer be had.
pub fn moved(gone: &[String]) -> String {
    match gone {
        [] => {
            "The rack or the job changed meanwhile, so the plan is another one now. Look at it and press again.".into()
        }
        gone => format!(
            "No longer to be had for this job: {}. Another job has it, or it was changed or scrapped meanwhile. The plan below was made again without it: look at it and press again.",
            tags(gone)
        ),
    }
}

/// Puts the remainders that are ticked on the rack.
async fn give_back(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let place = details::line(&mut form, "place", "Where they lie", true);
    let Some(release) = state.store.job_release(job).await? else {
        form.wrong_altogether("This job was not released to the workshop, so nothing of it returns.");
        return render(&state, frame, &desk, form).await;
    };
    let left = each(&release, &desk.show);
    let number = desk.job.number;
    let mut chosen = Vec::new();
    for at in form.values("keep") {
        let kept = at.parse().ok().and_then(|at: usize| left.get(at));
        let kept = kept.ok_or(Error::Unreadable("The form names a remainder that the plan does not have.".into()))?;
        chosen.push(remainder(kept, &number.to_string()));
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(&state, frame, &desk, form).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.return_remainders(job, &chosen, &place, by).await? {
        Came::Back(_) => return Ok(see_other(&Tab::Rack.path(&job), &actor)),
        Came::Already => {
            form.wrong_altogether("The remainders of this job returned before; nothing was entered twice.")
        }
        Came::NotReleased => form.wrong_altogether("This job was not released to the workshop, so nothing returns."),
    }
    render(&state, frame, &desk, form).await
}

/// The remainders of a released plan, one by one.
fn each(release: &Release, show: &Show) -> Vec<Kept> {
    let kept = release.estimate.cutting.kept(show.hand().money.decimals);
    kept.into_iter().flat_map(|kept| repeat_n(kept.clone(), usize::try_from(kept.count).unwrap_or_default())).collect()
}

fn remainder(kept: &Kept, number: &str) -> Remainder {
    let (from, what) = match &kept.from {
        Source::Rack(tag) => (Some(tag.clone()), tag.clone()),
        Source::New(item) => (None, format!("new {item}")),
    };
    Remainder { from, stock: kept.stock.clone(), worth: kept.worth, origin: format!("left of {what} in job {number}") }
}

async fn render(state: &AppState, frame: Frame, desk: &Desk, form: Form) -> Result<Response> {
    let stage = desk.job.stage.kind();
    let is_started = matches!(stage, StageKind::InTheShop | StageKind::HandedOver);
    let release = if is_started { state.store.job_release(desk.job.id).await? } else { None };
    let plan = if is_started {
        None
    } else {
        match rack_plan::built(desk, state, &frame, How::default()).await? {
            Ok(plan) => Some(plan),
            Err(unbuilt) => return Ok(unbuilt),
        }
    };
    let page = Page::of(frame.at(Room::Jobs), desk, form, plan.as_ref(), release.as_ref());
    pages::page(page.form.status(), &page)
}

impl Page {
    /// Whether what it needs is bought.
    fn is_bought_for(&self) -> bool {
        self.is_accepted || self.released.is_some()
    }

    fn of(frame: Frame, desk: &Desk, mut form: Form, plan: Option<&RackPlan>, release: Option<&Release>) -> Self {
        let stage = desk.job.stage.kind();
        let released = release.map(|release| ReleasedView::of(release, &desk.show));
        if let (Some(released), true) = (&released, form.is_right()) {
            for left in &released.left {
                form.add("keep", left.at.clone());
            }
        }
        Self {
            frame,
            head: desk.head(Tab::Rack),
            form,
            is_accepted: stage == StageKind::Accepted,
            is_started: plan.is_none(),
            counts: desk.shop.policy.counts_on_rack,
            taken: plan.map(|plan| Taken::all(plan, &desk.show)).unwrap_or_default(),
            left_out: plan.map(left_out).unwrap_or_default(),
            spare: plan.map(|plan| tags(plan.spare.iter().map(|piece| &piece.on_rack.tag))).unwrap_or_default(),
            is_reserved: plan.is_some_and(RackPlan::is_reserved),
            seen: plan.map(seen_tags).unwrap_or_default(),
            released,
        }
    }
}

impl Taken {
    pub fn all(plan: &RackPlan, show: &Show) -> Vec<Self> {
        let of = |piece: &Piece| Self {
            tag: piece.on_rack.tag.clone(),
            stock: described(&piece.on_rack.stock),
            size: measured(&piece.on_rack.stock, show),
            place: piece.place.clone(),
            state: match plan.owner(piece) {
                Some(owner) => format!("free, bought for job {}", owner.number),
                None if piece.state == Where::Free => "free".to_owned(),
                None => "reserved for this job".to_owned(),
            },
        };
        plan.taken.iter().map(of).collect()
    }
}

impl ReleasedView {
    fn of(release: &Release, show: &Show) -> Self {
        let left = each(release, show).into_iter().enumerate().map(|(at, kept)| Left {
            at: at.to_string(),
            stock: described(&kept.stock),
            size: measured(&kept.stock, show),
            from: match kept.from {
                Source::Rack(tag) => tag,
                Source::New(item) => format!("new {item}"),
            },
        });
        Self {
            at: clock::moment(release.at),
            who: release.who.clone(),
            cut: tags(release.estimate.cutting.rack_tags()),
            together: release.shared.as_ref().map(|shared| shared.numbers.join(", ")).unwrap_or_default(),
            left: left.collect(),
            returned: release.returned.as_ref().map(|(at, who)| format!("{who}, {}", clock::moment(*at))),
            back: release.back.clone(),
        }
    }
}

#[cfg(test)]
impl Page {
    pub(super) fn sample(frame: Frame, desk: &Desk, estimate: &crate::domain::estimate::Estimate) -> Self {
        let at = jiff::Timestamp::UNIX_EPOCH;
        let release = Release {
            estimate: estimate.clone(),
            shared: None,
            at,
            who: "Ann <b>".into(),
            returned: None,
            back: vec!["R-0001".into()],
        };
        Self::of(frame, desk, Form::default(), None, Some(&release))
    }
}
