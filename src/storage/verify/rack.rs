//! Whether the rack's ledger adds up: each piece stands where its movements led it, for the job that they say, and no bar or
//! sheet gave back more than it was.

use std::collections::BTreeMap;

use super::{Found, Result, Store};
use crate::domain::{
    measure::Tenths,
    rack::{Movement, State},
    shop::Stocked,
};

#[derive(sqlx::FromRow)]
struct PieceRow {
    id: i64,
    tag: String,
    stock: String,
    state: String,
    job_id: Option<i64>,
    sawn_from: Option<i64>,
}

#[derive(sqlx::FromRow)]
struct Step {
    piece_id: i64,
    kind: String,
    job_id: Option<i64>,
    stock: Option<String>,
    /// Whether the job that it names had been accepted; reserving asks for it.
    accepted: bool,
}

/// What a piece's movements make of it.
struct Led {
    state: State<Option<i64>>,
    /// Of the last correction.
    stock: Option<String>,
    was_cut: bool,
}

impl Store {
    pub(super) async fn rack_adds_up(&self) -> Result<Found> {
        let pieces: Vec<PieceRow> =
            sqlx::query_as("SELECT id, tag, stock, state, job_id, sawn_from FROM piece ORDER BY id")
                .fetch_all(&self.reads)
                .await?;
        let steps: Vec<Step> = sqlx::query_as(
            "SELECT m.piece_id, m.kind, m.job_id, m.stock, j.accepted_at IS NOT NULL AS accepted
             FROM movement m LEFT JOIN job j ON j.id = m.job_id ORDER BY m.id",
        )
        .fetch_all(&self.reads)
        .await?;
        let looked_at = format!("{} pieces, {} movements", pieces.len(), steps.len());
        let mut of_piece: BTreeMap<i64, Vec<Step>> = BTreeMap::new();
        for step in steps {
            of_piece.entry(step.piece_id).or_default().push(step);
        }
        let mut faults = Vec::new();
        let mut led = BTreeMap::new();
        for piece in &pieces {
            match follow(of_piece.get(&piece.id).map_or(&[], Vec::as_slice), piece.sawn_from.is_some()) {
                Ok(end) => {
                    faults.extend(differs(piece, &end));
                    led.insert(piece.id, end);
                }
                Err(why) => faults.push(format!("piece {}: {why}", piece.tag)),
            }
        }
        faults.extend(sawn(&pieces, &led));
        Ok((looked_at, faults))
    }
}

/// Follows movements by the rules of the ledger.
fn follow(steps: &[Step], is_remainder: bool) -> Result<Led, String> {
    let Some((first, later)) = steps.split_first() else { return Err("it never came in".into()) };
    // A remainder of a bar that was bought for a job comes from no piece, but from that job.
    let of_a_job = word(first)? == Movement::Returned && first.job_id.is_some();
    let came = if is_remainder || of_a_job { Movement::Returned } else { Movement::Received };
    if word(first)? != came {
        return Err(format!("it must have been {} first, but was {}", came.label(), first.kind));
    }
    let mut led = Led { state: State::Free, stock: None, was_cut: false };
    for step in later {
        let movement = word(step)?;
        if matches!(movement, Movement::Received | Movement::Returned) {
            return Err(format!("it was {} when it had come in already", movement.label()));
        }
        if movement == Movement::Reserved && !step.accepted {
            return Err("it was reserved for a job that was never accepted".into());
        }
        led.state = led.state.after(movement, step.job_id).map_err(|why| format!("it was {}, but {why}", step.kind))?;
        led.was_cut |= movement == Movement::Cut;
        led.stock = step.stock.clone().or(led.stock);
    }
    Ok(led)
}

fn word(step: &Step) -> Result<Movement, String> {
    Movement::from_word(&step.kind).ok_or_else(|| format!("“{}” is no movement that this program knows", step.kind))
}

/// What the row of a piece says that its movements do not.
fn differs(piece: &PieceRow, led: &Led) -> Option<String> {
    let (state, job) = match led.state {
        State::Free => ("free", None),
        State::Reserved(job) => ("reserved", job),
        State::Gone => ("gone", None),
    };
    if (piece.state.as_str(), piece.job_id) != (state, job) {
        let of = |job: Option<i64>| job.map_or_else(String::new, |job| format!(" for job {job}"));
        return Some(format!(
            "piece {} is {}{}, but its movements leave it {state}{}",
            piece.tag,
            piece.state,
            of(piece.job_id),
            of(job)
        ));
    }
    let differs = led.stock.as_ref().is_some_and(|stock| *stock != piece.stock);
    differs.then(|| format!("piece {} is not of the size that it was last corrected to", piece.tag))
}

/// Remainders against the bars and sheets they were sawn from. The width of the cuts is not kept, so they may come to less; of a
/// remainder that was corrected its first size is not kept, so it is left out.
fn sawn(pieces: &[PieceRow], led: &BTreeMap<i64, Led>) -> Vec<String> {
    let mut faults = Vec::new();
    let by_id: BTreeMap<i64, &PieceRow> = pieces.iter().map(|piece| (piece.id, piece)).collect();
    let mut returned: BTreeMap<i64, i128> = BTreeMap::new();
    for piece in pieces {
        let Some(whole) = piece.sawn_from.and_then(|whole| by_id.get(&whole)) else { continue };
        if led.get(&whole.id).is_some_and(|led| !led.was_cut) {
            faults.push(format!("piece {} was sawn from {}, which was never cut", piece.tag, whole.tag));
        }
        match (size(&piece.stock), size(&whole.stock)) {
            (Some(size), Some(from)) if size.is_like(from) => {
                if led.get(&piece.id).is_some_and(|led| led.stock.is_none()) {
                    *returned.entry(whole.id).or_default() += size.tenths();
                }
            }
            _ => faults.push(format!("piece {} was sawn from {}, but is of another kind", piece.tag, whole.tag)),
        }
    }
    for (whole, sum) in returned {
        let Some((whole, size)) = by_id.get(&whole).and_then(|whole| Some((whole, size(&whole.stock)?))) else {
            continue;
        };
        if size.tenths() < sum {
            faults.push(match size {
                Size::Bar(long) => {
                    let sum = Tenths(i64::try_from(sum).unwrap_or(i64::MAX));
                    format!("bar {} was {long} mm long, but {sum} mm came back from it", whole.tag)
                }
                Size::Sheet(area) => format!(
                    "sheet {} was of {} cm², but {} cm² came back from it",
                    whole.tag,
                    area / 10_000,
                    sum / 10_000
                ),
            });
        }
    }
    faults
}

/// How much of a bar or a sheet there is.
#[derive(Clone, Copy)]
enum Size {
    Bar(Tenths),
    /// In square tenths of a millimetre.
    Sheet(i128),
}

impl Size {
    fn is_like(self, other: Self) -> bool {
        matches!((self, other), (Self::Bar(_), Self::Bar(_)) | (Self::Sheet(_), Self::Sheet(_)))
    }

    fn tenths(self) -> i128 {
        match self {
            Self::Bar(length) => length.0.into(),
            Self::Sheet(area) => area,
        }
    }
}

fn size(stock: &str) -> Option<Size> {
    match serde_json::from_str::<Stocked>(stock).ok()? {
        Stocked::Bar { length, .. } => Some(Size::Bar(length)),
        Stocked::Sheet { length, width, .. } => Some(Size::Sheet(i128::from(length.0) * i128::from(width.0))),
    }
}
