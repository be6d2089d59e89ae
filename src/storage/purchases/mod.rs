//! What was ordered of suppliers. An order is written once; what becomes of it is a step, what came of a line an arrival, what of that went
//! on the rack a piece.

/// Orders as they are read.
mod read;

pub use read::{Arrival, KeptLine, OrderHead, OrderPage, OrderStep, PlacedOrder};

use std::collections::BTreeMap;

use jiff::civil::Date;
use rust_decimal::Decimal;

use super::{
    By, JobId, LineId, NewPiece, OrderId, Result, Store,
    audit::{Subject, note},
    error::{cell, to_json, touched},
    jobs,
    open::Write,
    rack::enter,
};
use crate::domain::{
    buying::{Ordered, PlacedLine, Placing, Refused, Standing},
    quote::StageKind,
    rack::Movement,
    shop::Stocked,
};

/// How far the book of orders was written when it was read: it moves with every order, every step and every piece.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct OrdersSeen([i64; 3]);

/// What was ordered and not cancelled.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderedSoFar {
    pub seen: OrdersSeen,
    /// In the order in which they were placed.
    pub lines: Vec<Ordered<JobId>>,
    /// The jobs that it was ordered for.
    pub jobs: BTreeMap<JobId, OrderedFor>,
}

/// A job that something was ordered for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderedFor {
    pub number: String,
    pub stage: StageKind,
}

/// An order to be placed.
#[derive(Clone, Copy, Debug)]
pub struct NewOrder<'a> {
    pub placing: &'a Placing<JobId>,
    pub day: Date,
    /// The days on which its lines are to be here.
    pub dues: &'a [Date],
    /// The code of the currency of its prices.
    pub currency: &'a str,
    /// What it was made from.
    pub seen: OrdersSeen,
}

/// What became of placing an order.
#[must_use]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placed {
    Done(OrderId),
    /// Something else was ordered, cancelled or received since it was made: make it again.
    Changed,
    /// A job that it is for is neither accepted nor in the shop.
    Closed(JobId),
}

/// What became of cancelling an order, or of saying what of it came.
#[must_use]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OrderMoved {
    Done,
    Refused(Refused),
    /// Of a line only so much is still to come; or, of what was not here after all, only so much came and does not lie on the rack.
    TooMuch(LineId, Decimal),
    Missing,
}

/// What came of lines of an order, or (below nought) was not here after all; why is said of the latter.
#[derive(Clone, Copy, Debug)]
pub struct NewArrival<'a> {
    pub order: OrderId,
    pub quantities: &'a [(LineId, Decimal)],
    pub day: Date,
    pub why: &'a str,
}

/// What became of pieces that came with an order.
#[must_use]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Received {
    /// With these tags.
    OnRack(Vec<String>),
    /// Only so many are still to come.
    TooMany(u32),
    /// The line is of another bar or sheet.
    Other,
    Cancelled,
    Missing,
}

impl Store {
    /// Places an order, whole or not at all.
    pub async fn place_order(&self, new: &NewOrder<'_>, by: By<'_>) -> Result<Placed> {
        let mut tx = self.write().await?;
        if seen(&mut tx).await? != new.seen {
            return Ok(Placed::Changed);
        }
        let mut jobs: Vec<JobId> =
            new.placing.lines.iter().flat_map(|line| line.jobs.iter().map(|(job, _)| *job)).collect();
        jobs.sort_unstable();
        jobs.dedup();
        for job in &jobs {
            let stage = jobs::stage_of(&mut tx, *job).await?.map(|stage| stage.kind());
            if !stage.is_some_and(|kind| matches!(kind, StageKind::Accepted | StageKind::InTheShop)) {
                return Ok(Placed::Closed(*job));
            }
        }
        let Placing { supplier, lead_days, sum, lines } = new.placing;
        let due = new.dues.iter().max().unwrap_or(&new.day).to_string();
        let (day, sum, at) = (new.day.to_string(), sum.0.to_string(), by.at.as_millisecond());
        let order = OrderId(
            sqlx::query!(
                "INSERT INTO purchase_order (supplier, day, lead_days, due, currency, sum, ordered_at, ordered_by)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
                supplier,
                day,
                lead_days,
                due,
                new.currency,
                sum,
                at,
                by.who
            )
            .execute(&mut *tx)
            .await?
            .last_insert_rowid(),
        );
        for (line, due) in lines.iter().zip(new.dues) {
            write_line(&mut tx, order, line, *due).await?;
        }
        note(&mut tx, by, &format!("ordered of {supplier}"), Subject::Order(order)).await?;
        for job in jobs {
            note(&mut tx, by, &format!("order {order} to {supplier}"), Subject::Job(job)).await?;
        }
        tx.commit().await?;
        Ok(Placed::Done(order))
    }

    /// Says what came of an order, or was not here after all: all of it or nothing.
    pub async fn record_arrival(&self, new: &NewArrival<'_>, by: By<'_>) -> Result<OrderMoved> {
        let mut tx = self.write().await?;
        let Some(now) = standing(&mut tx, new.order).await? else { return Ok(OrderMoved::Missing) };
        if now == Standing::Cancelled {
            return Ok(OrderMoved::Refused(Refused::Cancelled));
        }
        let mut lines = read::lines(&mut tx, new.order).await?;
        for (id, quantity) in new.quantities {
            let Some(kept) = lines.iter_mut().find(|kept| kept.id == *id) else { return Ok(OrderMoved::Missing) };
            if let Err(most) = kept.comes(*quantity) {
                return Ok(OrderMoved::TooMuch(*id, most));
            }
            arrival(&mut tx, *id, *quantity, (new.day, new.why), by).await?;
        }
        stand(&mut tx, new.order, &lines, (new.day, new.why), by).await?;
        note(&mut tx, by, if new.why.is_empty() { "arrived" } else { "not here after all" }, Subject::Order(new.order))
            .await?;
        tx.commit().await?;
        Ok(OrderMoved::Done)
    }

    /// Cancels an order, whatever came of it.
    pub async fn cancel_order(&self, order: OrderId, why: &str, by: By<'_>) -> Result<OrderMoved> {
        let mut tx = self.write().await?;
        let Some(now) = standing(&mut tx, order).await? else { return Ok(OrderMoved::Missing) };
        if let Err(refused) = now.step(Standing::Cancelled) {
            return Ok(OrderMoved::Refused(refused));
        }
        step(&mut tx, order, Standing::Cancelled, None, why, by).await?;
        note(&mut tx, by, Standing::Cancelled.label(), Subject::Order(order)).await?;
        tx.commit().await?;
        Ok(OrderMoved::Done)
    }

    /// Enters so many equal pieces that came with a line of an order, all or none. What lies on the rack has come: what of it nobody said
    /// so of before, came on this day.
    pub async fn receive_ordered(
        &self,
        line: LineId,
        new: &NewPiece,
        count: u32,
        day: Date,
        by: By<'_>,
    ) -> Result<Received> {
        let mut tx = self.write().await?;
        let Some((order, kept)) = read::line(&mut tx, line).await? else { return Ok(Received::Missing) };
        if standing(&mut tx, order).await? == Some(Standing::Cancelled) {
            return Ok(Received::Cancelled);
        }
        if kept.line.stock.as_ref() != Some(&new.stock) {
            return Ok(Received::Other);
        }
        let to_come = kept.to_rack();
        if count > to_come {
            return Ok(Received::TooMany(to_come));
        }
        let mut tags = Vec::new();
        for _ in 0..count {
            let tag = enter(&mut tx, new, None, Movement::Received, None, by).await?;
            let done = sqlx::query!(
                "INSERT INTO purchase_piece (piece_id, line_id) SELECT id, $1 FROM piece WHERE tag = $2",
                line.0,
                tag
            )
            .execute(&mut *tx)
            .await?;
            touched("purchase_piece", &done, 1)?;
            tags.push(tag);
        }
        let mut lines = read::lines(&mut tx, order).await?;
        if let Some(kept) = lines.iter_mut().find(|kept| kept.id == line) {
            let unsaid = kept.unsaid();
            if unsaid > Decimal::ZERO && kept.comes(unsaid).is_ok() {
                arrival(&mut tx, line, unsaid, (day, ""), by).await?;
                stand(&mut tx, order, &lines, (day, ""), by).await?;
            }
        }
        note(&mut tx, by, &format!("put on the rack: {}", tags.join(", ")), Subject::Order(order)).await?;
        tx.commit().await?;
        Ok(Received::OnRack(tags))
    }
}

async fn arrival(tx: &mut Write, line: LineId, quantity: Decimal, (day, why): (Date, &str), by: By<'_>) -> Result<()> {
    let (quantity, day, at) = (quantity.to_string(), day.to_string(), by.at.as_millisecond());
    let done = sqlx::query!(
        "INSERT INTO purchase_arrival (line_id, quantity, day, why, at, who) VALUES ($1, $2, $3, $4, $5, $6)",
        line.0,
        quantity,
        day,
        why,
        at,
        by.who
    )
    .execute(&mut **tx)
    .await?;
    touched("purchase_arrival", &done, 1)
}

/// Takes the step that follows from what came: an order stands as arrived when nothing of it is still to come.
async fn stand(tx: &mut Write, order: OrderId, lines: &[KeptLine], (day, why): (Date, &str), by: By<'_>) -> Result<()> {
    let now = standing(tx, order).await?;
    if lines.iter().all(KeptLine::is_whole) {
        if now == Some(Standing::Awaited) {
            return step(tx, order, Standing::Arrived, Some(day), "", by).await;
        }
    } else if now == Some(Standing::Arrived) {
        return step(tx, order, Standing::Awaited, None, why, by).await;
    }
    Ok(())
}

async fn step(tx: &mut Write, order: OrderId, to: Standing, day: Option<Date>, why: &str, by: By<'_>) -> Result<()> {
    let (kind, day, at) = (to.word(), day.map(|day| day.to_string()), by.at.as_millisecond());
    let done = sqlx::query!(
        "INSERT INTO purchase_step (order_id, kind, day, why, at, who) VALUES ($1, $2, $3, $4, $5, $6)",
        order.0,
        kind,
        day,
        why,
        at,
        by.who
    )
    .execute(&mut **tx)
    .await?;
    touched("purchase_step", &done, 1)
}

async fn write_line(tx: &mut Write, order: OrderId, line: &PlacedLine<JobId>, due: Date) -> Result<()> {
    let due = due.to_string();
    let stock = line.stock.as_ref().map(|stock: &Stocked| to_json("a line of an order", stock)).transpose()?;
    let unit = line.unit.map(|unit| unit.word());
    let [pack, packs, bought, each, amount] =
        [line.pack, line.packs, line.bought, line.each.0, line.amount.0].map(|of| of.to_string());
    // In the words of what was bought where it is as much: such a line leaves nothing over.
    let needed = if line.needed() == line.bought { bought.clone() } else { line.needed().to_string() };
    let id = sqlx::query!(
        "INSERT INTO purchase_line
         (order_id, code, name, article, stock, unit, lead_days, pack, packs, bought, price_each, amount, due, needed)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)",
        order.0,
        line.code,
        line.name,
        line.article,
        stock,
        unit,
        line.lead_days,
        pack,
        packs,
        bought,
        each,
        amount,
        due,
        needed
    )
    .execute(&mut **tx)
    .await?
    .last_insert_rowid();
    for (job, quantity) in &line.jobs {
        let quantity = quantity.to_string();
        let done = sqlx::query!(
            "INSERT INTO purchase_share (line_id, job_id, quantity) VALUES ($1, $2, $3)",
            id,
            job.0,
            quantity
        )
        .execute(&mut **tx)
        .await?;
        touched("purchase_share", &done, 1)?;
    }
    Ok(())
}

pub(super) async fn seen(connection: &mut sqlx::SqliteConnection) -> Result<OrdersSeen> {
    let row = sqlx::query!(
        r#"SELECT (SELECT coalesce(max(id), 0) FROM purchase_order) AS "orders!: i64",
           (SELECT coalesce(max(id), 0) FROM purchase_step) AS "steps!: i64",
           (SELECT coalesce(max(piece_id), 0) FROM purchase_piece) AS "pieces!: i64""#
    )
    .fetch_one(connection)
    .await?;
    Ok(OrdersSeen([row.orders, row.steps, row.pieces]))
}

/// How an order stands; none of one that is not there.
async fn standing(connection: &mut sqlx::SqliteConnection, order: OrderId) -> Result<Option<Standing>> {
    let word = sqlx::query_scalar!(
        r#"SELECT coalesce((SELECT kind FROM purchase_step s WHERE s.order_id = o.id ORDER BY s.id DESC LIMIT 1), 'awaited')
           AS "kind!: String" FROM purchase_order o WHERE o.id = $1"#,
        order.0
    )
    .fetch_optional(connection)
    .await?;
    word.map(|word| cell("purchase_step", "kind", order).word(&word, Standing::from_word)).transpose()
}
