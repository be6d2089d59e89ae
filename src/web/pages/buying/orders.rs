//! Orders that were placed: the list, each with its lines and its text, and what became of it.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::StatusCode,
    response::Response,
    routing::{get, post},
};
use jiff::{Timestamp, civil::Date};
use rust_decimal::Decimal;
use serde::Deserialize;

use super::{in_packs, named, quantity, text};
use crate::{
    domain::{
        buying::{Refused, Standing},
        measure::{Money, read_number},
        shop::ShopBook,
    },
    storage::{Arrival, By, KeptLine, LineId, NewArrival, OrderHead, OrderId, OrderMoved, OrderStep, PlacedOrder},
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
    /// What its sum leaves out.
    sum_note: &'static str,
    steps: Vec<StepRow>,
    text: text::OrderText,
    is_awaited: bool,
    /// Something of it has come that does not lie on the rack.
    could_be_missing: bool,
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
    came: String,
    /// Empty of what has come whole.
    to_come: String,
    due: String,
    is_late: bool,
    /// What of it might not be here after all; empty of nothing.
    could_be_missing: String,
    /// The fields that say so.
    fields: [String; 2],
    /// Tags of what of it came on the rack.
    pieces: Vec<String>,
    /// How many bars or sheets can still be put there.
    to_rack: u32,
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

/// What of it came on a day, or was not here after all.
async fn arrive(
    State(state): State<AppState>,
    frame: Frame,
    Path(order): Path<OrderId>,
    mut form: Form,
) -> Result<Response> {
    let found = state.store.order(order).await?.ok_or(NONE)?;
    let (field, sign, day, why) = match form.value("action") {
        "awaited" => {
            let why = details::text(&mut form, "awaited_why", "Why it is not", true);
            (MISSING, Decimal::NEGATIVE_ONE, Some(clock::today()), why)
        }
        "arrived" => (CAME, Decimal::ONE, arrived_on(&mut form, found.head.day), String::new()),
        _ => return Err(Error::Unreadable("The form names nothing that becomes of an order.".into())),
    };
    let quantities = quantities(&mut form, field, sign, &found);
    if quantities.is_empty() && form.is_right() {
        form.wrong_altogether("Nothing was recorded: no line has a quantity.");
    }
    let (Some(actor), Some(day), true) = (form.actor(&frame), day, form.is_right()) else {
        return render(&state, frame, order, form).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let new = NewArrival { order, quantities: &quantities, day, why: &why };
    match state.store.record_arrival(&new, by).await? {
        OrderMoved::Done => return Ok(see_other(&paths::of_order(paths::ORDER, &order), &actor)),
        OrderMoved::TooMuch(id, most) => {
            let kept = found.lines.iter().find(|kept| kept.id == id).ok_or(NONE)?;
            let (line, most) = (&kept.line, quantity(most, kept.line.unit, &kept.line.stock));
            let wrong = if sign < Decimal::ZERO {
                format!("Only {most} can be missing: what lies on the rack, or lay there, has come.")
            } else {
                format!("Only {most} of it are still to come: somebody may have said so before.")
            };
            form.wrong(field_of(field, id), named(&line.name, &line.stock), wrong);
        }
        OrderMoved::Missing => return Err(NONE),
        OrderMoved::Refused(refused) => form.wrong_altogether(refusal(refused)),
    }
    render(&state, frame, order, form).await
}

/// Fields of what came, and of what was not here after all; each with the line's number.
const CAME: &str = "came";
const MISSING: &str = "missing";

fn field_of(field: &str, line: LineId) -> String {
    format!("{field}.{line}")
}

/// How much of each line the form says; nothing of an empty field.
fn quantities(form: &mut Form, field: &str, sign: Decimal, order: &PlacedOrder) -> Vec<(LineId, Decimal)> {
    let mut all = Vec::new();
    for kept in &order.lines {
        let name = field_of(field, kept.id);
        let text = form.value(&name).trim().to_owned();
        match read_number(&text) {
            _ if text.is_empty() => {}
            Ok(of) if of.is_zero() => {}
            Ok(of) if of > Decimal::ZERO && (kept.line.unit.is_some() || of.is_integer()) => {
                all.push((kept.id, sign * of))
            }
            _ => {
                let label = named(&kept.line.name, &kept.line.stock);
                form.wrong(name, label, format!("“{text}” is no quantity: type a number like 3, or 0 for none."));
            }
        }
    }
    all
}

fn refusal(refused: Refused) -> &'static str {
    match refused {
        Refused::Cancelled => "Nothing was changed: the order was cancelled meanwhile, and stays so.",
        Refused::Already => "Nothing was changed: somebody said so of this order before.",
    }
}

async fn cancel(
    State(state): State<AppState>,
    frame: Frame,
    Path(order): Path<OrderId>,
    mut form: Form,
) -> Result<Response> {
    let why = details::text(&mut form, "cancel_why", "Why it is cancelled", true);
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(&state, frame, order, form).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    match state.store.cancel_order(order, &why, by).await? {
        OrderMoved::Done => return Ok(see_other(&paths::of_order(paths::ORDER, &order), &actor)),
        OrderMoved::Missing | OrderMoved::TooMuch(..) => return Err(NONE),
        OrderMoved::Refused(refused) => form.wrong_altogether(refusal(refused)),
    }
    render(&state, frame, order, form).await
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
    // All that may be said is filled in: what is pressed is what is seen.
    for kept in &found.lines {
        for (field, most) in [(CAME, kept.to_come()), (MISSING, kept.could_be_missing())] {
            let field = field_of(field, kept.id);
            if !form.has(&field) && !most.is_zero() {
                form.add(field, most.normalize().to_string());
            }
        }
    }
    let shop = state.shop(today).await?;
    let page = Page::of(frame.at(Room::Rack), form, &found, &shop, today);
    pages::page(page.form.status(), &page)
}

impl HeadRow {
    pub fn of(head: &OrderHead, today: Date, show: &Show) -> Self {
        let stands = match head.arrived {
            Some(day) => format!("arrived {}", show.day(day)),
            None if head.in_part => "arrived in part".to_owned(),
            None => head.standing.label().to_owned(),
        };
        Self {
            id: head.id,
            supplier: head.supplier.clone(),
            day: show.day(head.day),
            who: head.who.clone(),
            due: show.day(head.due),
            stands,
            late: head.next_due.is_some_and(|due| due < today),
            is_cancelled: head.standing == Standing::Cancelled,
            sum: amount(head.sum, &head.currency, show),
        }
    }
}

/// The same of a price that need not be known: of what was ordered by hand.
fn known(price: Money, currency: &str, show: &Show) -> String {
    if price == Money::ZERO { "not known".to_owned() } else { amount(price, currency, show) }
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
        let rows =
            |lines: Vec<&KeptLine>| lines.into_iter().map(|kept| LineRow::of(kept, order, today, &show)).collect();
        let placing = order.placing();
        let placed = Some((order.head.id, order.head.day));
        Self {
            frame,
            form,
            lead: if order.lead_days == 0 { String::new() } else { super::days(order.lead_days) },
            could_be_missing: bought.iter().any(|kept| !kept.could_be_missing().is_zero())
                && order.head.standing != Standing::Cancelled,
            sum_note: if bought.iter().any(|kept| kept.line.each == Money::ZERO) {
                "of what is known, before tax and freight"
            } else {
                "before tax and freight"
            },
            lines: rows(bought),
            aside: rows(aside),
            steps: StepRow::all(order, &show),
            text: text::OrderText {
                id: "text".to_owned(),
                text: text::of(&order.head.supplier, placed, &placing.lines, shop, &show),
            },
            is_awaited: order.head.standing == Standing::Awaited,
            head,
        }
    }

    fn late(&self) -> Vec<&LineRow> {
        self.lines.iter().filter(|line| line.is_late).collect()
    }

    /// Whether something of it is a bar or a sheet.
    fn has_stock(&self) -> bool {
        self.lines.iter().any(|line| !line.size.is_empty())
    }
}

impl LineRow {
    /// What its fields are called.
    fn label(&self) -> String {
        if self.size.is_empty() { self.name.clone() } else { format!("{}, {}", self.name, self.size) }
    }

    fn to_come_hint(&self) -> String {
        format!("{} still to come.", self.to_come)
    }

    fn missing_hint(&self) -> String {
        format!("{} at most.", self.could_be_missing)
    }

    fn of(kept: &KeptLine, order: &PlacedOrder, today: Date, show: &Show) -> Self {
        let line = &kept.line;
        let of = |quantity_of| quantity(quantity_of, line.unit, &line.stock);
        let some = |quantity_of: Decimal| if quantity_of.is_zero() { String::new() } else { of(quantity_of) };
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
            each: known(line.each, &order.head.currency, show),
            amount: known(line.amount, &order.head.currency, show),
            jobs: jobs.collect::<Vec<_>>().join(", "),
            came: some(kept.came),
            to_come: some(kept.to_come()),
            due: show.day(kept.due),
            is_late: kept.is_late(today) && order.head.standing != Standing::Cancelled,
            could_be_missing: some(kept.could_be_missing()),
            fields: [CAME, MISSING].map(|field| field_of(field, kept.id)),
            pieces: kept.pieces.clone(),
            to_rack: kept.to_rack(),
        }
    }
}

impl StepRow {
    /// What was said at one press is one row, the latest first.
    fn all(order: &PlacedOrder, show: &Show) -> Vec<Self> {
        let mut moments: Vec<Timestamp> = order.arrivals.iter().map(|arrival| arrival.at).collect();
        moments.extend(order.steps.iter().map(|step| step.at));
        moments.sort_unstable();
        moments.dedup();
        moments.into_iter().rev().filter_map(|at| Self::at(order, at, show)).collect()
    }

    fn at(order: &PlacedOrder, at: Timestamp, show: &Show) -> Option<Self> {
        let arrivals: Vec<&Arrival> = order.arrivals.iter().rev().filter(|arrival| arrival.at == at).collect();
        let steps: Vec<&OrderStep> = order.steps.iter().rev().filter(|step| step.at == at).collect();
        let of = |arrival: &&Arrival| {
            let line = &order.lines.iter().find(|kept| kept.id == arrival.line)?.line;
            let amount = quantity(arrival.quantity.abs(), line.unit, &line.stock);
            Some(format!("{amount} of {}", named(&line.name, &line.stock)))
        };
        let listed = arrivals.iter().filter_map(of).collect::<Vec<_>>().join(", ");
        let mut what = match arrivals.first() {
            Some(first) if first.why.is_empty() => format!("arrived on {}: {listed}", show.day(first.day)),
            Some(_) => format!("not here after all: {listed}"),
            None => String::new(),
        };
        for step in &steps {
            match (step.to, step.day) {
                (Standing::Arrived, Some(_)) if !arrivals.is_empty() => what.push_str("; all of it is here"),
                (Standing::Arrived, Some(day)) => what.push_str(&format!("arrived on {}", show.day(day))),
                (Standing::Awaited, _) if !arrivals.is_empty() => {}
                (Standing::Awaited, _) => what.push_str("not here after all"),
                (to, _) => what.push_str(to.label()),
            }
        }
        let (why, who) = match (arrivals.last(), steps.last()) {
            (_, Some(step)) if !step.why.is_empty() => (&step.why, &step.who),
            (Some(arrival), _) => (&arrival.why, &arrival.who),
            (None, Some(step)) => (&step.why, &step.who),
            (None, None) => return None,
        };
        Some(Self { at: clock::moment(at), what, why: why.clone(), who: who.clone() })
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
        next_due: Some(day),
        in_part: true,
    }
}

#[cfg(test)]
pub(super) fn order_sample(today: Date) -> PlacedOrder {
    use crate::{
        domain::{buying::PlacedLine, measure::Tenths, shop::Stocked},
        storage::JobId,
    };
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
    let head = head_sample(today);
    let kept = |bought| KeptLine {
        id: LineId(1),
        line: line(bought),
        due: head.due,
        came: Decimal::TWO,
        pieces: vec!["R-0001".into()],
    };
    let step = |to| OrderStep { to, day: None, why: "Ann <b>".into(), at: head.at, who: "Ann <b>".into() };
    let arrival = |quantity, why: &str| Arrival {
        line: LineId(1),
        quantity,
        day: head.day,
        why: why.into(),
        at: head.at,
        who: "Ann <b>".into(),
    };
    PlacedOrder {
        lead_days: 3,
        lines: vec![kept(3), kept(0)],
        steps: vec![step(Standing::Cancelled), step(Standing::Awaited)],
        arrivals: vec![arrival(Decimal::NEGATIVE_ONE, "Ann <b>"), arrival(Decimal::TWO, "")],
        numbers: [(JobId(7), "2026-007".to_owned())].into(),
        head,
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
        let [nobody, ann] = Frame::samples();
        let today = clock::today();
        let order = |standing| {
            let order = order_sample(today);
            PlacedOrder { head: OrderHead { standing, ..order.head }, ..order }
        };
        let shop = ShopBook::demo();
        let mut wrong = Form::filled([("day", "<b>"), ("came.1", "<b>")]);
        arrived_on(&mut wrong, today);
        quantities(&mut wrong, CAME, Decimal::ONE, &order(Standing::Awaited));
        let page = |frame, form, standing| Self::of(frame, form, &order(standing), &shop, today);
        vec![
            page(nobody, Form::default(), Standing::Cancelled),
            page(ann.clone(), wrong, Standing::Awaited),
            page(ann, Form::default(), Standing::Arrived),
        ]
    }
}
