//! The way to the workshop: the job's cutting is planned again with the rack of this hour, shown beside what was priced, and on
//! confirmation its pieces are booked as cut. The customer's price does not move.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{
    Head, Tab,
    desk::Desk,
    details,
    price::on_rack,
    rack::{Taken, moved},
    rack_plan::{self, How, RackPlan, tags},
    revision,
};
use crate::{
    domain::{
        issued::IssuedQuote,
        measure::Money,
        nesting::cutting::{Beside, Cost, beside},
        quote::Frozen,
    },
    storage::{By, JobId, NewRelease, Piece, Released},
    web::{
        AppState, Error, Result,
        bought_for::Theirs,
        clock,
        extract::{Path, Query},
        form::Form,
        frame::{Frame, Room},
        pages::{
            self,
            rack::{described, measured},
        },
        paths,
        session::see_other,
        show::{Show, signed},
    },
};

#[derive(Template)]
#[template(path = "web/job/release.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    /// Why the job cannot be released now.
    blocks: Vec<String>,
    /// What to mind before it is.
    minds: Vec<String>,
    /// The revision with which the plan is compared.
    revision: Option<u32>,
    /// What of the rack the revision counted on, in words; empty of new stock alone.
    counted: String,
    /// Tags of those that are gone for this job.
    gone: String,
    buys: Vec<Buy>,
    taken: Vec<Taken>,
    /// What was bought for other jobs: left out unless it is ticked.
    others: Vec<Other>,
    spare: String,
    costs: Vec<CostRow>,
    /// How the plans were made.
    full: bool,
    /// The plan that is shown: what is released is what was looked at.
    seen: String,
}

/// New stock of one kind and size.
struct Buy {
    item: String,
    stock: String,
    size: String,
    priced: u32,
    now: u32,
    more: String,
}

/// A piece that was bought for another job.
struct Other {
    tag: String,
    stock: String,
    size: String,
    owner: String,
    /// The plan may take it.
    ticked: bool,
    taken: bool,
}

struct CostRow {
    what: &'static str,
    priced: String,
    now: String,
    more: String,
}

/// What the job was priced with.
struct Priced {
    number: u32,
    quote: IssuedQuote,
    /// The customer chose some of its options.
    has_options: bool,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::RELEASE, get(show).post(release))
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    again(&state, frame, &desk, Form::filled(asked)).await
}

/// The page with the plan of this moment.
async fn again(state: &AppState, frame: Frame, desk: &Desk, form: Form) -> Result<Response> {
    match planned(state, &frame, desk, &form).await? {
        Ok(plan) => render(state, frame, desk, &plan, form).await,
        Err(unbuilt) => Ok(unbuilt),
    }
}

/// The plan, with what the form ticks of the pieces that were bought for others.
async fn planned(state: &AppState, frame: &Frame, desk: &Desk, form: &Form) -> Result<Result<RackPlan, Response>> {
    let also: Vec<String> = form.values("also").map(str::to_owned).collect();
    rack_plan::built(desk, state, frame, How { full: true, also: &also }).await
}

/// Releases the job by the plan that was looked at.
async fn release(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    mut form: Form,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let plan = match planned(&state, &frame, &desk, &form).await? {
        Ok(plan) => plan,
        Err(unbuilt) => return Ok(unbuilt),
    };
    let note = details::text(&mut form, "note", "Note for the trail", false);
    let blocks = blocks(&desk, &plan);
    if !blocks.is_empty() {
        form.wrong_altogether(blocks.join(" "));
    } else if form.value("seen") != fingerprint(&plan)? {
        form.wrong_altogether(moved(&[]));
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(&state, frame, &desk, &plan, form).await;
    };
    let mut what = "released to the workshop".to_owned();
    let others = bought_for_others(&plan);
    for (_, tag, number) in &others {
        what.push_str(&format!(", with {tag}, bought for job {number}"));
    }
    if !note.is_empty() {
        what.push_str(&format!(": {note}"));
    }
    let others: Vec<(JobId, String)> = others.into_iter().map(|(job, tag, _)| (job, tag)).collect();
    let new = NewRelease {
        job,
        need: desk.job.version,
        variant: (desk.variant.id, desk.variant.version),
        estimate: &plan.estimate,
        pieces: &plan.pieces(),
        seen: plan.orders(),
        bought_for_others: &others,
        what: &what,
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.release(&new, by).await? {
        Released::Done => return Ok(see_other(&Tab::Rack.path(&job), &actor)),
        Released::Missing => return Err(Error::NotFound("There is no such job.")),
        Released::Taken(gone) => form.wrong_altogether(moved(&gone)),
        Released::Changed => form.wrong_altogether(moved(&[])),
        Released::Refused(refused) => form.wrong_altogether(format!("{refused}.")),
    }
    let desk = Desk::open(&state, job).await?;
    again(&state, frame, &desk, form).await
}

/// What the plan takes although it was bought for another job: that job, the tag, and the job's number.
fn bought_for_others(plan: &RackPlan) -> Vec<(JobId, String, String)> {
    let of = |piece: &Piece| {
        let owner = plan.owner(piece)?;
        Some((owner.job, piece.on_rack.tag.clone(), owner.number.clone()))
    };
    plan.taken.iter().filter_map(of).collect()
}

fn blocks(desk: &Desk, plan: &RackPlan) -> Vec<String> {
    let stage = desk.job.stage.start(clock::now()).err().map(|refused| format!("Not now: {refused}."));
    stage.into_iter().chain(plan.estimate.cutting.blocks()).collect()
}

fn fingerprint(plan: &RackPlan) -> Result<String> {
    let plans = serde_json::to_value(&plan.estimate.cutting).map_err(Error::internal)?;
    Ok(Frozen::new(&plans).sha256)
}

/// The latest revision: none is issued after the customer has accepted.
async fn priced(state: &AppState, job: JobId) -> Result<Option<Priced>> {
    let Some(head) = state.store.revisions(job).await?.into_iter().next() else { return Ok(None) };
    let decision = state.store.decision(head.id).await?;
    let Some(found) = state.store.revision(head.id).await? else { return Ok(None) };
    let has_options = decision.is_some_and(|decision| !decision.options.is_empty());
    Ok(Some(Priced { number: head.number, quote: revision::thawed(&found)?, has_options }))
}

async fn render(state: &AppState, frame: Frame, desk: &Desk, plan: &RackPlan, form: Form) -> Result<Response> {
    let priced = priced(state, desk.job.id).await?;
    let seen = fingerprint(plan)?;
    let page = Page::of(frame.at(Room::Jobs), desk, plan, priced.as_ref(), form, seen);
    pages::page(page.form.status(), &page)
}

impl Page {
    fn of(frame: Frame, desk: &Desk, plan: &RackPlan, priced: Option<&Priced>, form: Form, seen: String) -> Self {
        let show = &desk.show;
        let (now, cost) = (plan.estimate.cutting.bought(), plan.estimate.cutting.cost());
        let before = priced.map(|priced| &priced.quote.estimate.cutting);
        let buys = beside(&before.map(|plans| plans.bought()).unwrap_or_default(), &now);
        Self {
            frame,
            head: desk.head(Tab::Rack),
            form,
            blocks: blocks(desk, plan),
            minds: priced.map(|priced| minds(desk, priced)).unwrap_or_default(),
            revision: priced.map(|priced| priced.number),
            counted: before.and_then(|plans| on_rack(plans, show)).unwrap_or_default(),
            gone: tags(before.iter().flat_map(|plans| plans.rack_tags()).filter(|tag| !plan.open.contains(*tag))),
            buys: buys.iter().map(|buy| Buy::of(buy, show)).collect(),
            taken: Taken::all(plan, show),
            others: Other::all(plan, show),
            spare: tags(plan.spare.iter().map(|piece| &piece.on_rack.tag)),
            costs: cost_rows(before.map(|plans| plans.cost()).unwrap_or_default(), cost, show),
            full: plan.estimate.cutting.full,
            seen,
        }
    }
}

/// Where the job as it stands is not what the customer accepted.
fn minds(desk: &Desk, priced: &Priced) -> Vec<String> {
    let (number, spec) = (priced.number, &priced.quote.estimate.spec);
    let differs = spec.need != desk.job.need || spec.design != desk.variant.design;
    if differs {
        return vec![format!(
            "Need or design are no longer those of revision {number}. What is released is the job as it stands now, with whatever the customer chose only where it was taken into the design."
        )];
    }
    let chose = format!(
        "The customer chose options of revision {number} that are not in the design yet: take them over on the page of the revision first."
    );
    if priced.has_options { vec![chose] } else { Vec::new() }
}

impl Buy {
    fn of(buy: &Beside, show: &Show) -> Self {
        Self {
            item: buy.item.clone(),
            stock: described(&buy.stock),
            size: measured(&buy.stock, show),
            priced: buy.before,
            now: buy.now,
            more: signed(buy.more()),
        }
    }
}

impl Other {
    fn all(plan: &RackPlan, show: &Show) -> Vec<Self> {
        let of = |piece: &Piece, number: &str, ticked| Self {
            tag: piece.on_rack.tag.clone(),
            stock: described(&piece.on_rack.stock),
            size: measured(&piece.on_rack.stock, show),
            owner: number.to_owned(),
            ticked,
            taken: plan.taken.iter().any(|taken| taken.id == piece.id),
        };
        let out = plan.left_out.iter().map(|theirs: &Theirs| of(&theirs.piece, &theirs.owner.number, false));
        let also = plan.also.iter().map(|theirs| of(&theirs.piece, &theirs.owner.number, true));
        let mut all: Vec<Self> = also.chain(out).collect();
        all.sort_by(|one, other| (one.tag.len(), &one.tag).cmp(&(other.tag.len(), &other.tag)));
        all
    }
}

fn cost_rows(before: Cost, now: Cost, show: &Show) -> Vec<CostRow> {
    let more = now.more_than(before);
    let row = |what, before: Money, now: Money, more: Money| CostRow {
        what,
        priced: show.money(before),
        now: show.money(now),
        more: show.difference(more),
    };
    vec![
        row("New stock to buy", before.bought, now.bought, more.bought),
        row("Pieces of the rack, at their worth", before.from_rack, now.from_rack, more.from_rack),
        row("Less remainders that return, at their worth", before.kept, now.kept, more.kept),
        row("Stock costs the shop", before.net(), now.net(), more.net()),
    ]
}

#[cfg(test)]
impl Page {
    pub(super) fn sample(frame: Frame, desk: &Desk, estimate: &crate::domain::estimate::Estimate) -> Self {
        let quote = IssuedQuote::freeze(estimate, crate::domain::options::Options::default(), &desk.shop);
        let priced = Priced { number: 1, quote, has_options: true };
        let plan = RackPlan::sample(desk.job.id, estimate);
        Self::of(frame, desk, &plan, Some(&priced), Form::default(), "0".repeat(64))
    }
}
