//! Browsers in which somebody is signed in.

use jiff::Timestamp;

use super::{PersonId, Result, SessionId, Store, error::cell, open::Write, token};
use crate::domain::people::Role;

/// A session, with the person as they are now: a changed role holds from the next page on.
#[derive(Clone, Debug, PartialEq)]
pub struct Session {
    pub id: SessionId,
    pub person: PersonId,
    pub name: String,
    pub role: Role,
    pub demo: bool,
    pub last_seen_at: Timestamp,
}

/// One of a person's sessions, for their own list.
#[derive(Clone, Debug, PartialEq)]
pub struct SessionLine {
    pub id: SessionId,
    pub since: Timestamp,
    pub last_seen_at: Timestamp,
}

impl Store {
    /// Signs a person in until a moment. The token stands in the answer and nowhere else.
    pub async fn start_session(&self, person: PersonId, now: Timestamp, until: Timestamp) -> Result<String> {
        let (token, hash) = token::fresh()?;
        let (now, until) = (now.as_millisecond(), until.as_millisecond());
        let mut tx = self.write().await?;
        // As many as have run out.
        sqlx::query!("DELETE FROM session WHERE expires_at <= $1", now).execute(&mut *tx).await?;
        sqlx::query!(
            "INSERT INTO session (token_sha256, person_id, created_at, last_seen_at, expires_at)
             VALUES ($1, $2, $3, $3, $4)",
            hash,
            person.0,
            now,
            until
        )
        .execute(&mut *tx)
        .await?;
        tx.commit().await?;
        Ok(token)
    }

    /// Who is signed in by this token. None when the session has run out, was last used before `idle_since`, or the
    /// person is switched off.
    pub async fn session(&self, token: &str, now: Timestamp, idle_since: Timestamp) -> Result<Option<Session>> {
        let (hash, now, idle_since) = (token::hash(token), now.as_millisecond(), idle_since.as_millisecond());
        let row = sqlx::query!(
            r#"SELECT s.id AS "id!", s.last_seen_at, p.id AS "person!", p.name, p.role, p.demo
               FROM session s JOIN person p ON p.id = s.person_id
               WHERE s.token_sha256 = $1 AND s.expires_at > $2 AND s.last_seen_at >= $3 AND p.active = 1"#,
            hash,
            now,
            idle_since
        )
        .fetch_optional(&self.reads)
        .await?;
        row.map(|row| {
            Ok(Session {
                id: SessionId(row.id),
                person: PersonId(row.person),
                name: row.name,
                role: cell("person", "role", row.person).word(&row.role, Role::from_word)?,
                demo: row.demo != 0,
                last_seen_at: cell("session", "last_seen_at", row.id).time(row.last_seen_at)?,
            })
        })
        .transpose()
    }

    /// The sessions by which a person is signed in, the one used last first; not those that are over, as in [`Store::session`].
    pub async fn sessions_of(
        &self,
        person: PersonId,
        now: Timestamp,
        idle_since: Timestamp,
    ) -> Result<Vec<SessionLine>> {
        let (now, idle_since) = (now.as_millisecond(), idle_since.as_millisecond());
        let rows = sqlx::query!(
            r#"SELECT id AS "id!", created_at, last_seen_at FROM session
               WHERE person_id = $1 AND expires_at > $2 AND last_seen_at >= $3 ORDER BY last_seen_at DESC, id DESC"#,
            person.0,
            now,
            idle_since
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter()
            .map(|row| {
                Ok(SessionLine {
                    id: SessionId(row.id),
                    since: cell("session", "created_at", row.id).time(row.created_at)?,
                    last_seen_at: cell("session", "last_seen_at", row.id).time(row.last_seen_at)?,
                })
            })
            .collect()
    }

    /// Notes that a session is in use. One that has ended meanwhile stays ended.
    pub async fn saw_session(&self, id: SessionId, now: Timestamp) -> Result<()> {
        let at = now.as_millisecond();
        let mut tx = self.write().await?;
        sqlx::query!("UPDATE session SET last_seen_at = $1 WHERE id = $2", at, id.0).execute(&mut *tx).await?;
        Ok(tx.commit().await?)
    }

    /// Signs out in one browser.
    pub async fn end_session(&self, id: SessionId) -> Result<()> {
        let mut tx = self.write().await?;
        sqlx::query!("DELETE FROM session WHERE id = $1", id.0).execute(&mut *tx).await?;
        Ok(tx.commit().await?)
    }

    /// Signs a person out in one of their browsers. False when it is no session of theirs.
    pub async fn end_session_of(&self, person: PersonId, id: SessionId) -> Result<bool> {
        let mut tx = self.write().await?;
        let done = sqlx::query!("DELETE FROM session WHERE id = $1 AND person_id = $2", id.0, person.0)
            .execute(&mut *tx)
            .await?;
        tx.commit().await?;
        Ok(done.rows_affected() == 1)
    }

    /// Signs a person out in every browser.
    pub async fn end_sessions(&self, person: PersonId) -> Result<()> {
        let mut tx = self.write().await?;
        end_all(&mut tx, person).await?;
        Ok(tx.commit().await?)
    }
}

pub(super) async fn end_all(tx: &mut Write, person: PersonId) -> Result<()> {
    // As many as there are.
    sqlx::query!("DELETE FROM session WHERE person_id = $1", person.0).execute(&mut **tx).await?;
    Ok(())
}
