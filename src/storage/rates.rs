//! The rate book: what items are, and the prices that held from day to day. An edit of a price adds a row.

use std::collections::BTreeMap;

use jiff::{Timestamp, civil::Date};
use rust_decimal::Decimal;

use super::{
    By, Conflict, Result, Save, Store, Version,
    audit::{Subject, note_change},
    error::{Cell, cell, to_json, touched},
    open::Write,
};
use crate::domain::{
    measure::Money,
    shop::{Goods, Item, ItemClass, PricedBy, RateBook, RateUnit, Sizes},
};

/// An item with what a save of it must name.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptItem {
    pub item: Item,
    pub version: Version,
    pub changed_at: Timestamp,
    pub changed_by: String,
    pub retired_on: Option<Date>,
    /// The first supplier's own number of the article.
    pub article: String,
    /// Which supplier's price estimates take.
    pub priced_by: PricedBy,
}

/// One row of an item's price history.
#[derive(Clone, Debug, PartialEq)]
pub struct DatedPrice {
    pub from: Date,
    pub price: Money,
    pub sizes: Option<Sizes>,
    /// Another supplier than the item's first.
    pub supplier: Option<String>,
    /// Entered by a change of many prices that was taken back since: it never holds.
    pub undone: bool,
    pub entered_at: Timestamp,
    pub entered_by: String,
}

/// What became of a new item.
#[must_use]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Added {
    Done,
    /// Another item has this code.
    Taken,
}

pub(super) struct Row {
    pub id: i64,
    code: String,
    name: String,
    class: String,
    supplier: String,
    unit: String,
    lead_days: i64,
    goods: String,
    source: String,
    retired_on: Option<String>,
    version: i64,
    changed_at: i64,
    changed_by: String,
    article: String,
    priced_by: String,
    from_day: String,
    price: String,
    sizes: Option<String>,
}

impl Row {
    pub const fn version(&self) -> Version {
        Version(self.version)
    }

    pub fn read(self, as_of: Date) -> Result<KeptItem> {
        let at = |column| cell("rate_item", column, &self.code);
        let mut goods: Goods = at("goods").json(&self.goods)?;
        Sizes::put(read_sizes(&cell("rate_price", "sizes", &self.code), self.sizes.as_deref())?, &mut goods);
        let retired_on = self.retired_on.as_deref().map(|day| at("retired_on").day(day)).transpose()?;
        Ok(KeptItem {
            version: Version(self.version),
            changed_at: at("changed_at").time(self.changed_at)?,
            changed_by: self.changed_by,
            retired_on,
            article: self.article,
            priced_by: PricedBy::from_word(&self.priced_by),
            item: Item {
                class: at("class").word(&self.class, ItemClass::from_word)?,
                unit: at("unit").word(&self.unit, RateUnit::from_word)?,
                price: read_price(&cell("rate_price", "price", &self.code), &self.price)?,
                from: cell("rate_price", "from_day", &self.code).day(&self.from_day)?,
                lead_days: at("lead_days").count(self.lead_days)?,
                goods,
                retired: retired_on.is_some_and(|day| day <= as_of),
                code: self.code,
                name: self.name,
                supplier: self.supplier,
                source: self.source,
            },
        })
    }
}

pub(super) fn read_price<I: std::fmt::Display>(cell: &Cell<I>, text: &str) -> Result<Money> {
    text.parse::<Decimal>().map(Money).map_err(|why| cell.unreadable(why))
}

pub(super) fn read_sizes<I: std::fmt::Display>(cell: &Cell<I>, text: Option<&str>) -> Result<Option<Sizes>> {
    text.map(|text| cell.json(text)).transpose()
}

impl Store {
    /// The rate book as of a day: each item with the price that holds on it; items without a price yet are left out.
    pub async fn rate_book(&self, as_of: Date) -> Result<RateBook> {
        let supplies = self.supplies(as_of).await?;
        let priced = |kept: KeptItem| match supplies.get(&kept.item.code) {
            Some(supplies) => kept.item.priced(&kept.priced_by, supplies),
            None => kept.item,
        };
        Ok(RateBook { day: as_of, items: self.items(as_of, None).await?.into_iter().map(priced).collect() })
    }

    /// The items of a class, or all, as of a day, by class and code.
    pub async fn items(&self, as_of: Date, class: Option<ItemClass>) -> Result<Vec<KeptItem>> {
        let (day, class) = (as_of.to_string(), class.map(ItemClass::word));
        // The inner select is one step into rate_price_item for each item, however long its history is.
        let rows = sqlx::query_as!(
            Row,
            r#"SELECT i.id AS "id!", i.code, i.name, i.class, i.supplier, i.unit, i.lead_days, i.goods, i.source,
               i.retired_on, i.version, i.changed_at, i.changed_by, i.article, i.priced_by, p.from_day, p.price, p.sizes
               FROM rate_item i JOIN rate_price p ON p.id =
                   (SELECT q.id FROM rate_price q WHERE q.item_id = i.id AND q.supply_id IS NULL AND q.from_day <= $1
                    AND NOT EXISTS (SELECT 1 FROM price_batch b WHERE b.id = q.batch_id AND b.undone_at IS NOT NULL)
                    ORDER BY q.from_day DESC, q.id DESC LIMIT 1)
               WHERE $2 IS NULL OR i.class = $2 ORDER BY i.class, i.code"#,
            day,
            class
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter().map(|row| row.read(as_of)).collect()
    }

    /// One item as of a day; before its first price it comes with that one.
    pub async fn item(&self, code: &str, as_of: Date) -> Result<Option<KeptItem>> {
        let mut connection = self.reads.acquire().await?;
        find(&mut connection, code, as_of).await?.map(|row| row.read(as_of)).transpose()
    }

    /// Every price an item ever had, the latest day first; of two for one day the first in this list holds.
    pub async fn item_history(&self, code: &str) -> Result<Vec<DatedPrice>> {
        let rows = sqlx::query!(
            "SELECT p.from_day, p.price, p.sizes, p.entered_at, p.entered_by, s.supplier, b.undone_at
             FROM rate_price p JOIN rate_item i ON i.id = p.item_id
             LEFT JOIN supply s ON s.id = p.supply_id LEFT JOIN price_batch b ON b.id = p.batch_id WHERE i.code = $1
             ORDER BY p.from_day DESC, p.id DESC",
            code
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter()
            .map(|row| {
                let at = |column| cell("rate_price", column, code);
                Ok(DatedPrice {
                    from: at("from_day").day(&row.from_day)?,
                    price: read_price(&at("price"), &row.price)?,
                    sizes: read_sizes(&at("sizes"), row.sizes.as_deref())?,
                    supplier: row.supplier,
                    undone: row.undone_at.is_some(),
                    entered_at: at("entered_at").time(row.entered_at)?,
                    entered_by: row.entered_by,
                })
            })
            .collect()
    }

    /// The next price of each item that has one after a day, by code.
    pub async fn coming_prices(&self, after: Date) -> Result<BTreeMap<String, (Date, Money)>> {
        let day = after.to_string();
        let rows = sqlx::query!(
            "SELECT i.code, q.from_day, q.price FROM rate_price q JOIN rate_item i ON i.id = q.item_id
             WHERE q.supply_id IS NULL AND q.from_day > $1
             AND NOT EXISTS (SELECT 1 FROM price_batch b WHERE b.id = q.batch_id AND b.undone_at IS NOT NULL)
             ORDER BY q.from_day, q.id DESC",
            day
        )
        .fetch_all(&self.reads)
        .await?;
        let mut coming = BTreeMap::new();
        for row in rows {
            let from = cell("rate_price", "from_day", &row.code).day(&row.from_day)?;
            let price = read_price(&cell("rate_price", "price", &row.code), &row.price)?;
            coming.entry(row.code).or_insert((from, price));
        }
        Ok(coming)
    }

    /// The prices that every item of a class had until a day, the earliest first and one for a day; not what was taken back.
    pub async fn class_prices(&self, class: ItemClass, until: Date) -> Result<Vec<Vec<(Date, Money)>>> {
        let (word, day) = (class.word(), until.to_string());
        let rows = sqlx::query!(
            "SELECT q.item_id, q.from_day, q.price FROM rate_item i JOIN rate_price q ON q.item_id = i.id
             WHERE i.class = $1 AND q.supply_id IS NULL AND q.from_day <= $2
             AND NOT EXISTS (SELECT 1 FROM price_batch b WHERE b.id = q.batch_id AND b.undone_at IS NOT NULL)
             ORDER BY q.item_id, q.from_day, q.id",
            word,
            day
        )
        .fetch_all(&self.reads)
        .await?;
        let mut items: Vec<Vec<(Date, Money)>> = Vec::new();
        let mut last = None;
        for row in rows {
            let from = cell("rate_price", "from_day", row.item_id).day(&row.from_day)?;
            let price = read_price(&cell("rate_price", "price", row.item_id), &row.price)?;
            if last != Some(row.item_id) {
                items.push(Vec::new());
                last = Some(row.item_id);
            }
            let Some(prices) = items.last_mut() else { continue };
            if prices.last().is_some_and(|(day, _)| *day == from) {
                prices.pop();
            }
            prices.push((from, price));
        }
        Ok(items)
    }

    pub async fn add_item(&self, item: &Item, by: By<'_>) -> Result<Added> {
        let mut tx = self.write().await?;
        let added = insert(&mut tx, item, None, by).await?;
        tx.commit().await?;
        Ok(added)
    }

    /// Adds many items, those whose code is free; the codes that were taken come back.
    pub async fn add_items(&self, items: &[Item], by: By<'_>) -> Result<Vec<String>> {
        let mut tx = self.write().await?;
        let mut taken = Vec::new();
        for item in items {
            if insert(&mut tx, item, None, by).await? == Added::Taken {
                taken.push(item.code.clone());
            }
        }
        tx.commit().await?;
        Ok(taken)
    }

    /// Saves what an item is (found by its code). Where price or sizes differ from those that hold on `item.from`, they
    /// become a new dated price; `item.retired` is [`Store::retire_item`]'s.
    pub async fn save_item(&self, read: Version, item: &Item, by: By<'_>) -> Result<Save<Item>> {
        let mut tx = self.write().await?;
        let Some(row) = find(&mut tx, &item.code, item.from).await? else { return Ok(Save::Missing) };
        let id = row.id;
        let now = row.read(item.from)?;
        if now.version != read {
            return Ok(conflict(now));
        }
        if now.item.price != item.price
            || Sizes::of(&now.item.goods) != Sizes::of(&item.goods)
            || now.item.from > item.from
        {
            insert_price(&mut tx, id, item, None, None, by).await?;
        }
        put(&mut tx, id, item, now.retired_on, read.next(), by).await?;
        let what = format!("saved the item {}", item.code);
        note_change(&mut tx, by, &what, Subject::Item(&item.code), Some(&now.item), item).await?;
        tx.commit().await?;
        Ok(Save::Saved(read.next()))
    }

    /// Enters the price of an item from a day on; the price history stays. Sizes, where given, take the place of the
    /// item's sizes from that day on; without them, the sizes' own prices move in proportion.
    pub async fn edit_price(
        &self,
        code: &str,
        read: Version,
        price: Money,
        sizes: Option<Sizes>,
        from: Date,
        by: By<'_>,
    ) -> Result<Save<Item>> {
        let mut tx = self.write().await?;
        let Some(row) = find(&mut tx, code, from).await? else { return Ok(Save::Missing) };
        let (id, now) = (row.id, row.read(from)?);
        if now.version != read {
            return Ok(conflict(now));
        }
        let mut item = Item { from, ..now.item.at_price(price) };
        if sizes.is_some() {
            Sizes::put(sizes, &mut item.goods);
        }
        reprice(&mut tx, id, &now, &item, None, by).await?;
        tx.commit().await?;
        Ok(Save::Saved(read.next()))
    }

    /// Retires an item from a day on, or brings it back; nothing of its history is lost.
    pub async fn retire_item(&self, code: &str, read: Version, from: Option<Date>, by: By<'_>) -> Result<Save<Item>> {
        let mut tx = self.write().await?;
        let today = from.unwrap_or(Date::MAX);
        let Some(row) = find(&mut tx, code, today).await? else { return Ok(Save::Missing) };
        let (id, now) = (row.id, row.read(today)?);
        if now.version != read {
            return Ok(conflict(now));
        }
        put(&mut tx, id, &now.item, from, read.next(), by).await?;
        let what = if from.is_some() { "retired the item" } else { "brought the item back" };
        note_change(&mut tx, by, what, Subject::Item(code), Some(&now.retired_on), &from).await?;
        tx.commit().await?;
        Ok(Save::Saved(read.next()))
    }
}

pub(super) fn conflict(now: KeptItem) -> Save<Item> {
    Save::Conflict(Box::new(Conflict {
        theirs: now.item,
        version: now.version,
        who: now.changed_by,
        when: now.changed_at,
    }))
}

/// An item with the price that holds on a day, or else its first one.
pub(super) async fn find(connection: &mut sqlx::SqliteConnection, code: &str, as_of: Date) -> Result<Option<Row>> {
    let day = as_of.to_string();
    Ok(sqlx::query_as!(
        Row,
        r#"SELECT i.id AS "id!", i.code, i.name, i.class, i.supplier, i.unit, i.lead_days, i.goods, i.source,
           i.retired_on, i.version, i.changed_at, i.changed_by, i.article, i.priced_by, p.from_day, p.price, p.sizes
           FROM rate_item i JOIN rate_price p ON p.id = COALESCE(
               (SELECT q.id FROM rate_price q WHERE q.item_id = i.id AND q.supply_id IS NULL AND q.from_day <= $2
                AND NOT EXISTS (SELECT 1 FROM price_batch b WHERE b.id = q.batch_id AND b.undone_at IS NOT NULL)
                ORDER BY q.from_day DESC, q.id DESC LIMIT 1),
               (SELECT q.id FROM rate_price q WHERE q.item_id = i.id AND q.supply_id IS NULL
                AND NOT EXISTS (SELECT 1 FROM price_batch b WHERE b.id = q.batch_id AND b.undone_at IS NOT NULL)
                ORDER BY q.from_day, q.id DESC LIMIT 1))
           WHERE i.code = $1"#,
        code,
        day
    )
    .fetch_optional(connection)
    .await?)
}

pub(super) async fn insert(tx: &mut Write, item: &Item, batch: Option<i64>, by: By<'_>) -> Result<Added> {
    let taken =
        sqlx::query_scalar!("SELECT count(*) FROM rate_item WHERE code = $1", item.code).fetch_one(&mut **tx).await?;
    if taken > 0 {
        return Ok(Added::Taken);
    }
    let (goods, retired_on) = (bare_goods(item)?, item.retired.then(|| item.from.to_string()));
    let (class, unit) = (item.class.word(), item.unit.word());
    let (at, version) = (by.at.as_millisecond(), Version::FIRST.0);
    let id = sqlx::query!(
        "INSERT INTO rate_item (code, name, class, supplier, unit, lead_days, goods, source, retired_on, version,
         changed_at, changed_by) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
        item.code,
        item.name,
        class,
        item.supplier,
        unit,
        item.lead_days,
        goods,
        item.source,
        retired_on,
        version,
        at,
        by.who
    )
    .execute(&mut **tx)
    .await?
    .last_insert_rowid();
    insert_price(tx, id, item, None, batch, by).await?;
    note_change(tx, by, "added the item", Subject::Item(&item.code), None, item).await?;
    Ok(Added::Done)
}

pub(super) async fn reprice(
    tx: &mut Write,
    id: i64,
    now: &KeptItem,
    item: &Item,
    batch: Option<i64>,
    by: By<'_>,
) -> Result<()> {
    insert_price(tx, id, item, None, batch, by).await?;
    put(tx, id, item, now.retired_on, now.version.next(), by).await?;
    let what = format!("entered a price of {} from {}", item.code, item.from);
    note_change(tx, by, &what, Subject::Item(&item.code), Some(&now.item), item).await
}

/// A dated price of the item itself, or of another supplier of it; `item` has that supplier's price and sizes then.
pub(super) async fn insert_price(
    tx: &mut Write,
    id: i64,
    item: &Item,
    supply: Option<i64>,
    batch: Option<i64>,
    by: By<'_>,
) -> Result<()> {
    let (from, price, at) = (item.from.to_string(), item.price.0.to_string(), by.at.as_millisecond());
    let sizes = Sizes::of(&item.goods).map(|sizes| to_json("the sizes", &sizes)).transpose()?;
    sqlx::query!(
        "INSERT INTO rate_price (item_id, from_day, price, sizes, entered_at, entered_by, supply_id, batch_id)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        id,
        from,
        price,
        sizes,
        at,
        by.who,
        supply,
        batch
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub(super) async fn put(
    tx: &mut Write,
    id: i64,
    item: &Item,
    retired_on: Option<Date>,
    version: Version,
    by: By<'_>,
) -> Result<()> {
    let (goods, retired_on) = (bare_goods(item)?, retired_on.map(|day| day.to_string()));
    let (class, unit, at) = (item.class.word(), item.unit.word(), by.at.as_millisecond());
    let done = sqlx::query!(
        "UPDATE rate_item SET name = $1, class = $2, supplier = $3, unit = $4, lead_days = $5, goods = $6, source = $7,
         retired_on = $8, version = $9, changed_at = $10, changed_by = $11 WHERE id = $12",
        item.name,
        class,
        item.supplier,
        unit,
        item.lead_days,
        goods,
        item.source,
        retired_on,
        version.0,
        at,
        by.who,
        id
    )
    .execute(&mut **tx)
    .await?;
    touched("rate_item", &done, 1)
}

/// The goods without their sizes, which stand with the price.
fn bare_goods(item: &Item) -> Result<String> {
    let mut goods = item.goods.clone();
    Sizes::put(None, &mut goods);
    to_json("the goods", &goods)
}
