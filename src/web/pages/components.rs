//! Every component of the look on one page: for contributors, and for the accessibility scan. Debug builds only.

use askama::Template;
use axum::{
    Router,
    response::Response,
    routing::{get, post},
};

use crate::web::{AppState, Result, form::Form, frame::Frame, pages, paths, session::see_other};

#[derive(Template)]
#[template(path = "web/components.html")]
pub struct Page {
    frame: Frame,
    form: Form,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::COMPONENTS, get(show)).route(paths::COMPONENTS, post(send))
}

async fn show(frame: Frame) -> Result<Response> {
    let form = Form::filled([("length", "1830"), ("kind", "ramp"), ("brake", "on")]);
    pages::page(form.status(), &Page { frame, form })
}

/// Shows how a form comes back.
async fn send(frame: Frame, mut form: Form) -> Result<Response> {
    let actor = form.actor(&frame);
    let length = form.value("length").to_owned();
    if length.is_empty() || !length.chars().all(|char| char.is_ascii_digit()) {
        form.wrong(
            "length",
            "Bed length",
            format!("“{length}” is no whole number of millimetres: write it like 1830."),
        );
    }
    match actor {
        Some(actor) if form.is_right() => Ok(see_other(paths::COMPONENTS, &actor)),
        _ => pages::page(form.status(), &Page { frame, form }),
    }
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let mut wrong = Form::filled([("length", "<b>abc")]);
        wrong.wrong("length", "Bed length", "“<b>abc” is no length: write it like 1830 or 6 ft.");
        wrong.wrong_altogether("Another browser changed this job at the same time.");
        vec![Self { frame: nobody, form: wrong }, Self { frame: ann, form: Form::default() }]
    }
}
