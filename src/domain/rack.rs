//! The rules of the rack's ledger: which movement a piece may make, and that sawing makes no steel.

use rust_decimal::Decimal;

use super::choice::choice;
use crate::{
    measure::{Length, Money, Tenths},
    shop::{RackPiece, Stocked},
};

choice! {
    /// One step in the life of a piece.
    Movement {
        Received = "received" / "received",
        /// What was left of a piece that was cut.
        Returned = "returned" / "returned from the saw",
        Reserved = "reserved" / "reserved",
        Freed = "freed" / "freed",
        Cut = "cut" / "cut",
        Scrapped = "scrapped" / "scrapped",
        Corrected = "corrected" / "corrected",
    }
}

/// Where a piece stands. `J` names a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State<J> {
    Free,
    Reserved(J),
    /// Cut or scrapped: no longer on the rack.
    Gone,
}

/// Why a piece cannot make a movement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    #[error("the piece is reserved for a job: free it first")]
    Reserved,
    #[error("the piece is not reserved for this job")]
    NotTheirs,
    #[error("the piece is no longer on the rack")]
    Gone,
}

impl<J: PartialEq + Copy> State<J> {
    /// Whether a plan of this job may count on the piece: it is free, or reserved for this job.
    pub fn is_open_to(self, job: J) -> bool {
        match self {
            Self::Free => true,
            Self::Reserved(theirs) => theirs == job,
            Self::Gone => false,
        }
    }

    /// Where a piece stands after a movement for this job (which matters to reserving, freeing and cutting only).
    ///
    /// # Errors
    /// [`Refused`]: only a free piece is reserved, scrapped or corrected; only the job that has a piece frees or cuts it.
    pub fn after(self, movement: Movement, job: J) -> Result<Self, Refused> {
        match (movement, self) {
            (_, Self::Gone) => Err(Refused::Gone),
            (Movement::Freed, Self::Reserved(theirs)) if theirs == job => Ok(Self::Free),
            (Movement::Cut, Self::Reserved(theirs)) if theirs == job => Ok(Self::Gone),
            (Movement::Freed | Movement::Cut, _) => Err(Refused::NotTheirs),
            (_, Self::Reserved(_)) => Err(Refused::Reserved),
            (Movement::Reserved, Self::Free) => Ok(Self::Reserved(job)),
            (Movement::Scrapped, Self::Free) => Ok(Self::Gone),
            (Movement::Received | Movement::Returned | Movement::Corrected, Self::Free) => Ok(Self::Free),
        }
    }
}

/// A length of stock in tenths, rounded down: nobody counts on what is not there.
pub fn stock_length(length: Length) -> Tenths {
    Tenths(length.nm().div_euclid(100_000))
}

/// What became of a bar on the saw, in tenths of a millimetre: bar = remainders + kerfs + used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sawn {
    pub bar: Tenths,
    pub remainders: Tenths,
    /// One cut before each remainder.
    pub kerfs: Tenths,
    /// Parts, their kerfs, trims and scrap.
    pub used: Tenths,
}

/// Why remainders cannot come from a bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SawFault {
    #[error("a remainder must be longer than nothing")]
    Empty,
    #[error("the remainders with a kerf each come to {asked} mm, but the bar is only {bar} mm")]
    TooLong { asked: Tenths, bar: Tenths },
}

/// Accounts for a bar of which these remainders are returned. Lengths are conserved exactly.
///
/// # Errors
/// [`SawFault`] when a remainder is empty, or all of them with their kerfs are longer than the bar.
pub fn saw(bar: Tenths, kerf: Tenths, remainders: &[Tenths]) -> Result<Sawn, SawFault> {
    if remainders.iter().any(|length| length.0 <= 0) {
        return Err(SawFault::Empty);
    }
    let sum = remainders.iter().fold(0_i64, |sum, length| sum.saturating_add(length.0));
    let kerfs = kerf.0.saturating_mul(remainders.len() as i64);
    let asked = sum.saturating_add(kerfs);
    if asked > bar.0 {
        return Err(SawFault::TooLong { asked: Tenths(asked), bar });
    }
    Ok(Sawn { bar, remainders: Tenths(sum), kerfs: Tenths(kerfs), used: Tenths(bar.0 - asked) })
}

/// The share of a bar's worth that a remainder of it keeps, by length, to so many decimals of the currency.
pub fn worth_of_remainder(worth: Money, bar: Tenths, remainder: Tenths, decimals: u32) -> Money {
    let share = Decimal::from(remainder.0).checked_div(Decimal::from(bar.0)).unwrap_or_default();
    (worth * share).rounded(decimals)
}

/// What these pieces are worth together.
pub fn worth<'a>(pieces: impl Iterator<Item = &'a RackPiece>) -> Money {
    pieces.map(|piece| piece.worth).sum()
}

/// The length of a bar; none of a sheet.
pub fn bar_length(stock: &Stocked) -> Option<Tenths> {
    match stock {
        Stocked::Bar { length, .. } => Some(*length),
        Stocked::Sheet { .. } => None,
    }
}

/// The same stock, as long (and, of a sheet, as wide) as it was found to be.
pub fn resized(stock: &Stocked, long: Tenths, wide: Option<Tenths>) -> Stocked {
    let mut stock = stock.clone();
    match &mut stock {
        Stocked::Bar { length, .. } => *length = long,
        Stocked::Sheet { length, width, .. } => {
            *length = long;
            *width = wide.unwrap_or(*width);
        }
    }
    stock
}

/// The tag of the piece with this number: R-0042.
pub fn tag(number: i64) -> String {
    format!("R-{number:04}")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// Nothing is won or lost on the saw, and what does not fit is refused.
        #[test]
        fn sawing_conserves_length(bar in 1_i64..80_000, kerf in 0_i64..60, left in prop::collection::vec(1_i64..40_000, 0..5)) {
            let remainders: Vec<Tenths> = left.iter().copied().map(Tenths).collect();
            let asked: i64 = left.iter().map(|length| length + kerf).sum();
            match saw(Tenths(bar), Tenths(kerf), &remainders) {
                Ok(sawn) => {
                    prop_assert_eq!(sawn.remainders.0 + sawn.kerfs.0 + sawn.used.0, bar);
                    prop_assert!(sawn.used.0 >= 0);
                    prop_assert_eq!(sawn.remainders.0 + sawn.kerfs.0, asked);
                }
                Err(_) => prop_assert!(asked > bar),
            }
        }

        /// Whatever is tried in whatever order, a job gets a piece only while no other has it, and what is gone stays gone.
        #[test]
        fn a_piece_is_one_jobs_only(steps in prop::collection::vec((0_usize..7, 0_u8..3), 0..40)) {
            let mut state = State::Free;
            for (which, job) in steps {
                let before = state;
                if let Ok(after) = state.after(Movement::ALL[which], job) {
                    match before {
                        State::Gone => prop_assert!(false, "a piece came back"),
                        State::Reserved(theirs) => prop_assert_eq!(theirs, job),
                        State::Free => prop_assert_ne!(Movement::ALL[which], Movement::Cut),
                    }
                    state = after;
                }
            }
        }
    }

    #[test]
    fn a_plan_counts_on_free_pieces_and_on_its_own() {
        assert!(State::<u8>::Free.is_open_to(1));
        assert!(State::Reserved(1_u8).is_open_to(1));
        assert!(!State::Reserved(2_u8).is_open_to(1));
        assert!(!State::<u8>::Gone.is_open_to(1));
    }

    #[test]
    fn a_remainder_keeps_its_share_of_the_worth() {
        let money = |text: &str| Money(text.parse().unwrap());
        let of = |bar, decimals| worth_of_remainder(money("41.20"), Tenths(bar), Tenths(15_000), decimals);
        assert_eq!((of(60_000, 2), of(60_000, 0)), (money("10.30"), money("10")));
        assert_eq!(of(0, 2), Money::ZERO);
    }

    #[test]
    fn a_faulty_remainder_is_refused() {
        assert_eq!(saw(Tenths(1000), Tenths(25), &[Tenths(0)]), Err(SawFault::Empty));
        assert_eq!(
            saw(Tenths(1000), Tenths(25), &[Tenths(976)]),
            Err(SawFault::TooLong { asked: Tenths(1001), bar: Tenths(1000) })
        );
    }
}
