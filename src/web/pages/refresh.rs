//! After prices, the shop's settings or a rack on which prices count moved, the figures that lists show of open jobs are worked out again in the
//! background. A later change starts over and ends the earlier round.

use std::sync::atomic::Ordering;

use axum::{
    extract::{Request, State},
    http::Method,
    middleware::Next,
    response::Response,
};

use super::job::desk;
use crate::{
    domain::{quote::StageKind, trailer::Spec},
    storage::{JobId, JobQuery, JobSort},
    web::{AppState, Result, clock, paths},
};

/// Jobs read at a time.
const BATCH: u32 = 50;

/// Watches for changes of the rate book, of the shop's settings and of the rack.
pub async fn after_changes(State(state): State<AppState>, request: Request, next: Next) -> Response {
    let path = request.uri().path();
    let moves_rack = path.starts_with(paths::RACK) || path.contains("/rack/") || path.ends_with("/release");
    let changes = moves_rack || path.starts_with(paths::RATES) || path.starts_with(paths::SHOP);
    let changes = changes && request.method() == Method::POST;
    let response = next.run(request).await;
    if changes && response.status().is_redirection() {
        tokio::spawn(async move {
            if let Err(fault) = refresh(&state, moves_rack).await {
                tracing::error!(%fault, "the figures of open jobs could not be worked out again");
            }
        });
    }
    response
}

/// Works out every job that may still be quoted, until a later round starts; where only the rack moved, if prices count on it.
async fn refresh(state: &AppState, only_rack: bool) -> Result<()> {
    if only_rack && !state.shop(clock::today()).await?.policy.counts_on_rack {
        return Ok(());
    }
    let round = state.refreshes.fetch_add(1, Ordering::Relaxed) + 1;
    let mut query = JobQuery {
        search: String::new(),
        stages: vec![StageKind::Enquiry, StageKind::Quoted, StageKind::Lapsed],
        asked: false,
        sort: JobSort::Number,
        offset: 0,
        limit: BATCH,
    };
    loop {
        let page = state.store.jobs(&query).await?;
        if page.rows.is_empty() {
            return Ok(());
        }
        for row in &page.rows {
            if state.refreshes.load(Ordering::Relaxed) != round {
                return Ok(());
            }
            one_job(state, row.id).await?;
        }
        query.offset = query.offset.saturating_add(BATCH);
    }
}

async fn one_job(state: &AppState, id: JobId) -> Result<()> {
    let Some((job, variant)) = desk::kept(state, id).await? else { return Ok(()) };
    let spec = Spec { need: job.need, design: variant.design, offer: variant.offer };
    let headline = desk::headline(state, Some(id), spec).await?;
    Ok(state.store.refresh_headline(variant.id, headline.as_ref()).await?)
}
