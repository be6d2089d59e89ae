//! A job's cutting planned from what lies on the rack for it. Hours and price stay those that were worked out for the quote: a piece may
//! be gone by the time the customer accepts.

use std::{
    collections::BTreeSet,
    ops::ControlFlow,
    sync::Arc,
    time::{Duration, Instant},
};

use axum::response::Response;

use super::{Tab, desk::Desk, unbuilt};
use crate::{
    domain::{
        estimate::Estimate,
        nesting::{Budget, Progress, Stopped, cutting},
        rack::State,
        shop::{Rack, RackPiece},
    },
    storage::Piece,
    web::{AppState, Error, Result, clock, frame::Frame},
};

/// Far beyond what the full budget takes; a plan that it cuts short is not released.
const LONGEST_SEARCH: Duration = Duration::from_secs(60);

/// The plan, and the pieces that it is about.
#[derive(Debug)]
pub struct RackPlan {
    pub estimate: Arc<Estimate>,
    /// What the plan takes, in the order of the tags.
    pub taken: Vec<Piece>,
    /// What is reserved for the job and not taken.
    pub spare: Vec<Piece>,
    /// Tags of all that the plan could take.
    pub open: BTreeSet<String>,
}

impl RackPlan {
    /// Taken, but not yet reserved.
    pub fn unreserved(&self) -> impl Iterator<Item = &Piece> {
        self.taken.iter().filter(|piece| piece.state == State::Free)
    }

    /// Whether the pieces reserved are those that the plan takes.
    pub fn is_reserved(&self) -> bool {
        self.spare.is_empty() && self.unreserved().next().is_none()
    }

    /// The pieces taken, as the plan was made with them.
    pub fn pieces(&self) -> Vec<RackPiece> {
        self.taken.iter().map(|piece| piece.on_rack.clone()).collect()
    }
}

/// Plans with what is free on the rack or reserved for this job, with the small budget or that of plans that are issued.
pub async fn of(desk: &Desk, state: &AppState, worked: Arc<Estimate>, full: bool) -> Result<RackPlan> {
    let job = desk.job.id;
    let mut open = state.store.rack_pieces().await?;
    open.retain(|piece| piece.state.is_open_to(job));
    if open.is_empty() && !full {
        return Ok(RackPlan { estimate: worked, taken: Vec::new(), spare: Vec::new(), open: BTreeSet::new() });
    }
    let rack = Rack { pieces: open.iter().map(|piece| piece.on_rack.clone()).collect() };
    let budget = if full { state.issue_budget } else { Budget::preview() };
    let shop = desk.shop.clone();
    let work = move || {
        let started = Instant::now();
        let mut watch = |_: Progress| {
            if started.elapsed() < LONGEST_SEARCH {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(Stopped::Time)
            }
        };
        let count = worked.spec.need.count;
        let cutting = cutting::plan(&worked.take_off, count, &shop, &rack, budget, &mut watch);
        Arc::new(Estimate { cutting, ..(*worked).clone() })
    };
    let estimate = tokio::task::spawn_blocking(work).await.map_err(Error::internal)?;
    let all = open.iter().map(|piece| piece.on_rack.tag.clone()).collect();
    let tags: BTreeSet<&str> = estimate.cutting.rack_tags().into_iter().collect();
    let (taken, mut spare): (Vec<_>, Vec<_>) =
        open.into_iter().partition(|piece| tags.contains(piece.on_rack.tag.as_str()));
    spare.retain(|piece| piece.state == State::Reserved(job));
    Ok(RackPlan { estimate, taken, spare, open: all })
}

/// The same of the job as it is kept, or the page that says why there is none.
pub async fn built(desk: &Desk, state: &AppState, frame: &Frame, full: bool) -> Result<Result<RackPlan, Response>> {
    match unbuilt::built(desk, frame, Tab::Rack).await? {
        Ok(worked) => Ok(Ok(of(desk, state, worked, full).await?)),
        Err(unbuilt) => Ok(Err(unbuilt)),
    }
}

/// Tags one after another; empty of none.
pub fn tags(pieces: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    pieces.into_iter().map(|tag| tag.as_ref().to_owned()).collect::<Vec<_>>().join(", ")
}

/// What the saw cuts.
pub struct AtTheSaw {
    pub estimate: Arc<Estimate>,
    /// When it was released to the workshop; none of a plan that may still move.
    pub released: Option<String>,
}

/// The plan that was released to the workshop; before that, the plan of the job as it stands, with the rack as it lies. Or the page that
/// says why there is none.
pub async fn at_the_saw(desk: &Desk, state: &AppState, frame: &Frame) -> Result<Result<AtTheSaw, Response>> {
    if let Some(release) = state.store.job_release(desk.job.id).await? {
        let released = Some(clock::moment(release.at));
        return Ok(Ok(AtTheSaw { estimate: Arc::new(release.estimate), released }));
    }
    match unbuilt::built(desk, frame, Tab::Cutting).await? {
        Ok(worked) => Ok(Ok(AtTheSaw { estimate: of(desk, state, worked, false).await?.estimate, released: None })),
        Err(unbuilt) => Ok(Err(unbuilt)),
    }
}
