//! The shop's own words and numbers: name, policies, norms and terms. Every save adds a version; the rate book, which
//! the domain's [`ShopBook`] carries too, stands on its own with its dated prices.

use jiff::{Timestamp, civil::Date};

use super::{
    By, Conflict, Result, Save, Store, Version,
    audit::{Subject, note_change},
    error::{cell, to_json},
};
use crate::domain::shop::ShopBook;

/// The shop's book with the version that a save must name.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptShop {
    /// With the rate book as of the day that was asked for.
    pub book: ShopBook,
    pub version: Version,
}

/// One save of the book.
#[derive(Clone, Debug, PartialEq)]
pub struct BookVersion {
    pub version: Version,
    pub saved_at: Timestamp,
    pub saved_by: String,
}

struct Row {
    version: i64,
    body: String,
    saved_at: i64,
    saved_by: String,
}

impl Store {
    /// Everything an estimate of a day needs to know of the shop. None before the shop was first saved.
    pub async fn shop_book(&self, as_of: Date) -> Result<Option<KeptShop>> {
        let mut connection = self.reads.acquire().await?;
        let Some(row) = latest(&mut connection).await? else { return Ok(None) };
        drop(connection);
        let mut book: ShopBook = cell("shop_book", "body", row.version).json(&row.body)?;
        book.rates = self.rate_book(as_of).await?;
        Ok(Some(KeptShop { book, version: Version(row.version) }))
    }

    /// Saves all of the book but its rates. `read` is None for the first save. Theirs in a conflict has no rates.
    pub async fn save_shop_book(&self, read: Option<Version>, book: &ShopBook, by: By<'_>) -> Result<Save<ShopBook>> {
        let mut tx = self.write().await?;
        let now = latest(&mut tx).await?;
        let theirs: Option<ShopBook> =
            now.as_ref().map(|row| cell("shop_book", "body", row.version).json(&row.body)).transpose()?;
        let before = match (now, theirs, read) {
            (None, _, None) => None,
            (None, _, Some(_)) | (Some(_), None, _) => return Ok(Save::Missing),
            (Some(row), Some(theirs), read) if read.is_some_and(|read| read.0 == row.version) => Some(theirs),
            (Some(row), Some(theirs), _) => {
                let when = cell("shop_book", "saved_at", row.version).time(row.saved_at)?;
                let version = Version(row.version);
                return Ok(Save::Conflict(Box::new(Conflict { theirs, version, who: row.saved_by, when })));
            }
        };
        let mut kept = book.clone();
        kept.rates.items.clear();
        let (version, body, at) =
            (read.map_or(Version::FIRST, Version::next), to_json("the shop", &kept)?, by.at.as_millisecond());
        sqlx::query!(
            "INSERT INTO shop_book (version, body, saved_at, saved_by) VALUES ($1, $2, $3, $4)",
            version.0,
            body,
            at,
            by.who
        )
        .execute(&mut *tx)
        .await?;
        note_change(&mut tx, by, "saved the shop's book", Subject::ShopBook, before.as_ref(), &kept).await?;
        tx.commit().await?;
        Ok(Save::Saved(version))
    }

    /// Every save of the book, the latest first.
    pub async fn shop_book_versions(&self) -> Result<Vec<BookVersion>> {
        let rows =
            sqlx::query!(r#"SELECT version AS "version!", saved_at, saved_by FROM shop_book ORDER BY version DESC"#)
                .fetch_all(&self.reads)
                .await?;
        rows.into_iter()
            .map(|row| {
                let saved_at = cell("shop_book", "saved_at", row.version).time(row.saved_at)?;
                Ok(BookVersion { version: Version(row.version), saved_at, saved_by: row.saved_by })
            })
            .collect()
    }
}

async fn latest(connection: &mut sqlx::SqliteConnection) -> Result<Option<Row>> {
    Ok(sqlx::query_as!(
        Row,
        r#"SELECT version AS "version!", body, saved_at, saved_by FROM shop_book ORDER BY version DESC LIMIT 1"#
    )
    .fetch_optional(connection)
    .await?)
}
