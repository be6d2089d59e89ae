//! People, and the links by which they choose their passwords. Passwords come here hashed.

use jiff::Timestamp;

use super::{
    By, PersonId, Result, Store,
    audit::{Subject, note},
    error::{cell, touched},
    open::Write,
    sessions, token,
};
use crate::domain::people::{PersonName, Role};

#[derive(Clone, Debug, PartialEq)]
pub struct Person {
    pub id: PersonId,
    pub name: String,
    pub role: Role,
    /// Switched off, a person cannot sign in; what they signed stays.
    pub active: bool,
    /// Made with the demo shop, by a password that anyone may read.
    pub demo: bool,
    pub has_password: bool,
}

/// Someone who is added.
#[derive(Clone, Copy, Debug)]
pub struct NewPerson<'a> {
    pub name: &'a PersonName,
    pub role: Role,
    /// The hash of a password, if there is one already.
    pub password: Option<&'a str>,
    pub demo: bool,
}

/// What became of a change of a person.
#[must_use]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PersonChange {
    Done,
    Missing,
    /// Nobody would be left who may keep people.
    LastOwner,
}

/// Whom a set-up link is for.
#[derive(Clone, Debug, PartialEq)]
pub enum SetUp {
    /// The shop has no owner yet: this link makes one.
    Owner,
    Person(Person),
}

/// What became of a set-up link.
#[must_use]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SetUpUse {
    Done(PersonId),
    /// Used, replaced, too old, or never made.
    Closed,
    NameTaken,
}

/// What a sign-in is checked against.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Credentials {
    pub person: PersonId,
    /// The hash; none while no password was chosen.
    pub password: Option<String>,
    pub active: bool,
    pub demo: bool,
}

struct Row {
    id: i64,
    name: String,
    role: String,
    active: i64,
    demo: i64,
    has_password: i64,
}

impl TryFrom<Row> for Person {
    type Error = super::Error;

    fn try_from(row: Row) -> Result<Self> {
        Ok(Self {
            id: PersonId(row.id),
            role: cell("person", "role", row.id).word(&row.role, Role::from_word)?,
            name: row.name,
            active: row.active != 0,
            demo: row.demo != 0,
            has_password: row.has_password != 0,
        })
    }
}

impl Store {
    /// Everyone, by name.
    pub async fn people(&self) -> Result<Vec<Person>> {
        sqlx::query_as!(
            Row,
            r#"SELECT id AS "id!", name, role, active, demo, password IS NOT NULL AS "has_password!: i64"
               FROM person ORDER BY folded"#
        )
        .fetch_all(&self.reads)
        .await?
        .into_iter()
        .map(Person::try_from)
        .collect()
    }

    /// Whether anyone can sign in who may keep people.
    pub async fn has_owner(&self) -> Result<bool> {
        let mut connection = self.reads.acquire().await?;
        has_owner(&mut connection).await
    }

    /// Adds a person. None when the name is taken.
    pub async fn add_person(&self, new: NewPerson<'_>, by: By<'_>) -> Result<Option<PersonId>> {
        let mut tx = self.write().await?;
        let Some(id) = insert(&mut tx, new, by).await? else { return Ok(None) };
        note(&mut tx, by, &format!("added {} as {}", new.name, new.role), Subject::Person(id)).await?;
        tx.commit().await?;
        Ok(Some(id))
    }

    pub async fn set_role(&self, id: PersonId, role: Role, by: By<'_>) -> Result<PersonChange> {
        let mut tx = self.write().await?;
        let had_owner = has_owner(&mut tx).await?;
        let (word, at) = (role.word(), by.at.as_millisecond());
        let done = sqlx::query!(
            "UPDATE person SET role = $1, changed_at = $2, changed_by = $3 WHERE id = $4",
            word,
            at,
            by.who,
            id.0
        )
        .execute(&mut *tx)
        .await?;
        if done.rows_affected() == 0 {
            return Ok(PersonChange::Missing);
        }
        if had_owner && !has_owner(&mut tx).await? {
            return Ok(PersonChange::LastOwner);
        }
        note(&mut tx, by, &format!("made them {role}"), Subject::Person(id)).await?;
        tx.commit().await?;
        Ok(PersonChange::Done)
    }

    /// Lets a person in again, or switches them off: they are signed out everywhere and their set-up link is closed.
    pub async fn set_active(&self, id: PersonId, active: bool, by: By<'_>) -> Result<PersonChange> {
        let mut tx = self.write().await?;
        let had_owner = has_owner(&mut tx).await?;
        let (word, at) = (i64::from(active), by.at.as_millisecond());
        let done = sqlx::query!(
            "UPDATE person SET active = $1, changed_at = $2, changed_by = $3 WHERE id = $4",
            word,
            at,
            by.who,
            id.0
        )
        .execute(&mut *tx)
        .await?;
        if done.rows_affected() == 0 {
            return Ok(PersonChange::Missing);
        }
        if had_owner && !has_owner(&mut tx).await? {
            return Ok(PersonChange::LastOwner);
        }
        if !active {
            sessions::end_all(&mut tx, id).await?;
            close_links(&mut tx, id).await?;
        }
        let what = if active { "switched on" } else { "switched off" };
        note(&mut tx, by, what, Subject::Person(id)).await?;
        tx.commit().await?;
        Ok(PersonChange::Done)
    }

    /// A person's new password, hashed; they are signed out everywhere. False when they are not there.
    pub async fn set_password(&self, id: PersonId, hash: &str, by: By<'_>) -> Result<bool> {
        let mut tx = self.write().await?;
        if !put_password(&mut tx, id, hash, by).await? {
            return Ok(false);
        }
        note(&mut tx, by, "changed the password", Subject::Person(id)).await?;
        tx.commit().await?;
        Ok(true)
    }

    /// A link by which a person chooses a password, in place of earlier ones; without a person, it makes the owner. The
    /// token stands in the answer and nowhere else. None when there is no such person, or they are switched off.
    pub async fn make_set_up_link(
        &self,
        person: Option<PersonId>,
        expires_at: Timestamp,
        by: By<'_>,
    ) -> Result<Option<String>> {
        let (token, hash) = token::fresh()?;
        let mut tx = self.write().await?;
        match person {
            Some(id) => {
                let there = sqlx::query_scalar!("SELECT id FROM person WHERE id = $1 AND active = 1", id.0)
                    .fetch_optional(&mut *tx)
                    .await?;
                if there.is_none() {
                    return Ok(None);
                }
                close_links(&mut tx, id).await?;
                note(&mut tx, by, "made a set-up link", Subject::Person(id)).await?;
            }
            None => {
                // As many as were left open.
                sqlx::query!("DELETE FROM set_up_link WHERE person_id IS NULL").execute(&mut *tx).await?;
            }
        }
        let (id, at, expires_at) = (person.map(|id| id.0), by.at.as_millisecond(), expires_at.as_millisecond());
        sqlx::query!(
            "INSERT INTO set_up_link (token_sha256, person_id, created_at, expires_at) VALUES ($1, $2, $3, $4)",
            hash,
            id,
            at,
            expires_at
        )
        .execute(&mut *tx)
        .await?;
        tx.commit().await?;
        Ok(Some(token))
    }

    /// Whom an open link is for.
    pub async fn set_up(&self, token: &str, now: Timestamp) -> Result<Option<SetUp>> {
        let mut connection = self.reads.acquire().await?;
        find_link(&mut connection, token, now).await
    }

    /// Uses a link: its person gets this password; a link without a person makes the owner, by this name.
    pub async fn use_set_up(&self, token: &str, name: &PersonName, hash: &str, at: Timestamp) -> Result<SetUpUse> {
        let mut tx = self.write().await?;
        let (id, who) = match find_link(&mut tx, token, at).await? {
            None => return Ok(SetUpUse::Closed),
            Some(SetUp::Person(person)) => (person.id, person.name),
            Some(SetUp::Owner) => {
                let new = NewPerson { name, role: Role::Owner, password: None, demo: false };
                let by = By { who: "first start", at };
                let Some(id) = insert(&mut tx, new, by).await? else { return Ok(SetUpUse::NameTaken) };
                note(&mut tx, by, &format!("added {name} as owner"), Subject::Person(id)).await?;
                (id, name.to_string())
            }
        };
        let by = By { who: &who, at };
        put_password(&mut tx, id, hash, by).await?;
        note(&mut tx, by, "chose a password", Subject::Person(id)).await?;
        let kept = token::hash(token);
        let done = sqlx::query!("DELETE FROM set_up_link WHERE token_sha256 = $1", kept).execute(&mut *tx).await?;
        touched("set_up_link", &done, 1)?;
        tx.commit().await?;
        Ok(SetUpUse::Done(id))
    }

    /// What a sign-in by this name is checked against.
    pub async fn credentials(&self, name: &PersonName) -> Result<Option<Credentials>> {
        let folded = name.folded();
        let row = sqlx::query!(r#"SELECT id AS "id!", password, active, demo FROM person WHERE folded = $1"#, folded)
            .fetch_optional(&self.reads)
            .await?;
        Ok(row.map(|row| Credentials {
            person: PersonId(row.id),
            password: row.password,
            active: row.active != 0,
            demo: row.demo != 0,
        }))
    }
}

async fn insert(tx: &mut Write, new: NewPerson<'_>, by: By<'_>) -> Result<Option<PersonId>> {
    let (name, folded, role) = (new.name.to_string(), new.name.folded(), new.role.word());
    let (demo, at) = (i64::from(new.demo), by.at.as_millisecond());
    let taken =
        sqlx::query_scalar!("SELECT id FROM person WHERE folded = $1", folded).fetch_optional(&mut **tx).await?;
    if taken.is_some() {
        return Ok(None);
    }
    let id = sqlx::query!(
        "INSERT INTO person (name, folded, role, password, active, demo, created_at, changed_at, changed_by)
         VALUES ($1, $2, $3, $4, 1, $5, $6, $6, $7)",
        name,
        folded,
        role,
        new.password,
        demo,
        at,
        by.who
    )
    .execute(&mut **tx)
    .await?
    .last_insert_rowid();
    Ok(Some(PersonId(id)))
}

/// A password that its person chose is no longer the demo's. Ends every session.
async fn put_password(tx: &mut Write, id: PersonId, hash: &str, by: By<'_>) -> Result<bool> {
    let at = by.at.as_millisecond();
    let done = sqlx::query!(
        "UPDATE person SET password = $1, demo = 0, changed_at = $2, changed_by = $3 WHERE id = $4",
        hash,
        at,
        by.who,
        id.0
    )
    .execute(&mut **tx)
    .await?;
    sessions::end_all(tx, id).await?;
    Ok(done.rows_affected() == 1)
}

async fn close_links(tx: &mut Write, id: PersonId) -> Result<()> {
    // As many as were left open.
    sqlx::query!("DELETE FROM set_up_link WHERE person_id = $1", id.0).execute(&mut **tx).await?;
    Ok(())
}

async fn has_owner(connection: &mut sqlx::SqliteConnection) -> Result<bool> {
    let count =
        sqlx::query_scalar!("SELECT count(*) FROM person WHERE role = 'owner' AND active = 1 AND password IS NOT NULL")
            .fetch_one(connection)
            .await?;
    Ok(count > 0)
}

async fn find_link(connection: &mut sqlx::SqliteConnection, token: &str, now: Timestamp) -> Result<Option<SetUp>> {
    let (kept, now) = (token::hash(token), now.as_millisecond());
    let link = sqlx::query!("SELECT person_id FROM set_up_link WHERE token_sha256 = $1 AND expires_at > $2", kept, now)
        .fetch_optional(&mut *connection)
        .await?;
    let Some(link) = link else { return Ok(None) };
    let Some(id) = link.person_id else { return Ok(Some(SetUp::Owner)) };
    let person = sqlx::query_as!(
        Row,
        r#"SELECT id AS "id!", name, role, active, demo, password IS NOT NULL AS "has_password!: i64"
           FROM person WHERE id = $1 AND active = 1"#,
        id
    )
    .fetch_optional(connection)
    .await?;
    Ok(person.map(Person::try_from).transpose()?.map(SetUp::Person))
}
