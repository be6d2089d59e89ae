//! The first page: what waits for us, what waits for customers, each with the next step.

use askama::Template;
use axum::{Router, extract::State, http::StatusCode, response::Response, routing::get};

use crate::web::{
    AppState, Result,
    frame::{Frame, Room},
    pages, paths,
};

#[derive(Template)]
#[template(path = "web/start.html")]
pub struct Page {
    frame: Frame,
    ours: Vec<Line>,
    theirs: Vec<Line>,
    has_jobs: bool,
}

/// Something that waits.
struct Line {
    title: String,
    customer: String,
    /// What happened, and since when.
    why: String,
    /// The step that would bring it on, as the link's text.
    next: &'static str,
    path: String,
}
