//! The list of jobs: search, stage, sort, pages.

use askama::Template;

use crate::{
    storage::JobId,
    web::{form::Form, frame::Frame, pages::Pager},
};

#[derive(Template)]
#[template(path = "web/jobs/list.html")]
pub struct Page {
    frame: Frame,
    form: Form,
    rows: Vec<Row>,
    total: u64,
    pager: Pager,
}

struct Row {
    job: JobId,
    number: String,
    title: String,
    customer: String,
    stage: &'static str,
    stage_kind: &'static str,
    changed: String,
}

impl Page {
    fn stages(&self) -> Vec<(&'static str, &'static str)> {
        vec![("", "all")]
    }

    fn sorts(&self) -> [(&'static str, &'static str); 3] {
        [("changed", "changed last"), ("title", "title"), ("customer", "customer")]
    }

    fn is_narrowed(&self) -> bool {
        !self.form.value("search").is_empty() || !self.form.value("stage").is_empty()
    }

    fn found(&self) -> String {
        match (self.total, self.is_narrowed()) {
            (0, true) => "No job is like that.".into(),
            (0, false) => "There is no job yet.".into(),
            (1, _) => "1 job".into(),
            (many, _) => format!("{many} jobs"),
        }
    }
}

#[cfg(test)]
impl Page {
    pub(in crate::web::pages) fn samples() -> Vec<Self> {
        let [nobody, ann] = Frame::samples();
        let row = Row {
            job: JobId(7),
            number: "2026-007".into(),
            title: "Hives".into(),
            customer: "Ann <b>".into(),
            stage: "enquiry",
            stage_kind: "open",
            changed: "5 Nov 2026".into(),
        };
        let pager = |page| Pager { path: "/jobs?search=a".into(), page, of: 3 };
        vec![
            Self { frame: nobody, form: Form::filled([("search", "<b>")]), rows: vec![], total: 0, pager: pager(1) },
            Self { frame: ann, form: Form::default(), rows: vec![row], total: 51, pager: pager(2) },
        ]
    }
}
