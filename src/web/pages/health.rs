//! Whether the server is well: for a supervisor or a reverse proxy.

use axum::{Router, routing::get};

use crate::web::{AppState, paths};

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::HEALTH, get(async || "well\n"))
}
