//! The first page: what waits for us, what waits for customers, each with the next step.

use askama::Template;

use crate::{storage::JobId, web::frame::Frame};

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
    job: JobId,
    title: String,
    customer: String,
    /// What happened, and since when.
    why: String,
    /// The step that would bring it on, as the link's text.
    next: &'static str,
    path: String,
}

#[cfg(test)]
impl Page {
    pub(super) fn samples() -> Vec<Self> {
        let line = || Line {
            job: JobId(7),
            title: "Four hives".into(),
            customer: "Ann <b>".into(),
            why: "Asked a question 2 days ago.".into(),
            next: "Answer",
            path: "/jobs/7".into(),
        };
        let [nobody, ann] = Frame::samples();
        vec![
            Self { frame: nobody, ours: vec![], theirs: vec![], has_jobs: false },
            Self { frame: ann, ours: vec![line()], theirs: vec![line()], has_jobs: true },
        ]
    }
}
