//! The whole calculation as one document, in the order in which an engineer checks it, of the open spec or of a revision.

/// The analysis of the frame.
mod frame;
/// The same on paper.
mod on_paper;
/// What stands in each section.
mod sections;

pub use on_paper::{Subject as PaperSubject, on_paper};

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{
    Head, Tab,
    checks::CheckView,
    desk::Desk,
    revision::{find, thawed},
    unbuilt::built,
    view::Drawing,
    workings::WorkingView,
};
use crate::{
    domain::{cautions, estimate::Estimate},
    storage::JobId,
    web::{
        AppState, Result, clock,
        extract::Path,
        frame::{Frame, Room},
        pages, paths,
        show::Show,
    },
};

#[derive(Template)]
#[template(path = "web/job/calculation.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    title_block: Vec<(&'static str, String)>,
    /// On every sheet of paper.
    running: String,
    /// What came out, in a sentence.
    verdict: String,
    sections: Vec<Section>,
    cautions: Vec<&'static str>,
    cautions_number: usize,
    /// The same as PDF.
    pdf: String,
}

/// A numbered section; what is empty is left out.
#[derive(Default)]
pub struct Section {
    pub number: usize,
    pub title: &'static str,
    pub says: Vec<String>,
    pub drawings: Vec<Drawing>,
    pub tables: Vec<Table>,
    pub workings: Vec<Entry<WorkingView>>,
    pub checks: Vec<Entry<CheckView>>,
}

/// Something with a number of its own: `4.3`.
pub struct Entry<T> {
    pub number: String,
    pub of: T,
}

pub struct Table {
    pub caption: String,
    pub head: Vec<&'static str>,
    /// The first cell heads its row.
    pub rows: Vec<Vec<String>>,
    /// From this column on stand figures.
    pub figures_from: usize,
}

/// What a calculation is of.
struct Subject {
    what: String,
    made: String,
    fingerprint: Option<String>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::CALCULATION, get(open)).route(paths::REVISION_CALCULATION, get(frozen))
}

/// Of the spec as it stands now.
async fn open(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    match built(&desk, &frame, Tab::Calculation).await? {
        Ok(estimate) => {
            let page = Page::open(frame.at(Room::Jobs), &desk, &estimate);
            pages::page(axum::http::StatusCode::OK, &page)
        }
        Err(unbuilt) => Ok(unbuilt),
    }
}

/// Of a revision, as it was issued.
async fn frozen(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let revision = find(&state, job, number).await?;
    let quote = thawed(&revision)?;
    let show = Show::of_issued(&quote.shop);
    let subject = Subject {
        what: format!("revision {number}, issued"),
        made: clock::moment(revision.head.issued_at),
        fingerprint: Some(revision.frozen.sha256.clone()),
    };
    let frame = frame.at(Room::Jobs);
    let page = Page {
        pdf: paths::of_revision(paths::REVISION_CALCULATION_PDF, &job, &number),
        ..Page::of(frame, desk.head(Tab::Revisions), &desk, &quote.estimate, &show, subject)
    };
    pages::page(axum::http::StatusCode::OK, &page)
}

impl Page {
    pub(super) fn open(frame: Frame, desk: &Desk, estimate: &Estimate) -> Self {
        let subject =
            Subject { what: "open spec, not issued".into(), made: desk.show.day(desk.today), fingerprint: None };
        let pdf = paths::of_job(paths::CALCULATION_PDF, &desk.job.id);
        Self { pdf, ..Self::of(frame, desk.head(Tab::Calculation), desk, estimate, &desk.show, subject) }
    }

    fn of(frame: Frame, head: Head, desk: &Desk, estimate: &Estimate, show: &Show, subject: Subject) -> Self {
        let sections = sections::all(estimate, show);
        let mut title_block = vec![
            ("Job", format!("{} · {}", head.number, head.title)),
            ("Made by", desk.shop.name.clone()),
            ("Variant", desk.variant.name.clone()),
            ("Stands for", subject.what.clone()),
            ("Date", subject.made),
            ("Program", format!("Hitchwright {}", estimate.program)),
        ];
        let mut running = format!("{} · {} · {}", head.number, desk.variant.name, subject.what);
        if let Some(fingerprint) = subject.fingerprint {
            running = format!("{running} · {}…", fingerprint.chars().take(12).collect::<String>());
            title_block.push(("Fingerprint (SHA-256)", fingerprint));
        }
        Self {
            frame,
            head,
            title_block,
            running,
            verdict: sections::verdict(estimate),
            cautions: cautions::ALL.to_vec(),
            cautions_number: sections.len() + 1,
            pdf: String::new(),
            sections,
        }
    }
}

impl Section {
    /// The id that links lead to.
    fn id(&self) -> String {
        format!("section-{}", self.number)
    }
}

impl Table {
    /// Whether a column holds figures.
    pub fn is_figure(&self, column: &usize) -> bool {
        *column >= self.figures_from
    }

    /// What a column is called.
    pub fn name_of(&self, column: &usize) -> &str {
        self.head.get(*column).copied().unwrap_or_default()
    }
}

impl<T> Entry<T> {
    fn id(&self) -> String {
        format!("entry-{}", self.number.replace('.', "-"))
    }
}
