//! Orders as they are read: heads for lists, whole ones, and the lines that count.

use std::{collections::BTreeMap, str::FromStr};

use jiff::{Timestamp, civil::Date};
use rust_decimal::Decimal;

use super::{Ordered, OrderedFor, OrderedSoFar, PlacedLine, Placing, Standing, seen};
use crate::{
    domain::{
        buying::Now,
        measure::Money,
        quote::StageKind,
        shop::{RateUnit, Stocked},
    },
    storage::{
        JobId, LineId, OrderId, Result, Store,
        error::{Cell, cell},
    },
};

/// An order in a list.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderHead {
    pub id: OrderId,
    pub supplier: String,
    pub day: Date,
    pub due: Date,
    pub sum: Money,
    /// The code of its currency.
    pub currency: String,
    pub at: Timestamp,
    pub who: String,
    pub standing: Standing,
    /// On which it arrived, where that is how it stands.
    pub arrived: Option<Date>,
    /// Of an awaited one: the day on which the first of what is still to come was to be here.
    pub next_due: Option<Date>,
    /// Something of it has come, and something has not.
    pub in_part: bool,
}

/// A page of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderPage {
    pub rows: Vec<OrderHead>,
    pub total: u64,
}

/// A whole order.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedOrder {
    pub head: OrderHead,
    pub lead_days: u32,
    pub lines: Vec<KeptLine>,
    /// The latest first.
    pub steps: Vec<OrderStep>,
    /// The latest first.
    pub arrivals: Vec<Arrival>,
    /// The numbers of its jobs.
    pub numbers: BTreeMap<JobId, String>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct KeptLine {
    pub id: LineId,
    pub line: PlacedLine<JobId>,
    /// The day on which it is to be here.
    pub due: Date,
    pub came: Decimal,
    /// Tags of the pieces that came of it on the rack.
    pub pieces: Vec<String>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct OrderStep {
    pub to: Standing,
    pub day: Option<Date>,
    pub why: String,
    pub at: Timestamp,
    pub who: String,
}

/// What came of a line at once, or (below nought) was not here after all.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrival {
    pub line: LineId,
    pub quantity: Decimal,
    pub day: Date,
    pub why: String,
    pub at: Timestamp,
    pub who: String,
}

impl KeptLine {
    /// How many bars or sheets of it can still be put on the rack; none of what is no bar or sheet.
    pub fn to_rack(&self) -> u32 {
        if self.line.stock.is_some() { self.line.to_rack(self.pieces.len()) } else { 0 }
    }

    pub fn to_come(&self) -> Decimal {
        self.line.to_come(self.came)
    }

    pub fn is_whole(&self) -> bool {
        self.to_come().is_zero()
    }

    /// Whether it should be here by a day, and is not.
    pub fn is_late(&self, today: Date) -> bool {
        !self.is_whole() && self.due < today
    }

    /// What of what came might turn out not to be here: what was put on the rack was.
    pub fn could_be_missing(&self) -> Decimal {
        self.line.could_be_missing(self.came, self.pieces.len())
    }

    /// What lies on the rack, or lay there, and nobody said of that it came.
    pub(super) fn unsaid(&self) -> Decimal {
        self.line.unsaid(self.came, self.pieces.len())
    }

    /// So much more has come, or less where it is below nought.
    ///
    /// # Errors
    /// How much at most.
    pub(super) fn comes(&mut self, quantity: Decimal) -> std::result::Result<(), Decimal> {
        self.came = self.line.after(self.came, self.pieces.len(), quantity)?;
        Ok(())
    }
}

impl PlacedOrder {
    /// As it was placed.
    pub fn placing(&self) -> Placing<JobId> {
        Placing {
            supplier: self.head.supplier.clone(),
            lead_days: self.lead_days,
            sum: self.head.sum,
            lines: self.lines.iter().map(|kept| kept.line.clone()).collect(),
        }
    }
}

struct HeadRow {
    id: i64,
    supplier: String,
    day: String,
    due: String,
    lead_days: i64,
    currency: String,
    sum: String,
    ordered_at: i64,
    ordered_by: String,
    kind: String,
    arrived: Option<String>,
}

impl HeadRow {
    fn read(self) -> Result<OrderHead> {
        let at = |column| cell("purchase_order", column, self.id);
        let standing = at("kind").word(&self.kind, Standing::from_word)?;
        let arrived = self.arrived.filter(|_| standing == Standing::Arrived);
        Ok(OrderHead {
            id: OrderId(self.id),
            day: at("day").day(&self.day)?,
            due: at("due").day(&self.due)?,
            sum: Money(number(at("sum"), &self.sum)?),
            at: at("ordered_at").time(self.ordered_at)?,
            arrived: arrived.map(|day| at("arrived").day(&day)).transpose()?,
            next_due: None,
            in_part: false,
            supplier: self.supplier,
            currency: self.currency,
            who: self.ordered_by,
            standing,
        })
    }
}

impl OrderHead {
    /// Knows its lines.
    fn with(mut self, lines: &[KeptLine]) -> Self {
        if self.standing == Standing::Awaited {
            self.next_due = lines.iter().filter(|kept| !kept.is_whole()).map(|kept| kept.due).min();
            self.in_part = lines.iter().any(|kept| kept.came > Decimal::ZERO);
        }
        self
    }
}

/// Heads with what of their lines is still to come.
async fn read_heads(connection: &mut sqlx::SqliteConnection, rows: Vec<HeadRow>) -> Result<Vec<OrderHead>> {
    let mut heads = Vec::new();
    for row in rows {
        let head = row.read()?;
        let lines = if head.standing == Standing::Awaited { lines(connection, head.id).await? } else { Vec::new() };
        heads.push(head.with(&lines));
    }
    Ok(heads)
}

/// The heads that a condition finds.
macro_rules! heads {
    ($rest:tt $(, $value:expr)*) => {
        sqlx::query_as!(
            HeadRow,
            r#"SELECT o.id AS "id!", o.supplier, o.day, o.due, o.lead_days, o.currency, o.sum, o.ordered_at, o.ordered_by,
               coalesce((SELECT kind FROM purchase_step s WHERE s.order_id = o.id ORDER BY s.id DESC LIMIT 1), 'awaited')
               AS "kind!: String",
               (SELECT day FROM purchase_step s WHERE s.order_id = o.id ORDER BY s.id DESC LIMIT 1) AS "arrived?: String"
               FROM purchase_order o "# + $rest
            $(, $value)*
        )
    };
}

/// A query about the lines that still count: of jobs that are to be built, of pieces that lie on the rack, and those of which something
/// was left over or that laid it aside. Of all others (by far the most, after some years) what was bought is what their jobs have used up.
macro_rules! that_count {
    ($start:tt $column:tt $rest:tt) => {
        sqlx::query!(
            $start + " WHERE " + $column + " IN (SELECT o.line_id FROM job q JOIN purchase_share o ON o.job_id = q.id
             WHERE q.stage IN ('accepted', 'in-the-shop')
             UNION SELECT o.line_id FROM piece q JOIN purchase_piece o ON o.piece_id = q.id WHERE q.state IN ('free', 'reserved')
             UNION SELECT q.id FROM purchase_line q WHERE q.needed IS NOT q.bought) " + $rest
        )
    };
}

impl Store {
    /// Orders, the latest first.
    pub async fn orders(&self, offset: u32, limit: u32) -> Result<OrderPage> {
        let mut tx = self.reads.begin().await?;
        let total =
            sqlx::query_scalar!(r#"SELECT count(*) AS "total!: i64" FROM purchase_order"#).fetch_one(&mut *tx).await?;
        let rows = heads!("ORDER BY o.id DESC LIMIT $1 OFFSET $2", limit, offset).fetch_all(&mut *tx).await?;
        Ok(OrderPage { rows: read_heads(&mut tx, rows).await?, total: total.unsigned_abs() })
    }

    /// Whole orders of which something is still to come and that were not cancelled, the one due first before the others.
    pub async fn awaited_orders(&self) -> Result<Vec<PlacedOrder>> {
        let mut tx = self.reads.begin().await?;
        let rows = heads!(
            "WHERE coalesce((SELECT kind FROM purchase_step s WHERE s.order_id = o.id ORDER BY s.id DESC LIMIT 1), 'awaited')
             = 'awaited' ORDER BY o.due, o.id"
        );
        let mut orders = Vec::new();
        for row in rows.fetch_all(&mut *tx).await? {
            orders.push(whole(&mut tx, row).await?);
        }
        Ok(orders)
    }

    /// The orders of which something is for a job, the latest first.
    pub async fn orders_for_job(&self, job: JobId) -> Result<Vec<OrderHead>> {
        let mut tx = self.reads.begin().await?;
        let rows = heads!(
            "WHERE o.id IN (SELECT l.order_id FROM purchase_line l JOIN purchase_share s ON s.line_id = l.id
             WHERE s.job_id = $1) ORDER BY o.id DESC",
            job.0
        );
        let rows = rows.fetch_all(&mut *tx).await?;
        read_heads(&mut tx, rows).await
    }

    pub async fn order(&self, order: OrderId) -> Result<Option<PlacedOrder>> {
        let mut tx = self.reads.begin().await?;
        let Some(row) = heads!("WHERE o.id = $1", order.0).fetch_optional(&mut *tx).await? else { return Ok(None) };
        whole(&mut tx, row).await.map(Some)
    }

    /// A line with the order that it belongs to.
    pub async fn order_line(&self, id: LineId) -> Result<Option<(OrderId, KeptLine)>> {
        let mut tx = self.reads.begin().await?;
        line(&mut tx, id).await
    }

    /// What was ordered and not cancelled and still counts, with what became of it on the rack.
    pub async fn ordered_so_far(&self) -> Result<OrderedSoFar> {
        let mut tx = self.reads.begin().await?;
        let seen = seen(&mut tx).await?;
        let rows = that_count!(
            r#"SELECT l.id AS "id!", l.code, l.name, l.stock, l.unit, l.bought FROM purchase_line l"# "l.id"
            "AND NOT EXISTS (SELECT 1 FROM purchase_step s WHERE s.order_id = l.order_id AND s.kind = 'cancelled') ORDER BY l.id"
        )
        .fetch_all(&mut *tx)
        .await?;
        let mut lines = BTreeMap::new();
        for row in rows {
            let at = |column| cell("purchase_line", column, row.id);
            let ordered = Ordered {
                code: row.code,
                name: row.name,
                stock: stock(at("stock"), row.stock.as_deref())?,
                unit: unit(at("unit"), row.unit.as_deref())?,
                bought: number(at("bought"), &row.bought)?,
                came: Decimal::ZERO,
                jobs: Vec::new(),
                pieces: Vec::new(),
            };
            lines.insert(row.id, ordered);
        }
        let mut jobs = BTreeMap::new();
        let shares = that_count!(
            "SELECT s.line_id, s.job_id, s.quantity, j.stage, j.number FROM purchase_share s JOIN job j ON j.id = s.job_id"
            "s.line_id" "ORDER BY s.line_id, s.job_id"
        );
        for row in shares.fetch_all(&mut *tx).await? {
            let Some(line) = lines.get_mut(&row.line_id) else { continue };
            let job = JobId(row.job_id);
            line.jobs.push((job, number(cell("purchase_share", "quantity", row.line_id), &row.quantity)?));
            let stage = cell("job", "stage", job).word(&row.stage, StageKind::from_word)?;
            jobs.insert(job, OrderedFor { number: row.number, stage });
        }
        let arrivals = that_count!("SELECT a.line_id, a.quantity FROM purchase_arrival a" "a.line_id" "ORDER BY a.id");
        for row in arrivals.fetch_all(&mut *tx).await? {
            if let Some(line) = lines.get_mut(&row.line_id) {
                line.came += number(cell("purchase_arrival", "quantity", row.line_id), &row.quantity)?;
            }
        }
        let pieces = that_count!(
            r#"SELECT c.line_id, p.tag, p.state, p.job_id,
               (SELECT m.job_id FROM movement m WHERE m.piece_id = p.id AND m.kind = 'cut') AS "cut_for?: i64"
               FROM purchase_piece c JOIN piece p ON p.id = c.piece_id"# "c.line_id" "ORDER BY p.id"
        );
        for row in pieces.fetch_all(&mut *tx).await? {
            let Some(line) = lines.get_mut(&row.line_id) else { continue };
            let now = match (row.state.as_str(), row.job_id, row.cut_for) {
                ("free", ..) => Now::Free,
                ("reserved", Some(job), _) => Now::Reserved(JobId(job)),
                ("gone", _, Some(job)) => Now::CutFor(JobId(job)),
                ("gone", ..) => Now::Scrapped,
                _ => return Err(cell("piece", "state", row.tag).unreadable("state and job do not fit")),
            };
            line.pieces.push((row.tag, now));
        }
        Ok(OrderedSoFar { seen, lines: lines.into_values().collect(), jobs })
    }
}

/// An order with all that became of it.
async fn whole(connection: &mut sqlx::SqliteConnection, row: HeadRow) -> Result<PlacedOrder> {
    let order = OrderId(row.id);
    let lead_days = cell("purchase_order", "lead_days", order).count(row.lead_days)?;
    let lines = lines(connection, order).await?;
    let steps = sqlx::query!(
        r#"SELECT id AS "id!", kind, day, why, at, who FROM purchase_step WHERE order_id = $1 ORDER BY id DESC"#,
        order.0
    )
    .fetch_all(&mut *connection)
    .await?;
    let steps = steps.into_iter().map(|row| {
        let at = |column| cell("purchase_step", column, row.id);
        Ok(OrderStep {
            to: at("kind").word(&row.kind, Standing::from_word)?,
            day: row.day.map(|day| at("day").day(&day)).transpose()?,
            why: row.why,
            at: at("at").time(row.at)?,
            who: row.who,
        })
    });
    let arrivals = sqlx::query!(
        r#"SELECT a.id AS "id!", a.line_id, a.quantity, a.day, a.why, a.at, a.who FROM purchase_arrival a
           JOIN purchase_line l ON l.id = a.line_id WHERE l.order_id = $1 ORDER BY a.id DESC"#,
        order.0
    )
    .fetch_all(&mut *connection)
    .await?;
    let arrivals = arrivals.into_iter().map(|row| {
        let at = |column| cell("purchase_arrival", column, row.id);
        Ok(Arrival {
            line: LineId(row.line_id),
            quantity: number(at("quantity"), &row.quantity)?,
            day: at("day").day(&row.day)?,
            why: row.why,
            at: at("at").time(row.at)?,
            who: row.who,
        })
    });
    let numbers = sqlx::query!(
        r#"SELECT DISTINCT j.id AS "id!", j.number FROM job j JOIN purchase_share s ON s.job_id = j.id
           JOIN purchase_line l ON l.id = s.line_id WHERE l.order_id = $1"#,
        order.0
    )
    .fetch_all(&mut *connection)
    .await?;
    Ok(PlacedOrder {
        head: row.read()?.with(&lines),
        lead_days,
        lines,
        steps: steps.collect::<Result<_>>()?,
        arrivals: arrivals.collect::<Result<_>>()?,
        numbers: numbers.into_iter().map(|row| (JobId(row.id), row.number)).collect(),
    })
}

/// The lines of an order, with what each job needed, what came, and what of that went on the rack.
pub(super) async fn lines(connection: &mut sqlx::SqliteConnection, order: OrderId) -> Result<Vec<KeptLine>> {
    let rows = sqlx::query!(
        r#"SELECT l.id AS "id!", l.code, l.name, l.article, l.stock, l.unit, l.lead_days, l.pack, l.packs, l.bought,
           l.price_each, l.amount, coalesce(l.due, o.due) AS "due!: String"
           FROM purchase_line l JOIN purchase_order o ON o.id = l.order_id WHERE l.order_id = $1 ORDER BY l.id"#,
        order.0
    );
    let mut lines = BTreeMap::new();
    for row in rows.fetch_all(&mut *connection).await? {
        let at = |column| cell("purchase_line", column, row.id);
        let line = PlacedLine {
            code: row.code,
            name: row.name,
            article: row.article,
            stock: stock(at("stock"), row.stock.as_deref())?,
            unit: unit(at("unit"), row.unit.as_deref())?,
            lead_days: at("lead_days").count(row.lead_days)?,
            pack: number(at("pack"), &row.pack)?,
            packs: number(at("packs"), &row.packs)?,
            bought: number(at("bought"), &row.bought)?,
            each: Money(number(at("price_each"), &row.price_each)?),
            amount: Money(number(at("amount"), &row.amount)?),
            jobs: Vec::new(),
        };
        let (id, due) = (LineId(row.id), at("due").day(&row.due)?);
        lines.insert(row.id, KeptLine { id, line, due, came: Decimal::ZERO, pieces: Vec::new() });
    }
    let shares = sqlx::query!(
        "SELECT s.line_id, s.job_id, s.quantity FROM purchase_share s JOIN purchase_line l ON l.id = s.line_id
         WHERE l.order_id = $1 ORDER BY s.line_id, s.job_id",
        order.0
    );
    for row in shares.fetch_all(&mut *connection).await? {
        let quantity = number(cell("purchase_share", "quantity", row.line_id), &row.quantity)?;
        if let Some(kept) = lines.get_mut(&row.line_id) {
            kept.line.jobs.push((JobId(row.job_id), quantity));
        }
    }
    let arrivals = sqlx::query!(
        "SELECT a.line_id, a.quantity FROM purchase_arrival a JOIN purchase_line l ON l.id = a.line_id
         WHERE l.order_id = $1 ORDER BY a.id",
        order.0
    );
    for row in arrivals.fetch_all(&mut *connection).await? {
        let quantity = number(cell("purchase_arrival", "quantity", row.line_id), &row.quantity)?;
        if let Some(kept) = lines.get_mut(&row.line_id) {
            kept.came += quantity;
        }
    }
    let pieces = sqlx::query!(
        "SELECT c.line_id, p.tag FROM purchase_piece c JOIN piece p ON p.id = c.piece_id
         JOIN purchase_line l ON l.id = c.line_id WHERE l.order_id = $1 ORDER BY p.id",
        order.0
    );
    for row in pieces.fetch_all(&mut *connection).await? {
        if let Some(kept) = lines.get_mut(&row.line_id) {
            kept.pieces.push(row.tag);
        }
    }
    Ok(lines.into_values().collect())
}

pub(super) async fn line(connection: &mut sqlx::SqliteConnection, id: LineId) -> Result<Option<(OrderId, KeptLine)>> {
    let order = sqlx::query_scalar!("SELECT order_id FROM purchase_line WHERE id = $1", id.0);
    let Some(order) = order.fetch_optional(&mut *connection).await?.map(OrderId) else { return Ok(None) };
    let kept = lines(connection, order).await?.into_iter().find(|kept| kept.id == id);
    Ok(kept.map(|kept| (order, kept)))
}

fn number<I: std::fmt::Display>(at: Cell<I>, text: &str) -> Result<Decimal> {
    Decimal::from_str(text).map_err(|why| at.unreadable(why))
}

fn stock<I: std::fmt::Display>(at: Cell<I>, text: Option<&str>) -> Result<Option<Stocked>> {
    text.map(|text| at.json(text)).transpose()
}

fn unit<I: std::fmt::Display>(at: Cell<I>, text: Option<&str>) -> Result<Option<RateUnit>> {
    text.map(|text| at.word(text, RateUnit::from_word)).transpose()
}
