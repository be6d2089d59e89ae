//! Pages of results, and what stands in their place while the spec cannot be built.

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
    storage::JobId,
    web::{
        AppState, Result,
        frame::{Frame, Room},
        pages,
        show::Show,
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

/// A page of results of the kept spec, as `of` makes it.
pub async fn results<P: Template>(
    state: &AppState,
    frame: Frame,
    job: JobId,
    tab: Tab,
    of: impl FnOnce(Frame, Head, &Estimate, &Show) -> P,
) -> Result<Response> {
    let desk = Desk::open(state, job).await?;
    match built(&desk, &frame, tab).await? {
        Ok(estimate) => pages::page(StatusCode::OK, &of(frame.at(Room::Jobs), desk.head(tab), &estimate, &desk.show)),
        Err(unbuilt) => Ok(unbuilt),
    }
}
