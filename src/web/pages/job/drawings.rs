//! The drawings on sheets at true scale: the arrangement, the parts, and flat parts as DXF; of the job as it stands or of a revision.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::{StatusCode, header},
    response::{IntoResponse, Response},
    routing::get,
};
use serde::Deserialize;

use super::{
    Head, Tab,
    desk::Desk,
    revision::{find, thawed},
    unbuilt,
};
use crate::{
    documents::{
        dxf::dxf,
        sheet::{Facts, Options, PaperSize, Projection, Sheet, arrangement_sheets, flat_part, flat_parts, part_sheets},
    },
    domain::{estimate::Estimate, issued::IssuedQuote, measure::Units, words::Words},
    storage::{JobId, RevisionHead},
    web::{
        AppState, Error, Result, clock,
        extract::{Path, Query},
        frame::{Frame, Room},
        pages, paths,
    },
};

const NO_PART: Error = Error::NotFound("There is no flat part of this mark.");

#[derive(Template)]
#[template(path = "web/job/drawings.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    /// Of the job as it stands, or of which revision.
    of: String,
    parts: bool,
    /// The other kind of drawings.
    other: String,
    /// What was asked for.
    papers: Vec<(&'static str, bool)>,
    /// Tag of the language that the drawings speak.
    language: &'static str,
    options: Options,
    /// All of them as one document.
    pdf: String,
    sheets: Vec<SheetView>,
}

struct SheetView {
    id: String,
    name: String,
    shows: String,
    /// Ending of the class that sizes the printed page.
    paper: String,
    svg: String,
    /// Its views and notes for a narrow window.
    narrow: Vec<String>,
    notes: Vec<String>,
    dxf: Option<String>,
}

#[derive(Clone, Debug, Default, Deserialize)]
pub(super) struct Asked {
    paper: Option<String>,
    deck: Option<String>,
    loads: Option<String>,
    marks: Option<String>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new()
        .route(paths::DRAWINGS, get(show))
        .route(paths::PART_DRAWINGS, get(show_parts))
        .route(paths::PART_DXF, get(part))
        .route(paths::REVISION_DRAWINGS, get(frozen))
        .route(paths::REVISION_PART_DRAWINGS, get(frozen_parts))
        .route(paths::REVISION_PART_DXF, get(frozen_part))
}

async fn show(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    open(&state, frame, job, &asked, false).await
}

async fn show_parts(
    State(state): State<AppState>,
    frame: Frame,
    Path(job): Path<JobId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    open(&state, frame, job, &asked, true).await
}

async fn frozen(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    issued(&state, frame, job, number, &asked, false).await
}

async fn frozen_parts(
    State(state): State<AppState>,
    frame: Frame,
    Path((job, number)): Path<(JobId, u32)>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    issued(&state, frame, job, number, &asked, true).await
}

async fn part(State(state): State<AppState>, Path((job, mark)): Path<(JobId, String)>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let estimate = desk.work_out().await?.map_err(|_| NO_PART)?;
    file(&estimate, &mark)
}

async fn frozen_part(
    State(state): State<AppState>,
    Path((job, number, mark)): Path<(JobId, u32, String)>,
) -> Result<Response> {
    file(&thawed(&find(&state, job, number).await?)?.estimate, &mark)
}

fn file(estimate: &Estimate, mark: &str) -> Result<Response> {
    let panel = flat_part(estimate, mark).ok_or(NO_PART)?;
    // Marks are capitals, digits and a stroke; anything else has no place in a file's name.
    let name: String = mark.chars().map(|letter| if letter.is_ascii_alphanumeric() { letter } else { '-' }).collect();
    let headers = [
        (header::CONTENT_TYPE, "image/vnd.dxf".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}.dxf\"")),
    ];
    Ok((headers, dxf(panel, mark)).into_response())
}

async fn open(state: &AppState, frame: Frame, job: JobId, asked: &Asked, parts: bool) -> Result<Response> {
    let desk = Desk::open(state, job).await?;
    let estimate = match unbuilt::built(&desk, &frame, Tab::Drawings).await? {
        Ok(estimate) => estimate,
        Err(unbuilt) => return Ok(unbuilt),
    };
    pages::page(StatusCode::OK, &Page::of_job(frame, &desk, &estimate, asked, parts))
}

async fn issued(
    state: &AppState,
    frame: Frame,
    job: JobId,
    number: u32,
    asked: &Asked,
    parts: bool,
) -> Result<Response> {
    let desk = Desk::open(state, job).await?;
    let revision = find(state, job, number).await?;
    let quote = thawed(&revision)?;
    let facts = facts_of_revision(&desk, &revision.head, &quote);
    let page = Page {
        of: format!("Revision {number}"),
        pdf: asked.on_paper(&paths::of_revision(paths::REVISION_DRAWING_PDF, &job, &number), facts.units),
        other: paths::of_revision(
            if parts { paths::REVISION_DRAWINGS } else { paths::REVISION_PART_DRAWINGS },
            &job,
            &number,
        ),
        ..Page::of(frame, desk.head(Tab::Revisions), &quote.estimate, &facts, asked, parts, |mark| {
            paths::revision_part_dxf(&job, number, mark)
        })
    };
    pages::page(StatusCode::OK, &page)
}

impl Asked {
    /// The paper that was asked for, else the usual one.
    pub(super) fn paper(&self, units: Units) -> PaperSize {
        self.paper.as_deref().and_then(PaperSize::named).unwrap_or(PaperSize::usual(units))
    }

    /// An address with this paper.
    fn on_paper(&self, path: &str, units: Units) -> String {
        format!("{path}?paper={}", self.paper(units).label())
    }
}

/// What the title block says of an issued revision.
pub(super) fn facts_of_revision(desk: &Desk, head: &RevisionHead, quote: &IssuedQuote) -> Facts {
    Facts {
        shop: quote.shop.name.clone(),
        revision: Some(head.number),
        day: clock::day_in(&quote.shop.time_zone, head.issued_at).to_string(),
        words: Words::of(&quote.shop.works_in),
        units: quote.shop.units,
        ..facts(desk, &quote.estimate)
    }
}

/// What the title block says of the job as it stands.
pub(super) fn facts(desk: &Desk, estimate: &Estimate) -> Facts {
    Facts {
        shop: desk.shop.name.clone(),
        job: desk.job.title.clone(),
        number: desk.job.number.to_string(),
        revision: None,
        day: String::new(),
        program: estimate.program.clone(),
        words: Words::of(&desk.shop.language),
        units: desk.show.units,
        projection: Projection::usual(&estimate.spec.need.usage.region),
    }
}

impl Page {
    fn of_job(frame: Frame, desk: &Desk, estimate: &Estimate, asked: &Asked, parts: bool) -> Self {
        let job = desk.job.id;
        Self {
            of: "The job as it is now".into(),
            pdf: asked.on_paper(&paths::of_job(paths::DRAWINGS_PDF, &job), desk.show.units),
            other: paths::of_job(if parts { paths::DRAWINGS } else { paths::PART_DRAWINGS }, &job),
            ..Self::of(frame, desk.head(Tab::Drawings), estimate, &facts(desk, estimate), asked, parts, |mark| {
                paths::part_dxf(&job, mark)
            })
        }
    }

    fn of(
        frame: Frame,
        head: Head,
        estimate: &Estimate,
        facts: &Facts,
        asked: &Asked,
        parts: bool,
        dxf_of: impl Fn(&str) -> String,
    ) -> Self {
        let is = |asked: &Option<String>, or: bool| asked.as_deref().map_or(or, |value| value == "on");
        let usual = Options::default();
        let options = Options {
            deck: is(&asked.deck, usual.deck),
            loads: is(&asked.loads, usual.loads),
            marks: is(&asked.marks, usual.marks),
        };
        let paper = asked.paper(facts.units);
        let sheets = if parts {
            part_sheets(estimate, facts, paper)
        } else {
            arrangement_sheets(&estimate.trailer, &estimate.weights, facts, paper, options)
        };
        let flat: Vec<&str> =
            if parts { flat_parts(estimate).iter().map(|(part, _)| part.id.as_str()).collect() } else { Vec::new() };
        Self {
            frame: frame.at(Room::Jobs),
            head,
            of: String::new(),
            parts,
            other: String::new(),
            pdf: String::new(),
            papers: PaperSize::ALL.into_iter().map(|size| (size.label(), size == paper)).collect(),
            options,
            language: facts.words.tag(),
            sheets: sheets
                .iter()
                .enumerate()
                .map(|(nth, sheet)| {
                    SheetView::of(nth, sheet, flat.contains(&sheet.name.as_str()).then(|| dxf_of(&sheet.name)))
                })
                .collect(),
        }
    }

    #[cfg(test)]
    pub(super) fn sample(frame: Frame, desk: &Desk, estimate: &Estimate) -> Self {
        Self::of_job(frame, desk, estimate, &Asked::default(), true)
    }
}

impl SheetView {
    fn of(nth: usize, sheet: &Sheet, dxf: Option<String>) -> Self {
        let id = format!("sheet-{}", nth + 1);
        Self {
            svg: sheet.svg(&id),
            narrow: sheet.narrow.iter().enumerate().map(|(nth, view)| view.svg(&format!("{id}-view-{nth}"))).collect(),
            notes: sheet.notes.clone(),
            id,
            name: sheet.name.clone(),
            shows: format!("{}, {} on {}", sheet.name, sheet.scale_text(), sheet.paper.label()),
            paper: sheet.paper.label().to_lowercase(),
            dxf,
        }
    }
}
