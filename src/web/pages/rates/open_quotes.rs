//! What prices do to open quotes: open specs worked out again, issued and undecided revisions priced again from what they
//! froze. A page of jobs at a time, so that it is as quick with many.

use std::{collections::BTreeMap, sync::Arc};

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::Deserialize;

use crate::{
    domain::{
        estimate::estimate,
        measure::Money,
        nesting::{Budget, unwatched},
        pricing::BuildUp,
        quote::StageKind,
        reprice::{Repriced, bare_cost, reprice},
        shop::{Rack, RateBook, ShopBook},
        trailer::Spec,
    },
    storage::{JobQuery, JobRow, JobSort, ListEntry},
    web::{
        AppState, Result, clock,
        extract::Query,
        frame::{Frame, Room},
        pages::{
            self, Pager,
            job::{desk, revision::thawed},
        },
        paths,
        show::Show,
    },
};

/// Jobs worked out at a time.
const JOBS: u32 = 20;

#[derive(Template)]
#[template(path = "web/rates/open_quotes.html")]
pub struct Page {
    frame: Frame,
    effect: Effect,
    pager: Pager,
}

/// What a book of prices does to open quotes.
pub struct Effect {
    pub says: String,
    pub rows: Vec<Row>,
}

pub struct Row {
    pub path: String,
    pub number: String,
    pub title: String,
    pub what: String,
    pub note: String,
    pub cost_before: String,
    pub cost_then: String,
    pub cost_moves: String,
    pub price: String,
    pub margin_before: String,
    pub margin_then: String,
    pub below: bool,
}

#[derive(Debug, Deserialize)]
struct Asked {
    #[serde(default = "first_page")]
    page: u32,
}

const fn first_page() -> u32 {
    1
}

/// The figures of one open quote.
struct Figures {
    before: Money,
    then: Money,
    price: Money,
    margins: [Option<Decimal>; 2],
    gone: Vec<String>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::OPEN_QUOTES, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response> {
    let book = state.shop(clock::today()).await?;
    let page = asked.page.max(1);
    let (effect, total) = work_out(&state, book, page).await?;
    let pager = Pager::new(paths::OPEN_QUOTES.into(), page, total, JOBS);
    pages::page(StatusCode::OK, &Page { frame: frame.at(Room::Rates), effect, pager })
}

/// What a book does to a page of the open quotes.
pub async fn effect(state: &AppState, book: Arc<ShopBook>, page: u32) -> Result<Effect> {
    Ok(work_out(state, book, page).await?.0)
}

/// The shop's book of a day with these changes in it.
pub async fn with_changes(state: &AppState, day: Date, entries: &[ListEntry]) -> Result<Arc<ShopBook>> {
    let mut book = ShopBook::clone(&*state.shop(day).await?);
    let mut supplies = state.store.supplies(day).await?;
    let mut own = BTreeMap::new();
    for entry in entries {
        match entry {
            ListEntry::Add(item) | ListEntry::Change(_, item) => _ = own.insert(item.code.as_str(), item),
            ListEntry::Supply(_, code, supply) => {
                let of = supplies.entry(code.clone()).or_default();
                of.retain(|other| other.supplier != supply.supplier);
                of.push(supply.clone());
            }
        }
    }
    let kept = state.store.items(day, None).await?;
    let mut items = Vec::with_capacity(kept.len());
    for kept in &kept {
        let item = own.remove(kept.item.code.as_str()).unwrap_or(&kept.item);
        let others = supplies.get(&item.code).map(Vec::as_slice).unwrap_or_default();
        items.push(item.priced(&kept.priced_by, others));
    }
    items.extend(own.into_values().cloned());
    book.rates = RateBook { day, items };
    Ok(Arc::new(book))
}

async fn work_out(state: &AppState, then: Arc<ShopBook>, page: u32) -> Result<(Effect, u64)> {
    let today = state.shop(clock::today()).await?;
    let query = JobQuery {
        search: String::new(),
        stages: vec![StageKind::Enquiry, StageKind::Quoted],
        asked: false,
        sort: JobSort::Number,
        offset: Pager::offset(page, JOBS),
        limit: JOBS,
    };
    let jobs = state.store.jobs(&query).await?;
    let show = Show::of(&today);
    let floor = today.policy.least_margin_percent;
    let mut rows = Vec::new();
    for job in &jobs.rows {
        rows.extend(one(state, job, (&today, &then), &show).await?);
    }
    let below = rows.iter().filter(|row| row.below).count();
    let which = if jobs.total > u64::from(JOBS) {
        format!("Of the {} open quotes, {} on this page", jobs.total, rows.len())
    } else {
        format!("Open quotes: {}", rows.len())
    };
    let floor = format!("the owner's floor of {} %", floor.normalize());
    let says = match (rows.len(), below) {
        (0, _) => "No quote is open.".to_owned(),
        (_, 0) => format!("{which}. None falls below {floor}."),
        (_, 1) => format!("{which}. 1 falls below {floor}."),
        (_, many) => format!("{which}. {many} fall below {floor}."),
    };
    Ok((Effect { says, rows }, jobs.total))
}

/// One job; nothing for a spec that cannot be built or carries nothing.
async fn one(
    state: &AppState,
    job: &JobRow,
    (today, then): (&Arc<ShopBook>, &Arc<ShopBook>),
    show: &Show,
) -> Result<Option<Row>> {
    let is_quoted = job.summary.stage.kind() == StageKind::Quoted;
    let heads = if is_quoted { state.store.revisions(job.id).await? } else { Vec::new() };
    let (figures, what, path) = if let Some(head) = heads.first() {
        let Some(revision) = state.store.revision(head.id).await? else { return Ok(None) };
        let (quote, then) = (thawed(&revision)?, Arc::clone(then));
        let repriced = tokio::task::spawn_blocking(move || reprice(&quote, &then.rates)).await;
        let figures = Figures::of_revision(repriced.map_err(crate::web::Error::internal)?);
        let path = paths::of_revision(paths::REVISION, &job.id, &head.number);
        (figures, format!("revision {}, not decided", head.number), path)
    } else {
        let Some((kept, variant)) = desk::kept(state, job.id).await? else { return Ok(None) };
        let spec = Spec { need: kept.need, design: variant.design, offer: variant.offer };
        let books = (Arc::clone(today), Arc::clone(then));
        let rack = state.rack_in_price(today, Some(job.id)).await?;
        let worked = tokio::task::spawn_blocking(move || of_spec(&spec, &rack, &books.0, &books.1)).await;
        let Some(figures) = worked.map_err(crate::web::Error::internal)? else { return Ok(None) };
        (figures, "open spec".to_owned(), paths::of_job(paths::PRICE, &job.id))
    };
    let margin =
        |margin: Option<Decimal>| margin.map_or_else(|| "none".into(), |margin| format!("{} %", margin.round_dp(1)));
    let note = match figures.gone.as_slice() {
        [] => String::new(),
        codes => format!("old price kept for {}", codes.join(", ")),
    };
    Ok(Some(Row {
        path,
        number: job.summary.number.to_string(),
        title: job.summary.title.clone(),
        what,
        note,
        cost_before: show.money(figures.before),
        cost_then: show.money(figures.then),
        cost_moves: show.difference(figures.then - figures.before),
        price: show.money(figures.price),
        margin_before: margin(figures.margins[0]),
        margin_then: margin(figures.margins[1]),
        below: figures.margins[1].is_none_or(|margin| margin < today.policy.least_margin_percent),
    }))
}

/// An open spec at today's prices and at others. Its price follows its cost, unless one was agreed.
fn of_spec(spec: &Spec, rack: &Rack, today: &Arc<ShopBook>, then: &Arc<ShopBook>) -> Option<Figures> {
    if spec.need.loads.is_empty() {
        return None;
    }
    let at = |book: &ShopBook| estimate(spec, book, rack, Budget::preview(), &mut unwatched).ok();
    let before = at(today)?.build_up;
    let after: BuildUp = if Arc::ptr_eq(today, then) { before.clone() } else { at(then)?.build_up };
    Some(Figures {
        before: bare_cost(&before),
        then: bare_cost(&after),
        price: after.sold(),
        margins: [before.margin_percent(), after.margin_percent()],
        gone: Vec::new(),
    })
}

impl Figures {
    fn of_revision(of: Repriced) -> Self {
        Self {
            before: of.cost_before,
            then: of.cost_then,
            price: of.price,
            margins: [of.margin_before, of.margin_then],
            gone: of.gone,
        }
    }
}

#[cfg(test)]
impl Effect {
    pub fn sample() -> Self {
        let row = Row {
            path: "/jobs/7".into(),
            number: "2026-007".into(),
            title: "Ann <b>".into(),
            what: "revision 1, not decided".into(),
            note: "old price kept for A <b>".into(),
            cost_before: "1.00".into(),
            cost_then: "1.10".into(),
            cost_moves: "+0.10".into(),
            price: "1.20".into(),
            margin_before: "16.7 %".into(),
            margin_then: "8.3 %".into(),
            below: true,
        };
        Self { says: "1 falls below the owner's floor of 12 %.".into(), rows: vec![row] }
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [_, ann] = Frame::samples();
        let pager = Pager::new(paths::OPEN_QUOTES.into(), 1, 21, JOBS);
        vec![Self { frame: ann, effect: Effect::sample(), pager }]
    }
}
