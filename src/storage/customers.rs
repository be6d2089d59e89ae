//! Customers. What identifies a person stands here, in decisions and in messages only, and can be erased from all three.

use super::{
    By, Conflict, CustomerId, Result, Save, Store, Version,
    audit::{Subject, note},
    error::{cell, touched},
    job_list::search_text,
    jobs::RENAMED,
    open::Write,
};
use crate::domain::quote::Move;

/// How a customer is called and reached; every field but the name may be empty.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Contact {
    pub name: String,
    pub email: String,
    pub phone: String,
    pub address: String,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Customer {
    pub id: CustomerId,
    pub contact: Contact,
    pub version: Version,
    /// On request: name, contact and words are gone for good.
    pub erased: bool,
}

/// Whose a new job is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ForCustomer {
    New(Contact),
    Known(CustomerId),
}

/// What stands for the name of an erased customer.
const ERASED: &str = "(erased)";

struct Row {
    id: i64,
    name: String,
    email: String,
    phone: String,
    address: String,
    version: i64,
    changed_at: i64,
    changed_by: String,
    erased_at: Option<i64>,
}

impl From<Row> for Customer {
    fn from(row: Row) -> Self {
        Self {
            id: CustomerId(row.id),
            contact: Contact { name: row.name, email: row.email, phone: row.phone, address: row.address },
            version: Version(row.version),
            erased: row.erased_at.is_some(),
        }
    }
}

impl Store {
    pub async fn customer(&self, id: CustomerId) -> Result<Option<Customer>> {
        let mut connection = self.reads.acquire().await?;
        Ok(row(&mut connection, id).await?.map(Customer::from))
    }

    /// Customers by name, for choosing one for a new job; the erased are left out.
    pub async fn customers(&self, offset: u32, limit: u32) -> Result<Vec<Customer>> {
        let rows = sqlx::query_as!(
            Row,
            r#"SELECT id AS "id!", name, email, phone, address, version, changed_at, changed_by, erased_at
               FROM customer WHERE erased_at IS NULL ORDER BY name, id LIMIT $1 OFFSET $2"#,
            limit,
            offset
        )
        .fetch_all(&self.reads)
        .await?;
        Ok(rows.into_iter().map(Customer::from).collect())
    }

    /// Saves name and contact. An erased customer is [`Save::Missing`].
    pub async fn save_customer(
        &self,
        id: CustomerId,
        read: Version,
        contact: &Contact,
        by: By<'_>,
    ) -> Result<Save<Contact>> {
        let mut tx = self.write().await?;
        let Some(now) = row(&mut tx, id).await?.filter(|row| row.erased_at.is_none()) else {
            return Ok(Save::Missing);
        };
        if now.version != read.0 {
            let when = cell("customer", "changed_at", id).time(now.changed_at)?;
            let who = now.changed_by.clone();
            let Customer { contact: theirs, version, .. } = now.into();
            return Ok(Save::Conflict(Box::new(Conflict { theirs, version, who, when })));
        }
        put(&mut tx, id, read.next(), contact, None, by).await?;
        // Without the values: the trail must not keep what may have to be erased.
        note(&mut tx, by, "changed the customer's name or contact", Subject::Customer(id)).await?;
        tx.commit().await?;
        Ok(Save::Saved(read.next()))
    }

    /// Erases what identifies the customer: name, contact, the name and reason in decisions, the words of messages on both
    /// sides, notes and former titles in the trail of their jobs; their links are closed. Issued revisions and their hashes
    /// stay whole, because none of it stands in them: a body holds the estimate and the shop, not whom it is for. False when
    /// there is no such customer. Copies made before still hold all of it.
    pub async fn erase_customer(&self, id: CustomerId, by: By<'_>) -> Result<bool> {
        let mut tx = self.write().await?;
        let Some(now) = row(&mut tx, id).await? else { return Ok(false) };
        let nobody = Contact { name: ERASED.to_owned(), ..Contact::default() };
        put(&mut tx, id, Version(now.version).next(), &nobody, Some(by.at.as_millisecond()), by).await?;
        // As many rows as the customer left behind.
        sqlx::query!(
            "UPDATE decision SET name = '', why = '' WHERE revision_id IN
             (SELECT r.id FROM revision r JOIN job j ON j.id = r.job_id WHERE j.customer_id = $1)",
            id.0
        )
        .execute(&mut *tx)
        .await?;
        sqlx::query!(
            "UPDATE message SET name = CASE author WHEN 'customer' THEN '' ELSE name END, text = '' WHERE job_id IN
             (SELECT id FROM job WHERE customer_id = $1)",
            id.0
        )
        .execute(&mut *tx)
        .await?;
        let at = by.at.as_millisecond();
        sqlx::query!(
            "UPDATE customer_link SET revoked_at = $1 WHERE revoked_at IS NULL AND revision_id IN
             (SELECT r.id FROM revision r JOIN job j ON j.id = r.job_id WHERE j.customer_id = $2)",
            at,
            id.0
        )
        .execute(&mut *tx)
        .await?;
        // Who called and why, and how the job was called before. The line itself stays: none is ever taken out.
        for step in Move::ALL.iter().map(|step| step.label()) {
            let note = format!("{step}: ");
            sqlx::query!(
                "UPDATE audit SET what = $1 WHERE subject = 'job' AND substr(what, 1, length($2)) = $2
                 AND subject_id IN (SELECT CAST(id AS TEXT) FROM job WHERE customer_id = $3)",
                step,
                note,
                id.0
            )
            .execute(&mut *tx)
            .await?;
        }
        sqlx::query!(
            "UPDATE audit SET before = NULL, after = NULL WHERE subject = 'job' AND what = $1
             AND subject_id IN (SELECT CAST(id AS TEXT) FROM job WHERE customer_id = $2)",
            RENAMED,
            id.0
        )
        .execute(&mut *tx)
        .await?;
        note(&mut tx, by, "erased the customer", Subject::Customer(id)).await?;
        tx.commit().await?;
        // The erasure stands whatever becomes of this; a log still in use is emptied when the server stops.
        let _ = self.empty_log().await;
        Ok(true)
    }
}

pub(super) async fn insert(tx: &mut Write, contact: &Contact, by: By<'_>) -> Result<CustomerId> {
    let (at, version) = (by.at.as_millisecond(), Version::FIRST.0);
    let id = sqlx::query!(
        "INSERT INTO customer (name, email, phone, address, version, changed_at, changed_by)
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
        contact.name,
        contact.email,
        contact.phone,
        contact.address,
        version,
        at,
        by.who
    )
    .execute(&mut **tx)
    .await?
    .last_insert_rowid();
    note(tx, by, "entered the customer", Subject::Customer(CustomerId(id))).await?;
    Ok(CustomerId(id))
}

pub(super) async fn name_of(tx: &mut Write, id: CustomerId) -> Result<Option<String>> {
    Ok(row(tx, id).await?.map(|row| row.name))
}

async fn row(connection: &mut sqlx::SqliteConnection, id: CustomerId) -> Result<Option<Row>> {
    Ok(sqlx::query_as!(
        Row,
        r#"SELECT id AS "id!", name, email, phone, address, version, changed_at, changed_by, erased_at
           FROM customer WHERE id = $1"#,
        id.0
    )
    .fetch_optional(connection)
    .await?)
}

/// Writes the customer, and the name into what the search box finds of their jobs.
async fn put(
    tx: &mut Write,
    id: CustomerId,
    version: Version,
    contact: &Contact,
    erased_at: Option<i64>,
    by: By<'_>,
) -> Result<()> {
    let at = by.at.as_millisecond();
    let done = sqlx::query!(
        "UPDATE customer SET name = $1, email = $2, phone = $3, address = $4, version = $5, changed_at = $6,
         changed_by = $7, erased_at = $8 WHERE id = $9",
        contact.name,
        contact.email,
        contact.phone,
        contact.address,
        version.0,
        at,
        by.who,
        erased_at,
        id.0
    )
    .execute(&mut **tx)
    .await?;
    touched("customer", &done, 1)?;
    let jobs = sqlx::query!(r#"SELECT id AS "id!", number, title FROM job WHERE customer_id = $1"#, id.0)
        .fetch_all(&mut **tx)
        .await?;
    for job in jobs {
        let search = search_text(&job.number, &job.title, &contact.name);
        let done = sqlx::query!("UPDATE job SET search = $1 WHERE id = $2", search, job.id).execute(&mut **tx).await?;
        touched("job", &done, 1)?;
    }
    Ok(())
}
