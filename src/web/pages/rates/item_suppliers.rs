//! Other suppliers of an item: what each asks, and whose price estimates take.

use axum::{Router, extract::State, http::StatusCode, response::Response, routing::post};
use rust_decimal::Decimal;

use super::{from_day_in, item, lines};
use crate::{
    domain::{
        measure::{Money, read_money, read_number},
        shop::{Goods, Item, PricedBy, Sizes, Supply, jump},
    },
    storage::{By, KeptItem, Save},
    web::{AppState, Result, clock, extract::Path, form::Form, frame::Frame, paths, session::see_other, show::Show},
};

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::ITEM_SUPPLY, post(keep)).route(paths::ITEM_PRICED_BY, post(priced_by))
}

/// Keeps what a supplier asks, or notes that it sells the item no longer.
async fn keep(
    State(state): State<AppState>,
    frame: Frame,
    Path(code): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let (kept, show) = item::find(&state, &code).await?;
    let version = form.value("version").parse().unwrap_or(kept.version);
    if form.value("action") == "drop" {
        let Some(actor) = form.actor(&frame) else { return again(&state, frame, form, &kept, &show).await };
        let by = By { who: &actor.signature(), at: clock::now() };
        let supplier = form.value("supplier").to_owned();
        let saved = state.store.drop_supply(&code, version, &supplier, clock::today(), by).await?;
        return answer(&state, frame, form, &code, saved, &actor).await;
    }
    let supply = read(&mut form, &kept.item, &show);
    let (Some(supply), Some(actor)) = (supply, form.actor(&frame)) else {
        return again(&state, frame, form, &kept, &show).await;
    };
    if form.value("sure") != "yes" {
        let shop = state.shop(clock::today()).await?;
        let known = state.store.supplies_of(&code, supply.from).await?;
        let before = known.iter().find(|other| other.supplier == supply.supplier);
        let before = before.map_or_else(|| kept.item.clone(), |before| kept.item.supplied(before));
        let new = (supply.price, supply.from);
        if let Some(jump) = jump(before.class, (before.price, before.from), new, &shop.policy) {
            form.wrong("supply_price", "Its price", item::said(&jump, &before, &show));
            form.set("doubtful_supply", "yes");
            return again(&state, frame, form, &kept, &show).await;
        }
    }
    let by = By { who: &actor.signature(), at: clock::now() };
    let saved = state.store.put_supply(&code, version, &supply, by).await?;
    answer(&state, frame, form, &code, saved, &actor).await
}

async fn priced_by(
    State(state): State<AppState>,
    frame: Frame,
    Path(code): Path<String>,
    mut form: Form,
) -> Result<Response> {
    let (kept, show) = item::find(&state, &code).await?;
    let by_whom = PricedBy::from_word(form.value("priced_by"));
    let article = text(&mut form, "own_article", "Article number", 60);
    if let PricedBy::Supplier(name) = &by_whom {
        let known = state.store.supplies_of(&code, clock::today()).await?;
        if !known.iter().any(|supply| supply.supplier == *name) {
            form.wrong("priced_by", "Estimates take", format!("“{name}” has no price of this item: choose another."));
        }
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return again(&state, frame, form, &kept, &show).await;
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let version = form.value("version").parse().unwrap_or(kept.version);
    let saved = state.store.put_priced_by(&code, version, (&by_whom, &article), clock::today(), by).await?;
    answer(&state, frame, form, &code, saved, &actor).await
}

async fn again(state: &AppState, frame: Frame, form: Form, kept: &KeptItem, show: &Show) -> Result<Response> {
    item::render(state, frame, form, kept, show, StatusCode::UNPROCESSABLE_ENTITY).await
}

async fn answer(
    state: &AppState,
    frame: Frame,
    form: Form,
    code: &str,
    saved: Save<Item>,
    actor: &crate::web::session::Actor,
) -> Result<Response> {
    match saved {
        Save::Saved(_) => Ok(see_other(&format!("{}#suppliers", paths::of_item(paths::ITEM, code)), actor)),
        Save::Missing => Err(item::NONE),
        Save::Conflict(found) => item::stale(state, frame, form, code, &found).await,
    }
}

fn text(form: &mut Form, field: &str, label: &str, longest: usize) -> String {
    let text = form.value(field).trim().to_owned();
    if text.chars().count() > longest {
        form.wrong(field, label, format!("This is too long: type at most {longest} letters."));
    }
    text
}

/// What was typed of a supplier; none, with every fault noted, where it cannot be kept.
fn read(form: &mut Form, item: &Item, show: &Show) -> Option<Supply> {
    let supplier = text(form, "supplier", "Supplier", 120);
    if supplier.is_empty() {
        form.wrong("supplier", "Supplier", "Nothing was entered: type the supplier's name.");
    } else if supplier == item.supplier {
        let says = format!("{supplier} is the item's first supplier: its price is kept above, under “A new price”.");
        form.wrong("supplier", "Supplier", says);
    }
    let article = text(form, "article", "Article number", 60);
    let typed = form.value("supply_price").to_owned();
    let price = match read_money(&typed, &show.money) {
        Ok(price) if price < Money::ZERO => {
            form.wrong("supply_price", "Its price", format!("“{typed}” is negative: type 0 or more."));
            Money::ZERO
        }
        Ok(price) => price,
        Err(fault) => {
            form.wrong("supply_price", "Its price", format!("{fault}."));
            Money::ZERO
        }
    };
    let typed = form.value("pack").to_owned();
    let pack = match read_number(&typed) {
        Ok(pack) if pack > Decimal::ZERO && pack <= Decimal::from(100_000) => pack,
        Ok(_) => {
            form.wrong("pack", "Sold in packs of", format!("“{typed}” is no pack: type more than 0, to 100,000."));
            Decimal::ONE
        }
        Err(fault) => {
            form.wrong("pack", "Sold in packs of", format!("{fault}."));
            Decimal::ONE
        }
    };
    let typed = form.value("supply_lead").trim().to_owned();
    let lead_days = if typed.is_empty() { Some(0) } else { typed.parse().ok().filter(|days: &u32| *days <= 365) };
    if lead_days.is_none() {
        form.wrong("supply_lead", "Days until it is here", format!("“{typed}” is no count of days: type 0 to 365."));
    }
    let sizes = sizes(form, item, show);
    let from = from_day_in(form, "supply_from");
    form.is_right().then_some(Supply { supplier, article, pack, lead_days: lead_days?, price, from, sizes })
}

/// Its own lengths or sizes; none where nothing was typed: it sells those of the item.
fn sizes(form: &mut Form, item: &Item, show: &Show) -> Option<Sizes> {
    let typed = form.value("supply_sizes").to_owned();
    if typed.trim().is_empty() {
        return None;
    }
    let read = match &item.goods {
        Goods::Bar { .. } => lines::read_lengths(&typed, show.hand()).map(Sizes::Lengths),
        Goods::Sheet { .. } => lines::read_sizes(&typed, show.hand()).map(Sizes::Sheets),
        _ => return None,
    };
    read.map_err(|says| form.wrong("supply_sizes", "Its lengths or sizes", says)).ok()
}
