//! The purchase list: what is to be bought for jobs that are accepted or in the shop, by supplier.

/// From the store to the list.
mod gather;
/// The list as a file.
mod file;

use std::collections::BTreeSet;

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};
use jiff::civil::Date;
use rust_decimal::Decimal;

use self::gather::{Bought, Gathered, gather};
use super::rack::{described, measured};
use crate::{
    domain::{
        buying::{Line, Offer, Order, WhyNot, Without},
        shop::{RateUnit, Stocked},
    },
    storage::JobId,
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

struct OrderView {
    supplier: String,
    label: String,
    lines: Vec<LineRow>,
    sum: String,
    lead: String,
    order_by: String,
    late: bool,
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
    code: String,
    in_book: bool,
    name: String,
    size: String,
    needed: String,
    jobs: String,
    why: &'static str,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::PURCHASE_LIST, get(show)).route(paths::PURCHASE_LIST_CSV, get(download))
}

type Asked = Query<Vec<(String, String)>>;

async fn show(State(state): State<AppState>, frame: Frame, Query(asked): Asked) -> Result<Response> {
    let form = asked_for(asked);
    let gathered = gather(&state, &form).await?;
    pages::page(StatusCode::OK, &Page::of(frame.at(Room::Rack), form, &gathered))
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
    fn of(frame: Frame, form: Form, gathered: &Gathered) -> Self {
        let show = &gathered.show;
        let numbers: Vec<&str> = gathered.bought.iter().map(|job| job.number.as_str()).collect();
        let mut seen = BTreeSet::new();
        let mut orders = Vec::new();
        for order in &gathered.list.orders {
            let lines = order.lines.iter().map(|line| {
                let is_first = seen.insert(line.code.clone());
                LineRow::of(line, &numbers, gathered.today, show, is_first.then(|| frame.sees_money()))
            });
            orders.push(OrderView::of(order, lines.collect(), gathered.today, show));
        }
        let query: Vec<String> =
            form.pairs().map(|(name, value)| format!("{}={}", paths::encoded(name), paths::encoded(value))).collect();
        Self {
            frame,
            jobs: gathered.rows.iter().map(|row| JobRow::of(row, gathered)).collect(),
            unknown: gathered.unknown.join(", "),
            orders,
            without: gathered.list.without.iter().map(|of| WithoutRow::of(of, &numbers, show)).collect(),
            sum: show.money(gathered.list.sum()),
            file: format!("{}?{}", paths::PURCHASE_LIST_CSV, query.join("&")),
            today: show.day(gathered.today),
            form,
        }
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
    fn of(order: &Order, lines: Vec<LineRow>, today: Date, show: &Show) -> Self {
        Self {
            supplier: order.supplier.clone(),
            label: format!("Order to {}", order.supplier),
            lines,
            sum: show.money(order.sum),
            lead: days(order.lead_days),
            order_by: order.order_by.map_or_else(String::new, |day| show.day(day)),
            late: order.order_by.is_some_and(|day| day < today),
        }
    }
}

impl LineRow {
    /// `sellers` says whether others can be chosen here, and whether with what they ask.
    fn of(line: &Line, numbers: &[&str], today: Date, show: &Show, sellers: Option<bool>) -> Self {
        let offer = &line.offer;
        let pack = if offer.pack == Decimal::ONE || offer.packs == Decimal::ZERO {
            quantity(offer.bought, line.unit, &line.stock)
        } else {
            let of = quantity(offer.pack, line.unit, &line.stock);
            let packs = if offer.packs == Decimal::ONE { "pack" } else { "packs" };
            format!("{} {packs} of {of}", offer.packs.normalize())
        };
        let choices = sellers.filter(|_| !line.others.is_empty()).map(|with_money| {
            let said = |offer: &Offer| {
                let says = format!("{}: {}", offer.supplier, days(offer.lead_days));
                if with_money { format!("{says}, {}", show.money(offer.amount)) } else { says }
            };
            let mut all = vec![(String::new(), "as the rate book says, else the cheapest".to_owned())];
            all.extend([offer].into_iter().chain(&line.others).map(|offer| (offer.supplier.clone(), said(offer))));
            all
        });
        Self {
            code: line.code.clone(),
            name: line.name.clone(),
            article: offer.article.clone(),
            size: line.stock.as_ref().map_or_else(String::new, |stock| measured(stock, show)),
            needed: quantity(line.needed, line.unit, &line.stock),
            buy: pack,
            over: if line.over() > Decimal::ZERO {
                quantity(line.over(), line.unit, &line.stock)
            } else {
                String::new()
            },
            each: show.money(offer.each),
            amount: show.money(offer.amount),
            lead: days(offer.lead_days),
            order_by: line.order_by.map_or_else(String::new, |day| show.day(day)),
            late: line.order_by.is_some_and(|day| day < today),
            jobs: by_job(&line.jobs, numbers),
            sellers: choices.unwrap_or_default(),
            in_vain: line.in_vain.clone().unwrap_or_default(),
        }
    }
}

impl WithoutRow {
    fn of(of: &Without, numbers: &[&str], show: &Show) -> Self {
        let name = match (&of.stock, of.name.is_empty()) {
            (Some(stock), true) => described(stock),
            _ => of.name.clone(),
        };
        Self {
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
        let mut empty = Self::of(nobody, Form::default(), &Gathered::sample());
        empty.orders.clear();
        empty.without.clear();
        empty.jobs.clear();
        empty.unknown = "<b>".into();
        vec![empty, Self::of(ann, Form::filled([("chosen", "yes"), ("job", "7")]), &Gathered::sample())]
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
        assert_eq!(by_job(&[(1, Decimal::from(4)), (0, Decimal::new(25, 1))], &["A", "B"]), "B: 4, A: 2.5");
    }
}
