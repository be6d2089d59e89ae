//! How each load is held in each trip: what to do in words, how full the straps are in each direction, and the workings.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{Head, Tab, unbuilt, view::WorkingView};
use crate::{
    documents::customer::{Voice, how_to_hold},
    domain::{estimate::Estimate, strength::restraint::HeldLoad},
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
#[template(path = "web/job/restraint.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    /// The rule that the region picks.
    rule: String,
    trips: Vec<Trip>,
    workings: Vec<WorkingView>,
}

struct Trip {
    name: String,
    loads: Vec<Held>,
}

struct Held {
    load: String,
    mass: Both,
    do_this: String,
    /// How full in each direction, sliding and tipping.
    ways: Vec<Way>,
    weakest: String,
    pull: Option<Both>,
    /// "4, 2 would do" or "2, 3 are needed".
    straps: String,
    missing: String,
}

struct Way {
    way: String,
    sliding: String,
    tipping: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::RESTRAINT, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    unbuilt::results(&state, frame, job, Tab::Restraint, Page::of).await
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        let held = &estimate.strength.restraint;
        let mut trips: Vec<Trip> = Vec::new();
        for load in held {
            let row = Held::of(load, show);
            match trips.iter_mut().find(|trip| trip.name == load.trip) {
                Some(trip) => trip.loads.push(row),
                None => trips.push(Trip { name: load.trip.clone(), loads: vec![row] }),
            }
        }
        let own = estimate.checks.iter().filter(|check| check.key.starts_with("restraint/"));
        let workings = own.filter_map(|check| check.working.as_ref()).map(|working| WorkingView::of(working, show));
        Self {
            rule: held.first().map(|load| load.rule.clone()).unwrap_or_default(),
            trips,
            workings: workings.collect(),
            frame,
            head,
        }
    }
}

impl Held {
    fn of(load: &HeldLoad, show: &Show) -> Self {
        let share =
            |usage: Option<f64>, none: &str| usage.map_or_else(|| none.to_owned(), |usage| show.share_of_limit(usage));
        let straps = match load.straps_needed {
            _ if !load.missing.is_empty() => load.straps.to_string(),
            Some(needed) if needed > load.straps => format!("{}, {needed} are needed", load.straps),
            Some(_) => load.straps.to_string(),
            None if load.straps == 0 => {
                "none, so nothing holds it: how many there are is asked on the page Need".into()
            }
            None => format!("{}, and no number of them would do", load.straps),
        };
        Self {
            load: load.load.clone(),
            mass: show.mass(load.mass_kg),
            do_this: how_to_hold(load, &Voice::english(show.units, &show.money)),
            ways: load
                .ways
                .iter()
                .map(|way| Way {
                    way: way.way.clone(),
                    sliding: share(way.sliding, "not held"),
                    tipping: share(way.tipping, "stands by itself"),
                })
                .collect(),
            weakest: load.weakest.clone(),
            pull: load.pull_kg.map(|kg| show.mass(kg)),
            straps,
            missing: load.missing.clone(),
        }
    }
}
