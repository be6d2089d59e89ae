//! The trailer page: the design, with the figures that it gives beside it.

use askama::Template;
use axum::{
    Router,
    extract::State,
    http::StatusCode,
    response::Response,
    routing::{get, post},
};

use super::{
    Head, Tab,
    desk::{Desk, Worked},
    keep, spec_form,
    view::{CheckView, Drawing, FaultView, Headline, trailer_drawings},
};
use crate::{
    domain::{
        form::Fault,
        trailer::{Design, Spec},
        working::Verdict,
    },
    storage::{By, JobId, Save},
    web::{
        AppState, Error, Result, clock,
        extract::Path,
        form::Form,
        forms::{
            Action, Sheet,
            spec::{self, Part},
        },
        frame::{Frame, Room},
        pages::{self, conflict},
        paths,
        session::see_other,
    },
};

#[derive(Template)]
#[template(path = "web/job/trailer.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    sheet: Sheet,
    preview: Preview,
    version: i64,
    opened: String,
}

/// The preview alone, for the script that puts it beside the fields.
#[derive(Template)]
#[template(path = "web/job/preview.html")]
struct PreviewPart {
    preview: Preview,
}

/// What the design as typed would give.
#[derive(Clone, Debug, Default)]
pub struct Preview {
    pub faults: Vec<FaultView>,
    pub headline: Option<Headline>,
    /// What fails, comes close or cannot be told.
    pub checks: Vec<CheckView>,
    pub drawings: Vec<Drawing>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::TRAILER, get(show).post(save)).route(paths::TRAILER_PREVIEW, post(preview))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let form = spec::fill(Part::Design, &desk.spec(), desk.show.hand());
    let worked = desk.work_out().await?;
    render(frame, &desk, form, &desk.spec(), &worked)
}

/// The figures of the design as typed; nothing is kept.
async fn preview(State(state): State<AppState>, Path(job): Path<JobId>, form: Form) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let typed = spec_form::read(Part::Design, &form, &desk);
    let worked = desk.work_out_as(typed.spec).await?;
    pages::page(StatusCode::OK, &PreviewPart { preview: Preview::of(&desk, &typed.form, &worked) })
}

async fn save(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>, form: Form) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let spec_form::Typed { mut form, action, spec } = spec_form::read(Part::Design, &form, &desk);
    let worked = desk.work_out_as(spec.clone()).await?;
    if matches!(action, Action::Add(_) | Action::Remove(_)) {
        return render(frame, &desk, form, &spec, &worked);
    }
    if let Err(faults) = &worked {
        spec_form::note_all(Part::Design, &mut form, faults);
    }
    if action == Action::Try {
        return render(frame, &desk, form, &spec, &worked);
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(frame, &desk, form, &spec, &worked);
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let read = form.value("version").parse().unwrap_or(desk.variant.version);
    let opened = spec_form::read_opened::<Design>(&form);
    match keep::design(&state, &desk, read, &spec.design, opened.as_ref(), by).await? {
        Save::Saved(_) => Ok(see_other(&Tab::Trailer.path(&job), &actor)),
        Save::Missing => Err(Error::NotFound("There is no such job.")),
        Save::Conflict(found) => {
            let theirs = Spec { design: found.theirs.clone(), ..desk.spec() };
            let opened = opened.map(|design| Spec { design, ..desk.spec() });
            let sides = spec_form::Sides { theirs: &theirs, yours: &spec, opened: opened.as_ref() };
            let both = spec_form::conflict_of(Part::Design, &desk, &found, &sides, Tab::Trailer);
            conflict::show(frame.at(Room::Jobs), form, both)
        }
    }
}

fn render(frame: Frame, desk: &Desk, form: Form, spec: &Spec, worked: &Worked) -> Result<Response> {
    let version = form.value("version").parse().unwrap_or(desk.variant.version.0);
    let opened = if form.has(spec_form::OPENED) {
        form.value(spec_form::OPENED).to_owned()
    } else {
        spec_form::opened(&desk.variant.design)
    };
    let page = Page {
        frame: frame.at(Room::Jobs),
        head: desk.head(Tab::Trailer),
        sheet: spec_form::sheet(Part::Design, spec, desk, &form),
        preview: Preview::of(desk, &form, worked),
        version,
        opened,
        form,
    };
    pages::page(page.form.status(), &page)
}

impl Preview {
    /// Texts that could not be read stand first, then what cannot be built of them.
    fn of(desk: &Desk, form: &Form, worked: &Worked) -> Self {
        let unread = form.faults().iter().filter(|fault| Part::Design.holds(&fault.field)).map(|fault| FaultView {
            path: format!("#f-{}", fault.field),
            label: fault.label.clone(),
            message: fault.message.clone(),
        });
        let mut preview = Self { faults: unread.collect(), ..Self::default() };
        match worked {
            Ok(estimate) => {
                let checks = CheckView::all(&estimate.checks, &estimate.spec.offer.answers, &desk.show);
                let telling = |check: &CheckView| check.word != Verdict::Holds.label();
                preview.headline = Some(Headline::of(estimate, &desk.show));
                preview.checks = checks.into_iter().filter(telling).collect();
                preview.drawings = trailer_drawings(estimate, desk.show.units);
            }
            Err(faults) => {
                let known: Vec<String> = form.faults().iter().map(|fault| fault.field.clone()).collect();
                let more = faults.0.iter().filter(|fault| !known.contains(&fault.field));
                preview.faults.extend(more.map(|fault| here(fault, &desk.job.id)));
            }
        }
        preview
    }
}

/// A fault as the trailer page shows it: its own fields stand on the same page.
fn here(fault: &Fault, job: &JobId) -> FaultView {
    let elsewhere = FaultView::of(fault, job);
    if Part::Design.holds(&fault.field) {
        return FaultView { path: format!("#f-{}", fault.field), ..elsewhere };
    }
    elsewhere
}
