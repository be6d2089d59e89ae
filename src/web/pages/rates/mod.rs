//! The rate book: prices with their history, what items are, and changes by per cent.

pub mod bulk;
pub mod item;
/// An item's fields, typed and read.
mod item_form;
/// Stock lengths, sheet sizes and attributes, a line each.
mod lines;
pub mod list;

use axum::Router;
use jiff::civil::Date;

use crate::web::{AppState, clock, form::Form};

pub(super) fn router() -> Router<AppState> {
    Router::new().merge(list::router()).merge(item::router()).merge(bulk::router())
}

/// The day from which a price holds; today where nothing was typed.
fn from_day(form: &mut Form) -> Date {
    let text = form.value("from").trim().to_owned();
    if text.is_empty() {
        return clock::today();
    }
    text.parse().unwrap_or_else(|_| {
        form.wrong("from", "From", format!("“{text}” is no day: type it like {}.", clock::today()));
        clock::today()
    })
}
