//! Price lists that were sent, and wait to be confirmed: what is confirmed is what was looked at.

use jiff::civil::Date;

use super::{
    By, Result, Store, Version,
    audit::{Subject, note_change},
    batches,
    error::cell,
    rates::{self, KeptItem},
    supplies,
};
use crate::domain::shop::{Item, Supply};

/// A list as it was sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PriceList {
    pub id: i64,
    pub file_name: String,
    pub text: String,
    /// The day from which its prices hold where a row names none.
    pub from: Date,
}

/// What one row of a list writes.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub enum ListEntry {
    Add(Item),
    /// The item as it shall be, with the version that was looked at.
    Change(i64, Item),
    /// A price of another supplier of the item with this code.
    Supply(i64, String, Supply),
}

/// What became of a confirmed list.
#[must_use]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Listed {
    Done(usize),
    /// These items moved since the list was looked at; nothing was written.
    Changed(Vec<String>),
}

impl Store {
    /// Keeps a list until it is confirmed; its id. Earlier ones that were never confirmed go.
    pub async fn keep_price_list(&self, file_name: &str, text: &str, from: Date, by: By<'_>) -> Result<i64> {
        let mut tx = self.write().await?;
        let (day, at) = (from.to_string(), by.at.as_millisecond());
        // A week: long enough for somebody to ask, short enough that files do not pile up.
        let old = at.saturating_sub(7 * 24 * 60 * 60 * 1000);
        sqlx::query!("DELETE FROM price_list WHERE sent_at < $1", old).execute(&mut *tx).await?;
        let id = sqlx::query!(
            "INSERT INTO price_list (file_name, text, from_day, sent_at, sent_by) VALUES ($1, $2, $3, $4, $5)",
            file_name,
            text,
            day,
            at,
            by.who
        )
        .execute(&mut *tx)
        .await?
        .last_insert_rowid();
        tx.commit().await?;
        Ok(id)
    }

    pub async fn price_list(&self, id: i64) -> Result<Option<PriceList>> {
        let row = sqlx::query!(r#"SELECT id AS "id!", file_name, text, from_day FROM price_list WHERE id = $1"#, id)
            .fetch_optional(&self.reads)
            .await?;
        row.map(|row| {
            let from = cell("price_list", "from_day", row.id).day(&row.from_day)?;
            Ok(PriceList { id: row.id, file_name: row.file_name, text: row.text, from })
        })
        .transpose()
    }

    /// Writes all entries of a list, or none; the list itself is done with then.
    pub async fn enter_price_list(&self, list: &PriceList, entries: &[ListEntry], by: By<'_>) -> Result<Listed> {
        let mut tx = self.write().await?;
        let what = format!("the list {}", list.file_name);
        let batch = batches::open(&mut tx, &what, list.from, false, by).await?;
        let mut changed = Vec::new();
        let mut written = std::collections::BTreeMap::<String, i64>::new();
        for entry in entries {
            let code = entry.code();
            let seen = match entry {
                ListEntry::Add(item) => {
                    if rates::insert(&mut tx, item, Some(batch), by).await? == super::Added::Taken {
                        changed.push(code.to_owned());
                    }
                    continue;
                }
                ListEntry::Change(seen, _) | ListEntry::Supply(seen, ..) => *seen,
            };
            let Some(row) = rates::find(&mut tx, code, entry.from()).await? else {
                changed.push(code.to_owned());
                continue;
            };
            let id = row.id;
            let now: KeptItem = row.read(entry.from())?;
            let expected = seen.saturating_add(written.get(code).copied().unwrap_or(0));
            if now.version != Version(expected) {
                changed.push(code.to_owned());
                continue;
            }
            match entry {
                ListEntry::Change(_, item) => {
                    let moved = now.item.price != item.price
                        || crate::domain::shop::Sizes::of(&now.item.goods)
                            != crate::domain::shop::Sizes::of(&item.goods)
                        || now.item.from > item.from;
                    if moved {
                        rates::insert_price(&mut tx, id, item, None, Some(batch), by).await?;
                    }
                    rates::put(&mut tx, id, item, now.retired_on, now.version.next(), by).await?;
                    let what = format!("{what}: {code}");
                    note_change(&mut tx, by, &what, Subject::Item(code), Some(&now.item), item).await?;
                }
                ListEntry::Supply(_, _, supply) => {
                    supplies::enter(&mut tx, id, &now, supply, Some(batch), by).await?;
                }
                ListEntry::Add(_) => {}
            }
            *written.entry(code.to_owned()).or_default() += 1;
        }
        if !changed.is_empty() {
            return Ok(Listed::Changed(changed));
        }
        sqlx::query!("DELETE FROM price_list WHERE id = $1", list.id).execute(&mut *tx).await?;
        tx.commit().await?;
        Ok(Listed::Done(entries.len()))
    }
}

impl ListEntry {
    pub fn code(&self) -> &str {
        match self {
            Self::Add(item) | Self::Change(_, item) => &item.code,
            Self::Supply(_, code, _) => code,
        }
    }

    fn from(&self) -> Date {
        match self {
            Self::Add(item) | Self::Change(_, item) => item.from,
            Self::Supply(_, _, supply) => supply.from,
        }
    }
}
