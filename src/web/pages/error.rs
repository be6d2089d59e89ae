//! The page that says why a request was not answered.

use askama::Template;
use axum::{http::StatusCode, response::Response};

use crate::web::{Result, error::Shown, frame::Frame, pages};

#[derive(Template)]
#[template(path = "web/error.html")]
pub struct Page {
    frame: Frame,
    status: StatusCode,
    shown: Shown,
}

/// The message alone, for a script that puts it into a page.
#[derive(Template)]
#[template(path = "web/error.html", block = "content")]
struct Part {
    frame: Frame,
    status: StatusCode,
    shown: Shown,
}

pub(in crate::web) fn render(frame: Frame, status: StatusCode, shown: Shown) -> Result<Response> {
    if frame.is_fragment() {
        return pages::page(status, &Part { frame, status, shown });
    }
    pages::page(status, &Page { frame, status, shown })
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let page = |frame, error: crate::web::Error| Self { frame, status: error.status(), shown: Shown::of(&error) };
        let [nobody, ann] = Frame::samples();
        vec![
            page(nobody, crate::web::Error::NO_PAGE),
            page(ann, crate::web::Error::internal("a cause")),
            page(Frame::customer_sample(), crate::web::Error::Gone("This quote was withdrawn.")),
        ]
    }
}
