//! The designs of a job, side by side; one of them is the job's chosen one.

use jiff::{Timestamp, civil::Date};
use rust_decimal::Decimal;

use super::{
    By, Conflict, JobId, Result, Save, Store, VariantId, Version,
    audit::{Subject, note, note_change},
    error::{cell, to_json, touched},
    jobs,
    open::Write,
};
use crate::domain::{
    measure::{Mass, Money},
    trailer::{Design, Offer},
};

/// The figures of a variant's estimate that lists show; written with the spec they follow from.
#[derive(Clone, Debug, PartialEq)]
pub struct Headline {
    pub price: Money,
    pub empty_mass: Mass,
    pub failing_checks: u32,
    /// Of the failing ones, those that nobody has answered in writing.
    pub unanswered_checks: u32,
    /// The day of the oldest price in it.
    pub oldest_price: Option<Date>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Variant {
    pub id: VariantId,
    pub job: JobId,
    pub name: String,
    pub chosen: bool,
    pub design: Design,
    pub offer: Offer,
    pub version: Version,
    pub changed_at: Timestamp,
    pub changed_by: String,
    /// None while the spec cannot be built.
    pub headline: Option<Headline>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct NewVariant {
    /// Unique within its job; a name that is taken gets a number behind it.
    pub name: String,
    pub design: Design,
    pub offer: Offer,
    pub headline: Option<Headline>,
}

#[derive(Debug, Default, sqlx::FromRow)]
pub(super) struct HeadlineRow {
    price: Option<String>,
    empty_mass_ug: Option<i64>,
    failing_checks: Option<i64>,
    unanswered_checks: Option<i64>,
    oldest_price_day: Option<String>,
}

impl HeadlineRow {
    fn write(headline: Option<&Headline>) -> Self {
        headline.map_or_else(Self::default, |headline| Self {
            price: Some(headline.price.0.to_string()),
            empty_mass_ug: Some(headline.empty_mass.micrograms()),
            failing_checks: Some(i64::from(headline.failing_checks)),
            unanswered_checks: Some(i64::from(headline.unanswered_checks)),
            oldest_price_day: headline.oldest_price.map(|day| day.to_string()),
        })
    }

    pub fn read(self, id: i64) -> Result<Option<Headline>> {
        let at = |column| cell("variant", column, id);
        let Some(price) = self.price else { return Ok(None) };
        let price: Decimal = price.parse().map_err(|why| at("price").unreadable(why))?;
        let count = |column, number| at(column).needed(number).and_then(|number| at(column).count(number));
        Ok(Some(Headline {
            price: Money(price),
            empty_mass: Mass::from_micrograms(at("empty_mass_ug").needed(self.empty_mass_ug)?),
            failing_checks: count("failing_checks", self.failing_checks)?,
            unanswered_checks: count("unanswered_checks", self.unanswered_checks)?,
            oldest_price: self.oldest_price_day.map(|day| at("oldest_price_day").day(&day)).transpose()?,
        }))
    }
}

struct Row {
    id: i64,
    job_id: i64,
    name: String,
    chosen: i64,
    design: String,
    offer: String,
    version: i64,
    changed_at: i64,
    changed_by: String,
    price: Option<String>,
    empty_mass_ug: Option<i64>,
    failing_checks: Option<i64>,
    unanswered_checks: Option<i64>,
    oldest_price_day: Option<String>,
}

impl TryFrom<Row> for Variant {
    type Error = super::Error;

    fn try_from(row: Row) -> Result<Self> {
        let at = |column| cell("variant", column, row.id);
        let headline = HeadlineRow {
            price: row.price,
            empty_mass_ug: row.empty_mass_ug,
            failing_checks: row.failing_checks,
            unanswered_checks: row.unanswered_checks,
            oldest_price_day: row.oldest_price_day,
        };
        Ok(Self {
            id: VariantId(row.id),
            job: JobId(row.job_id),
            name: row.name,
            chosen: row.chosen == 1,
            design: at("design").json(&row.design)?,
            offer: at("offer").json(&row.offer)?,
            version: Version(row.version),
            changed_at: at("changed_at").time(row.changed_at)?,
            changed_by: row.changed_by,
            headline: headline.read(row.id)?,
        })
    }
}

/// What the audit trail keeps of a variant.
#[derive(serde::Serialize)]
struct Sides<'a> {
    design: &'a Design,
    offer: &'a Offer,
}

impl Store {
    /// The variants of a job, the oldest first.
    pub async fn variants(&self, job: JobId) -> Result<Vec<Variant>> {
        let rows = sqlx::query_as!(
            Row,
            r#"SELECT id AS "id!", job_id, name, chosen, design, offer, version, changed_at, changed_by,
               price, empty_mass_ug, failing_checks, unanswered_checks, oldest_price_day
               FROM variant WHERE job_id = $1 ORDER BY id"#,
            job.0
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter().map(Variant::try_from).collect()
    }

    pub async fn variant(&self, id: VariantId) -> Result<Option<Variant>> {
        let mut connection = self.reads.acquire().await?;
        find(&mut connection, id).await
    }

    /// Saves design and offer with the headline that follows from them.
    pub async fn save_variant(
        &self,
        id: VariantId,
        read: Version,
        (design, offer): (&Design, &Offer),
        headline: Option<&Headline>,
        by: By<'_>,
    ) -> Result<Save<(Design, Offer)>> {
        let mut tx = self.write().await?;
        let Some(now) = find(&mut tx, id).await? else { return Ok(Save::Missing) };
        if now.version != read {
            return Ok(Save::Conflict(Box::new(Conflict {
                theirs: (now.design, now.offer),
                version: now.version,
                who: now.changed_by,
                when: now.changed_at,
            })));
        }
        let version = read.next();
        let (design_text, offer_text) = (to_json("the design", design)?, to_json("the offer", offer)?);
        let at = by.at.as_millisecond();
        let done = sqlx::query!(
            "UPDATE variant SET design = $1, offer = $2, version = $3, changed_at = $4, changed_by = $5 WHERE id = $6",
            design_text,
            offer_text,
            version.0,
            at,
            by.who,
            id.0
        )
        .execute(&mut *tx)
        .await?;
        touched("variant", &done, 1)?;
        put_headline(&mut tx, id, headline).await?;
        jobs::touch(&mut tx, now.job, by).await?;
        let what = format!("saved the design \"{}\"", now.name);
        let (before, after) = (Sides { design: &now.design, offer: &now.offer }, Sides { design, offer });
        note_change(&mut tx, by, &what, Subject::Job(now.job), Some(&before), &after).await?;
        tx.commit().await?;
        Ok(Save::Saved(version))
    }

    /// Writes the headline alone, after prices or norms moved; the spec and its version stay.
    pub async fn refresh_headline(&self, id: VariantId, headline: Option<&Headline>) -> Result<()> {
        let mut tx = self.write().await?;
        put_headline(&mut tx, id, headline).await?;
        Ok(tx.commit().await?)
    }

    /// Adds a variant beside the others. None when there is no such job.
    pub async fn add_variant(&self, job: JobId, new: &NewVariant, by: By<'_>) -> Result<Option<VariantId>> {
        let mut tx = self.write().await?;
        if !jobs::exists(&mut tx, job).await? {
            return Ok(None);
        }
        let name = free_name(&mut tx, job, &new.name, None).await?;
        let id = insert(&mut tx, job, &NewVariant { name: name.clone(), ..new.clone() }, false, by).await?;
        jobs::touch(&mut tx, job, by).await?;
        note(&mut tx, by, &format!("added the variant \"{name}\""), Subject::Job(job)).await?;
        tx.commit().await?;
        Ok(Some(id))
    }

    /// Gives a variant another name; the name it got, or None when there is no such variant.
    pub async fn rename_variant(&self, id: VariantId, name: &str, by: By<'_>) -> Result<Option<String>> {
        let mut tx = self.write().await?;
        let Some(now) = find(&mut tx, id).await? else { return Ok(None) };
        let name = free_name(&mut tx, now.job, name, Some(id)).await?;
        let done = sqlx::query!("UPDATE variant SET name = $1 WHERE id = $2", name, id.0).execute(&mut *tx).await?;
        touched("variant", &done, 1)?;
        jobs::touch(&mut tx, now.job, by).await?;
        note(&mut tx, by, &format!("renamed the variant \"{}\" to \"{name}\"", now.name), Subject::Job(now.job))
            .await?;
        tx.commit().await?;
        Ok(Some(name))
    }

    /// Makes a variant the one that lists show and that a quote is issued from. False when there is no such variant.
    pub async fn choose_variant(&self, id: VariantId, by: By<'_>) -> Result<bool> {
        let mut tx = self.write().await?;
        let Some(now) = find(&mut tx, id).await? else { return Ok(false) };
        if now.chosen {
            return Ok(true);
        }
        let done = sqlx::query!("UPDATE variant SET chosen = 0 WHERE job_id = $1 AND chosen = 1", now.job.0)
            .execute(&mut *tx)
            .await?;
        touched("variant", &done, 1)?;
        let done = sqlx::query!("UPDATE variant SET chosen = 1 WHERE id = $1", id.0).execute(&mut *tx).await?;
        touched("variant", &done, 1)?;
        jobs::touch(&mut tx, now.job, by).await?;
        note(&mut tx, by, &format!("chose the variant \"{}\"", now.name), Subject::Job(now.job)).await?;
        tx.commit().await?;
        Ok(true)
    }

    /// Drops a variant that is not the chosen one; issued revisions keep theirs. False when it is chosen or not there.
    pub async fn drop_variant(&self, id: VariantId, by: By<'_>) -> Result<bool> {
        let mut tx = self.write().await?;
        let Some(now) = find(&mut tx, id).await?.filter(|now| !now.chosen) else { return Ok(false) };
        let done = sqlx::query!("DELETE FROM variant WHERE id = $1", id.0).execute(&mut *tx).await?;
        touched("variant", &done, 1)?;
        jobs::touch(&mut tx, now.job, by).await?;
        let gone = Sides { design: &now.design, offer: &now.offer };
        let what = format!("dropped the variant \"{}\"", now.name);
        note_change(&mut tx, by, &what, Subject::Job(now.job), None, &gone).await?;
        tx.commit().await?;
        Ok(true)
    }
}

pub(super) async fn insert(
    tx: &mut Write,
    job: JobId,
    new: &NewVariant,
    chosen: bool,
    by: By<'_>,
) -> Result<VariantId> {
    let (design, offer) = (to_json("the design", &new.design)?, to_json("the offer", &new.offer)?);
    let (at, version, chosen) = (by.at.as_millisecond(), Version::FIRST.0, i64::from(chosen));
    let id = sqlx::query!(
        "INSERT INTO variant (job_id, name, chosen, design, offer, version, changed_at, changed_by)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        job.0,
        new.name,
        chosen,
        design,
        offer,
        version,
        at,
        by.who
    )
    .execute(&mut **tx)
    .await?
    .last_insert_rowid();
    put_headline(tx, VariantId(id), new.headline.as_ref()).await?;
    Ok(VariantId(id))
}

pub(super) async fn put_headline(tx: &mut Write, id: VariantId, headline: Option<&Headline>) -> Result<()> {
    let row = HeadlineRow::write(headline);
    let done = sqlx::query!(
        "UPDATE variant SET price = $1, empty_mass_ug = $2, failing_checks = $3, unanswered_checks = $4,
         oldest_price_day = $5 WHERE id = $6",
        row.price,
        row.empty_mass_ug,
        row.failing_checks,
        row.unanswered_checks,
        row.oldest_price_day,
        id.0
    )
    .execute(&mut **tx)
    .await?;
    touched("variant", &done, 1)
}

async fn find(connection: &mut sqlx::SqliteConnection, id: VariantId) -> Result<Option<Variant>> {
    sqlx::query_as!(
        Row,
        r#"SELECT id AS "id!", job_id, name, chosen, design, offer, version, changed_at, changed_by,
           price, empty_mass_ug, failing_checks, unanswered_checks, oldest_price_day
           FROM variant WHERE id = $1"#,
        id.0
    )
    .fetch_optional(connection)
    .await?
    .map(Variant::try_from)
    .transpose()
}

/// The name, or the first of "name 2", "name 3" … that no other variant of the job has.
async fn free_name(tx: &mut Write, job: JobId, wanted: &str, but: Option<VariantId>) -> Result<String> {
    let but = but.map(|id| id.0);
    let taken = sqlx::query_scalar!("SELECT name FROM variant WHERE job_id = $1 AND id IS NOT $2", job.0, but)
        .fetch_all(&mut **tx)
        .await?;
    let tries = std::iter::once(wanted.to_owned()).chain((2_u64..).map(|count| format!("{wanted} {count}")));
    // One more try than names are taken always finds a free one.
    Ok(tries.take(taken.len() + 1).find(|name| !taken.contains(name)).unwrap_or_else(|| wanted.to_owned()))
}
