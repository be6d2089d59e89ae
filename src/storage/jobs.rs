//! Jobs: number, title, need and stage.

use jiff::{Timestamp, civil::Date};

use super::{
    By, Conflict, Customer, CustomerId, ForCustomer, Headline, JobId, NewVariant, Result, Save, Store, VariantId,
    Version,
    audit::{Subject, note, note_change},
    customers,
    error::{cell, to_json, touched},
    job_list::search_text,
    open::Write,
    variants,
};
use crate::domain::{
    quote::{InvalidTransition, JobNumber, Stage, StageKind},
    trailer::Need,
};

#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    pub id: JobId,
    pub number: JobNumber,
    pub title: String,
    pub customer: Customer,
    pub stage: Stage,
    pub need: Need,
    /// Of the need; the variants have their own.
    pub version: Version,
    pub cloned_from: Option<JobNumber>,
    pub created_at: Timestamp,
    pub updated_at: Timestamp,
}

/// What a job starts with: an empty need and design, or those of an earlier job, or either of them.
#[derive(Clone, Debug, PartialEq)]
pub struct NewJob {
    pub title: String,
    pub customer: ForCustomer,
    pub need: Need,
    /// The first variant, chosen.
    pub variant: NewVariant,
    pub cloned_from: Option<JobId>,
}

/// Its line in the trail holds both titles.
pub(super) const RENAMED: &str = "renamed the job";

/// What became of a move to another stage.
#[must_use]
#[derive(Clone, Debug, PartialEq)]
pub enum Moved {
    To(Stage),
    Refused(InvalidTransition),
    Missing,
}

/// The columns of a stage; which of them a stage needs is [`StageRow::read`]'s to know.
#[derive(Clone, Debug, Default, sqlx::FromRow)]
pub(super) struct StageRow {
    stage: String,
    enquired_at: i64,
    quoted_at: Option<i64>,
    valid_until: Option<String>,
    accepted_at: Option<i64>,
    started_at: Option<i64>,
    handed_over_at: Option<i64>,
    declined_at: Option<i64>,
    lapsed_at: Option<i64>,
}

impl StageRow {
    fn write(stage: &Stage) -> Self {
        let time = |at: Timestamp| Some(at.as_millisecond());
        let mut row = Self {
            stage: stage.kind().word().to_owned(),
            enquired_at: stage.enquired_at().as_millisecond(),
            ..Self::default()
        };
        match *stage {
            Stage::Enquiry { .. } => {}
            Stage::Quoted { quoted_at, valid_until, .. } => {
                (row.quoted_at, row.valid_until) = (time(quoted_at), Some(valid_until.to_string()));
            }
            Stage::Accepted { quoted_at, accepted_at, .. } => {
                (row.quoted_at, row.accepted_at) = (time(quoted_at), time(accepted_at));
            }
            Stage::InTheShop { quoted_at, accepted_at, started_at, .. } => {
                (row.quoted_at, row.accepted_at) = (time(quoted_at), time(accepted_at));
                row.started_at = time(started_at);
            }
            Stage::HandedOver { quoted_at, accepted_at, started_at, handed_over_at, .. } => {
                (row.quoted_at, row.accepted_at) = (time(quoted_at), time(accepted_at));
                (row.started_at, row.handed_over_at) = (time(started_at), time(handed_over_at));
            }
            Stage::Declined { quoted_at, declined_at, .. } => {
                (row.quoted_at, row.declined_at) = (quoted_at.and_then(time), time(declined_at));
            }
            Stage::Lapsed { quoted_at, valid_until, lapsed_at, .. } => {
                (row.quoted_at, row.valid_until) = (time(quoted_at), Some(valid_until.to_string()));
                row.lapsed_at = time(lapsed_at);
            }
        }
        row
    }

    pub fn read(&self, id: i64) -> Result<Stage> {
        let at = |column| cell("job", column, id);
        let time = |column, value: Option<i64>| at(column).needed(value).and_then(|value| at(column).time(value));
        let enquired_at = at("enquired_at").time(self.enquired_at)?;
        let quoted_at = || time("quoted_at", self.quoted_at);
        let accepted_at = || time("accepted_at", self.accepted_at);
        let started_at = || time("started_at", self.started_at);
        let valid_until = || {
            let day = at("valid_until").needed(self.valid_until.as_deref())?;
            at("valid_until").day(day)
        };
        Ok(match at("stage").word(&self.stage, StageKind::from_word)? {
            StageKind::Enquiry => Stage::Enquiry { enquired_at },
            StageKind::Quoted => Stage::Quoted { enquired_at, quoted_at: quoted_at()?, valid_until: valid_until()? },
            StageKind::Accepted => {
                Stage::Accepted { enquired_at, quoted_at: quoted_at()?, accepted_at: accepted_at()? }
            }
            StageKind::InTheShop => Stage::InTheShop {
                enquired_at,
                quoted_at: quoted_at()?,
                accepted_at: accepted_at()?,
                started_at: started_at()?,
            },
            StageKind::HandedOver => Stage::HandedOver {
                enquired_at,
                quoted_at: quoted_at()?,
                accepted_at: accepted_at()?,
                started_at: started_at()?,
                handed_over_at: time("handed_over_at", self.handed_over_at)?,
            },
            StageKind::Declined => Stage::Declined {
                enquired_at,
                quoted_at: at("quoted_at").maybe_time(self.quoted_at)?,
                declined_at: time("declined_at", self.declined_at)?,
            },
            StageKind::Lapsed => Stage::Lapsed {
                enquired_at,
                quoted_at: quoted_at()?,
                valid_until: valid_until()?,
                lapsed_at: time("lapsed_at", self.lapsed_at)?,
            },
        })
    }
}

impl Store {
    /// Enters a job as an enquiry with the next number of the year. None when the known customer is not there.
    pub async fn create_job(&self, new: &NewJob, year: i16, by: By<'_>) -> Result<Option<(JobId, JobNumber)>> {
        let mut tx = self.write().await?;
        let customer = match &new.customer {
            ForCustomer::New(contact) => customers::insert(&mut tx, contact, by).await?,
            ForCustomer::Known(id) => *id,
        };
        let Some(customer_name) = customers::name_of(&mut tx, customer).await? else { return Ok(None) };
        let last: Option<i64> =
            sqlx::query_scalar!("SELECT max(sequence) FROM job WHERE year = $1", year).fetch_one(&mut *tx).await?;
        let sequence = cell("job", "sequence", year).count(last.unwrap_or(0))?.saturating_add(1);
        let number = JobNumber { year, sequence };
        let number_text = number.to_string();
        let search = search_text(&number_text, &new.title, &customer_name);
        let stage = StageKind::Enquiry.word();
        let need = to_json("the need", &new.need)?;
        let (at, version) = (by.at.as_millisecond(), Version::FIRST.0);
        let cloned_from = new.cloned_from.map(|id| id.0);
        let id = sqlx::query!(
            "INSERT INTO job (year, sequence, number, title, customer_id, search, stage, enquired_at, need, version,
             need_at, need_by, created_at, updated_at, cloned_from)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $8, $11, $8, $8, $12)",
            year,
            sequence,
            number_text,
            new.title,
            customer.0,
            search,
            stage,
            at,
            need,
            version,
            by.who,
            cloned_from
        )
        .execute(&mut *tx)
        .await?
        .last_insert_rowid();
        variants::insert(&mut tx, JobId(id), &new.variant, true, by).await?;
        note(&mut tx, by, "entered the job", Subject::Job(JobId(id))).await?;
        tx.commit().await?;
        Ok(Some((JobId(id), number)))
    }

    pub async fn job_id(&self, number: JobNumber) -> Result<Option<JobId>> {
        let number = number.to_string();
        let id = sqlx::query_scalar!(r#"SELECT id AS "id!" FROM job WHERE number = $1"#, number)
            .fetch_optional(&self.reads)
            .await?;
        Ok(id.map(JobId))
    }

    pub async fn job(&self, id: JobId) -> Result<Option<Job>> {
        let Some(row) = sqlx::query!(
            r#"SELECT j.number, j.title, j.customer_id, j.stage, j.enquired_at, j.quoted_at, j.valid_until, j.accepted_at,
               j.started_at, j.handed_over_at, j.declined_at, j.lapsed_at, j.need, j.version, j.created_at, j.updated_at,
               o.number AS "cloned_from?"
               FROM job j LEFT JOIN job o ON o.id = j.cloned_from WHERE j.id = $1"#,
            id.0
        )
        .fetch_optional(&self.reads)
        .await?
        else {
            return Ok(None);
        };
        let at = |column| cell("job", column, id);
        let customer = self.customer(CustomerId(row.customer_id)).await?;
        let number = |column, text: String| text.parse().map_err(|why| at(column).unreadable(why));
        let stage = StageRow {
            stage: row.stage,
            enquired_at: row.enquired_at,
            quoted_at: row.quoted_at,
            valid_until: row.valid_until,
            accepted_at: row.accepted_at,
            started_at: row.started_at,
            handed_over_at: row.handed_over_at,
            declined_at: row.declined_at,
            lapsed_at: row.lapsed_at,
        };
        Ok(Some(Job {
            id,
            number: number("number", row.number)?,
            title: row.title,
            customer: at("customer_id").needed(customer)?,
            stage: stage.read(id.0)?,
            need: at("need").json(&row.need)?,
            version: Version(row.version),
            cloned_from: row.cloned_from.map(|text| number("cloned_from", text)).transpose()?,
            created_at: at("created_at").time(row.created_at)?,
            updated_at: at("updated_at").time(row.updated_at)?,
        }))
    }

    /// Saves the need, with the headlines that now follow from it for each variant.
    pub async fn save_need(
        &self,
        id: JobId,
        read: Version,
        need: &Need,
        headlines: &[(VariantId, Option<Headline>)],
        by: By<'_>,
    ) -> Result<Save<Need>> {
        let mut tx = self.write().await?;
        let Some(now) = sqlx::query!("SELECT need, version, need_at, need_by FROM job WHERE id = $1", id.0)
            .fetch_optional(&mut *tx)
            .await?
        else {
            return Ok(Save::Missing);
        };
        let theirs: Need = cell("job", "need", id).json(&now.need)?;
        if now.version != read.0 {
            return Ok(Save::Conflict(Box::new(Conflict {
                theirs,
                version: Version(now.version),
                who: now.need_by,
                when: cell("job", "need_at", id).time(now.need_at)?,
            })));
        }
        let (version, at, text) = (read.next(), by.at.as_millisecond(), to_json("the need", need)?);
        let done = sqlx::query!(
            "UPDATE job SET need = $1, version = $2, need_at = $3, need_by = $4, updated_at = $3 WHERE id = $5",
            text,
            version.0,
            at,
            by.who,
            id.0
        )
        .execute(&mut *tx)
        .await?;
        touched("job", &done, 1)?;
        for (variant, headline) in headlines {
            variants::put_headline(&mut tx, *variant, headline.as_ref()).await?;
        }
        note_change(&mut tx, by, "saved the need", Subject::Job(id), Some(&theirs), need).await?;
        tx.commit().await?;
        Ok(Save::Saved(version))
    }

    /// Gives a job another title, if it still has the one that was read; otherwise the title it has now comes back.
    pub async fn rename_job(&self, id: JobId, read: &str, title: &str, by: By<'_>) -> Result<Option<String>> {
        let mut tx = self.write().await?;
        let Some(now) = sqlx::query!(
            "SELECT j.number, j.title, c.name FROM job j JOIN customer c ON c.id = j.customer_id WHERE j.id = $1",
            id.0
        )
        .fetch_optional(&mut *tx)
        .await?
        else {
            return Ok(None);
        };
        if now.title != read {
            return Ok(Some(now.title));
        }
        let (search, at) = (search_text(&now.number, title, &now.name), by.at.as_millisecond());
        let done = sqlx::query!(
            "UPDATE job SET title = $1, search = $2, updated_at = $3 WHERE id = $4",
            title,
            search,
            at,
            id.0
        )
        .execute(&mut *tx)
        .await?;
        touched("job", &done, 1)?;
        note_change(&mut tx, by, RENAMED, Subject::Job(id), Some(&now.title.as_str()), &title).await?;
        tx.commit().await?;
        Ok(Some(title.to_owned()))
    }

    /// Moves a job to another stage: `store.move_job(id, "started the job", |stage| stage.start(now), by)`.
    pub async fn move_job(
        &self,
        id: JobId,
        what: &str,
        to: impl FnOnce(Stage) -> Result<Stage, InvalidTransition> + Send,
        by: By<'_>,
    ) -> Result<Moved> {
        let mut tx = self.write().await?;
        let Some(stage) = stage_of(&mut tx, id).await? else { return Ok(Moved::Missing) };
        let stage = match to(stage) {
            Ok(stage) => stage,
            Err(refused) => return Ok(Moved::Refused(refused)),
        };
        put_stage(&mut tx, id, &stage, by).await?;
        note(&mut tx, by, what, Subject::Job(id)).await?;
        tx.commit().await?;
        Ok(Moved::To(stage))
    }

    /// Lets every quote lapse whose last day is before `today`; how many.
    pub async fn lapse_overdue(&self, today: Date, by: By<'_>) -> Result<u64> {
        let mut tx = self.write().await?;
        let day = today.to_string();
        let overdue = sqlx::query_scalar!(
            r#"SELECT id AS "id!" FROM job WHERE stage = 'quoted' AND valid_until < $1 ORDER BY id"#,
            day
        )
        .fetch_all(&mut *tx)
        .await?;
        let mut lapsed = 0;
        for id in overdue.into_iter().map(JobId) {
            let Some(Ok(stage)) = stage_of(&mut tx, id).await?.map(|stage| stage.lapse(by.at)) else { continue };
            put_stage(&mut tx, id, &stage, by).await?;
            note(&mut tx, by, "the quote lapsed", Subject::Job(id)).await?;
            lapsed += 1;
        }
        tx.commit().await?;
        Ok(lapsed)
    }
}

pub(super) async fn exists(tx: &mut Write, id: JobId) -> Result<bool> {
    Ok(sqlx::query_scalar!("SELECT count(*) FROM job WHERE id = $1", id.0).fetch_one(&mut **tx).await? == 1)
}

pub(super) async fn touch(tx: &mut Write, id: JobId, by: By<'_>) -> Result<()> {
    let at = by.at.as_millisecond();
    let done = sqlx::query!("UPDATE job SET updated_at = $1 WHERE id = $2", at, id.0).execute(&mut **tx).await?;
    touched("job", &done, 1)
}

pub(super) async fn stage_of(tx: &mut Write, id: JobId) -> Result<Option<Stage>> {
    let row = sqlx::query_as!(
        StageRow,
        "SELECT stage, enquired_at, quoted_at, valid_until, accepted_at, started_at, handed_over_at, declined_at, lapsed_at
         FROM job WHERE id = $1",
        id.0
    )
    .fetch_optional(&mut **tx)
    .await?;
    row.map(|row| row.read(id.0)).transpose()
}

pub(super) async fn put_stage(tx: &mut Write, id: JobId, stage: &Stage, by: By<'_>) -> Result<()> {
    let row = StageRow::write(stage);
    let at = by.at.as_millisecond();
    let done = sqlx::query!(
        "UPDATE job SET stage = $1, quoted_at = $2, valid_until = $3, accepted_at = $4, started_at = $5,
         handed_over_at = $6, declined_at = $7, lapsed_at = $8, updated_at = $9 WHERE id = $10",
        row.stage,
        row.quoted_at,
        row.valid_until,
        row.accepted_at,
        row.started_at,
        row.handed_over_at,
        row.declined_at,
        row.lapsed_at,
        at,
        id.0
    )
    .execute(&mut **tx)
    .await?;
    touched("job", &done, 1)
}
