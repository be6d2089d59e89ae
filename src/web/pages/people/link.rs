//! A set-up link, shown once.

use askama::Template;
use axum::{
    http::{HeaderMap, StatusCode, header},
    response::Response,
};

use crate::web::{
    Result, clock,
    frame::{Frame, Room},
    pages, paths,
};

#[derive(Template)]
#[template(path = "web/people/link.html")]
pub struct Page {
    frame: Frame,
    name: String,
    link: String,
    until: String,
}

/// The page that shows a person's link. It leads to the address at which the owner is just now.
pub(super) fn show(
    frame: Frame,
    headers: &HeaderMap,
    name: String,
    token: &str,
    until: jiff::Timestamp,
) -> Result<Response> {
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    let link = format!("http://{host}{}", paths::set_up(token));
    pages::page(StatusCode::OK, &Page { frame: frame.at(Room::People), name, link, until: clock::moment(until) })
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [_, frame] = Frame::samples();
        let link = "http://127.0.0.1:4717/set-up/token".into();
        vec![Self { frame, name: "Ann <b>".into(), link, until: "5 Nov 2026, 14:05".into() }]
    }
}
