//! Hours by operation, each with its working.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{Head, Tab, unbuilt, view::WorkingView};
use crate::{
    domain::{estimate::Estimate, labour::HourLine},
    storage::JobId,
    web::{AppState, Result, extract::Path, frame::Frame, paths, show::Show},
};

#[derive(Template)]
#[template(path = "web/job/hours.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    lines: Vec<Line>,
    totals: Vec<(String, String)>,
    unread: Vec<String>,
}

struct Line {
    key: String,
    name: String,
    trade: &'static str,
    quantity: String,
    each: String,
    hours: String,
    working: WorkingView,
    overruled: Option<ByHand>,
}

/// What stands in the place of a derived value.
#[derive(Clone, Debug)]
pub struct ByHand {
    pub derived: String,
    pub reason: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::HOURS, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    unbuilt::results(&state, frame, job, Tab::Hours, Page::of).await
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        let hours = &estimate.hours;
        let by_trade =
            hours.by_trade().into_iter().map(|(trade, hours)| (trade.label().to_owned(), show.number(hours, 2)));
        let total = ("all together".to_owned(), show.number(hours.total(), 2));
        Self {
            frame,
            head,
            lines: hours.lines.iter().map(|line| Line::of(line, show)).collect(),
            totals: by_trade.chain([total]).collect(),
            unread: hours.unread.clone(),
        }
    }
}

impl Line {
    fn of(line: &HourLine, show: &Show) -> Self {
        let overruled = line.overruled.as_ref().map(|reason| ByHand {
            derived: line
                .derived
                .map_or_else(|| "nothing".to_owned(), |hours| show.with_unit(show.number(hours, 2), "h")),
            reason: reason.clone(),
        });
        Self {
            key: format!("hours/{}", line.key),
            name: line.operation.clone(),
            trade: line.trade.label(),
            quantity: show.with_unit(show.number(line.quantity, 2), &line.unit),
            each: show.number(line.minutes_each, 2),
            hours: show.number(line.hours, 2),
            working: WorkingView::of(&line.working, show),
            overruled,
        }
    }
}
