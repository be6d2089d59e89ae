//! The page that asks again for a name that could not be kept.

use askama::Template;
use axum::response::Response;

use crate::web::{Result, form::Form, frame::Frame, pages, session};

#[derive(Template)]
#[template(path = "web/name.html")]
pub struct Page {
    frame: Frame,
    form: Form,
}

impl Page {
    fn back(&self) -> &str {
        session::local(self.form.value("back"))
    }
}

pub(in crate::web) fn wrong(frame: Frame, form: Form) -> Result<Response> {
    pages::page(form.status(), &Page { frame, form })
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let mut form = Form::filled([("your_name", ""), ("back", "/jobs")]);
        form.actor(&nobody);
        vec![Self { frame: nobody, form: form.clone() }, Self { frame: ann, form }]
    }
}
