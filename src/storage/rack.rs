//! Bars, offcuts and sheets, as a ledger: a piece stands where its movements led it (triggers see to that).

use std::str::FromStr;

use jiff::Timestamp;
use rust_decimal::Decimal;

use super::{
    By, JobId, PieceId, Result, Store,
    audit::{Subject, note},
    error::{cell, to_json, touched},
    open::Write,
};
use crate::domain::{
    measure::{Money, Tenths},
    quote::StageKind,
    rack::{Movement, Refused, SawFault, State, bar_length, resized, saw, tag, worth_of_remainder},
    shop::{RackPiece, Stocked},
};

#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    pub id: PieceId,
    pub on_rack: RackPiece,
    /// Where it lies.
    pub place: String,
    /// Where it came from.
    pub origin: String,
    pub state: State<JobId>,
    /// The number of the job that has it.
    pub job_number: Option<String>,
}

/// A piece as it comes in.
#[derive(Clone, Debug, PartialEq)]
pub struct NewPiece {
    pub stock: Stocked,
    pub worth: Money,
    pub sawn_here: bool,
    pub place: String,
    pub origin: String,
}

#[derive(Clone, Debug, PartialEq)]
pub struct MovementLine {
    pub movement: Movement,
    pub job_number: Option<String>,
    pub why: String,
    pub at: Timestamp,
    pub who: String,
}

/// What is done with a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step<'a> {
    /// For the job with this number, which must be accepted or in the shop.
    Reserve {
        job: &'a str,
    },
    /// Whichever job has it.
    Free,
    /// For the job that has it; the remainders of a bar come back with tags of their own.
    Cut {
        kerf: Tenths,
        remainders: &'a [Tenths],
        /// Of the currency, to which their worth is rounded.
        decimals: u32,
    },
    Scrap {
        why: &'a str,
    },
    Correct {
        length: Tenths,
        width: Option<Tenths>,
        why: &'a str,
    },
}

/// What became of a step.
#[must_use]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PieceMoved {
    /// With the tags of remainders that came back.
    Done(Vec<String>),
    Refused(Refused),
    Sawn(SawFault),
    /// No job that is accepted or in the shop has this number.
    NoJob,
    Missing,
}

struct Row {
    id: i64,
    tag: String,
    stock: String,
    worth: String,
    sawn_here: i64,
    place: String,
    origin: String,
    state: String,
    job_id: Option<i64>,
    job_number: Option<String>,
}

impl Row {
    fn read(self) -> Result<Piece> {
        let at = |column| cell("piece", column, self.id);
        let state = match (self.state.as_str(), self.job_id) {
            ("free", None) => State::Free,
            ("reserved", Some(job)) => State::Reserved(JobId(job)),
            ("gone", None) => State::Gone,
            _ => return Err(at("state").unreadable("state and job do not fit")),
        };
        let worth = Decimal::from_str(&self.worth).map_err(|why| at("worth").unreadable(why))?;
        let stock = at("stock").json(&self.stock)?;
        Ok(Piece {
            id: PieceId(self.id),
            on_rack: RackPiece { tag: self.tag, stock, worth: Money(worth), sawn_here: self.sawn_here == 1 },
            place: self.place,
            origin: self.origin,
            state,
            job_number: self.job_number,
        })
    }
}

impl Store {
    /// What lies on the rack, free or reserved, in the order of the tags.
    pub async fn rack_pieces(&self) -> Result<Vec<Piece>> {
        let rows = sqlx::query_as!(
            Row,
            r#"SELECT p.id AS "id!", p.tag, p.stock, p.worth, p.sawn_here, p.place, p.origin, p.state, p.job_id,
               j.number AS "job_number?" FROM piece p LEFT JOIN job j ON j.id = p.job_id
               WHERE p.state IN ('free', 'reserved') ORDER BY p.id"#
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter().map(Row::read).collect()
    }

    /// A piece, on the rack or gone, and every movement of it, the latest first.
    pub async fn rack_piece(&self, tag: &str) -> Result<Option<(Piece, Vec<MovementLine>)>> {
        let mut tx = self.reads.begin().await?;
        let Some(piece) = by_tag(&mut tx, tag).await? else { return Ok(None) };
        let rows = sqlx::query!(
            r#"SELECT m.id AS "id!", m.kind, m.why, m.at, m.who, j.number AS "job_number?"
               FROM movement m LEFT JOIN job j ON j.id = m.job_id WHERE m.piece_id = $1 ORDER BY m.id DESC"#,
            piece.id.0
        )
        .fetch_all(&mut *tx)
        .await?;
        let lines = rows.into_iter().map(|row| {
            let at = |column| cell("movement", column, row.id);
            Ok(MovementLine {
                movement: at("kind").word(&row.kind, Movement::from_word)?,
                job_number: row.job_number,
                why: row.why,
                at: at("at").time(row.at)?,
                who: row.who,
            })
        });
        Ok(Some((piece, lines.collect::<Result<_>>()?)))
    }

    /// Pieces that were cut for a job, in the order of the tags.
    pub async fn cut_for(&self, job: JobId) -> Result<Vec<Piece>> {
        let rows = sqlx::query_as!(
            Row,
            r#"SELECT p.id AS "id!", p.tag, p.stock, p.worth, p.sawn_here, p.place, p.origin, p.state, p.job_id,
               NULL AS "job_number?: String" FROM piece p WHERE p.id IN
               (SELECT m.piece_id FROM movement m WHERE m.kind = 'cut' AND m.job_id = $1) ORDER BY p.id"#,
            job.0
        )
        .fetch_all(&self.reads)
        .await?;
        rows.into_iter().map(Row::read).collect()
    }

    /// Enters so many equal pieces; their tags.
    pub async fn receive_pieces(&self, new: &NewPiece, count: u32, by: By<'_>) -> Result<Vec<String>> {
        let mut tx = self.write().await?;
        let mut tags = Vec::new();
        for _ in 0..count {
            tags.push(enter(&mut tx, new, None, Movement::Received, None, by).await?);
        }
        tx.commit().await?;
        Ok(tags)
    }

    /// Moves a piece; nothing is written unless it is [`PieceMoved::Done`].
    pub async fn move_piece(&self, tag: &str, step: Step<'_>, by: By<'_>) -> Result<PieceMoved> {
        let mut tx = self.write().await?;
        let Some(piece) = by_tag(&mut tx, tag).await? else { return Ok(PieceMoved::Missing) };
        let holder = if let State::Reserved(job) = piece.state { Some(job) } else { None };
        let (movement, job, stock, why) = match step {
            Step::Reserve { job } => match open_job(&mut tx, job).await? {
                Some(job) => (Movement::Reserved, Some(job), None, ""),
                None => return Ok(PieceMoved::NoJob),
            },
            Step::Free => (Movement::Freed, holder, None, ""),
            Step::Cut { .. } => (Movement::Cut, holder, None, ""),
            Step::Scrap { why } => (Movement::Scrapped, None, None, why),
            Step::Correct { length, width, why } => {
                (Movement::Corrected, None, Some(resized(&piece.on_rack.stock, length, width)), why)
            }
        };
        // Without a job there is nothing to free or to cut for.
        if let Err(refused) = piece.state.after(movement, job.unwrap_or(JobId(0))) {
            return Ok(PieceMoved::Refused(refused));
        }
        let mut tags = Vec::new();
        if let Step::Cut { kerf, remainders, decimals } = step {
            let bar = bar_length(&piece.on_rack.stock).unwrap_or_default();
            if let Err(fault) = saw(bar, kerf, remainders) {
                return Ok(PieceMoved::Sawn(fault));
            }
            for length in remainders {
                let new = NewPiece {
                    stock: resized(&piece.on_rack.stock, *length, None),
                    worth: worth_of_remainder(piece.on_rack.worth, bar, *length, decimals),
                    sawn_here: true,
                    place: piece.place.clone(),
                    origin: format!("sawn from {tag}"),
                };
                tags.push(enter(&mut tx, &new, Some(piece.id), Movement::Returned, job, by).await?);
            }
        }
        let stock = stock.map(|stock| to_json("a piece", &stock)).transpose()?;
        record(&mut tx, piece.id, movement, job, stock, why, by).await?;
        note(&mut tx, by, movement.label(), Subject::Piece(tag)).await?;
        tx.commit().await?;
        Ok(PieceMoved::Done(tags))
    }
}

pub(super) async fn by_tag(connection: &mut sqlx::SqliteConnection, tag: &str) -> Result<Option<Piece>> {
    let row = sqlx::query_as!(
        Row,
        r#"SELECT p.id AS "id!", p.tag, p.stock, p.worth, p.sawn_here, p.place, p.origin, p.state, p.job_id,
           j.number AS "job_number?" FROM piece p LEFT JOIN job j ON j.id = p.job_id WHERE p.tag = $1"#,
        tag
    )
    .fetch_optional(connection)
    .await?;
    row.map(Row::read).transpose()
}

async fn open_job(tx: &mut Write, number: &str) -> Result<Option<JobId>> {
    let (accepted, in_shop) = (StageKind::Accepted.word(), StageKind::InTheShop.word());
    let id = sqlx::query_scalar!(
        r#"SELECT id AS "id!" FROM job WHERE number = $1 AND stage IN ($2, $3)"#,
        number,
        accepted,
        in_shop
    )
    .fetch_optional(&mut **tx)
    .await?;
    Ok(id.map(JobId))
}

pub(super) async fn enter(
    tx: &mut Write,
    new: &NewPiece,
    from: Option<PieceId>,
    movement: Movement,
    job: Option<JobId>,
    by: By<'_>,
) -> Result<String> {
    let last = sqlx::query_scalar!(r#"SELECT max(id) AS "id?: i64" FROM piece"#).fetch_one(&mut **tx).await?;
    let id = last.unwrap_or(0).saturating_add(1);
    let (tag, stock) = (tag(id), to_json("a piece", &new.stock)?);
    let (worth, sawn_here, from) = (new.worth.0.to_string(), i64::from(new.sawn_here), from.map(|id| id.0));
    let done = sqlx::query!(
        "INSERT INTO piece (id, tag, stock, worth, sawn_here, place, origin, sawn_from)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        id,
        tag,
        stock,
        worth,
        sawn_here,
        new.place,
        new.origin,
        from
    )
    .execute(&mut **tx)
    .await?;
    touched("piece", &done, 1)?;
    record(tx, PieceId(id), movement, job, None, "", by).await?;
    note(tx, by, movement.label(), Subject::Piece(&tag)).await?;
    Ok(tag)
}

pub(super) async fn record(
    tx: &mut Write,
    piece: PieceId,
    movement: Movement,
    job: Option<JobId>,
    stock: Option<String>,
    why: &str,
    by: By<'_>,
) -> Result<()> {
    let (kind, job, at) = (movement.word(), job.map(|id| id.0), by.at.as_millisecond());
    sqlx::query!(
        "INSERT INTO movement (piece_id, kind, job_id, stock, why, at, who) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        piece.0,
        kind,
        job,
        stock,
        why,
        at,
        by.who
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
