//! Issued quotes. A revision is written once; triggers in the database refuse to change or delete it.

use jiff::{Timestamp, civil::Date};
use rust_decimal::Decimal;

use super::{
    By, JobId, Result, RevisionId, Store, VariantId, Version,
    audit::{Subject, note},
    error::cell,
    jobs,
    open::Write,
};
use crate::domain::{
    measure::Money,
    quote::{Frozen, InvalidTransition},
};

/// What is frozen: the whole estimate with all it was made from, already serialised.
#[derive(Clone, Copy, Debug)]
pub struct NewRevision<'a> {
    pub job: JobId,
    /// The version of the need, and the variant with its version, that the estimate was made from.
    pub need: Version,
    pub variant: (VariantId, Version),
    /// What the customer pays, tax included: for lists.
    pub price: Money,
    pub body: &'a serde_json::Value,
    /// The last day on which the customer may accept.
    pub valid_until: Date,
    /// Version of the program that made the estimate.
    pub program: &'a str,
}

/// What became of issuing a quote.
#[must_use]
#[derive(Clone, Debug, PartialEq)]
pub enum Issued {
    Done {
        id: RevisionId,
        number: u32,
    },
    /// Need or design were saved since the estimate was made: make it again.
    Changed,
    Refused(InvalidTransition),
    Missing,
}

/// A revision without its body.
#[derive(Clone, Debug, PartialEq)]
pub struct RevisionHead {
    pub id: RevisionId,
    pub job: JobId,
    /// Counts from 1 within the job.
    pub number: u32,
    pub variant_name: String,
    pub price: Money,
    pub issued_at: Timestamp,
    pub issued_by: String,
    pub valid_until: Date,
    pub program: String,
    /// When the next revision of the job was issued.
    pub superseded_at: Option<Timestamp>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Revision {
    pub head: RevisionHead,
    pub frozen: Frozen,
}

struct HeadRow {
    id: i64,
    job_id: i64,
    number: i64,
    variant_name: String,
    price: String,
    issued_at: i64,
    issued_by: String,
    valid_until: String,
    program: String,
    superseded_at: Option<i64>,
}

impl TryFrom<HeadRow> for RevisionHead {
    type Error = super::Error;

    fn try_from(row: HeadRow) -> Result<Self> {
        let at = |column| cell("revision", column, row.id);
        let price: Decimal = row.price.parse().map_err(|why| at("price").unreadable(why))?;
        Ok(Self {
            id: RevisionId(row.id),
            job: JobId(row.job_id),
            number: at("number").count(row.number)?,
            variant_name: row.variant_name,
            price: Money(price),
            issued_at: at("issued_at").time(row.issued_at)?,
            issued_by: row.issued_by,
            valid_until: at("valid_until").day(&row.valid_until)?,
            program: row.program,
            superseded_at: at("issued_at").maybe_time(row.superseded_at)?,
        })
    }
}

impl Store {
    /// Freezes a quote as the next revision of its job, and moves the job to quoted.
    pub async fn issue(&self, new: &NewRevision<'_>, by: By<'_>) -> Result<Issued> {
        let mut tx = self.write().await?;
        let (variant, job) = (new.variant.0, new.job);
        let Some(now) = sqlx::query!(
            "SELECT j.version AS need, v.version, v.name FROM job j JOIN variant v ON v.job_id = j.id
             WHERE j.id = $1 AND v.id = $2",
            job.0,
            variant.0
        )
        .fetch_optional(&mut *tx)
        .await?
        else {
            return Ok(Issued::Missing);
        };
        if (now.need, now.version) != (new.need.0, new.variant.1.0) {
            return Ok(Issued::Changed);
        }
        let Some(stage) = jobs::stage_of(&mut tx, job).await? else { return Ok(Issued::Missing) };
        let stage = match stage.quote(by.at, new.valid_until) {
            Ok(stage) => stage,
            Err(refused) => return Ok(Issued::Refused(refused)),
        };
        let last = latest_number(&mut tx, job).await?.unwrap_or(0);
        let number = last.saturating_add(1);
        let frozen = Frozen::new(new.body);
        let (at, price, valid_until) = (by.at.as_millisecond(), new.price.0.to_string(), new.valid_until.to_string());
        let id = sqlx::query!(
            "INSERT INTO revision (job_id, number, variant_name, price, body, sha256, issued_at, issued_by, valid_until,
             program) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
            job.0,
            number,
            now.name,
            price,
            frozen.json,
            frozen.sha256,
            at,
            by.who,
            valid_until,
            new.program
        )
        .execute(&mut *tx)
        .await?
        .last_insert_rowid();
        jobs::put_stage(&mut tx, job, &stage, by).await?;
        note(&mut tx, by, &format!("issued revision {number} of \"{}\"", now.name), Subject::Job(job)).await?;
        tx.commit().await?;
        Ok(Issued::Done { id: RevisionId(id), number })
    }

    /// The revisions of a job, the latest first.
    pub async fn revisions(&self, job: JobId) -> Result<Vec<RevisionHead>> {
        let rows = sqlx::query_as!(
            HeadRow,
            r#"SELECT r.id AS "id!", r.job_id, r.number, r.variant_name, r.price, r.issued_at, r.issued_by, r.valid_until,
               r.program, n.issued_at AS "superseded_at?"
               FROM revision r LEFT JOIN revision n ON n.job_id = r.job_id AND n.number = r.number + 1
               WHERE r.job_id = $1 ORDER BY r.number DESC"#,
            job.0
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter().map(RevisionHead::try_from).collect()
    }

    pub async fn revision(&self, id: RevisionId) -> Result<Option<Revision>> {
        let mut connection = self.reads.acquire().await?;
        find(&mut connection, id).await
    }

    /// Every revision whose body is not the one that was hashed: tampered with past the program, or a damaged disk.
    pub async fn broken_revisions(&self) -> Result<Vec<RevisionId>> {
        let mut broken = Vec::new();
        let mut after = 0;
        // One at a time: a body may be large, and there may be many.
        while let Some(row) =
            sqlx::query!(r#"SELECT id AS "id!", body, sha256 FROM revision WHERE id > $1 ORDER BY id LIMIT 1"#, after)
                .fetch_optional(&self.reads)
                .await?
        {
            after = row.id;
            if !(Frozen { json: row.body, sha256: row.sha256 }).is_whole() {
                broken.push(RevisionId(row.id));
            }
        }
        Ok(broken)
    }
}

pub(super) async fn find(connection: &mut sqlx::SqliteConnection, id: RevisionId) -> Result<Option<Revision>> {
    let Some(head) = sqlx::query_as!(
        HeadRow,
        r#"SELECT r.id AS "id!", r.job_id, r.number, r.variant_name, r.price, r.issued_at, r.issued_by, r.valid_until,
           r.program, n.issued_at AS "superseded_at?"
           FROM revision r LEFT JOIN revision n ON n.job_id = r.job_id AND n.number = r.number + 1
           WHERE r.id = $1"#,
        id.0
    )
    .fetch_optional(&mut *connection)
    .await?
    else {
        return Ok(None);
    };
    let frozen = sqlx::query_as!(Frozen, "SELECT body AS json, sha256 FROM revision WHERE id = $1", id.0)
        .fetch_one(connection)
        .await?;
    Ok(Some(Revision { head: head.try_into()?, frozen }))
}

/// The number of the job's latest revision.
pub(super) async fn latest_number(tx: &mut Write, job: JobId) -> Result<Option<u32>> {
    let last: Option<i64> =
        sqlx::query_scalar!("SELECT max(number) FROM revision WHERE job_id = $1", job.0).fetch_one(&mut **tx).await?;
    last.map(|last| cell("revision", "number", job).count(last)).transpose()
}
