//! The list of jobs, and making a new one.

pub mod list;
pub mod new;

use axum::Router;

use crate::web::AppState;

pub(super) fn router() -> Router<AppState> {
    Router::new().merge(list::router()).merge(new::router())
}
