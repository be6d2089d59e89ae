//! Questions and answers between shop and customer, one thread a job.

use jiff::Timestamp;

use super::{
    By, JobId, MessageId, Result, RevisionId, Store,
    audit::{Subject, note},
    error::{cell, touched},
    jobs,
    open::Write,
};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Author {
    Shop,
    Customer,
}

impl Author {
    const fn word(self) -> &'static str {
        match self {
            Self::Shop => "shop",
            Self::Customer => "customer",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        [Self::Shop, Self::Customer].into_iter().find(|author| author.word() == word)
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct Message {
    pub id: MessageId,
    pub author: Author,
    /// As typed by the customer, or who wrote for the shop.
    pub name: String,
    pub text: String,
    pub at: Timestamp,
    /// The revision that the customer had before them.
    pub revision: Option<RevisionId>,
    /// Of a question: when the shop answered.
    pub answered_at: Option<Timestamp>,
}

impl Store {
    /// The thread of a job in the order it was written, whatever the clock said.
    pub async fn messages(&self, job: JobId) -> Result<Vec<Message>> {
        let rows = sqlx::query!(
            r#"SELECT id AS "id!", author, name, text, at, revision_id, answered_at FROM message
               WHERE job_id = $1 ORDER BY id"#,
            job.0
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter()
            .map(|row| {
                let at = |column| cell("message", column, row.id);
                Ok(Message {
                    id: MessageId(row.id),
                    author: at("author").word(&row.author, Author::from_word)?,
                    name: row.name,
                    text: row.text,
                    at: at("at").time(row.at)?,
                    revision: row.revision_id.map(RevisionId),
                    answered_at: at("answered_at").maybe_time(row.answered_at)?,
                })
            })
            .collect()
    }

    /// The shop writes to the customer; that answers every question up to the last one `seen` (not one that came in
    /// while the answer was typed). None when there is no such job.
    pub async fn answer(
        &self,
        job: JobId,
        seen: Option<MessageId>,
        text: &str,
        by: By<'_>,
    ) -> Result<Option<MessageId>> {
        let mut tx = self.write().await?;
        if !jobs::exists(&mut tx, job).await? {
            return Ok(None);
        }
        let (at, seen) = (by.at.as_millisecond(), seen.map_or(0, |id| id.0));
        // As many as were open.
        sqlx::query!(
            "UPDATE message SET answered_at = $1
             WHERE job_id = $2 AND author = 'customer' AND answered_at IS NULL AND id <= $3",
            at,
            job.0,
            seen
        )
        .execute(&mut *tx)
        .await?;
        let id = insert(&mut tx, job, None, Author::Shop, by.who, text, by).await?;
        note(&mut tx, by, "wrote to the customer", Subject::Job(job)).await?;
        tx.commit().await?;
        Ok(Some(id))
    }

    /// Marks a question as dealt with in another way (by telephone). False when it is not an open question.
    pub async fn settle_question(&self, id: MessageId, by: By<'_>) -> Result<bool> {
        let mut tx = self.write().await?;
        let Some(job) = sqlx::query_scalar!(
            "SELECT job_id FROM message WHERE id = $1 AND author = 'customer' AND answered_at IS NULL",
            id.0
        )
        .fetch_optional(&mut *tx)
        .await?
        else {
            return Ok(false);
        };
        let at = by.at.as_millisecond();
        let done =
            sqlx::query!("UPDATE message SET answered_at = $1 WHERE id = $2", at, id.0).execute(&mut *tx).await?;
        touched("message", &done, 1)?;
        note(&mut tx, by, "marked a question as answered", Subject::Job(JobId(job))).await?;
        tx.commit().await?;
        Ok(true)
    }
}

pub(super) async fn insert(
    tx: &mut Write,
    job: JobId,
    revision: Option<RevisionId>,
    author: Author,
    name: &str,
    text: &str,
    by: By<'_>,
) -> Result<MessageId> {
    let (at, author, revision) = (by.at.as_millisecond(), author.word(), revision.map(|id| id.0));
    let id = sqlx::query!(
        "INSERT INTO message (job_id, revision_id, author, name, text, at) VALUES ($1, $2, $3, $4, $5, $6)",
        job.0,
        revision,
        author,
        name,
        text,
        at
    )
    .execute(&mut **tx)
    .await?
    .last_insert_rowid();
    jobs::touch(tx, job, by).await?;
    Ok(MessageId(id))
}
