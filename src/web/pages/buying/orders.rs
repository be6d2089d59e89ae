//! Orders that were placed: the list, each with its lines and its text, and what became of it.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::StatusCode,
    response::Response,
    routing::{get, post},
};
use jiff::civil::Date;
use serde::Deserialize;

use super::{in_packs, named, quantity, text};
use crate::{
    domain::{
        buying::{Refused, Standing},
        measure::Money,
        shop::ShopBook,
    },
    storage::{By, KeptLine, LineId, OrderHead, OrderId, OrderMoved, OrderStep, PlacedOrder},
    web::{
        AppState, Error, Result, clock,
        extract::{Path, Query},
        form::Form,
        frame::{Frame, Room},
        pages::{self, Pager, job::details, rack::measured},
        paths,
        session::see_other,
        show::Show,
    },
};

/// Orders on a page of the list.
const ROWS: u32 = 50;

const NONE: Error = Error::NotFound("There is no such order.");

/// An order in a list.
#[derive(Clone, Debug)]
pub struct HeadRow {
    pub id: OrderId,
    pub supplier: String,
    pub day: String,
    pub who: String,
    pub due: String,
    pub stands: String,
    /// Its lead time has passed, and it has not arrived.
    pub late: bool,
    pub is_cancelled: bool,
    pub sum: String,
}

#[derive(Template)]
#[template(path = "web/buying/orders.html")]
pub struct ListPage {
    frame: Frame,
    rows: Vec<HeadRow>,
    pager: Pager,
}

#[derive(Template)]
#[template(path = "web/buying/order.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    head: HeadRow,
    lead: String,
    lines: Vec<LineRow>,
    /// What was laid aside of earlier orders by this one.
    aside: Vec<LineRow>,
    steps: Vec<StepRow>,
    text: text::OrderText,
    is_awaited: bool,
}

struct LineRow {
    id: LineId,
    code: String,
    name: String,
    article: String,
    size: String,
    bought: String,
    needed: String,
    over: String,
    each: String,
    amount: String,
    jobs: String,
    /// Tags of what of it came on the rack.
    pieces: Vec<String>,
    /// How many bars or sheets can still be put there.
    to_come: u32,
}

struct StepRow {
    at: String,
    what: String,
    why: String,
    who: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    page: Option<u32>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::ORDERS, get(list))
        .route(paths::ORDER, get(show_order).post(arrive))
        .route(paths::ORDER_CANCEL, post(cancel))
}

async fn list(State(state): State<AppState>, frame: Frame, Query(asked): Query<Asked>) -> Result<Response> {
    let page = asked.page.unwrap_or(1).max(1);
    let found = state.store.orders(Pager::offset(page, ROWS), ROWS).await?;
    let today = clock::today();
    let show = Show::of(&*state.shop(today).await?);
    let rows = found.rows.iter().map(|head| HeadRow::of(head, today, &show)).collect();
    let pager = Pager::new(paths::ORDERS.to_owned(), page, found.total, ROWS);
    pages::page(StatusCode::OK, &ListPage { frame: frame.at(Room::Rack), rows, pager })
}

async fn show_order(State(state): State<AppState>, frame: Frame, Path(order): Path<OrderId>) -> Result<Response> {
    render(&state, frame, order, Form::default()).await
}

/// It arrived on a day, or has not after all.
async fn arrive(
    State(state): State<AppState>,
    frame: Frame,
    Path(order): Path<OrderId>,
    mut form: Form,
) -> Result<Response> {
    let found = state.store.order(order).await?.ok_or(NONE)?;
    match form.value("action") {
        "awaited" => {
            let why = details::text(&mut form, "awaited_why", "Why it has not", true);
            step(&state, frame, order, form, (Standing::Awaited, None, &why)).await
        }
        "arrived" => {
            let day = arrived_on(&mut form, found.head.day);
            step(&state, frame, order, form, (Standing::Arrived, day, "")).await
        }
        _ => Err(Error::Unreadable("The form names nothing that can be done with an order.".into())),
    }
}

async fn cancel(
    State(state): State<AppState>,
    frame: Frame,
    Path(order): Path<OrderId>,
    mut form: Form,
) -> Result<Response> {
    let why = details::text(&mut form, "cancel_why", "Why it is cancelled", true);
    step(&state, frame, order, form, (Standing::Cancelled, None, &why)).await
}

async fn step(
    state: &AppState,
    frame: Frame,
    order: OrderId,
    mut form: Form,
    (to, day, why): (Standing, Option<Date>, &str),
) -> Result<Response> {
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(state, frame, order, form).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.move_order(order, to, day, why, by).await? {
        OrderMoved::Done => Ok(see_other(&paths::of_order(paths::ORDER, &order), &actor)),
        OrderMoved::Missing => Err(NONE),
        OrderMoved::Refused(refused) => {
            form.wrong_altogether(match refused {
                Refused::Cancelled => "Nothing was changed: the order was cancelled meanwhile, and stays so.",
                Refused::Already => "Nothing was changed: somebody said so of this order before.",
            });
            render(state, frame, order, form).await
        }
    }
}

/// Between the day of the order and today.
fn arrived_on(form: &mut Form, ordered: Date) -> Option<Date> {
    let (text, today) = (form.value("day").trim().to_owned(), clock::today());
    let day = text.parse::<Date>().ok().filter(|day| (ordered..=today.max(ordered)).contains(day));
    if day.is_none() {
        let wrong = format!("“{text}” is no such day: type one from {ordered}, the day of the order, to {today}.");
        form.wrong("day", "Arrived on", wrong);
    }
    day
}

async fn render(state: &AppState, frame: Frame, order: OrderId, mut form: Form) -> Result<Response> {
    let found = state.store.order(order).await?.ok_or(NONE)?;
    let today = clock::today();
    if !form.has("day") {
        form.add("day", today.to_string());
    }
    let shop = state.shop(today).await?;
    let page = Page::of(frame.at(Room::Rack), form, &found, &shop, today);
    pages::page(page.form.status(), &page)
}

impl HeadRow {
    pub fn of(head: &OrderHead, today: Date, show: &Show) -> Self {
        let stands = match head.arrived {
            Some(day) => format!("arrived {}", show.day(day)),
            None => head.standing.label().to_owned(),
        };
        Self {
            id: head.id,
            supplier: head.supplier.clone(),
            day: show.day(head.day),
            who: head.who.clone(),
            due: show.day(head.due),
            stands,
            late: head.standing == Standing::Awaited && head.due < today,
            is_cancelled: head.standing == Standing::Cancelled,
            sum: amount(head.sum, &head.currency, show),
        }
    }
}

/// In the currency of the order, which may have been another than the shop's is now.
fn amount(amount: Money, currency: &str, show: &Show) -> String {
    if currency == show.money.currency_code { show.money(amount) } else { format!("{} {currency}", amount.0) }
}

impl Page {
    fn of(frame: Frame, form: Form, order: &PlacedOrder, shop: &ShopBook, today: Date) -> Self {
        let show = Show::of(shop);
        let head = HeadRow::of(&order.head, today, &show);
        let (aside, bought) = order.lines.iter().partition::<Vec<&KeptLine>, _>(|kept| kept.line.bought.is_zero());
        let rows = |lines: Vec<&KeptLine>| lines.into_iter().map(|kept| LineRow::of(kept, order, &show)).collect();
        let placing = order.placing();
        let placed = Some((order.head.id, order.head.day));
        Self {
            frame,
            form,
            lead: super::days(order.lead_days),
            lines: rows(bought),
            aside: rows(aside),
            steps: order.steps.iter().map(|step| StepRow::of(step, &show)).collect(),
            text: text::OrderText {
                id: "text".to_owned(),
                text: text::of(&order.head.supplier, placed, &placing.lines, shop, &show),
            },
            is_awaited: order.head.standing == Standing::Awaited,
            head,
        }
    }

    /// Whether something of it is a bar or a sheet.
    fn has_stock(&self) -> bool {
        self.lines.iter().any(|line| !line.size.is_empty())
    }
}

impl LineRow {
    fn of(kept: &KeptLine, order: &PlacedOrder, show: &Show) -> Self {
        let line = &kept.line;
        let of = |quantity_of| quantity(quantity_of, line.unit, &line.stock);
        let jobs = line
            .jobs
            .iter()
            .map(|(job, of)| format!("{}: {}", order.numbers.get(job).map_or("?", String::as_str), of.normalize()));
        Self {
            id: kept.id,
            code: line.code.clone(),
            name: named(&line.name, &line.stock),
            article: line.article.clone(),
            size: line.stock.as_ref().map_or_else(String::new, |stock| measured(stock, show)),
            bought: in_packs(line.packs, line.pack, line.unit, &line.stock),
            needed: of(line.needed()),
            over: if line.over().is_zero() { String::new() } else { of(line.over()) },
            each: amount(line.each, &order.head.currency, show),
            amount: amount(line.amount, &order.head.currency, show),
            jobs: jobs.collect::<Vec<_>>().join(", "),
            pieces: kept.pieces.clone(),
            to_come: kept.to_come(),
        }
    }
}

impl StepRow {
    fn of(step: &OrderStep, show: &Show) -> Self {
        let what = match (step.to, step.day) {
            (Standing::Arrived, Some(day)) => format!("arrived on {}", show.day(day)),
            (Standing::Awaited, _) => "not here after all".to_owned(),
            (to, _) => to.label().to_owned(),
        };
        Self { at: clock::moment(step.at), what, why: step.why.clone(), who: step.who.clone() }
    }
}

#[cfg(test)]
pub(super) fn head_sample(today: Date) -> OrderHead {
    use jiff::ToSpan;
    let day = today.saturating_sub(20.days());
    OrderHead {
        id: OrderId(3),
        supplier: "Ann <b>".into(),
        day,
        due: day,
        sum: Money::ZERO,
        currency: "GBP".into(),
        at: clock::now(),
        who: "Ann <b>".into(),
        standing: Standing::Awaited,
        arrived: None,
    }
}

#[cfg(test)]
impl ListPage {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let row = HeadRow::of(&head_sample(clock::today()), clock::today(), &Show::sample());
        let pager = |of| Pager::new(paths::ORDERS.to_owned(), 1, of, ROWS);
        vec![
            Self { frame: nobody, rows: vec![], pager: pager(0) },
            Self {
                frame: ann,
                rows: vec![row.clone(), HeadRow { is_cancelled: true, late: false, ..row }],
                pager: pager(80),
            },
        ]
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        use rust_decimal::Decimal;

        use crate::{
            domain::{buying::PlacedLine, measure::Tenths, shop::Stocked},
            storage::JobId,
        };
        let [nobody, ann] = Frame::samples();
        let (section, grade) = ("rhs 60x40x3".parse().expect("a section"), "S235".parse().expect("a grade"));
        let line = |bought: i64| PlacedLine {
            code: "T".into(),
            name: "Ann <b>".into(),
            article: "<b>".into(),
            stock: Some(Stocked::Bar { section, grade, length: Tenths(60_000) }),
            unit: None,
            lead_days: 3,
            pack: Decimal::ONE,
            packs: bought.into(),
            bought: bought.into(),
            each: Money::ZERO,
            amount: Money::ZERO,
            jobs: vec![(JobId(7), Decimal::TWO)],
        };
        let kept = |bought| KeptLine { id: LineId(1), line: line(bought), pieces: vec!["R-0001".into()] };
        let step = |to| OrderStep { to, day: None, why: "Ann <b>".into(), at: clock::now(), who: "Ann <b>".into() };
        let order = |standing| PlacedOrder {
            head: OrderHead { standing, ..head_sample(clock::today()) },
            lead_days: 3,
            lines: vec![kept(3), kept(0)],
            steps: vec![step(Standing::Cancelled), step(Standing::Awaited)],
            numbers: [(JobId(7), "2026-007".to_owned())].into(),
        };
        let shop = ShopBook::demo();
        let mut wrong = Form::filled([("day", "<b>")]);
        arrived_on(&mut wrong, clock::today());
        let page = |frame, form, standing| Self::of(frame, form, &order(standing), &shop, clock::today());
        vec![
            page(nobody, Form::default(), Standing::Cancelled),
            page(ann.clone(), wrong, Standing::Awaited),
            page(ann, Form::default(), Standing::Arrived),
        ]
    }
}
