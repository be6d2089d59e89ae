//! A job's pieces of the rack: reserved while it is accepted, cut when it is released to the workshop, and what of them returns.

use std::collections::BTreeSet;

use jiff::Timestamp;

use super::{
    By, JobId, NewPiece, OrdersSeen, PieceId, Result, Store, VariantId, Version,
    audit::{Subject, note},
    error::{cell, to_json, touched},
    jobs,
    open::Write,
    purchases,
    rack::{by_tag, enter, record},
};
use crate::domain::{
    estimate::Estimate,
    measure::Money,
    nesting::booking::SharedPlan,
    quote::{InvalidTransition, StageKind},
    rack::{Movement, State},
    shop::{RackPiece, Stocked},
};

/// What became of reserving.
#[must_use]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reserved {
    Done,
    /// These are no longer open to the job, or no longer as they were planned with; nothing was changed.
    Taken(Vec<String>),
    /// The job is not accepted, or was released already.
    Closed,
}

/// A job as it goes to the workshop.
#[derive(Clone, Copy, Debug)]
pub struct NewRelease<'a> {
    pub job: JobId,
    /// The version of the need, and the variant with its version, that the estimate was made from.
    pub need: Version,
    pub variant: (VariantId, Version),
    /// With its cutting planned from the rack.
    pub estimate: &'a Estimate,
    /// The pieces that the plan takes, as it was made with them.
    pub pieces: &'a [RackPiece],
    /// The orders by which it was known what of the rack was bought for whom.
    pub seen: OrdersSeen,
    /// Tags of pieces that were bought for other jobs, with those: taken because somebody said so.
    pub bought_for_others: &'a [(JobId, String)],
    /// For the trail.
    pub what: &'a str,
}

/// What became of a release.
#[must_use]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Released {
    Done,
    /// These are no longer open to the job, or no longer as they were planned with; nothing was changed.
    Taken(Vec<String>),
    /// Need or design were saved, or something was ordered or came, since the estimate was made: make it again.
    Changed,
    Refused(InvalidTransition),
    Missing,
}

/// What a job was released with.
#[derive(Clone, Debug, PartialEq)]
pub struct Release {
    /// With the cutting that was booked for it.
    pub estimate: Estimate,
    /// The plan over the parts of several jobs that its cutting is of; none of a job that was released by itself.
    pub shared: Option<SharedPlan>,
    pub at: Timestamp,
    pub who: String,
    /// When its remainders returned, and who brought them.
    pub returned: Option<(Timestamp, String)>,
    /// Tags of the remainders that came back from the job.
    pub back: Vec<String>,
}

/// A remainder of a released job that goes on the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct Remainder {
    /// The tag of the piece that it was sawn from; none of what was bought.
    pub from: Option<String>,
    pub stock: Stocked,
    pub worth: Money,
    pub origin: String,
}

/// What became of remainders.
#[must_use]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Came {
    /// With these tags.
    Back(Vec<String>),
    /// They did before.
    Already,
    NotReleased,
}

impl Store {
    /// Reserves these pieces for an accepted job, all or none; others that it has are freed.
    pub async fn reserve_for_job(&self, job: JobId, pieces: &[RackPiece], by: By<'_>) -> Result<Reserved> {
        let mut tx = self.write().await?;
        let stage = jobs::stage_of(&mut tx, job).await?;
        if stage.is_none_or(|stage| stage.kind() != StageKind::Accepted) {
            return Ok(Reserved::Closed);
        }
        let taken = hold(&mut tx, job, pieces, by).await?;
        if !taken.is_empty() {
            return Ok(Reserved::Taken(taken));
        }
        note(&mut tx, by, &format!("reserved on the rack: {}", listed(pieces)), Subject::Job(job)).await?;
        tx.commit().await?;
        Ok(Reserved::Done)
    }

    /// Releases an accepted job to the workshop: its pieces are booked as cut, others that it had are freed, and what is cut is kept.
    pub async fn release(&self, new: &NewRelease<'_>, by: By<'_>) -> Result<Released> {
        let mut tx = self.write().await?;
        let outcome = release(&mut tx, new, None, by).await?;
        if outcome == Released::Done {
            tx.commit().await?;
        }
        Ok(outcome)
    }

    /// Releases several jobs by one plan: all of them or none. What became of the first that could not be, or of all.
    pub async fn release_together(&self, all: &[NewRelease<'_>], shared: &SharedPlan, by: By<'_>) -> Result<Released> {
        let mut tx = self.write().await?;
        let body = to_json("a release", shared)?;
        let joint = sqlx::query!("INSERT INTO joint_release (body) VALUES ($1)", body);
        let joint = joint.execute(&mut *tx).await?.last_insert_rowid();
        for new in all {
            let outcome = release(&mut tx, new, Some(joint), by).await?;
            if outcome != Released::Done {
                return Ok(outcome);
            }
        }
        tx.commit().await?;
        Ok(Released::Done)
    }

    /// What a job was released with; none of a job that was not, or that went to the shop before releases were kept.
    pub async fn job_release(&self, job: JobId) -> Result<Option<Release>> {
        let row = sqlx::query!(
            r#"SELECT r.body, r.released_at, r.released_by, r.returned_at, r.returned_by, j.body AS "shared?: String"
               FROM job_release r LEFT JOIN joint_release j ON j.id = r.joint_id WHERE r.job_id = $1"#,
            job.0
        );
        let Some(row) = row.fetch_optional(&self.reads).await? else { return Ok(None) };
        let back = sqlx::query_scalar!(
            "SELECT p.tag FROM movement m JOIN piece p ON p.id = m.piece_id WHERE m.kind = 'returned' AND m.job_id = $1
             ORDER BY p.id",
            job.0
        )
        .fetch_all(&self.reads)
        .await?;
        let at = |column| cell("job_release", column, job);
        let returned_at = at("returned_at").maybe_time(row.returned_at)?;
        Ok(Some(Release {
            estimate: at("body").json(&row.body)?,
            shared: row.shared.map(|shared| cell("joint_release", "body", job).json(&shared)).transpose()?,
            at: at("released_at").time(row.released_at)?,
            who: row.released_by,
            returned: returned_at.zip(row.returned_by),
            back,
        }))
    }

    /// Puts remainders of a released job on the rack, once; none of them is a way to say that nothing was worth keeping.
    pub async fn return_remainders(
        &self,
        job: JobId,
        remainders: &[Remainder],
        place: &str,
        by: By<'_>,
    ) -> Result<Came> {
        let mut tx = self.write().await?;
        let row = sqlx::query!("SELECT returned_at FROM job_release WHERE job_id = $1", job.0);
        let Some(row) = row.fetch_optional(&mut *tx).await? else { return Ok(Came::NotReleased) };
        if row.returned_at.is_some() {
            return Ok(Came::Already);
        }
        let mut tags = Vec::new();
        for remainder in remainders {
            let from = match &remainder.from {
                Some(tag) => Some(id_of(&mut tx, tag).await?),
                None => None,
            };
            let new = NewPiece {
                stock: remainder.stock.clone(),
                worth: remainder.worth,
                sawn_here: true,
                place: place.to_owned(),
                origin: remainder.origin.clone(),
            };
            tags.push(enter(&mut tx, &new, from, Movement::Returned, Some(job), by).await?);
        }
        let at = by.at.as_millisecond();
        let done = sqlx::query!(
            "UPDATE job_release SET returned_at = $1, returned_by = $2 WHERE job_id = $3",
            at,
            by.who,
            job.0
        )
        .execute(&mut *tx)
        .await?;
        touched("job_release", &done, 1)?;
        let what = if tags.is_empty() { "nothing".to_owned() } else { tags.join(", ") };
        note(&mut tx, by, &format!("returned to the rack: {what}"), Subject::Job(job)).await?;
        tx.commit().await?;
        Ok(Came::Back(tags))
    }
}

async fn release(tx: &mut Write, new: &NewRelease<'_>, joint: Option<i64>, by: By<'_>) -> Result<Released> {
    let (job, variant) = (new.job, new.variant.0);
    let now = sqlx::query!(
        "SELECT j.version AS need, j.number, v.version FROM job j JOIN variant v ON v.job_id = j.id WHERE j.id = $1 AND v.id = $2",
        job.0,
        variant.0
    );
    let Some(now) = now.fetch_optional(&mut **tx).await? else { return Ok(Released::Missing) };
    if (now.need, now.version) != (new.need.0, new.variant.1.0) || purchases::seen(tx).await? != new.seen {
        return Ok(Released::Changed);
    }
    let Some(stage) = jobs::stage_of(tx, job).await? else { return Ok(Released::Missing) };
    let stage = match stage.start(by.at) {
        Ok(stage) => stage,
        Err(refused) => return Ok(Released::Refused(refused)),
    };
    let taken = hold(tx, job, new.pieces, by).await?;
    if !taken.is_empty() {
        return Ok(Released::Taken(taken));
    }
    for piece in new.pieces {
        let id = id_of(tx, &piece.tag).await?;
        record(tx, id, Movement::Cut, Some(job), None, "", by).await?;
        note(tx, by, Movement::Cut.label(), Subject::Piece(&piece.tag)).await?;
    }
    let (body, at) = (to_json("a release", new.estimate)?, by.at.as_millisecond());
    let done = sqlx::query!(
        "INSERT INTO job_release (job_id, body, released_at, released_by, joint_id) VALUES ($1, $2, $3, $4, $5)",
        job.0,
        body,
        at,
        by.who,
        joint
    )
    .execute(&mut **tx)
    .await?;
    touched("job_release", &done, 1)?;
    jobs::put_stage(tx, job, &stage, by).await?;
    note(tx, by, new.what, Subject::Job(job)).await?;
    for (owner, tag) in new.bought_for_others {
        note(tx, by, &format!("{tag}, bought for this job, was cut for job {}", now.number), Subject::Job(*owner))
            .await?;
    }
    Ok(Released::Done)
}

fn listed(pieces: &[RackPiece]) -> String {
    if pieces.is_empty() {
        return "nothing".to_owned();
    }
    pieces.iter().map(|piece| piece.tag.as_str()).collect::<Vec<_>>().join(", ")
}

async fn id_of(tx: &mut Write, tag: &str) -> Result<PieceId> {
    let piece = by_tag(tx, tag).await?;
    cell("piece", "tag", tag).needed(piece).map(|piece| piece.id)
}

/// Makes these pieces, and no others, the ones reserved for a job. Tags of those that it cannot have; nobody commits then.
async fn hold(tx: &mut Write, job: JobId, wanted: &[RackPiece], by: By<'_>) -> Result<Vec<String>> {
    let (mut taken, mut free) = (Vec::new(), Vec::new());
    for piece in wanted {
        match by_tag(tx, &piece.tag).await? {
            Some(now) if now.state.is_open_to(job) && now.on_rack == *piece => {
                free.extend((now.state == State::Free).then_some((now.id, &piece.tag)));
            }
            _ => taken.push(piece.tag.clone()),
        }
    }
    if !taken.is_empty() {
        return Ok(taken);
    }
    let wanted: BTreeSet<&str> = wanted.iter().map(|piece| piece.tag.as_str()).collect();
    let held = sqlx::query!(r#"SELECT id AS "id!", tag FROM piece WHERE job_id = $1 ORDER BY id"#, job.0)
        .fetch_all(&mut **tx)
        .await?;
    for piece in held.iter().filter(|piece| !wanted.contains(piece.tag.as_str())) {
        record(tx, PieceId(piece.id), Movement::Freed, Some(job), None, "", by).await?;
        note(tx, by, Movement::Freed.label(), Subject::Piece(&piece.tag)).await?;
    }
    for (id, tag) in free {
        record(tx, id, Movement::Reserved, Some(job), None, "", by).await?;
        note(tx, by, Movement::Reserved.label(), Subject::Piece(tag)).await?;
    }
    Ok(taken)
}
