//! The rate book: prices with their history, what items are, and changes by per cent.

pub mod bulk;
pub mod index;
pub mod item;
/// Other suppliers of an item.
mod item_suppliers;
/// An item's fields, typed and read.
mod item_form;
/// Stock lengths, sheet sizes and attributes, a line each.
mod lines;
pub mod list;
pub mod open_quotes;
/// A price list as a file: its columns, and what each row would do.
mod price_list;
pub mod price_lists;

use axum::Router;
use jiff::civil::Date;

use crate::web::{AppState, clock, form::Form};

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .merge(list::router())
        .merge(item::router())
        .merge(item_suppliers::router())
        .merge(bulk::router())
        .merge(index::router())
        .merge(open_quotes::router())
        .merge(price_lists::router())
}

/// The day from which a price holds; today where nothing was typed.
fn from_day(form: &mut Form) -> Date {
    from_day_in(form, "from")
}

/// The same, of a field of this name.
fn from_day_in(form: &mut Form, field: &str) -> Date {
    let text = form.value(field).trim().to_owned();
    if text.is_empty() {
        return clock::today();
    }
    text.parse().unwrap_or_else(|_| {
        form.wrong(field, "From", format!("“{text}” is no day: type it like {}.", clock::today()));
        clock::today()
    })
}
