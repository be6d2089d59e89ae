//! The first page.

use askama::Template;
use axum::{Router, http::StatusCode, response::Response, routing::get};

use crate::web::{
    AppState, Result,
    frame::{Frame, Room},
    pages, paths,
};

#[derive(Template)]
#[template(path = "web/start.html")]
pub struct Page {
    frame: Frame,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::START, get(show))
}

async fn show(frame: Frame) -> Result<Response> {
    pages::page(StatusCode::OK, &Page { frame: frame.at(Room::Waiting) })
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        Frame::samples().map(|frame| Self { frame }).into()
    }
}
