//! Many prices changed at one press: shown before, written whole or not at all, and taken back whole while nothing newer
//! stands on them.

use jiff::{Timestamp, civil::Date};
use rust_decimal::Decimal;

use super::{
    By, Result, Store, Version,
    audit::{Subject, note},
    error::{cell, touched},
    open::Write,
    rates::{self, KeptItem},
    supplies,
};
use crate::domain::shop::{Item, ItemClass, Supply, changed_price};

/// Which prices a change by per cent reaches: all that suit each of these.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BulkScope {
    pub class: Option<ItemClass>,
    /// Only this supplier's prices; else the first suppliers' and the others'.
    pub supplier: Option<String>,
    /// Only these items; all where none is named.
    pub codes: Vec<String>,
}

/// One price that would change: the item with the price that holds on the day, and the supplier where it is another than
/// the item's first.
#[derive(Clone, Debug, PartialEq)]
pub struct BulkLine {
    pub kept: KeptItem,
    pub supply: Option<Supply>,
}

/// What became of a change of many prices.
#[must_use]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BulkChange {
    /// So many prices were entered.
    Done(usize),
    /// These items were changed, added or retired since the preview; nothing was written.
    Changed(Vec<String>),
}

/// A change of many prices that was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    pub id: i64,
    pub what: String,
    pub from: Date,
    pub at: Timestamp,
    pub who: String,
    pub prices: u64,
    /// Whether one press takes it back.
    pub undoable: bool,
    pub undone: Option<(Timestamp, String)>,
}

/// What became of taking a change back.
#[must_use]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Undone {
    Done(usize),
    /// Newer prices stand on these items; nothing was written.
    Newer(Vec<String>),
    /// It was taken back before, or is none that can be.
    Already,
    Missing,
}

impl BulkLine {
    /// The line with its price, and those of its sizes, changed by so many per cent.
    pub fn changed(&self, percent: Decimal) -> Item {
        self.sold().changed_by_percent(percent)
    }

    /// The item as this line's supplier sells it.
    pub fn sold(&self) -> Item {
        self.supply.as_ref().map_or_else(|| self.kept.item.clone(), |supply| self.kept.item.supplied(supply))
    }
}

impl Store {
    /// The prices that a change would reach on a day, by class and code.
    pub async fn bulk_lines(&self, scope: &BulkScope, from: Date) -> Result<Vec<BulkLine>> {
        let items = self.items(from, scope.class).await?;
        let supplies = self.supplies(from).await?;
        Ok(items.into_iter().flat_map(|kept| lines_of(kept, &supplies, scope)).collect())
    }

    /// Changes prices by so many per cent from a day on, as the preview showed it. `seen` are the codes and versions of the
    /// preview; when any of them moved since, nothing is written.
    pub async fn bulk_change(
        &self,
        scope: &BulkScope,
        percent: Decimal,
        from: Date,
        seen: &[(String, Version)],
        by: By<'_>,
    ) -> Result<BulkChange> {
        let mut tx = self.write().await?;
        let word = scope.class.map(ItemClass::word);
        let codes =
            sqlx::query_scalar!("SELECT code FROM rate_item WHERE $1 IS NULL OR class = $1 ORDER BY code", word)
                .fetch_all(&mut *tx)
                .await?;
        let supplies = supplies::all(&mut tx, from, None).await?;
        let mut lines = Vec::new();
        for code in codes {
            let Some(row) = rates::find(&mut tx, &code, from).await? else { continue };
            let (id, kept) = (row.id, row.read(from)?);
            if kept.item.from <= from {
                lines.extend(lines_of(kept, &supplies, scope).map(|line| (id, line)));
            }
        }
        let is_seen =
            |kept: &KeptItem| seen.iter().any(|(code, version)| (code, *version) == (&kept.item.code, kept.version));
        let still_there = |code: &String| lines.iter().any(|(_, line)| line.kept.item.code == *code);
        let mut changed: Vec<String> = lines
            .iter()
            .filter(|(_, line)| !is_seen(&line.kept))
            .map(|(_, line)| line.kept.item.code.clone())
            .collect();
        changed.extend(seen.iter().map(|(code, _)| code).filter(|code| !still_there(code)).cloned());
        changed.dedup();
        if !changed.is_empty() {
            return Ok(BulkChange::Changed(changed));
        }
        let batch = open(&mut tx, &format!("{} by {percent} %", scope.words()), from, true, by).await?;
        let count = lines.len();
        for (id, line) in lines {
            // A line of the same item may have been written just now.
            let Some(row) = rates::find(&mut tx, &line.kept.item.code, from).await? else { continue };
            let version = row.version();
            let now = KeptItem { version, ..line.kept.clone() };
            match &line.supply {
                None => {
                    let item = Item { from, ..line.changed(percent) };
                    rates::reprice(&mut tx, id, &now, &item, Some(batch), by).await?;
                }
                Some(supply) => {
                    let sold = line.changed(percent);
                    let price = changed_price(supply.price, percent);
                    let sizes = supply.sizes.as_ref().and(crate::domain::shop::Sizes::of(&sold.goods));
                    let supply = Supply { price, from, sizes, ..supply.clone() };
                    supplies::enter(&mut tx, id, &now, &supply, Some(batch), by).await?;
                }
            }
        }
        tx.commit().await?;
        Ok(BulkChange::Done(count))
    }

    /// The latest changes of many prices, the latest first.
    pub async fn batches(&self, limit: u32) -> Result<Vec<Batch>> {
        let rows = sqlx::query!(
            r#"SELECT b.id AS "id!", b.what, b.from_day, b.undoable, b.at, b.who, b.undone_at, b.undone_by,
               (SELECT count(*) FROM rate_price p WHERE p.batch_id = b.id) AS "prices!: i64"
               FROM price_batch b ORDER BY b.id DESC LIMIT $1"#,
            limit
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter()
            .map(|row| {
                let at = |column| cell("price_batch", column, row.id);
                let undone = at("undone_at").maybe_time(row.undone_at)?;
                Ok(Batch {
                    id: row.id,
                    what: row.what,
                    from: at("from_day").day(&row.from_day)?,
                    at: at("at").time(row.at)?,
                    who: row.who,
                    prices: row.prices.unsigned_abs(),
                    undoable: row.undoable == 1,
                    undone: undone.map(|undone| (undone, row.undone_by.unwrap_or_default())),
                })
            })
            .collect()
    }

    /// Takes a change back whole: the prices that held before hold again, with their days. Both stay in the history.
    pub async fn undo_batch(&self, id: i64, by: By<'_>) -> Result<Undone> {
        let mut tx = self.write().await?;
        let Some(batch) = sqlx::query!("SELECT what, undoable, undone_at FROM price_batch WHERE id = $1", id)
            .fetch_optional(&mut *tx)
            .await?
        else {
            return Ok(Undone::Missing);
        };
        if batch.undone_at.is_some() || batch.undoable == 0 {
            return Ok(Undone::Already);
        }
        let newer = sqlx::query_scalar!(
            "SELECT DISTINCT i.code FROM rate_price p JOIN rate_item i ON i.id = p.item_id
             WHERE p.batch_id = $1 AND EXISTS (SELECT 1 FROM rate_price n WHERE n.item_id = p.item_id
             AND n.supply_id IS p.supply_id AND n.id > p.id AND n.batch_id IS NOT p.batch_id
             AND NOT EXISTS (SELECT 1 FROM price_batch b WHERE b.id = n.batch_id AND b.undone_at IS NOT NULL))
             ORDER BY i.code",
            id
        )
        .fetch_all(&mut *tx)
        .await?;
        if !newer.is_empty() {
            return Ok(Undone::Newer(newer));
        }
        let at = by.at.as_millisecond();
        let done = sqlx::query!("UPDATE price_batch SET undone_at = $1, undone_by = $2 WHERE id = $3", at, by.who, id)
            .execute(&mut *tx)
            .await?;
        touched("price_batch", &done, 1)?;
        let codes = sqlx::query_scalar!(
            "SELECT DISTINCT i.code FROM rate_price p JOIN rate_item i ON i.id = p.item_id WHERE p.batch_id = $1",
            id
        )
        .fetch_all(&mut *tx)
        .await?;
        for code in &codes {
            sqlx::query!(
                "UPDATE rate_item SET version = version + 1, changed_at = $1, changed_by = $2 WHERE code = $3",
                at,
                by.who,
                code
            )
            .execute(&mut *tx)
            .await?;
            note(&mut tx, by, &format!("took back: {}", batch.what), Subject::Item(code)).await?;
        }
        tx.commit().await?;
        Ok(Undone::Done(codes.len()))
    }
}

impl BulkScope {
    /// What it reaches, in words.
    pub fn words(&self) -> String {
        let class = self.class.map_or("all classes", ItemClass::label);
        let supplier = self.supplier.as_ref().map_or_else(String::new, |name| format!(" of {name}"));
        let chosen = if self.codes.is_empty() { String::new() } else { format!(", {} chosen", self.codes.len()) };
        format!("{class}{supplier}{chosen}")
    }
}

fn lines_of(
    kept: KeptItem,
    supplies: &std::collections::BTreeMap<String, Vec<Supply>>,
    scope: &BulkScope,
) -> impl Iterator<Item = BulkLine> {
    let chosen = !kept.item.retired && (scope.codes.is_empty() || scope.codes.contains(&kept.item.code));
    let suits = |name: &str| chosen && scope.supplier.as_deref().is_none_or(|wanted| wanted == name);
    let mut lines = Vec::new();
    for supply in supplies.get(&kept.item.code).into_iter().flatten().filter(|supply| suits(&supply.supplier)) {
        lines.push(BulkLine { kept: kept.clone(), supply: Some(supply.clone()) });
    }
    if suits(&kept.item.supplier) {
        lines.insert(0, BulkLine { kept, supply: None });
    }
    lines.into_iter()
}

/// Begins a change of many prices.
pub(super) async fn open(tx: &mut Write, what: &str, from: Date, undoable: bool, by: By<'_>) -> Result<i64> {
    let (from, at, undoable) = (from.to_string(), by.at.as_millisecond(), i64::from(undoable));
    Ok(sqlx::query!(
        "INSERT INTO price_batch (what, from_day, undoable, at, who) VALUES ($1, $2, $3, $4, $5)",
        what,
        from,
        undoable,
        at,
        by.who
    )
    .execute(&mut **tx)
    .await?
    .last_insert_rowid())
}
