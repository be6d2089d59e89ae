//! Coming in, going, and who works here.

use axum::Router;

use crate::{
    domain::{passwords::check_password, people::PersonName},
    web::{AppState, Result, clock, form::Form},
};

pub mod link;
pub mod list;
pub mod me;
pub mod set_up;
pub mod sign_in;

pub(super) fn router() -> Router<AppState> {
    Router::new().merge(sign_in::router()).merge(set_up::router()).merge(me::router()).merge(list::router())
}

/// Reads a new password, typed twice, and takes it out of the form: it is never sent back.
async fn new_password(state: &AppState, form: &mut Form, name: &PersonName) -> Result<String> {
    let password = taken(form, "new_password");
    let again = taken(form, "again");
    let shop = state.store.shop_book(clock::today()).await?;
    let shop = shop.map(|kept| format!("{} {}", kept.book.name, kept.book.town)).unwrap_or_default();
    if let Err(fault) = check_password(&password, name, &shop) {
        form.wrong("new_password", "New password", fault.to_string());
    } else if password != again {
        form.wrong("again", "The same again", "The two are not the same: type the new password twice.");
    }
    Ok(password)
}

/// A secret field's text, taken out of the form.
fn taken(form: &mut Form, field: &str) -> String {
    let text = form.value(field).to_owned();
    form.set(field, "");
    text
}
