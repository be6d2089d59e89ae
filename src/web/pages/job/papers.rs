//! A revision's documents as PDF, and those of the open spec that say so in their head.

use axum::{Router, extract::State, response::Response, routing::get};

use super::{
    Tab, calculation, cutting,
    desk::Desk,
    revision::{find, thawed},
    unbuilt::built,
    view::trailer_views,
};
use crate::{
    documents::{
        customer,
        paper::{Paper, drawing_sheet, quote},
    },
    domain::issued::IssuedQuote,
    storage::{JobId, RevisionHead},
    web::{
        AppState, Result, clock,
        extract::Path,
        frame::Frame,
        pages::{
            customer::{issue, offered},
            paper::{answer, made_at},
        },
        paths,
        show::Show,
    },
};

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::REVISION_QUOTE_PDF, get(quote_of_revision))
        .route(paths::REVISION_DRAWING_PDF, get(drawing_of_revision))
        .route(paths::REVISION_CALCULATION_PDF, get(calculation_of_revision))
        .route(paths::REVISION_CUTTING_PDF, get(cutting_of_revision))
        .route(paths::CALCULATION_PDF, get(open_calculation))
        .route(paths::CUTTING_PDF, get(open_cutting))
}

/// A revision with its job.
struct Issued {
    desk: Desk,
    head: RevisionHead,
    quote: IssuedQuote,
    fingerprint: String,
}

impl Issued {
    async fn find(state: &AppState, job: JobId, number: u32) -> Result<Self> {
        let desk = Desk::open(state, job).await?;
        let revision = find(state, job, number).await?;
        let quote = thawed(&revision)?;
        Ok(Self { desk, head: revision.head, quote, fingerprint: revision.frozen.sha256 })
    }

    fn file(&self, what: &str) -> String {
        format!("{} revision {} {what}", self.desk.head(Tab::Revisions).number, self.head.number)
    }
}

/// The quote as it was issued, before the customer chose.
async fn quote_of_revision(State(state): State<AppState>, Path((job, number)): Path<(JobId, u32)>) -> Result<Response> {
    let issued = Issued::find(&state, job, number).await?;
    answer(&issued.file("quote"), move || {
        let Issued { desk, head, quote: frozen, .. } = issued;
        let copy = customer::copy(&frozen, &issue(&head, &desk.job), None, None);
        let choices = offered(&frozen.options, &[], &Show::of_issued(&frozen.shop));
        quote::quote(&copy, &choices, Some(made_at(head.issued_at)), Paper::of(frozen.shop.units))
    })
    .await
}

async fn drawing_of_revision(
    State(state): State<AppState>,
    Path((job, number)): Path<(JobId, u32)>,
) -> Result<Response> {
    let issued = Issued::find(&state, job, number).await?;
    answer(&issued.file("drawing"), move || {
        let Issued { desk, head, quote: frozen, .. } = issued;
        let show = Show::of_issued(&frozen.shop);
        let issue = issue(&head, &desk.job);
        let title = drawing_sheet::Title {
            job: issue.job_title,
            shop: frozen.shop.name.clone(),
            stands_for: issue.revision,
            day: issue.issued.map(|day| show.day(day)).unwrap_or_default(),
            notes: vec![crate::domain::cautions::NO_CERTIFICATION.to_owned()],
        };
        let views = trailer_views(&frozen.estimate, show.units);
        drawing_sheet::drawings(&title, &views, Some(made_at(head.issued_at)), Paper::of(frozen.shop.units))
    })
    .await
}

async fn calculation_of_revision(
    State(state): State<AppState>,
    Path((job, number)): Path<(JobId, u32)>,
) -> Result<Response> {
    let issued = Issued::find(&state, job, number).await?;
    answer(&issued.file("calculation"), move || {
        let Issued { desk, head, quote: frozen, fingerprint } = issued;
        let subject = calculation::PaperSubject {
            job: job_words(&desk),
            shop: frozen.shop.name.clone(),
            variant: head.variant_name.clone(),
            stands_for: format!("revision {number}, issued"),
            day: clock::moment(head.issued_at),
            fingerprint: Some(fingerprint),
            made: Some(made_at(head.issued_at)),
        };
        calculation::on_paper(&frozen.estimate, &Show::of_issued(&frozen.shop), &subject)
    })
    .await
}

async fn cutting_of_revision(
    State(state): State<AppState>,
    Path((job, number)): Path<(JobId, u32)>,
) -> Result<Response> {
    let issued = Issued::find(&state, job, number).await?;
    answer(&issued.file("cutting list"), move || {
        let Issued { desk, head, quote: frozen, .. } = issued;
        let show = Show::of_issued(&frozen.shop);
        let subject = cutting::PaperSubject {
            job: job_words(&desk),
            shop: frozen.shop.name.clone(),
            stands_for: format!("Revision {number}"),
            day: show.day(clock::day_of(head.issued_at)),
            made: Some(made_at(head.issued_at)),
        };
        cutting::on_paper(&frozen.estimate, &show, subject)
    })
    .await
}

/// What the documents of a spec say that is not issued.
const OPEN: &str = "open spec, not issued";

async fn open_calculation(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let estimate = match built(&desk, &frame, Tab::Calculation).await? {
        Ok(estimate) => estimate,
        Err(unbuilt) => return Ok(unbuilt),
    };
    answer(&format!("{} open calculation", desk.head(Tab::Calculation).number), move || {
        let subject = calculation::PaperSubject {
            job: job_words(&desk),
            shop: desk.shop.name.clone(),
            variant: desk.variant.name.clone(),
            stands_for: OPEN.to_owned(),
            day: desk.show.day(desk.today),
            ..Default::default()
        };
        calculation::on_paper(&estimate, &desk.show, &subject)
    })
    .await
}

async fn open_cutting(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let estimate = match built(&desk, &frame, Tab::Cutting).await? {
        Ok(estimate) => estimate,
        Err(unbuilt) => return Ok(unbuilt),
    };
    answer(&format!("{} open cutting list", desk.head(Tab::Cutting).number), move || {
        let subject = cutting::PaperSubject {
            job: job_words(&desk),
            shop: desk.shop.name.clone(),
            stands_for: OPEN.to_owned(),
            day: desk.show.day(desk.today),
            ..Default::default()
        };
        cutting::on_paper(&estimate, &desk.show, subject)
    })
    .await
}

/// A job's number and title.
fn job_words(desk: &Desk) -> String {
    let head = desk.head(Tab::Revisions);
    format!("{} · {}", head.number, head.title)
}
