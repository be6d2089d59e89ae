//! An order of what no supplier of the rate book sells: whoever ordered it types of whom, how much, at what price and for when.

use axum::{Router, extract::State, response::Response, routing::post};
use jiff::civil::Date;
use rust_decimal::Decimal;

use super::{
    Page, asked_for,
    gather::{Gathered, gather},
    named,
    place::{TRIES, choosing, fingerprint},
    quantity,
};
use crate::{
    domain::{
        buying::{ByHand, Placing, Without},
        measure::{Money, read_money, read_number},
    },
    storage::{By, JobId, NewOrder, Placed},
    web::{
        AppState, Error, Result, clock,
        form::Form,
        frame::{Frame, Room},
        pages::{self, job::details},
        paths,
        session::see_other,
    },
};

/// Fields of each line, with its place in the list.
pub const BUY: &str = "buy";
pub const EACH: &str = "each";
/// The lines that were ordered.
pub const CHOSEN: &str = "by_hand";
const SUPPLIER: &str = "supplier";
const DUE: &str = "due";

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::ORDER_BY_HAND, post(place))
}

/// The form at first: as much as is needed.
pub fn filled(gathered: &Gathered) -> Form {
    let needed = |(at, of): (usize, &Without)| (format!("{BUY}.{at}"), of.needed.normalize().to_string());
    Form::filled(gathered.list.without.iter().enumerate().map(needed))
}

/// Of all lines without a supplier, as they are shown.
pub fn seen(gathered: &Gathered) -> Result<String> {
    let all: Vec<_> =
        gathered.list.without.iter().map(|of| (of, ByHand { quantity: of.needed, each: Money::ZERO })).collect();
    fingerprint(&placing(gathered, String::new(), &all))
}

async fn place(State(state): State<AppState>, frame: Frame, mut form: Form) -> Result<Response> {
    let Some(actor) = form.actor(&frame) else { return Err(Error::SignedOut) };
    let list = asked_for(choosing(&form));
    let by = By { who: &actor.signature(), at: clock::now() };
    let mut gathered = gather(&state, &list).await?;
    for _ in 0..TRIES {
        if form.value("seen") != seen(&gathered)? {
            form.wrong_altogether(
                "Nothing was recorded: what has no supplier is no longer what you looked at, for needs or orders moved meanwhile. Look at it as it stands below.",
            );
            break;
        }
        let Some((placing, due)) = read(&mut form, &gathered) else { break };
        let new = NewOrder {
            placing: &placing,
            day: gathered.today,
            dues: &vec![due; placing.lines.len()],
            currency: &gathered.shop.currency.currency_code,
            seen: gathered.seen,
        };
        match state.store.place_order(&new, by).await? {
            Placed::Done(order) => return Ok(see_other(&paths::of_order(paths::ORDER, &order), &actor)),
            Placed::Changed | Placed::Closed(_) => gathered = gather(&state, &list).await?,
        }
    }
    if form.is_right() {
        form.wrong_altogether("Others are ordering at this moment. Nothing was recorded: press again.");
    }
    pages::page(form.status(), &Page::of(frame.at(Room::Rack), list, form, &gathered)?)
}

/// What was typed: the order, and the day on which it is to be here.
fn read(form: &mut Form, gathered: &Gathered) -> Option<(Placing<JobId>, Date)> {
    let supplier = details::line(form, SUPPLIER, "Supplier", true);
    let due = due(form, gathered.today);
    let chosen: Vec<(usize, &Without)> =
        gathered.list.without.iter().enumerate().filter(|(at, _)| form.is_chosen(CHOSEN, &at.to_string())).collect();
    if chosen.is_empty() {
        form.wrong(CHOSEN, "What was ordered", "Nothing is ticked: tick what was ordered of this supplier.");
    }
    let mut lines = Vec::new();
    for (at, of) in chosen {
        let (bought, each) = (bought(form, at, of), each(form, at, of, gathered));
        lines.extend(bought.zip(each).map(|(quantity, each)| (of, ByHand { quantity, each })));
    }
    let placing = placing(gathered, supplier, &lines);
    Some((placing, due?)).filter(|_| form.is_right())
}

fn placing(gathered: &Gathered, supplier: String, lines: &[(&Without, ByHand)]) -> Placing<JobId> {
    let jobs: Vec<JobId> = gathered.bought.iter().map(|job| job.job).collect();
    Placing::by_hand(supplier, lines, &jobs, gathered.shop.currency.decimals)
}

/// Today or later.
fn due(form: &mut Form, today: Date) -> Option<Date> {
    let text = form.value(DUE).trim().to_owned();
    let day = text.parse::<Date>().ok().filter(|day| *day >= today);
    if day.is_none() {
        form.wrong(DUE, "To be here by", format!("“{text}” is no such day: type one from {today}, today, on."));
    }
    day
}

/// As much as is needed, or more.
fn bought(form: &mut Form, at: usize, of: &Without) -> Option<Decimal> {
    let field = format!("{BUY}.{at}");
    let text = form.value(&field).trim().to_owned();
    let is_whole = |bought: &Decimal| of.stock.is_none() || bought.is_integer();
    let bought = read_number(&text).ok().filter(|bought| *bought >= of.needed && is_whole(bought));
    if bought.is_none() {
        let least = quantity(of.needed, of.unit, &of.stock);
        let wrong =
            format!("“{text}” is too little or no quantity: type {least}, which is what the jobs need, or more.");
        form.wrong(field, format!("How much of {}", named(&of.name, &of.stock)), wrong);
    }
    bought
}

/// Nothing where no price is known yet; what goes on the rack is worth what it cost.
fn each(form: &mut Form, at: usize, of: &Without, gathered: &Gathered) -> Option<Money> {
    let field = format!("{EACH}.{at}");
    let text = form.value(&field).trim().to_owned();
    if text.is_empty() && of.stock.is_none() {
        return Some(Money::ZERO);
    }
    let each = read_money(&text, &gathered.shop.currency).ok();
    let each = each.filter(|each| *each >= Money::ZERO && (of.stock.is_none() || *each > Money::ZERO));
    if each.is_none() {
        let wrong = if of.stock.is_some() {
            format!("“{text}” is no price: what goes on the rack is worth what it cost, so type what one costs.")
        } else {
            format!("“{text}” is no price: type what one costs, or leave it empty where it is not known yet.")
        };
        form.wrong(field, format!("Price of {}", named(&of.name, &of.stock)), wrong);
    }
    each
}
