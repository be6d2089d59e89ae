//! The purchase list: what is to be bought for jobs that are accepted or in the shop, by supplier; and what was ordered.

/// From the store to the list.
mod gather;
/// The list as a file.
mod file;
/// The button by which an order is recorded.
pub mod place;
/// An order of what has no supplier.
mod by_hand;
/// Orders that were placed, and what became of them.
pub mod orders;
/// An order as a text for the supplier.
mod text;

use std::collections::BTreeSet;

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use jiff::civil::Date;
use rust_decimal::Decimal;

use self::gather::{Bought, Gathered, gather};
use super::rack::{described, measured};
use crate::{
    domain::{
        buying::{Had, Line, Offer, Order, WhyNot, Without},
        shop::{RateUnit, Stocked},
    },
    storage::{JobId, KeptLine, OrderId, PlacedOrder},
    web::{
        AppState, Error, Result,
        extract::Query,
        form::Form,
        frame::{Frame, Room},
        pages::{self, table_file},
        paths,
        show::Show,
    },
};

/// Name of the field that chooses the supplier of an item.
fn from_field(code: &str) -> String {
    format!("from.{code}")
}

#[derive(Template)]
#[template(path = "web/buying.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    jobs: Vec<JobRow>,
    /// Jobs were asked for that cannot be bought for.
    unknown: String,
    orders: Vec<OrderView>,
    without: Vec<WithoutRow>,
    /// The form that orders of these, and what it shows of them.
    by_hand: Form,
    seen: String,
    /// What is not on the list because it was ordered before or is over.
    had: Vec<HadRow>,
    awaited: Vec<orders::HeadRow>,
    late: Late,
    sum: String,
    /// The same list as a file.
    file: String,
    today: String,
}

struct JobRow {
    job: JobId,
    number: String,
    title: String,
    stage: &'static str,
    ticked: bool,
    /// Of a job that is bought for.
    by: String,
    here_by: String,
    promised: String,
    from_rack: String,
}

/// What should have happened already; empty where all is in time.
struct Late {
    /// Lines of orders that should be here.
    awaited: Vec<LateRow>,
    /// Suppliers of whom something should have been ordered by now.
    not_ordered: String,
}

/// A line of an order of which something should be here.
struct LateRow {
    order: OrderId,
    supplier: String,
    day: String,
    what: String,
    due: String,
}

struct HadRow {
    code: String,
    name: String,
    size: String,
    quantity: String,
    here: String,
    to_come: String,
    jobs: String,
}

struct OrderView {
    supplier: String,
    /// The order that is shown: what is recorded is what was looked at.
    seen: String,
    text: text::OrderText,
    label: String,
    lines: Vec<LineRow>,
    sum: String,
    lead: String,
    order_by: String,
    late: bool,
}

impl OrderView {
    /// Bars and sheets have sizes; a list of parts needs no empty column.
    fn has_sizes(&self) -> bool {
        self.lines.iter().any(|line| !line.size.is_empty())
    }
}

struct LineRow {
    code: String,
    name: String,
    article: String,
    size: String,
    needed: String,
    buy: String,
    over: String,
    each: String,
    amount: String,
    lead: String,
    order_by: String,
    late: bool,
    jobs: String,
    /// Who could be chosen; empty where nobody else sells it, or the item stands on the list already in another size.
    sellers: Vec<(String, String)>,
    in_vain: String,
}

struct WithoutRow {
    /// Its place in the list.
    at: String,
    /// The fields of how much is bought, and at what price.
    fields: [String; 2],
    code: String,
    in_book: bool,
    name: String,
    size: String,
    needed: String,
    jobs: String,
    why: &'static str,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::PURCHASE_LIST, get(show))
        .route(paths::PURCHASE_LIST_CSV, get(download))
        .merge(place::router())
        .merge(by_hand::router())
        .merge(orders::router())
}

type Asked = Query<Vec<(String, String)>>;

async fn show(State(state): State<AppState>, frame: Frame, Query(asked): Asked) -> Result<Response> {
    let form = asked_for(asked);
    let gathered = gather(&state, &form).await?;
    let by_hand = by_hand::filled(&gathered);
    pages::page(StatusCode::OK, &Page::of(frame.at(Room::Rack), form, by_hand, &gathered)?)
}

async fn download(State(state): State<AppState>, frame: Frame, Query(asked): Asked) -> Result<Response> {
    let gathered = gather(&state, &asked_for(asked)).await?;
    let text = file::write(&gathered, frame.sees_money()).map_err(Error::internal)?;
    Ok(table_file::csv(&format!("purchase-list-{}.csv", gathered.today), text))
}

/// What is asked for; at first everything.
fn asked_for(asked: Vec<(String, String)>) -> Form {
    let mut form = Form::filled(asked);
    if !form.has("chosen") {
        form.set("consumables", "on");
    }
    form
}

impl Page {
    fn of(frame: Frame, form: Form, by_hand: Form, gathered: &Gathered) -> Result<Self> {
        let show = &gathered.show;
        let numbers: Vec<&str> = gathered.bought.iter().map(|job| job.number.as_str()).collect();
        let mut seen = BTreeSet::new();
        let mut orders = Vec::new();
        for (at, order) in gathered.list.orders.iter().enumerate() {
            let lines = order.lines.iter().map(|line| {
                let is_first = seen.insert(line.code.clone());
                LineRow::of(line, &numbers, gathered, is_first.then(|| frame.sees_money()))
            });
            orders.push(OrderView::of(at, order, lines.collect(), gathered)?);
        }
        let awaited = gathered.awaited.iter().map(|order| orders::HeadRow::of(&order.head, gathered.today, show));
        let not_ordered: Vec<&str> =
            orders.iter().filter(|order| order.late).map(|order| order.supplier.as_str()).collect();
        let late = Late {
            awaited: gathered.awaited.iter().flat_map(|order| LateRow::all(order, gathered.today, show)).collect(),
            not_ordered: not_ordered.join(", "),
        };
        let query: Vec<String> =
            form.pairs().map(|(name, value)| format!("{}={}", paths::encoded(name), paths::encoded(value))).collect();
        Ok(Self {
            frame,
            late,
            awaited: awaited.collect(),
            had: gathered.had.iter().map(|of| HadRow::of(of, &numbers, show)).collect(),
            jobs: gathered.rows.iter().map(|row| JobRow::of(row, gathered)).collect(),
            unknown: gathered.unknown.join(", "),
            orders,
            without: gathered.list.without.iter().enumerate().map(|of| WithoutRow::of(of, &numbers, show)).collect(),
            by_hand,
            seen: by_hand::seen(gathered)?,
            sum: show.money(gathered.list.sum()),
            file: format!("{}?{}", paths::PURCHASE_LIST_CSV, query.join("&")),
            today: show.day(gathered.today),
            form,
        })
    }

    fn is_late(&self) -> bool {
        !self.late.awaited.is_empty() || !self.late.not_ordered.is_empty()
    }

    fn is_empty(&self) -> bool {
        self.orders.is_empty() && self.without.is_empty()
    }

    fn is_ticked_any(&self) -> bool {
        self.jobs.iter().any(|job| job.ticked)
    }
}

impl JobRow {
    fn of(row: &gather::Row, gathered: &Gathered) -> Self {
        let bought = gathered.bought.iter().find(|bought| bought.job == row.job);
        let day = |of: fn(&Bought) -> Option<Date>| {
            bought.and_then(of).map_or_else(String::new, |day| gathered.show.day(day))
        };
        Self {
            job: row.job,
            number: row.number.clone(),
            title: row.title.clone(),
            stage: row.stage,
            ticked: bought.is_some(),
            by: bought.map_or_else(String::new, |bought| bought.by.clone()),
            here_by: day(|bought| bought.here_by),
            promised: day(|bought| bought.promised),
            from_rack: bought.map_or_else(String::new, |bought| bought.from_rack.join(", ")),
        }
    }
}

impl OrderView {
    fn of(at: usize, order: &Order, lines: Vec<LineRow>, gathered: &Gathered) -> Result<Self> {
        let show = &gathered.show;
        let placing =
            gathered.placing(&order.supplier).ok_or_else(|| Error::internal("an order without its supplier"))?;
        Ok(Self {
            supplier: order.supplier.clone(),
            seen: place::fingerprint(&placing)?,
            text: text::OrderText {
                id: format!("text-{at}"),
                text: text::of(&order.supplier, None, &placing.lines, &gathered.shop, show),
            },
            label: format!("Order to {}", order.supplier),
            lines,
            sum: show.money(order.sum),
            lead: days(order.lead_days),
            order_by: order.order_by.map_or_else(String::new, |day| show.day(day)),
            late: order.lines.iter().any(|line| gathered.is_late(line)),
        })
    }
}

impl LateRow {
    fn all(order: &PlacedOrder, today: Date, show: &Show) -> Vec<Self> {
        let of = |kept: &KeptLine| {
            let (line, size) = (&kept.line, kept.line.stock.as_ref().map(|stock| measured(stock, show)));
            let name =
                [Some(named(&line.name, &line.stock)), size].into_iter().flatten().collect::<Vec<_>>().join(", ");
            Self {
                order: order.head.id,
                supplier: order.head.supplier.clone(),
                day: show.day(order.head.day),
                what: format!("{} of {name}", quantity(kept.to_come(), line.unit, &line.stock)),
                due: show.day(kept.due),
            }
        };
        order.lines.iter().filter(|kept| kept.is_late(today)).map(of).collect()
    }
}

impl HadRow {
    fn of(had: &Had, numbers: &[&str], show: &Show) -> Self {
        let of = &had.thing;
        let some = |quantity_of: Decimal| {
            if quantity_of.is_zero() { String::new() } else { quantity(quantity_of, of.unit, &of.stock) }
        };
        Self {
            code: of.code.clone(),
            name: named(&of.name, &of.stock),
            size: of.stock.as_ref().map_or_else(String::new, |stock| measured(stock, show)),
            quantity: quantity(of.needed, of.unit, &of.stock),
            here: some(had.here),
            to_come: some(had.to_come),
            jobs: by_job(&of.jobs, numbers),
        }
    }
}

impl LineRow {
    /// `sellers` says whether others can be chosen here, and whether with what they ask.
    fn of(line: &Line, numbers: &[&str], gathered: &Gathered, sellers: Option<bool>) -> Self {
        let (offer, show) = (&line.offer, &gathered.show);
        let choices = sellers.filter(|_| !line.others.is_empty()).map(|with_money| {
            let said = |offer: &Offer| {
                let says = format!("{}: {}", offer.supplier, days(offer.lead_days));
                if with_money { format!("{says}, {}", show.money(offer.amount)) } else { says }
            };
            let mut all = vec![(String::new(), "by the rate book, else the cheapest".to_owned())];
            all.extend([offer].into_iter().chain(&line.others).map(|offer| (offer.supplier.clone(), said(offer))));
            all
        });
        Self {
            code: line.code.clone(),
            name: line.name.clone(),
            article: offer.article.clone(),
            size: line.stock.as_ref().map_or_else(String::new, |stock| measured(stock, show)),
            needed: quantity(line.needed, line.unit, &line.stock),
            buy: in_packs(offer.packs, offer.pack, line.unit, &line.stock),
            over: if line.over() > Decimal::ZERO {
                quantity(line.over(), line.unit, &line.stock)
            } else {
                String::new()
            },
            each: show.money(offer.each),
            amount: show.money(offer.amount),
            lead: days(offer.lead_days),
            order_by: line.order_by.map_or_else(String::new, |day| show.day(day)),
            late: gathered.is_late(line),
            jobs: by_job(&line.jobs, numbers),
            sellers: choices.unwrap_or_default(),
            in_vain: line.in_vain.clone().unwrap_or_default(),
        }
    }
}

impl WithoutRow {
    fn of((at, of): (usize, &Without), numbers: &[&str], show: &Show) -> Self {
        let name = named(&of.name, &of.stock);
        Self {
            at: at.to_string(),
            fields: [by_hand::BUY, by_hand::EACH].map(|field| format!("{field}.{at}")),
            in_book: of.why != WhyNot::NotInBook,
            code: of.code.clone(),
            name,
            size: of.stock.as_ref().map_or_else(String::new, |stock| measured(stock, show)),
            needed: quantity(of.needed, of.unit, &of.stock),
            jobs: by_job(&of.jobs, numbers),
            why: why(of.why),
        }
    }
}

/// Why nobody sells it, and what to do.
fn why(why: WhyNot) -> &'static str {
    match why {
        WhyNot::NotInBook => "The rate book does not have it: it is found or bought by hand.",
        WhyNot::Retired => {
            "The rate book offers it no longer: take it into use again, or choose another item for the job."
        }
        WhyNot::NoSupplier => "Its item names no supplier: enter one on the item’s page.",
        WhyNot::NoSuchSize => "No supplier sells this size now: enter who does, or plan the job again.",
        WhyNot::OtherUnit => "It is sold in another unit now than the job reckoned with: buy it by hand.",
    }
}

/// What it is called; where nobody says, what it is.
fn named(name: &str, stock: &Option<Stocked>) -> String {
    stock.as_ref().filter(|_| name.is_empty()).map_or_else(|| name.to_owned(), described)
}

/// What is bought: a quantity, or so many packs of one.
fn in_packs(packs: Decimal, pack: Decimal, unit: Option<RateUnit>, stock: &Option<Stocked>) -> String {
    if pack == Decimal::ONE {
        return quantity(packs, unit, stock);
    }
    let word = if packs == Decimal::ONE { "pack" } else { "packs" };
    format!("{} {word} of {}", packs.normalize(), quantity(pack, unit, stock))
}

fn days(lead: u32) -> String {
    match lead {
        1 => "1 day".to_owned(),
        days => format!("{days} days"),
    }
}

/// A quantity with what is counted.
fn quantity(of: Decimal, unit: Option<RateUnit>, stock: &Option<Stocked>) -> String {
    format!("{} {}", of.normalize(), unit_word(of, unit, stock))
}

fn unit_word(of: Decimal, unit: Option<RateUnit>, stock: &Option<Stocked>) -> &'static str {
    match (stock, unit) {
        (Some(Stocked::Bar { .. }), _) if of == Decimal::ONE => "bar",
        (Some(Stocked::Bar { .. }), _) => "bars",
        (Some(Stocked::Sheet { .. }), _) if of == Decimal::ONE => "sheet",
        (Some(Stocked::Sheet { .. }), _) => "sheets",
        (None, Some(RateUnit::Each)) if of == Decimal::ONE => "piece",
        (None, Some(unit)) => unit.short(),
        (None, None) => "",
    }
}

fn by_job(jobs: &[(usize, Decimal)], numbers: &[&str]) -> String {
    let of = |(job, quantity): &(usize, Decimal)| Some(format!("{}: {}", numbers.get(*job)?, quantity.normalize()));
    jobs.iter().filter_map(of).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let mut empty = Self::of(nobody, Form::default(), Form::default(), &Gathered::sample()).expect("a page");
        empty.orders.clear();
        empty.without.clear();
        empty.jobs.clear();
        empty.had.clear();
        empty.awaited.clear();
        empty.late = Late { awaited: Vec::new(), not_ordered: String::new() };
        empty.unknown = "<b>".into();
        let mut moved = Form::filled([("chosen", "yes"), ("job", "7")]);
        moved.wrong_altogether("Ann <b> has ordered it");
        let mut wrong = Form::filled([("by_hand", "0"), ("buy.0", "<b>"), ("supplier", "<b>")]);
        wrong.wrong("buy.0", "How much", "Ann <b>");
        let page = |form, by_hand| Self::of(ann.clone(), form, by_hand, &Gathered::sample()).expect("a page");
        vec![empty, page(moved, Form::default()), page(Form::default(), wrong)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_are_said_with_what_is_counted() {
        let bar = Some(Stocked::Bar {
            section: "shs 40x40x3".parse().expect("a section"),
            grade: "S235".parse().expect("a grade"),
            length: crate::domain::measure::Tenths(60_000),
        });
        let said = |of: &str, unit, stock| quantity(of.parse().expect("a number"), unit, stock);
        assert_eq!(said("1", None, &bar), "1 bar");
        assert_eq!(said("3.0", None, &bar), "3 bars");
        assert_eq!(said("12.50", Some(RateUnit::Metre), &None), "12.5 m");
        assert_eq!(said("1.000", Some(RateUnit::Each), &None), "1 piece");
        let number = |of: &str| of.parse().expect("a number");
        assert_eq!(in_packs(number("2"), number("15.0"), Some(RateUnit::Kilogram), &None), "2 packs of 15 kg");
        assert_eq!(in_packs(number("3"), Decimal::ONE, None, &bar), "3 bars");
        assert_eq!(by_job(&[(1, Decimal::from(4)), (0, Decimal::new(25, 1))], &["A", "B"]), "B: 4, A: 2.5");
    }
}
