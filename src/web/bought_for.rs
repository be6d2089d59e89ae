//! What lies on the rack and was bought for a job that is still to be built: no plan of another job takes it unless somebody says so.

use std::collections::{BTreeMap, BTreeSet};

use super::{AppState, Result};
use crate::{
    domain::{
        buying::{Ordered, Stage, account},
        estimate::Estimate,
        quote::StageKind,
        rack::State as Place,
    },
    storage::{JobId, OrderedSoFar, OrdersSeen, Piece},
};

/// The job that a piece was bought for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Owner {
    pub job: JobId,
    pub number: String,
}

/// Pieces of the rack by tag, with the job that each was bought for.
#[derive(Clone, Debug, Default)]
pub struct BoughtFor {
    owners: BTreeMap<String, Owner>,
    /// The orders that this was read from.
    pub seen: OrdersSeen,
}

/// A piece that was bought for another job.
#[derive(Clone, Debug, PartialEq)]
pub struct Theirs {
    pub piece: Piece,
    pub owner: Owner,
}

impl BoughtFor {
    /// Whose a piece is. One that somebody reserved is whoever's it is reserved for, wherever it came from.
    pub fn owner(&self, piece: &Piece) -> Option<&Owner> {
        if piece.state == Place::Free { self.owners.get(&piece.on_rack.tag) } else { None }
    }

    /// Takes the pieces out that were bought for others than this job.
    pub fn split(&self, pieces: Vec<Piece>, job: Option<JobId>) -> (Vec<Piece>, Vec<Theirs>) {
        let (mut open, mut theirs) = (Vec::new(), Vec::new());
        for piece in pieces {
            match self.owner(&piece).filter(|owner| Some(owner.job) != job).cloned() {
                Some(owner) => theirs.push(Theirs { piece, owner }),
                None => open.push(piece),
            }
        }
        (open, theirs)
    }
}

impl AppState {
    /// What of these pieces was bought for jobs that are accepted or in the shop.
    pub async fn bought_for(&self, pieces: &[Piece]) -> Result<BoughtFor> {
        let OrderedSoFar { seen, mut lines, jobs } = self.store.ordered_so_far().await?;
        let free: BTreeSet<&str> =
            pieces.iter().filter(|piece| piece.state == Place::Free).map(|piece| piece.on_rack.tag.as_str()).collect();
        let lies = |line: &Ordered<JobId>| line.pieces.iter().any(|(tag, _)| free.contains(tag.as_str()));
        let codes: BTreeSet<String> = lines.iter().filter(|line| lies(line)).map(|line| line.code.clone()).collect();
        lines.retain(|line| codes.contains(&line.code));
        let mut released = BTreeMap::new();
        for job in lines.iter().flat_map(|line| &line.jobs).map(|(job, _)| *job) {
            let is_in_shop = jobs.get(&job).is_some_and(|job| job.stage == StageKind::InTheShop);
            if is_in_shop && !released.contains_key(&job) {
                released.insert(job, self.store.job_release(job).await?.map(|release| release.estimate));
            }
        }
        let account = account(&lines, |job, of| {
            stage(jobs.get(&job).map(|job| job.stage), of, released.get(&job).and_then(Option::as_ref))
        });
        let owner = |job: JobId| Some(Owner { job, number: jobs.get(&job)?.number.clone() });
        let owners = account.spoken_for.into_iter().filter_map(|(tag, job)| Some((tag, owner(job)?))).collect();
        Ok(BoughtFor { owners, seen })
    }
}

/// How far a job is with one thing that was ordered for it. A plan that stands takes no more bars than it says.
pub fn stage(kind: Option<StageKind>, of: &Ordered<JobId>, released: Option<&Estimate>) -> Stage {
    if !matches!(kind, Some(StageKind::Accepted | StageKind::InTheShop)) {
        return Stage::Built;
    }
    let most = released.zip(of.stock.as_ref()).map(|(stands, stock)| {
        let buys = stands.cutting.bought();
        let same = buys.iter().find(|bought| (&bought.item, &bought.stock) == (&of.code, stock));
        same.map_or(0, |bought| bought.count)
    });
    Stage::Open { most: most.map(Into::into) }
}
