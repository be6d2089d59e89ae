//! “Ordered”: records what was looked at. Where needs, prices or orders moved meanwhile nothing is recorded, and the list is shown as it
//! is now.

use axum::{Router, extract::State, response::Response, routing::post};
use jiff::civil::Date;

use super::{
    Page, asked_for, by_hand,
    gather::{Gathered, gather},
};
use crate::{
    domain::{buying::Placing, quote::Frozen},
    storage::{By, JobId, NewOrder, OrderId, Placed},
    web::{
        AppState, Error, Result, clock,
        form::Form,
        frame::{Frame, Room},
        pages, paths,
        session::see_other,
    },
};

/// An order to another supplier at the same moment makes the list anew; so many at one moment make us give up.
pub(super) const TRIES: usize = 5;

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::ORDER_PLACE, post(place))
}

async fn place(State(state): State<AppState>, frame: Frame, form: Form) -> Result<Response> {
    let Some(actor) = form.actor(&frame) else { return Err(Error::SignedOut) };
    let (supplier, seen) = (form.value("supplier"), form.value("seen"));
    let mut list = asked_for(choosing(&form));
    let by = By { who: &actor.signature(), at: clock::now() };
    for _ in 0..TRIES {
        let gathered = gather(&state, &list).await?;
        let placing = match gathered.placing(supplier) {
            Some(placing) if fingerprint(&placing)? == seen => placing,
            other => {
                list.wrong_altogether(moved(&gathered, supplier, other.is_some()));
                break;
            }
        };
        match write(&state, &gathered, &placing, gathered.today, by).await? {
            Placed::Done(order) => return Ok(see_other(&paths::of_order(paths::ORDER, &order), &actor)),
            // Perhaps by an order that leaves this one as it is: that is seen in the next round.
            Placed::Changed | Placed::Closed(_) => {}
        }
    }
    if list.is_right() {
        list.wrong_altogether("Others are ordering at this moment. Nothing was recorded: press again.");
    }
    let gathered = gather(&state, &list).await?;
    let by_hand = by_hand::filled(&gathered);
    pages::page(list.status(), &Page::of(frame.at(Room::Rack), list, by_hand, &gathered)?)
}

/// The fields that choose jobs and suppliers.
pub(super) fn choosing(form: &Form) -> Vec<(String, String)> {
    let chooses = |name: &str| ["chosen", "job", "consumables"].contains(&name) || name.starts_with("from.");
    let pairs = form.pairs().filter(|(name, _)| chooses(name));
    pairs.map(|(name, value)| (name.to_owned(), value.to_owned())).collect()
}

/// Of an order as it would be placed.
pub(super) fn fingerprint(placing: &Placing<JobId>) -> Result<String> {
    Ok(Frozen::new(&serde_json::to_value(placing).map_err(Error::internal)?).sha256)
}

async fn write(
    state: &AppState,
    gathered: &Gathered,
    placing: &Placing<JobId>,
    day: Date,
    by: By<'_>,
) -> Result<Placed> {
    let new = NewOrder {
        placing,
        day,
        dues: &placing.dues(day, gathered.shop.policy.workdays),
        currency: &gathered.shop.currency.currency_code,
        seen: gathered.seen,
    };
    Ok(state.store.place_order(&new, by).await?)
}

/// Why what was looked at is not recorded.
fn moved(gathered: &Gathered, supplier: &str, is_on_list: bool) -> String {
    let latest = gathered.awaited.iter().map(|order| &order.head).filter(|head| head.supplier == supplier);
    let latest = latest.max_by_key(|head| head.id).map(|head| {
        format!(" The latest order to {supplier} is order {}, by {}, {}.", head.id, head.who, clock::moment(head.at))
    });
    let now = if is_on_list {
        "Look at it as it stands below, and press again if it is right."
    } else {
        "As it stands now, nothing is to be ordered there."
    };
    format!(
        "Nothing was recorded: the order to {supplier} is no longer what you looked at, for needs, prices or orders moved meanwhile. {now}{}",
        latest.unwrap_or_default()
    )
}

/// Records what the list of all jobs says of a supplier, as if pressed on that day: for the demo shop. None where nothing is bought
/// there.
///
/// # Errors
/// The store's.
pub async fn place_all(state: &AppState, supplier: &str, day: Date, by: By<'_>) -> Result<Option<OrderId>> {
    let gathered = gather(state, &asked_for(Vec::new())).await?;
    let Some(placing) = gathered.placing(supplier) else { return Ok(None) };
    match write(state, &gathered, &placing, day, by).await? {
        Placed::Done(order) => Ok(Some(order)),
        other => Err(Error::internal(format!("not ordered: {other:?}"))),
    }
}
