//! The plan of several jobs together: how far it is, then its cuts, with what it costs each job beside the plan of each by itself.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::HeaderMap,
    response::{IntoResponse, Redirect, Response},
    routing::{get, post},
};

use super::{described, measured, together};
use crate::{
    domain::{
        estimate::Estimate,
        measure::Money,
        nesting::{
            Stopped,
            cutting::{Beside, Cutting, beside},
            several::{CommonPlan, Group, by_job},
        },
        quote::{Frozen, StageKind},
        shop::RackPiece,
    },
    storage::{By, JobId, NewRelease, OrdersSeen, Released},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        frame::{Frame, Room},
        pages::{
            self,
            job::{
                Tab,
                cutting::{PanelRow, PaperSubject, Plan, Sawn, panel_rows, planned_with, plans, plans_on_paper, sawn},
                details,
                plan::{CANCEL_WITHIN, Row, rows},
            },
            paper::answer,
        },
        paths,
        planning::{Joint, Task, Together},
        session::see_other,
        show::{Show, signed},
    },
};

const GONE: Error = Error::NotFound(
    "This plan is no longer known: the program was started again meanwhile, or it is long ago. Choose the jobs again on the page Rack.",
);

#[derive(Template)]
#[template(path = "web/rack/common_plan.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    path: String,
    cancel: String,
    jobs: Vec<JobLine>,
    by: String,
    /// How far the plans are, while they are being made.
    rows: Vec<Row>,
    /// Why there is no plan; empty while it is being made, and when there is one.
    ended: &'static str,
    plan: Option<PlanView>,
    /// What was bought for other jobs and is left out, in words.
    left_out: String,
    /// What each printed sheet is headed with.
    printed: String,
    plans: Vec<Plan>,
    cuts: Vec<Sawn>,
    panels: Vec<PanelRow>,
}

struct JobLine {
    number: String,
    title: String,
    is_accepted: bool,
    /// Its own plan.
    path: String,
}

/// The common plan beside the separate ones.
struct PlanView {
    made: &'static str,
    pdf: String,
    /// Where the jobs are released by it, and what is shown: what is released is what was looked at.
    release: String,
    seen: String,
    /// Why they cannot be, whatever the separate plans say.
    unreleasable: Vec<String>,
    /// Why the plans cannot be compared.
    blocks: Vec<String>,
    says: String,
    counts: Vec<[String; 4]>,
    buys: Vec<Buy>,
    /// Tags of the rack's pieces: of the common plan, of the separate ones.
    taken: [String; 2],
    costs: Vec<CostRow>,
    total: [String; 3],
    groups: Vec<GroupRow>,
}

/// New stock of one kind and size.
struct Buy {
    item: String,
    stock: String,
    size: String,
    apart: u32,
    together: u32,
    more: String,
}

/// What a job costs.
struct CostRow {
    number: String,
    title: String,
    /// Its share of the common plan, its own plan, and the difference.
    figures: [String; 3],
}

/// How the cost of a group is shared out.
struct GroupRow {
    title: String,
    cost: String,
    shares: Vec<(String, String, String)>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::COMMON_PLAN, get(show))
        .route(paths::COMMON_PLAN_CANCEL, post(cancel))
        .route(paths::COMMON_PLAN_PDF, get(pdf))
        .route(paths::COMMON_PLAN_RELEASE, post(release))
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    Path(id): Path<i64>,
    headers: HeaderMap,
) -> Result<Response> {
    render(&state, frame, id, &headers, Form::default()).await
}

async fn render(state: &AppState, frame: Frame, id: i64, headers: &HeaderMap, form: Form) -> Result<Response> {
    let path = paths::of_common_plan(paths::COMMON_PLAN, &id);
    let task = state.together.task(id);
    let outcome = task.as_ref().and_then(|task| task.outcome());
    // The script replaces a part of the page: once the plan has ended it opens the page anew.
    if headers.contains_key("hx-request") && (task.is_none() || outcome.is_some()) {
        return Ok([("hx-redirect", path)].into_response());
    }
    let show = Show::of(&*state.shop(clock::today()).await?);
    let jobs = match &task {
        Some(task) => lines(state, task).await?,
        None => Vec::new(),
    };
    let mut page = Page {
        frame: frame.at(Room::Rack),
        form,
        path,
        cancel: paths::of_common_plan(paths::COMMON_PLAN_CANCEL, &id),
        by: task.as_ref().map(|task| task.by.clone()).unwrap_or_default(),
        rows: task.as_ref().filter(|_| outcome.is_none()).map(|task| rows(task, &show)).unwrap_or_default(),
        ended: match (&task, &outcome) {
            (None, _) => {
                "This plan is no longer known: the program was started again meanwhile, or it is long ago. Choose the jobs again."
            }
            (_, Some(Together::CutShort(Stopped::Cancelled))) => {
                "The plan was cancelled. Choose the jobs again when you like."
            }
            (_, Some(Together::CutShort(_))) => {
                "The plan took too long and was ended by the clock. Choose fewer jobs, or try again when the computer has less to do."
            }
            (_, Some(Together::Failed)) => "Something went wrong here; it is in the log. Please try again.",
            (_, None | Some(Together::Planned(_))) => "",
        },
        jobs,
        plan: None,
        left_out: String::new(),
        printed: String::new(),
        plans: Vec::new(),
        cuts: Vec::new(),
        panels: Vec::new(),
    };
    if let Some(Together::Planned(joint)) = outcome {
        page.put(&joint, &show, id)?;
    }
    pages::page(page.form.status(), &page)
}

async fn cancel(State(state): State<AppState>, Path(id): Path<i64>) -> Result<Response> {
    if let Some(task) = state.together.task(id) {
        task.cancel();
        task.ended_within(CANCEL_WITHIN).await;
    }
    Ok(Redirect::to(&paths::of_common_plan(paths::COMMON_PLAN, &id)).into_response())
}

/// Releases all of the jobs by the plan that was looked at, if all that it was made from still stands; or none of them.
async fn release(
    State(state): State<AppState>,
    frame: Frame,
    Path(id): Path<i64>,
    headers: HeaderMap,
    mut form: Form,
) -> Result<Response> {
    let task = state.together.task(id).ok_or(GONE)?;
    let Some(Together::Planned(joint)) = task.outcome() else { return Err(GONE) };
    let note = details::text(&mut form, "note", "Note for the trail", false);
    if form.value("seen") != fingerprint(&joint.plan.cutting)? {
        form.wrong_altogether(MOVED);
    }
    for block in joint.plan.cutting.blocks() {
        form.wrong_altogether(block);
    }
    let orders = state.store.ordered_so_far().await?.seen;
    let now = if form.is_right() { together::matter(&state, &task.about).await?.ok() } else { None };
    if form.is_right() && now.is_none_or(|(_, from, _)| from != joint.from) {
        form.wrong_altogether(MOVED);
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(&state, frame, id, &headers, form).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    match book(&state, &joint, orders, &note, by).await? {
        Released::Done => return Ok(see_other(&paths::of_common_plan(paths::COMMON_PLAN, &id), &actor)),
        Released::Missing | Released::Changed | Released::Taken(_) => form.wrong_altogether(MOVED),
        Released::Refused(refused) => form.wrong_altogether(format!("None of the jobs was released: {refused}.")),
    }
    render(&state, frame, id, &headers, form).await
}

const MOVED: &str = "None of the jobs was released: the rack, a job, a price or an order changed since they were planned, so the plan is no longer that of this hour. Plan them together again.";

/// Books each job's part of the plan.
async fn book(state: &AppState, joint: &Joint, seen: OrdersSeen, note: &str, by: By<'_>) -> Result<Released> {
    let (plan, from) = (&joint.plan, &joint.from);
    let cuttings = plan.booked(&from.rack);
    let shared = plan.shared();
    if let Some(fault) = shared.faults(&cuttings.iter().collect::<Vec<_>>()).first() {
        return Err(Error::internal(format!("a common plan does not add up: {fault}")));
    }
    let mut what = format!("released to the workshop, planned together: {}", numbers(plan).join(", "));
    if !note.is_empty() {
        what.push_str(&format!(": {note}"));
    }
    let estimates: Vec<Estimate> = from
        .jobs
        .iter()
        .zip(cuttings)
        .map(|(kept, cutting)| Estimate { cutting, ..(*kept.estimate).clone() })
        .collect();
    let pieces: Vec<Vec<RackPiece>> = estimates
        .iter()
        .map(|estimate| {
            let tags = estimate.cutting.rack_tags();
            let taken = from.rack.iter().filter(|open| tags.contains(&open.piece.tag.as_str()));
            taken.map(|open| open.piece.clone()).collect()
        })
        .collect();
    let new = from.jobs.iter().zip(&estimates).zip(&pieces).map(|((kept, estimate), pieces)| NewRelease {
        job: kept.job,
        need: kept.need,
        variant: kept.variant,
        estimate,
        pieces,
        seen,
        bought_for_others: &[],
        what: &what,
    });
    Ok(state.store.release_together(&new.collect::<Vec<_>>(), &shared, by).await?)
}

/// Of plans as they are looked at.
fn fingerprint(cutting: &Cutting) -> Result<String> {
    Ok(Frozen::new(&serde_json::to_value(cutting).map_err(Error::internal)?).sha256)
}

async fn pdf(State(state): State<AppState>, Path(id): Path<i64>) -> Result<Response> {
    let outcome = state.together.task(id).and_then(|task| task.outcome());
    let Some(Together::Planned(joint)) = outcome else { return Err(GONE) };
    let plan = &joint.plan;
    let shop = state.shop(clock::today()).await?;
    let show = Show::of(&shop);
    let subject = PaperSubject {
        job: named(plan),
        shop: shop.name.clone(),
        stands_for: "planned together, nothing released".into(),
        day: show.day(clock::today()),
        made: None,
    };
    let name = format!("{} cutting list", numbers(plan).join(" "));
    answer(&name, move || plans_on_paper(&joint.plan.cutting, (&joint.plan.take_off, "of all jobs"), &show, subject))
        .await
}

fn numbers(plan: &CommonPlan) -> Vec<&str> {
    plan.jobs.iter().map(|job| job.number.as_str()).collect()
}

fn named(plan: &CommonPlan) -> String {
    format!("Jobs {} together", numbers(plan).join(", "))
}

async fn lines(state: &AppState, task: &Task<Vec<JobId>, Together>) -> Result<Vec<JobLine>> {
    let mut lines = Vec::new();
    for id in &task.about {
        if let Some(job) = state.store.job(*id).await? {
            let is_accepted = job.stage.kind() == StageKind::Accepted;
            let (number, path) = (job.number.to_string(), Tab::Cutting.path(id));
            lines.push(JobLine { number, title: job.title, is_accepted, path });
        }
    }
    Ok(lines)
}

impl Page {
    /// Whether all of its jobs still wait for the workshop.
    fn is_open(&self) -> bool {
        self.jobs.iter().all(|job| job.is_accepted)
    }

    /// Puts the plan on the page.
    fn put(&mut self, joint: &Joint, show: &Show, id: i64) -> Result<()> {
        let plan = &joint.plan;
        let left_out = joint.left_out.iter().map(|of| format!("{} (job {})", of.piece.on_rack.tag, of.owner.number));
        self.left_out = left_out.collect::<Vec<_>>().join(", ");
        self.printed = format!("{} · planned together, nothing released", named(plan));
        self.plans = plans(&plan.cutting, show);
        self.cuts = sawn(&plan.take_off, show);
        self.panels = panel_rows(&plan.take_off, show);
        let titles: Vec<&str> = self.plans.iter().map(|plan| plan.title.as_str()).collect();
        let pdf = paths::of_common_plan(paths::COMMON_PLAN_PDF, &id);
        let release = paths::of_common_plan(paths::COMMON_PLAN_RELEASE, &id);
        let paths = (pdf, release, fingerprint(&plan.cutting)?);
        self.plan = Some(PlanView::of(plan, &self.jobs, &titles, show, paths, self.frame.sees_money()));
        Ok(())
    }
}

impl PlanView {
    fn of(
        plan: &CommonPlan,
        jobs: &[JobLine],
        titles: &[&str],
        show: &Show,
        (pdf, release, seen): (String, String, String),
        sees_money: bool,
    ) -> Self {
        let apart = plan.separately();
        let groups = plan.groups(show.hand().money.decimals);
        let sums = by_job(&groups, plan.jobs.len());
        let total = sums.iter().fold((Money::ZERO, Money::ZERO), |sum, job| (sum.0 + job.0, sum.1 + job.1));
        let figures =
            |(shared, alone): (Money, Money)| [show.money(shared), show.money(alone), show.difference(shared - alone)];
        let title = |number: &str| jobs.iter().find(|job| job.number == number).map(|job| job.title.clone());
        let costs = plan.jobs.iter().zip(&sums).map(|(job, sums)| CostRow {
            title: title(&job.number).unwrap_or_default(),
            number: job.number.clone(),
            figures: figures(*sums),
        });
        let counts = [
            ("Bars and bar offcuts taken", plan.cutting.bars_used(), apart.bars_used()),
            ("Sheets and sheet offcuts taken", plan.cutting.sheets_used(), apart.sheets_used()),
        ];
        let blocks = plan.blocks();
        Self {
            made: planned_with(&plan.cutting),
            pdf,
            release,
            seen,
            unreleasable: plan.cutting.blocks().collect(),
            says: if blocks.is_empty() {
                says(plan, sees_money.then_some(total.0 - total.1), show)
            } else {
                String::new()
            },
            blocks,
            counts: counts
                .map(|(what, now, apart)| {
                    let more = signed(i64::from(now) - i64::from(apart));
                    [what.to_owned(), apart.to_string(), now.to_string(), more]
                })
                .into(),
            buys: beside(&apart.bought(), &plan.cutting.bought()).iter().map(|buy| Buy::of(buy, show)).collect(),
            taken: [plan.cutting.rack_tags().join(", "), apart.rack_tags().join(", ")],
            costs: costs.collect(),
            total: figures(total),
            groups: groups.iter().zip(titles).map(|(group, title)| GroupRow::of(group, title, plan, show)).collect(),
        }
    }
}

/// What is won, in one sentence; money only for those who see it.
fn says(plan: &CommonPlan, more: Option<Money>, show: &Show) -> String {
    let pieces = |cutting: &crate::domain::nesting::cutting::Cutting| {
        i64::from(cutting.bars_used()) + i64::from(cutting.sheets_used())
    };
    let fewer = match pieces(&plan.separately()) - pieces(&plan.cutting) {
        0 => "as many pieces of stock".to_owned(),
        1 => "1 piece of stock fewer".to_owned(),
        -1 => "1 piece of stock more".to_owned(),
        fewer if fewer > 0 => format!("{fewer} pieces of stock fewer"),
        more => format!("{} pieces of stock more", more.abs()),
    };
    let worse = "The common plan is the larger search and did not find in the work allowed what the separate ones did: plan them one by one.";
    match more {
        None => format!("Together the jobs take {fewer} than one by one."),
        Some(more) if more == Money::ZERO => format!("Together the jobs cost as much as one by one, and take {fewer}."),
        Some(more) if more < Money::ZERO => {
            format!("Together the jobs cost {} less than one by one, and take {fewer}.", show.money(-more))
        }
        Some(more) => {
            format!("Together the jobs cost {} more than one by one, and take {fewer}. {worse}", show.money(more))
        }
    }
}

impl Buy {
    fn of(buy: &Beside, show: &Show) -> Self {
        Self {
            item: buy.item.clone(),
            stock: described(&buy.stock),
            size: measured(&buy.stock, show),
            apart: buy.before,
            together: buy.now,
            more: signed(buy.more()),
        }
    }
}

impl GroupRow {
    fn of(group: &Group, title: &str, plan: &CommonPlan, show: &Show) -> Self {
        let unit = if group.key.starts_with("sheet/") { "m²" } else { "m" };
        let shares = plan.jobs.iter().zip(&group.shares).filter(|(_, share)| !share.size.is_zero());
        let shares = shares.map(|(job, share)| {
            let size = show.number(f64::try_from(share.size).unwrap_or_default(), 2);
            (job.number.clone(), format!("{size} {unit}"), show.money(share.cost))
        });
        Self { title: title.to_owned(), cost: show.money(group.cost), shares: shares.collect() }
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        use crate::domain::{
            nesting::{Budget, several, unwatched},
            shop::ShopBook,
        };
        use crate::web::planning::Basis;
        let desk = pages::job::desk::Desk::sample();
        let take_off = desk.worked_now().take_off;
        let job = |number: &str| several::Job { number: number.into(), take_off: take_off.clone(), count: 1 };
        let jobs = vec![job("2026-001"), job("2026-002")];
        let plan = several::plan(jobs, &[], &ShopBook::demo(), Budget::preview(), &mut unwatched);
        let [nobody, ann] = Frame::samples();
        let line = |number: &str| JobLine {
            number: number.into(),
            title: "Ann <b>".into(),
            is_accepted: true,
            path: "/jobs/1".into(),
        };
        let page = |frame: Frame, ended| Self {
            frame,
            form: Form::default(),
            path: "/rack/together/1".into(),
            cancel: "/rack/together/1/cancel".into(),
            jobs: vec![line("2026-001"), line("2026-002")],
            by: "Ann <b>".into(),
            rows: Vec::new(),
            ended,
            plan: None,
            left_out: String::new(),
            printed: String::new(),
            plans: Vec::new(),
            cuts: Vec::new(),
            panels: Vec::new(),
        };
        let mut made = page(ann.clone(), "");
        let from = Basis { jobs: Vec::new(), rack: Vec::new(), shop: std::sync::Arc::new(ShopBook::demo()) };
        made.put(&Joint { plan, from, left_out: Vec::new() }, &desk.show, 1).expect("a plan");
        vec![page(nobody, ""), page(ann, "It was cancelled."), made]
    }
}
