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
    storage::{JobId, OrdersSeen, Piece},
    web::{
        AppState, Error, Result,
        bought_for::{BoughtFor, Owner, Theirs},
        clock,
        frame::Frame,
    },
};

/// Far beyond what the full budget takes; a plan that it cuts short is not released.
const LONGEST_SEARCH: Duration = Duration::from_secs(60);

/// The plan, and the pieces that it is about.
#[derive(Debug)]
pub struct RackPlan {
    pub job: JobId,
    pub estimate: Arc<Estimate>,
    /// What the plan takes, in the order of the tags.
    pub taken: Vec<Piece>,
    /// What is reserved for the job and not taken.
    pub spare: Vec<Piece>,
    /// Tags of all that the plan could take.
    pub open: BTreeSet<String>,
    /// What was bought for other jobs, and so could not be taken.
    pub left_out: Vec<Theirs>,
    /// What was bought for other jobs and might be taken all the same.
    pub also: Vec<Theirs>,
    bought_for: BoughtFor,
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

    /// The job that a piece was bought for, where it is another than this.
    pub fn owner(&self, piece: &Piece) -> Option<&Owner> {
        self.bought_for.owner(piece).filter(|owner| owner.job != self.job)
    }

    /// The orders by which it is known what was bought for whom.
    pub fn orders(&self) -> OrdersSeen {
        self.bought_for.seen
    }

    /// The pieces taken, as the plan was made with them.
    pub fn pieces(&self) -> Vec<RackPiece> {
        self.taken.iter().map(|piece| piece.on_rack.clone()).collect()
    }
}

/// How a plan from the rack is made.
#[derive(Clone, Copy, Debug, Default)]
pub struct How<'a> {
    /// With the budget of plans that are issued, rather than the small one.
    pub full: bool,
    /// Tags of pieces that may be taken although they were bought for other jobs.
    pub also: &'a [String],
}

/// Plans with what is free on the rack or reserved for this job, but for what was bought for others.
pub async fn of(desk: &Desk, state: &AppState, worked: Arc<Estimate>, how: How<'_>) -> Result<RackPlan> {
    let (job, full) = (desk.job.id, how.full);
    let mut pieces = state.store.rack_pieces().await?;
    pieces.retain(|piece| piece.state.is_open_to(job));
    let bought_for = state.bought_for(&pieces).await?;
    let (mut open, theirs) = bought_for.split(pieces, Some(job));
    let (also, left_out): (Vec<Theirs>, Vec<Theirs>) =
        theirs.into_iter().partition(|theirs| how.also.contains(&theirs.piece.on_rack.tag));
    open.extend(also.iter().map(|theirs| theirs.piece.clone()));
    open.sort_by_key(|piece| piece.id);
    if open.is_empty() && !full {
        let (taken, spare, open) = (Vec::new(), Vec::new(), BTreeSet::new());
        return Ok(RackPlan { job, estimate: worked, taken, spare, open, left_out, also, bought_for });
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
    Ok(RackPlan { job, estimate, taken, spare, open: all, left_out, also, bought_for })
}

/// The same of the job as it is kept, or the page that says why there is none.
pub async fn built(desk: &Desk, state: &AppState, frame: &Frame, how: How<'_>) -> Result<Result<RackPlan, Response>> {
    match unbuilt::built(desk, frame, Tab::Rack).await? {
        Ok(worked) => Ok(Ok(of(desk, state, worked, how).await?)),
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
    /// The numbers of all jobs that were released by this plan, where it is one of several.
    pub together: Vec<String>,
}

/// The plan that was released to the workshop; before that, the plan of the job as it stands, with the rack as it lies. Or the page that
/// says why there is none.
pub async fn at_the_saw(desk: &Desk, state: &AppState, frame: &Frame) -> Result<Result<AtTheSaw, Response>> {
    if let Some(release) = state.store.job_release(desk.job.id).await? {
        let (released, mut estimate, mut together) = (Some(clock::moment(release.at)), release.estimate, Vec::new());
        if let Some(shared) = release.shared {
            // The saw cuts the whole of it, whatever of it is booked for this job.
            (estimate.cutting, estimate.take_off, together) = (shared.cutting, shared.take_off, shared.numbers);
        }
        return Ok(Ok(AtTheSaw { estimate: Arc::new(estimate), released, together }));
    }
    match unbuilt::built(desk, frame, Tab::Cutting).await? {
        Ok(worked) => Ok(Ok(AtTheSaw {
            estimate: of(desk, state, worked, How::default()).await?.estimate,
            released: None,
            together: Vec::new(),
        })),
        Err(unbuilt) => Ok(Err(unbuilt)),
    }
}

#[cfg(test)]
impl RackPlan {
    /// A plan that takes nothing, beside a piece that was bought for another job.
    pub fn sample(job: JobId, estimate: &Estimate) -> Self {
        use crate::{
            domain::{
                measure::{Money, Tenths},
                shop::Stocked,
            },
            storage::PieceId,
        };
        let (section, grade) = ("rhs 60x40x3".parse().expect("a section"), "S235".parse().expect("a grade"));
        let stock = Stocked::Bar { section, grade, length: Tenths(60_000) };
        let piece = Piece {
            id: PieceId(1),
            on_rack: RackPiece { tag: "R-0001".into(), stock, worth: Money::ZERO, sawn_here: false },
            place: "Ann <b>".into(),
            origin: "order 3".into(),
            state: State::Free,
            job_number: None,
        };
        let left_out = vec![Theirs { piece, owner: Owner { job: JobId(99), number: "2026-099".into() } }];
        let (taken, spare, open, also) = (Vec::new(), Vec::new(), BTreeSet::new(), Vec::new());
        let (estimate, bought_for) = (Arc::new(estimate.clone()), BoughtFor::default());
        Self { job, estimate, taken, spare, open, left_out, also, bought_for }
    }
}
