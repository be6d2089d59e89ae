//! The parts to buy: what was chosen, what it needs and what asks for it.

use askama::Template;
use axum::{Router, extract::State, response::Response, routing::get};

use super::{Head, Tab, unbuilt};
use crate::{
    domain::{estimate::Estimate, shop::Requirement, trailer::PartDemand},
    storage::JobId,
    web::{AppState, Result, extract::Path, frame::Frame, paths, show::Show},
};

#[derive(Template)]
#[template(path = "web/job/parts.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    parts: Vec<PartRow>,
}

pub struct PartRow {
    /// `part/coupling`
    pub key: String,
    pub class: String,
    pub chosen: String,
    pub is_missing: bool,
    pub count: String,
    pub price: String,
    pub needs: Vec<NeedLine>,
    pub falls_short: Vec<String>,
    pub overruled: Option<String>,
    pub others: Vec<String>,
}

pub struct NeedLine {
    pub rule: String,
    pub because: String,
}

pub(super) fn router() -> Router<AppState> {
    Router::new().route(paths::PARTS, get(show))
}

async fn show(State(state): State<AppState>, frame: Frame, Path(job): Path<JobId>) -> Result<Response> {
    unbuilt::results(&state, frame, job, Tab::Parts, Page::of).await
}

impl Page {
    pub(super) fn of(frame: Frame, head: Head, estimate: &Estimate, show: &Show) -> Self {
        Self { frame, head, parts: estimate.take_off.parts.iter().map(|demand| PartRow::of(demand, show)).collect() }
    }
}

impl PartRow {
    pub fn of(demand: &PartDemand, show: &Show) -> Self {
        let part = &demand.part;
        let item = part.item.as_ref();
        Self {
            key: format!("part/{}", part.need.key),
            class: part.need.class.label().to_owned(),
            chosen: item.map_or_else(String::new, |item| format!("{} ({})", item.name, item.code)),
            is_missing: item.is_none(),
            count: show.number(demand.quantity, 2),
            price: item.map_or_else(String::new, |item| show.money(item.price)),
            needs: part.need.requirements.iter().map(|need| NeedLine::of(need, show)).collect(),
            falls_short: part.falls_short.clone(),
            overruled: part.overruled.clone(),
            others: part.others.clone(),
        }
    }
}

impl NeedLine {
    fn of(need: &Requirement, show: &Show) -> Self {
        let rule = need.words(|value, unit| show.result(value, unit));
        Self { rule, because: need.because.clone() }
    }
}
