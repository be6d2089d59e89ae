//! A revision's documents as PDF, and those of the open spec that say so in their head.

use axum::{Router, extract::State, response::Response, routing::get};

use super::{
    Tab, calculation, cutting,
    desk::Desk,
    drawings,
    rack_plan::{self, AtTheSaw},
    revision::{find, thawed},
    unbuilt::built,
};
use crate::{
    documents::{customer::Voice, paper::drawing_sheet, sheet::all_sheets},
    domain::issued::IssuedQuote,
    storage::{JobId, RevisionHead},
    web::{
        AppState, Result, clock,
        extract::{Path, Query},
        frame::Frame,
        pages::{
            customer::{issue, on_paper, since},
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
        .route(paths::DRAWINGS_PDF, get(open_drawings))
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
    let since = since(&state, &find(&state, job, number).await?, &issued.quote).await?;
    answer(&issued.file("quote"), move || {
        let Issued { desk, head, quote: frozen, .. } = issued;
        let voice = Voice::of_issued(&frozen.shop);
        on_paper(&frozen, &issue(&head, &desk.job), &[], since.as_ref(), head.issued_at, &voice)
    })
    .await
}

async fn drawing_of_revision(
    State(state): State<AppState>,
    Path((job, number)): Path<(JobId, u32)>,
    Query(asked): Query<drawings::Asked>,
) -> Result<Response> {
    let issued = Issued::find(&state, job, number).await?;
    answer(&issued.file("drawing"), move || {
        let Issued { desk, head, quote: frozen, .. } = issued;
        let facts = drawings::facts_of_revision(&desk, &head, &frozen);
        let paper = asked.paper(facts.units);
        drawing_sheet::drawings(&facts, all_sheets(&frozen.estimate, &facts, paper), Some(made_at(head.issued_at)))
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
            day: clock::moment_in(&frozen.shop.time_zone, head.issued_at),
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
            day: show.day(clock::day_in(&frozen.shop.time_zone, head.issued_at)),
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
    let AtTheSaw { estimate, released, together } = match rack_plan::at_the_saw(&desk, &state, &frame).await? {
        Ok(found) => found,
        Err(unbuilt) => return Ok(unbuilt),
    };
    let (file, stands_for) = match released {
        Some(at) if !together.is_empty() => {
            ("released cutting list", format!("released to the workshop on {at}, one plan for {}", together.join(", ")))
        }
        Some(at) => ("released cutting list", format!("released to the workshop on {at}")),
        None => ("open cutting list", OPEN.to_owned()),
    };
    answer(&format!("{} {file}", desk.head(Tab::Cutting).number), move || {
        let subject = cutting::PaperSubject {
            job: job_words(&desk),
            shop: desk.shop.name.clone(),
            stands_for,
            day: desk.show.day(desk.today),
            ..Default::default()
        };
        if together.is_empty() {
            return cutting::on_paper(&estimate, &desk.show, subject);
        }
        cutting::plans_on_paper(&estimate.cutting, (&estimate.take_off, "of all jobs"), &desk.show, subject)
    })
    .await
}

async fn open_drawings(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    Query(asked): Query<drawings::Asked>,
) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let estimate = match built(&desk, &frame, Tab::Drawings).await? {
        Ok(estimate) => estimate,
        Err(unbuilt) => return Ok(unbuilt),
    };
    answer(&format!("{} open drawing", desk.head(Tab::Drawings).number), move || {
        let facts = drawings::facts(&desk, &estimate);
        let sheets = all_sheets(&estimate, &facts, asked.paper(facts.units));
        drawing_sheet::drawings(&facts, sheets, None)
    })
    .await
}

/// A job's number and title.
fn job_words(desk: &Desk) -> String {
    let head = desk.head(Tab::Revisions);
    format!("{} · {}", head.number, head.title)
}
