//! Other suppliers of an item, each with dated prices of its own, and which of them prices.

use std::collections::BTreeMap;

use jiff::civil::Date;
use rust_decimal::Decimal;
use sqlx::SqliteConnection;

use super::{
    By, Result, Save, Store, Version,
    audit::{Subject, note, note_change},
    error::{cell, touched},
    open::Write,
    rates::{self, KeptItem},
};
use crate::domain::shop::{Item, PricedBy, Supply};

struct Row {
    code: String,
    supplier: String,
    article: String,
    pack: String,
    lead_days: i64,
    from_day: String,
    price: String,
    sizes: Option<String>,
}

impl Row {
    fn read(self) -> Result<(String, Supply)> {
        let at = |column| cell("supply", column, &self.code);
        let supply = Supply {
            pack: self.pack.parse::<Decimal>().map_err(|why| at("pack").unreadable(why))?,
            lead_days: at("lead_days").count(self.lead_days)?,
            price: rates::read_price(&cell("rate_price", "price", &self.code), &self.price)?,
            from: cell("rate_price", "from_day", &self.code).day(&self.from_day)?,
            sizes: rates::read_sizes(&cell("rate_price", "sizes", &self.code), self.sizes.as_deref())?,
            supplier: self.supplier,
            article: self.article,
        };
        Ok((self.code, supply))
    }
}

impl Store {
    /// The other suppliers of every item, by its code, with the prices that hold on a day.
    pub async fn supplies(&self, as_of: Date) -> Result<BTreeMap<String, Vec<Supply>>> {
        let mut connection = self.reads.acquire().await?;
        all(&mut connection, as_of, None).await
    }

    /// The other suppliers of one item.
    pub async fn supplies_of(&self, code: &str, as_of: Date) -> Result<Vec<Supply>> {
        let mut connection = self.reads.acquire().await?;
        Ok(all(&mut connection, as_of, Some(code)).await?.remove(code).unwrap_or_default())
    }

    /// Every supplier that an offered item names, each once.
    pub async fn suppliers(&self) -> Result<Vec<String>> {
        Ok(sqlx::query_scalar!(
            r#"SELECT supplier AS "supplier!: String" FROM rate_item WHERE supplier <> ''
               UNION SELECT supplier FROM supply WHERE dropped_on IS NULL ORDER BY 1"#
        )
        .fetch_all(&self.reads)
        .await?)
    }

    /// Enters what another supplier asks from [`Supply::from`] on; a new supplier of the item is added.
    pub async fn put_supply(&self, code: &str, read: Version, supply: &Supply, by: By<'_>) -> Result<Save<Item>> {
        let mut tx = self.write().await?;
        let Some(row) = rates::find(&mut tx, code, supply.from).await? else { return Ok(Save::Missing) };
        let (id, now) = (row.id, row.read(supply.from)?);
        if now.version != read {
            return Ok(rates::conflict(now));
        }
        enter(&mut tx, id, &now, supply, None, by).await?;
        tx.commit().await?;
        Ok(Save::Saved(read.next()))
    }

    /// Enters what other suppliers of these items (by their codes) ask, in one transaction; the codes that no item has, and then nothing
    /// is entered.
    pub async fn add_supplies(&self, supplies: &[(String, Supply)], by: By<'_>) -> Result<Vec<String>> {
        let mut tx = self.write().await?;
        let mut unknown = Vec::new();
        for (code, supply) in supplies {
            match rates::find(&mut tx, code, supply.from).await? {
                Some(row) => {
                    let (id, now) = (row.id, row.read(supply.from)?);
                    enter(&mut tx, id, &now, supply, None, by).await?;
                }
                None => unknown.push(code.clone()),
            }
        }
        if unknown.is_empty() {
            tx.commit().await?;
        }
        Ok(unknown)
    }

    /// This supplier sells the item no longer, from a day on.
    pub async fn drop_supply(
        &self,
        code: &str,
        read: Version,
        supplier: &str,
        day: Date,
        by: By<'_>,
    ) -> Result<Save<Item>> {
        let mut tx = self.write().await?;
        let Some(row) = rates::find(&mut tx, code, day).await? else { return Ok(Save::Missing) };
        let (id, now) = (row.id, row.read(day)?);
        if now.version != read {
            return Ok(rates::conflict(now));
        }
        let on = day.to_string();
        let done =
            sqlx::query!("UPDATE supply SET dropped_on = $1 WHERE item_id = $2 AND supplier = $3", on, id, supplier)
                .execute(&mut *tx)
                .await?;
        if done.rows_affected() == 0 {
            return Ok(Save::Missing);
        }
        bump(&mut tx, id, &now, by).await?;
        note(&mut tx, by, &format!("{supplier} sells {code} no longer"), Subject::Item(code)).await?;
        tx.commit().await?;
        Ok(Save::Saved(read.next()))
    }

    /// Says which supplier's price estimates take, and the first supplier's number of the article.
    pub async fn put_priced_by(
        &self,
        code: &str,
        read: Version,
        (priced_by, article): (&PricedBy, &str),
        day: Date,
        by: By<'_>,
    ) -> Result<Save<Item>> {
        let mut tx = self.write().await?;
        let Some(row) = rates::find(&mut tx, code, day).await? else { return Ok(Save::Missing) };
        let (id, now) = (row.id, row.read(day)?);
        if now.version != read {
            return Ok(rates::conflict(now));
        }
        let word = priced_by.to_string();
        let done = sqlx::query!("UPDATE rate_item SET priced_by = $1, article = $2 WHERE id = $3", word, article, id)
            .execute(&mut *tx)
            .await?;
        touched("rate_item", &done, 1)?;
        bump(&mut tx, id, &now, by).await?;
        note(&mut tx, by, &format!("{code} is priced by: {word}"), Subject::Item(code)).await?;
        tx.commit().await?;
        Ok(Save::Saved(read.next()))
    }
}

/// The suppliers of one item or of all that have a price on a day.
pub(super) async fn all(
    connection: &mut SqliteConnection,
    as_of: Date,
    code: Option<&str>,
) -> Result<BTreeMap<String, Vec<Supply>>> {
    let day = as_of.to_string();
    let rows = sqlx::query_as!(
        Row,
        r#"SELECT i.code, s.supplier, s.article, s.pack, s.lead_days, p.from_day, p.price, p.sizes
           FROM supply s JOIN rate_item i ON i.id = s.item_id JOIN rate_price p ON p.id =
               (SELECT q.id FROM rate_price q WHERE q.supply_id = s.id AND q.from_day <= $1
                AND NOT EXISTS (SELECT 1 FROM price_batch b WHERE b.id = q.batch_id AND b.undone_at IS NOT NULL)
                ORDER BY q.from_day DESC, q.id DESC LIMIT 1)
           WHERE ($2 IS NULL OR i.code = $2) AND (s.dropped_on IS NULL OR s.dropped_on > $1)
           ORDER BY i.code, s.supplier"#,
        day,
        code
    )
    .fetch_all(connection)
    .await?;
    let mut found = BTreeMap::<String, Vec<Supply>>::new();
    for row in rows {
        let (code, supply) = row.read()?;
        found.entry(code).or_default().push(supply);
    }
    Ok(found)
}

/// Enters a supplier's price; `now` is the item that it is a price of, and its version goes up.
pub(super) async fn enter(
    tx: &mut Write,
    id: i64,
    now: &KeptItem,
    supply: &Supply,
    batch: Option<i64>,
    by: By<'_>,
) -> Result<()> {
    let code = &now.item.code;
    let before = all(tx, supply.from, Some(code)).await?.remove(code).unwrap_or_default();
    let before = before.iter().find(|other| other.supplier == supply.supplier);
    let pack = supply.pack.to_string();
    sqlx::query!(
        "INSERT INTO supply (item_id, supplier, article, pack, lead_days) VALUES ($1, $2, $3, $4, $5)
         ON CONFLICT (item_id, supplier) DO UPDATE SET article = excluded.article, pack = excluded.pack,
         lead_days = excluded.lead_days, dropped_on = NULL",
        id,
        supply.supplier,
        supply.article,
        pack,
        supply.lead_days
    )
    .execute(&mut **tx)
    .await?;
    let supply_id = sqlx::query_scalar!(
        r#"SELECT id AS "id!" FROM supply WHERE item_id = $1 AND supplier = $2"#,
        id,
        supply.supplier
    )
    .fetch_one(&mut **tx)
    .await?;
    rates::insert_price(tx, id, &now.item.supplied(supply), Some(supply_id), batch, by).await?;
    bump(tx, id, now, by).await?;
    let what = format!("entered a price of {code} by {} from {}", supply.supplier, supply.from);
    note_change(tx, by, &what, Subject::Item(code), before, supply).await
}

/// The item's next version, so that a save of what somebody read before is told.
pub(super) async fn bump(tx: &mut Write, id: i64, now: &KeptItem, by: By<'_>) -> Result<()> {
    let (version, at) = (now.version.next(), by.at.as_millisecond());
    let done = sqlx::query!(
        "UPDATE rate_item SET version = $1, changed_at = $2, changed_by = $3 WHERE id = $4",
        version.0,
        at,
        by.who,
        id
    )
    .execute(&mut **tx)
    .await?;
    touched("rate_item", &done, 1)
}
