//! What stands on a page of results while the spec cannot be built.

use std::sync::Arc;

use askama::Template;
use axum::{http::StatusCode, response::Response};

use super::{
    Head, Tab,
    desk::Desk,
    view::{FaultView, faults_of},
};
use crate::{
    domain::estimate::Estimate,
    web::{
        Result,
        frame::{Frame, Room},
        pages,
    },
};

#[derive(Template)]
#[template(path = "web/job/unbuilt.html")]
pub struct Page {
    frame: Frame,
    head: Head,
    faults: Vec<FaultView>,
}

/// The estimate of the kept spec, or the page that says why there is none.
pub async fn built(desk: &Desk, frame: &Frame, tab: Tab) -> Result<Result<Arc<Estimate>, Response>> {
    match desk.work_out().await? {
        Ok(estimate) => Ok(Ok(estimate)),
        Err(faults) => {
            let faults = faults_of(&faults, &desk.job.id);
            let page = Page { frame: frame.clone().at(Room::Jobs), head: desk.head(tab), faults };
            Ok(Err(pages::page(StatusCode::OK, &page)?))
        }
    }
}
