//! Masses by group, centre of gravity, load on the coupling empty and loaded, with their workings.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{
    Head, Tab, unbuilt,
    view::{Headline, WorkingView},
};
use crate::{
    domain::{
        estimate::Estimate,
        weights::{Body, LoadedCase, MassGroup, Weights},
    },
    storage::JobId,
    web::{
        AppState, Result,
        extract::Path,
        frame::Frame,
        paths,
        show::{Both, Show},
    },
};

#[derive(Template)]
#[template(path = "web/job/weights.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    headline: Headline,
    groups: Vec<Group>,
    empty: Row,
    cases: Vec<Case>,
    limits: Vec<Limit>,
    workings: Vec<WorkingView>,
}

/// A group with what is in it.
struct Group {
    row: Row,
    items: Vec<Row>,
}

struct Row {
    name: String,
    mass: Both,
    behind: Both,
    above: Both,
}

struct Case {
    name: String,
    mass: Both,
    coupling: Both,
    share: String,
    axle: Both,
    working: WorkingView,
}

/// What the trailer may weigh before a part is full.
struct Limit {
    part: String,
    gross: Both,
    because: String,
    working: Option<WorkingView>,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::WEIGHTS, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    unbuilt::results(&state, frame, job, Tab::Weights, Page::of).await
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        let weights = &estimate.weights;
        let limits = weights.rating.limits.iter().map(|limit| Limit {
            part: limit.part.clone(),
            gross: show.mass(limit.gross_kg),
            because: limit.because.clone(),
            working: limit.working.as_ref().map(|working| WorkingView::of(working, show)),
        });
        Self {
            frame,
            head,
            headline: Headline::of(estimate, show),
            groups: weights.groups.iter().map(|group| Group::of(group, weights, show)).collect(),
            empty: Row::of("empty", &weights.empty, show),
            cases: weights.cases.iter().map(|case| Case::of(case, show)).collect(),
            limits: limits.collect(),
            workings: weights.workings.iter().map(|working| WorkingView::of(working, show)).collect(),
        }
    }
}

impl Group {
    fn of(group: &MassGroup, weights: &Weights, show: &Show) -> Self {
        let items = weights.items.iter().filter(|item| item.group == group.group);
        Self {
            row: Row::of(group.group.label(), &group.body, show),
            items: items.map(|item| Row::of(&item.name, &item.body, show)).collect(),
        }
    }
}

impl Row {
    fn of(name: &str, body: &Body, show: &Show) -> Self {
        let [behind, _, above] = body.centre;
        Self {
            name: name.to_owned(),
            mass: show.mass(body.mass_kg),
            behind: show.length(behind),
            above: show.length(above),
        }
    }
}

impl Case {
    fn of(case: &LoadedCase, show: &Show) -> Self {
        Self {
            name: case.name.clone(),
            mass: show.mass(case.body.mass_kg),
            coupling: show.mass(case.coupling_kg),
            share: show.share(case.coupling_share),
            axle: show.mass(case.axle_kg),
            working: WorkingView::of(&case.working(), show),
        }
    }
}
