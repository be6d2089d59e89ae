//! The need: what the customer must carry, with what, where.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{Head, Tab, desk::Desk, keep, spec_form};
use crate::{
    domain::trailer::{Need, Spec},
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
#[template(path = "web/job/need.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    form: Form,
    sheet: Sheet,
    version: i64,
    opened: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::NEED, get(show).post(save))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let form = spec::fill(Part::Need, &desk.spec(), desk.show.hand());
    render(frame, &desk, form, &desk.spec())
}

async fn save(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>, form: Form) -> Result<Response> {
    let desk = Desk::open(&state, job).await?;
    let spec_form::Typed { mut form, action, spec } = spec_form::read(Part::Need, &form, &desk);
    if matches!(action, Action::Add(_) | Action::Remove(_)) {
        return render(frame, &desk, form, &spec);
    }
    if let Err(faults) = desk.work_out_as(spec.clone()).await? {
        spec_form::note_all(Part::Need, &mut form, &faults);
    }
    let (Some(actor), true) = (form.actor(&frame), form.is_right()) else {
        return render(frame, &desk, form, &spec);
    };
    let by = By { who: &actor.signature(), at: clock::now() };
    let read = form.value("version").parse().unwrap_or(desk.job.version);
    match keep::need(&state, &desk, read, &spec.need, by).await? {
        Save::Saved(_) => Ok(see_other(&next_page(&form, job), &actor)),
        Save::Missing => Err(Error::NotFound("There is no such job.")),
        Save::Conflict(found) => {
            let theirs = Spec { need: found.theirs.clone(), ..desk.spec() };
            let opened = spec_form::read_opened::<Need>(&form).map(|need| Spec { need, ..desk.spec() });
            let sides = spec_form::Sides { theirs: &theirs, yours: &spec, opened: opened.as_ref() };
            let both = spec_form::conflict_of(Part::Need, &desk, &found, &sides, Tab::Need);
            conflict::show(frame.at(Room::Jobs), form, both)
        }
    }
}

/// On to the trailer, or back to the need to see what was kept.
fn next_page(form: &Form, job: JobId) -> String {
    let tab = if form.value("then") == "trailer" { Tab::Trailer } else { Tab::Need };
    tab.path(&job)
}

fn render(frame: Frame, desk: &Desk, form: Form, spec: &Spec) -> Result<Response> {
    let version =
        if form.has("version") { form.value("version").parse().unwrap_or_default() } else { desk.job.version.0 };
    let opened = if form.has(spec_form::OPENED) {
        form.value(spec_form::OPENED).to_owned()
    } else {
        spec_form::opened(&desk.job.need)
    };
    let sheet = spec_form::sheet(Part::Need, spec, desk, &form);
    let status = form.status();
    pages::page(status, &Page { frame: frame.at(Room::Jobs), head: desk.head(Tab::Need), form, sheet, version, opened })
}
