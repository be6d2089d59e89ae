//! Cutting plans: which part is cut from which bar or sheet, in which order, at the least net cost.
//!
//! **What both problems share.** Lengths are whole tenths of a millimetre: parts, kerf, trims and the least kept offcut
//! are rounded up on reading, stock is rounded down. Money is exact; nothing is rounded inside a plan. The objective is
//! the least *net cost*: what the pieces used cost, less what the remainders that go to the rack are worth. A problem
//! without prices is the classic one: a bar costs its length in mm, a sheet its area in mm², remainders are worth nothing.
//!
//! **What an answer promises.** [`Status::Optimal`]: every part is cut and the net cost equals a proven bound.
//! [`Status::Feasible`]: every part is cut, the bound is lower. [`Status::Infeasible`]: proven that this stock cannot
//! give the parts; there is no plan, and `unplaced` says why. [`Status::Undecided`]: the budget ended with neither a plan
//! nor a proof. There is never a partial plan. Among plans of equal net cost fewer pieces, then fewer set-ups (bars:
//! patterns; panels: cuts, then turns of the sheet), then the longer kept remainders are preferred; [`Ties`] says how sure that is.
//!
//! **Determinism.** A search counts its own work against a [`Budget`]; the same problem and budget give the same answer
//! on any machine. A clock or a cancel button is the caller's: the [`Watch`] is asked now and then, and an answer that it
//! cut short says so in `stopped`.
//!
//! Cutting plans are arithmetic on the figures given; whether a bar is straight or a sheet sound is for the person at the saw.

use std::{fmt, ops::ControlFlow};

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::measure::Money;

/// Bars: lengths cut from bars and offcuts, with kerf, end trim and mitred ends.
pub mod bars;
/// Panels: rectangles cut from sheets, by guillotine cuts or freely.
pub mod panels;

/// The plans of a whole job: demands against the rate book and the rack.
pub mod cutting;
/// Several jobs planned together.
pub mod several;
/// What of such a plan is booked for which job.
pub mod booking;
/// What other choices of stock would cost.
pub mod choices;
/// Why no plan costs less, checkable without searching.
pub mod proof;
/// A verifier of finished plans that shares no code with the solvers.
pub mod check;
/// The JSON form of problems and answers, read exactly from the decimal text.
pub mod json;

mod assurance;
mod meter;
#[cfg(test)]
mod tests;

pub use assurance::Assurance;
use meter::Meter;

/// How much a search may work, in counted units (one is about ten nanoseconds on a present-day core).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget {
    units: u64,
}

impl Budget {
    /// For figures that move while somebody types: about a millisecond for each problem.
    pub const fn preview() -> Self {
        Self { units: 60_000 }
    }

    /// For plans that are issued: about a fifth of a second for each problem that is not proven sooner, so that a trailer is planned in about a second.
    pub const fn full() -> Self {
        Self { units: 20_000_000 }
    }

    /// For a problem on its own, planned until its proof or the end of its own time: an hour's work or so.
    pub const fn thorough() -> Self {
        Self { units: 10_000_000_000 }
    }

    pub const fn of_units(units: u64) -> Self {
        Self { units }
    }

    pub const fn units(self) -> u64 {
        self.units
    }
}

/// What a search knows when it asks its [`Watch`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Which of a job's problems, in the order of its plans; nought for a problem on its own.
    pub problem: usize,
    pub work: u64,
    pub budget: u64,
    /// The net cost of the best plan so far.
    pub net_cost: Option<Money>,
    /// What no plan can undercut, as proven so far.
    pub lower_bound: Option<Money>,
}

impl Progress {
    /// How much of the work allowed is done, 0 to 1.
    pub fn share(&self) -> f64 {
        if self.budget == 0 { 1.0 } else { (self.work as f64 / self.budget as f64).min(1.0) }
    }

    /// The same in whole per cent.
    pub fn percent(&self) -> u32 {
        (self.share() * 100.0) as u32
    }

    /// How far the best plan may be above the bound, as a share of its cost; `None` while either is missing.
    pub fn gap(&self) -> Option<f64> {
        let ([net, bound], nought) = ([self.net_cost?.0, self.lower_bound?.0], Decimal::ZERO);
        if net == bound {
            return Some(0.0);
        }
        (net - bound).max(nought).checked_div(net.abs()).and_then(|share| f64::try_from(share).ok())
    }
}

/// Asked every few thousand units of work; a `Break` ends the search with the best plan so far.
pub type Watch<'a> = &'a mut dyn FnMut(Progress) -> ControlFlow<Stopped>;

/// The watch of a caller that has neither clock nor cancel button.
pub fn unwatched(_: Progress) -> ControlFlow<Stopped> {
    ControlFlow::Continue(())
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    Optimal,
    Feasible,
    Infeasible,
    Undecided,
}

/// How sure it is that no plan of equal net cost is handier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ties {
    Proven,
    Searched,
}

/// Why a search ended before its proof.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stopped {
    /// The counted work was spent: the ordinary end, the same on every machine.
    Budget,
    /// The caller's clock ran out.
    Time,
    /// Somebody pressed cancel.
    Cancelled,
}

impl Stopped {
    /// Whether the answer depends on the machine and the moment, so that it must not be issued.
    pub fn by_caller(self) -> bool {
        self != Self::Budget
    }
}

/// Parts that no plan can hold, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unplaced {
    pub part: String,
    pub quantity: u32,
    pub why: String,
}

/// What is wrong with a problem: the field, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    pub field: String,
    pub message: String,
}

impl Fault {
    pub fn new(field: impl Into<String>, message: impl Into<String>) -> Self {
        Self { field: field.into(), message: message.into() }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.field.is_empty() { f.write_str(&self.message) } else { write!(f, "{}: {}", self.field, self.message) }
    }
}

impl std::error::Error for Fault {}

/// (net cost − bound) / |net cost|, to six decimals; nought where both are nought.
fn gap(net_cost: i128, bound: i128) -> f64 {
    if net_cost == bound {
        return 0.0;
    }
    if net_cost == 0 {
        return 1.0;
    }
    let share = (net_cost - bound) as f64 / net_cost.unsigned_abs() as f64;
    (share * 1e6).round() / 1e6
}

/// An exact integer amount at `scale` decimals as money, without trailing noughts.
fn money(amount: i128, scale: u32) -> Money {
    Money(Decimal::try_from_i128_with_scale(amount, scale).unwrap_or(Decimal::MAX).normalize())
}

/// A price of at most four decimals in ten-thousandths.
fn ten_thousandths(field: &str, price: Money, most: i64) -> Result<i64, Fault> {
    let price = price.0.normalize();
    if price.is_sign_negative() && !price.is_zero() {
        return Err(Fault::new(field, format!("{price} is negative; a price or worth is 0 or more")));
    }
    if price.scale() > 4 {
        return Err(Fault::new(field, format!("{price} has more than 4 decimals")));
    }
    if price > Decimal::from(most) {
        return Err(Fault::new(field, format!("{price} is above {most}, the most that is planned with")));
    }
    let scaled = price.mantissa() * 10_i128.pow(4 - price.scale());
    i64::try_from(scaled).map_err(|_| Fault::new(field, format!("{price} is out of range")))
}
