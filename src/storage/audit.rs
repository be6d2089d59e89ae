//! Who did what, when. Each write leaves its line in its own transaction, so there is no change without one.

use jiff::Timestamp;
use serde::Serialize;
use serde_json::Value;

use super::{
    AuditId, By, CustomerId, JobId, OrderId, PersonId, Result, Store,
    error::{cell, to_json},
    open::Write,
};

/// One line of the trail.
#[derive(Clone, Debug, PartialEq)]
pub struct AuditLine {
    pub id: AuditId,
    pub at: Timestamp,
    pub who: String,
    pub what: String,
    /// `job`, `customer`, `item`, `piece`, `order`, `person`, `shop-book` or `nightly-copies`.
    pub subject: String,
    pub subject_id: String,
    /// Only the parts that changed.
    pub before: Option<Value>,
    pub after: Option<Value>,
}

/// What a line is about. Variants, revisions, links and messages belong to their job's trail.
#[derive(Clone, Copy, Debug)]
pub(super) enum Subject<'a> {
    Job(JobId),
    Customer(CustomerId),
    Item(&'a str),
    Piece(&'a str),
    Order(OrderId),
    Person(PersonId),
    ShopBook,
    NightlyCopies,
}

impl Subject<'_> {
    fn columns(self) -> (&'static str, String) {
        match self {
            Self::Job(id) => ("job", id.to_string()),
            Self::Customer(id) => ("customer", id.to_string()),
            Self::Item(code) => ("item", code.to_owned()),
            Self::Piece(tag) => ("piece", tag.to_owned()),
            Self::Order(id) => ("order", id.to_string()),
            Self::Person(id) => ("person", id.to_string()),
            Self::ShopBook => ("shop-book", String::new()),
            Self::NightlyCopies => ("nightly-copies", String::new()),
        }
    }
}

/// A line without details.
pub(super) async fn note(tx: &mut Write, by: By<'_>, what: &str, subject: Subject<'_>) -> Result<()> {
    write(tx, by, what, subject, None, None).await
}

/// A line with what changed from `before` to `after`.
pub(super) async fn note_change<T: Serialize>(
    tx: &mut Write,
    by: By<'_>,
    what: &str,
    subject: Subject<'_>,
    before: Option<&T>,
    after: &T,
) -> Result<()> {
    let value = |side: &T| {
        serde_json::to_value(side).map_err(|why| super::Error::Unwritable { what: "a line of the audit trail", why })
    };
    let after = value(after)?;
    let (before, after) = match before {
        Some(before) => {
            let before = value(before)?;
            changed(&before, &after)
        }
        None => (Value::Null, after),
    };
    let text = |side: &Value| match side {
        Value::Null => Ok(None),
        side => to_json("a line of the audit trail", side).map(Some),
    };
    write(tx, by, what, subject, text(&before)?, text(&after)?).await
}

async fn write(
    tx: &mut Write,
    by: By<'_>,
    what: &str,
    subject: Subject<'_>,
    before: Option<String>,
    after: Option<String>,
) -> Result<()> {
    let at = by.at.as_millisecond();
    let (subject, subject_id) = subject.columns();
    sqlx::query!(
        "INSERT INTO audit (at, who, what, subject, subject_id, before, after) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        at,
        by.who,
        what,
        subject,
        subject_id,
        before,
        after
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Both sides, cut down to the fields that differ.
fn changed(before: &Value, after: &Value) -> (Value, Value) {
    match (before, after) {
        (before, after) if before == after => (Value::Null, Value::Null),
        (Value::Object(old), Value::Object(new)) => {
            let (mut left, mut right) = (serde_json::Map::new(), serde_json::Map::new());
            for key in old.keys().chain(new.keys().filter(|key| !old.contains_key(*key))) {
                match (old.get(key), new.get(key)) {
                    (Some(one), Some(other)) if one != other => {
                        let (one, other) = changed(one, other);
                        left.insert(key.clone(), one);
                        right.insert(key.clone(), other);
                    }
                    (Some(one), None) => _ = left.insert(key.clone(), one.clone()),
                    (None, Some(other)) => _ = right.insert(key.clone(), other.clone()),
                    _ => {}
                }
            }
            (Value::Object(left), Value::Object(right))
        }
        (before, after) => (before.clone(), after.clone()),
    }
}

struct Row {
    id: i64,
    at: i64,
    who: String,
    what: String,
    subject: String,
    subject_id: String,
    before: Option<String>,
    after: Option<String>,
}

impl TryFrom<Row> for AuditLine {
    type Error = super::Error;

    fn try_from(row: Row) -> Result<Self> {
        let json =
            |column, text: Option<String>| text.map(|text| cell("audit", column, row.id).json(&text)).transpose();
        Ok(Self {
            id: AuditId(row.id),
            at: cell("audit", "at", row.id).time(row.at)?,
            who: row.who,
            what: row.what,
            subject: row.subject,
            subject_id: row.subject_id,
            before: json("before", row.before)?,
            after: json("after", row.after)?,
        })
    }
}

impl Store {
    /// The whole trail, newest first.
    pub async fn audit(&self, offset: u32, limit: u32) -> Result<Vec<AuditLine>> {
        sqlx::query_as!(
            Row,
            r#"SELECT id AS "id!", at, who, what, subject, subject_id, before, after FROM audit
               ORDER BY id DESC LIMIT $1 OFFSET $2"#,
            limit,
            offset
        )
        .fetch_all(&self.reads)
        .await?
        .into_iter()
        .map(AuditLine::try_from)
        .collect()
    }

    /// The trail of one job, with its variants, revisions, links and messages; newest first.
    pub async fn job_audit(&self, job: JobId) -> Result<Vec<AuditLine>> {
        self.audit_of(Subject::Job(job)).await
    }

    /// The trail of one item of the rate book, newest first.
    pub async fn item_audit(&self, code: &str) -> Result<Vec<AuditLine>> {
        self.audit_of(Subject::Item(code)).await
    }

    /// The trail of policies, norms and terms, newest first.
    pub async fn shop_audit(&self) -> Result<Vec<AuditLine>> {
        self.audit_of(Subject::ShopBook).await
    }

    async fn audit_of(&self, subject: Subject<'_>) -> Result<Vec<AuditLine>> {
        let (subject, subject_id) = subject.columns();
        sqlx::query_as!(
            Row,
            r#"SELECT id AS "id!", at, who, what, subject, subject_id, before, after FROM audit
               WHERE subject = $1 AND subject_id = $2 ORDER BY id DESC"#,
            subject,
            subject_id
        )
        .fetch_all(&self.reads)
        .await?
        .into_iter()
        .map(AuditLine::try_from)
        .collect()
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn only_the_parts_that_differ_are_kept() {
        let before = json!({"bed": {"length": 2440, "width": 1220}, "count": 1, "gone": true});
        let after = json!({"bed": {"length": 2600, "width": 1220}, "count": 1, "new": [1]});
        let (left, right) = changed(&before, &after);
        assert_eq!(left, json!({"bed": {"length": 2440}, "gone": true}));
        assert_eq!(right, json!({"bed": {"length": 2600}, "new": [1]}));
        assert_eq!(changed(&before, &before), (Value::Null, Value::Null));
    }
}
