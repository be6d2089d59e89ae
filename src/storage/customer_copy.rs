//! What the customer does on their copy. A link holds a secret token, shown once when it is made; the store keeps its
//! SHA-256 alone, so a stolen file opens no copy.

use jiff::{Timestamp, civil::Date};

use super::{
    By, JobId, LinkId, MessageId, Result, Revision, RevisionId, Store,
    audit::{Subject, note},
    error::{cell, to_json, touched},
    jobs, messages,
    open::Write,
    revisions, token,
};
use crate::domain::quote::InvalidTransition;

/// A link as the shop sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    pub id: LinkId,
    pub revision: RevisionId,
    pub number: u32,
    pub created_at: Timestamp,
    pub created_by: String,
    pub expires_at: Timestamp,
    pub revoked_at: Option<Timestamp>,
    /// When the customer last opened it.
    pub last_seen_at: Option<Timestamp>,
}

/// Where a link leads.
#[derive(Clone, Debug, PartialEq)]
pub enum LinkState {
    /// Nobody made this link: say no more than that.
    Unknown,
    /// The shop took the link back.
    Revoked,
    /// The link's own time is over.
    Expired,
    Open(Box<CustomerCopy>),
}

/// What stands behind an open link.
#[derive(Clone, Debug, PartialEq)]
pub struct CustomerCopy {
    pub link: LinkId,
    /// When the customer last opened it.
    pub last_seen_at: Option<Timestamp>,
    pub revision: Revision,
    /// What was decided on this revision.
    pub decision: Option<Decision>,
    /// The last day is over: it can be read but not accepted.
    pub lapsed: bool,
}

impl CustomerCopy {
    /// Whether the customer may still accept or decline it.
    pub fn is_open(&self) -> bool {
        self.decision.is_none() && !self.lapsed && self.revision.head.superseded_at.is_none()
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecisionKind {
    Accepted,
    Declined,
}

impl DecisionKind {
    const fn word(self) -> &'static str {
        match self {
            Self::Accepted => "accepted",
            Self::Declined => "declined",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        [Self::Accepted, Self::Declined].into_iter().find(|kind| kind.word() == word)
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    pub kind: DecisionKind,
    /// As typed; empty after the customer was erased.
    pub name: String,
    pub at: Timestamp,
    /// Of declining.
    pub why: String,
    /// The terms agreed to, word for word.
    pub terms: String,
    /// The options chosen, by their keys in the revision.
    pub options: Vec<String>,
}

/// What became of a decision.
#[must_use]
#[derive(Clone, Debug, PartialEq)]
pub enum Decided {
    Done,
    /// It had been decided before; a second click on the same button ends here and changes nothing.
    Already(Decision),
    Unknown,
    Revoked,
    Expired,
    /// A later revision was issued.
    Superseded,
    /// The last day to accept is over.
    Lapsed,
    /// The job has moved on without this revision.
    Refused(InvalidTransition),
}

struct Found {
    id: LinkId,
    revision: RevisionId,
    expires_at: i64,
    revoked_at: Option<i64>,
    last_seen_at: Option<i64>,
}

impl Found {
    fn shut(&self, now: Timestamp) -> Option<(LinkState, Decided)> {
        if self.revoked_at.is_some() {
            Some((LinkState::Revoked, Decided::Revoked))
        } else if self.expires_at <= now.as_millisecond() {
            Some((LinkState::Expired, Decided::Expired))
        } else {
            None
        }
    }
}

impl Store {
    /// Makes a link to a revision; the token stands in the answer and nowhere else. None when there is no such revision.
    pub async fn make_link(
        &self,
        revision: RevisionId,
        expires_at: Timestamp,
        by: By<'_>,
    ) -> Result<Option<(LinkId, String)>> {
        let (token, hash) = token::fresh()?;
        let mut tx = self.write().await?;
        let Some(row) = sqlx::query!("SELECT job_id, number FROM revision WHERE id = $1", revision.0)
            .fetch_optional(&mut *tx)
            .await?
        else {
            return Ok(None);
        };
        let (at, expires_at) = (by.at.as_millisecond(), expires_at.as_millisecond());
        let id = sqlx::query!(
            "INSERT INTO customer_link (revision_id, token_sha256, created_at, created_by, expires_at)
             VALUES ($1, $2, $3, $4, $5)",
            revision.0,
            hash,
            at,
            by.who,
            expires_at
        )
        .execute(&mut *tx)
        .await?
        .last_insert_rowid();
        let what = format!("made a link to revision {}", row.number);
        note(&mut tx, by, &what, Subject::Job(JobId(row.job_id))).await?;
        tx.commit().await?;
        Ok(Some((LinkId(id), token)))
    }

    /// The links of a job, the latest first.
    pub async fn links(&self, job: JobId) -> Result<Vec<Link>> {
        let rows = sqlx::query!(
            r#"SELECT l.id AS "id!", l.revision_id, r.number, l.created_at, l.created_by, l.expires_at, l.revoked_at,
               l.last_seen_at
               FROM customer_link l JOIN revision r ON r.id = l.revision_id WHERE r.job_id = $1 ORDER BY l.id DESC"#,
            job.0
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter()
            .map(|row| {
                let at = |column| cell("customer_link", column, row.id);
                Ok(Link {
                    id: LinkId(row.id),
                    revision: RevisionId(row.revision_id),
                    number: at("revision_id").count(row.number)?,
                    created_at: at("created_at").time(row.created_at)?,
                    created_by: row.created_by,
                    expires_at: at("expires_at").time(row.expires_at)?,
                    revoked_at: at("revoked_at").maybe_time(row.revoked_at)?,
                    last_seen_at: at("last_seen_at").maybe_time(row.last_seen_at)?,
                })
            })
            .collect()
    }

    /// Takes a link back. False when it was taken back before or is not there.
    pub async fn revoke_link(&self, id: LinkId, by: By<'_>) -> Result<bool> {
        let mut tx = self.write().await?;
        let Some(row) = sqlx::query!(
            "SELECT r.job_id, r.number FROM customer_link l JOIN revision r ON r.id = l.revision_id
             WHERE l.id = $1 AND l.revoked_at IS NULL",
            id.0
        )
        .fetch_optional(&mut *tx)
        .await?
        else {
            return Ok(false);
        };
        let at = by.at.as_millisecond();
        let done =
            sqlx::query!("UPDATE customer_link SET revoked_at = $1 WHERE id = $2", at, id.0).execute(&mut *tx).await?;
        touched("customer_link", &done, 1)?;
        let what = format!("took back a link to revision {}", row.number);
        note(&mut tx, by, &what, Subject::Job(JobId(row.job_id))).await?;
        tx.commit().await?;
        Ok(true)
    }

    /// What a link shows on the customer's day `today`. Writes nothing.
    pub async fn copy(&self, token: &str, now: Timestamp, today: Date) -> Result<LinkState> {
        let mut tx = self.reads.begin().await?;
        let Some(link) = find(&mut tx, token).await? else { return Ok(LinkState::Unknown) };
        if let Some((state, _)) = link.shut(now) {
            return Ok(state);
        }
        let revision = revisions::find(&mut tx, link.revision).await?;
        let revision = cell("customer_link", "revision_id", link.id).needed(revision)?;
        let decision = decision_on(&mut tx, link.revision).await?;
        let lapsed = revision.head.valid_until < today;
        let last_seen_at = cell("customer_link", "last_seen_at", link.id).maybe_time(link.last_seen_at)?;
        Ok(LinkState::Open(Box::new(CustomerCopy { link: link.id, last_seen_at, revision, decision, lapsed })))
    }

    /// Notes that the customer opened the link.
    pub async fn saw_copy(&self, link: LinkId, now: Timestamp) -> Result<()> {
        let mut tx = self.write().await?;
        let at = now.as_millisecond();
        let done = sqlx::query!("UPDATE customer_link SET last_seen_at = $1 WHERE id = $2", at, link.0)
            .execute(&mut *tx)
            .await?;
        touched("customer_link", &done, 1)?;
        Ok(tx.commit().await?)
    }

    /// The customer accepts: the decision and the job's stage in one transaction. `options` are the keys chosen,
    /// `terms` the words agreed to, `name` as typed.
    pub async fn accept(
        &self,
        token: &str,
        name: &str,
        terms: &str,
        options: &[String],
        now: Timestamp,
        today: Date,
    ) -> Result<Decided> {
        let decision = Decision {
            kind: DecisionKind::Accepted,
            name: name.to_owned(),
            at: now,
            why: String::new(),
            terms: terms.to_owned(),
            options: options.to_vec(),
        };
        self.decide(token, &decision, today).await
    }

    /// The customer declines, and may say why.
    pub async fn decline(&self, token: &str, name: &str, why: &str, now: Timestamp, today: Date) -> Result<Decided> {
        let decision = Decision {
            kind: DecisionKind::Declined,
            name: name.to_owned(),
            at: now,
            why: why.to_owned(),
            terms: String::new(),
            options: Vec::new(),
        };
        self.decide(token, &decision, today).await
    }

    async fn decide(&self, token: &str, decision: &Decision, today: Date) -> Result<Decided> {
        let mut tx = self.write().await?;
        let Some(link) = find(&mut tx, token).await? else { return Ok(Decided::Unknown) };
        if let Some((_, refused)) = link.shut(decision.at) {
            return Ok(refused);
        }
        if let Some(before) = decision_on(&mut tx, link.revision).await? {
            return Ok(Decided::Already(before));
        }
        let Some(Revision { head, .. }) = revisions::find(&mut tx, link.revision).await? else {
            return Ok(Decided::Unknown);
        };
        if head.superseded_at.is_some() {
            return Ok(Decided::Superseded);
        }
        if head.valid_until < today {
            return Ok(Decided::Lapsed);
        }
        let Some(stage) = jobs::stage_of(&mut tx, head.job).await? else { return Ok(Decided::Unknown) };
        let moved = match decision.kind {
            DecisionKind::Accepted => stage.accept(decision.at),
            DecisionKind::Declined => stage.decline(decision.at),
        };
        let stage = match moved {
            Ok(stage) => stage,
            Err(refused) => return Ok(Decided::Refused(refused)),
        };
        // The trail names the role alone: the name typed stands in the decision, where it can be erased.
        let by = By { who: "the customer", at: decision.at };
        insert(&mut tx, link.revision, decision).await?;
        jobs::put_stage(&mut tx, head.job, &stage, by).await?;
        let what = format!("{} revision {}", decision.kind.word(), head.number);
        note(&mut tx, by, &what, Subject::Job(head.job)).await?;
        tx.commit().await?;
        Ok(Decided::Done)
    }

    /// The customer asks; open until the shop answers. None when the link is not open: [`Store::copy`] says why.
    pub async fn ask(&self, token: &str, name: &str, text: &str, now: Timestamp) -> Result<Option<MessageId>> {
        let mut tx = self.write().await?;
        let Some(link) = find(&mut tx, token).await?.filter(|link| link.shut(now).is_none()) else { return Ok(None) };
        let job = sqlx::query_scalar!("SELECT job_id FROM revision WHERE id = $1", link.revision.0)
            .fetch_one(&mut *tx)
            .await?;
        let by = By { who: "the customer", at: now };
        let author = messages::Author::Customer;
        let id = messages::insert(&mut tx, JobId(job), Some(link.revision), author, name, text, by).await?;
        note(&mut tx, by, "asked a question", Subject::Job(JobId(job))).await?;
        tx.commit().await?;
        Ok(Some(id))
    }

    /// What was decided on a revision.
    pub async fn decision(&self, revision: RevisionId) -> Result<Option<Decision>> {
        let mut connection = self.reads.acquire().await?;
        decision_on(&mut connection, revision).await
    }
}

async fn find(connection: &mut sqlx::SqliteConnection, token: &str) -> Result<Option<Found>> {
    let hash = token::hash(token);
    let row = sqlx::query!(
        r#"SELECT id AS "id!", revision_id, expires_at, revoked_at, last_seen_at FROM customer_link
           WHERE token_sha256 = $1"#,
        hash
    )
    .fetch_optional(connection)
    .await?;
    Ok(row.map(|row| Found {
        id: LinkId(row.id),
        revision: RevisionId(row.revision_id),
        expires_at: row.expires_at,
        revoked_at: row.revoked_at,
        last_seen_at: row.last_seen_at,
    }))
}

async fn decision_on(connection: &mut sqlx::SqliteConnection, revision: RevisionId) -> Result<Option<Decision>> {
    let Some(row) =
        sqlx::query!("SELECT kind, name, at, why, terms, options FROM decision WHERE revision_id = $1", revision.0)
            .fetch_optional(connection)
            .await?
    else {
        return Ok(None);
    };
    let at = |column| cell("decision", column, revision);
    Ok(Some(Decision {
        kind: at("kind").word(&row.kind, DecisionKind::from_word)?,
        name: row.name,
        at: at("at").time(row.at)?,
        why: row.why,
        terms: row.terms,
        options: at("options").json(&row.options)?,
    }))
}

async fn insert(tx: &mut Write, revision: RevisionId, decision: &Decision) -> Result<()> {
    let (kind, at) = (decision.kind.word(), decision.at.as_millisecond());
    let options = to_json("the options", &decision.options)?;
    sqlx::query!(
        "INSERT INTO decision (revision_id, kind, name, at, why, terms, options) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        revision.0,
        kind,
        decision.name,
        at,
        decision.why,
        decision.terms,
        options
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
