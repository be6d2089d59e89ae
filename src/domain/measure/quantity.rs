//! Exact quantities.

use std::{
    fmt,
    iter::Sum,
    ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign},
};

use rust_decimal::{Decimal, RoundingStrategy};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A length that was asked for, kept in whole nanometres: every millimetre decimal and every inch fraction down to 1/64
/// (396 875 nm) is exact. In JSON it is a number of millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(from = "f64", into = "f64")]
#[schemars(with = "f64")]
pub struct Length(i64);

impl Length {
    /// A millimetre value, rounded to the nearest nanometre; not-a-number counts as zero, infinities saturate.
    pub fn from_mm(mm: f64) -> Self {
        Self((mm * 1e6).round() as i64)
    }

    pub const fn from_nm(nm: i64) -> Self {
        Self(nm)
    }

    pub fn mm(self) -> f64 {
        self.0 as f64 / 1e6
    }

    pub const fn nm(self) -> i64 {
        self.0
    }
}

impl From<f64> for Length {
    fn from(mm: f64) -> Self {
        Self::from_mm(mm)
    }
}

impl From<Length> for f64 {
    fn from(length: Length) -> f64 {
        length.mm()
    }
}

/// A mass that was asked for, kept in whole micrograms (a pound is 453 592 370 of them, exactly). In JSON it is a number
/// of kilograms.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(from = "f64", into = "f64")]
#[schemars(with = "f64")]
pub struct Mass(i64);

impl Mass {
    /// A kilogram value, rounded to the nearest microgram; not-a-number counts as zero, infinities saturate.
    pub fn from_kg(kg: f64) -> Self {
        Self((kg * 1e9).round() as i64)
    }

    pub const fn from_micrograms(micrograms: i64) -> Self {
        Self(micrograms)
    }

    pub const fn micrograms(self) -> i64 {
        self.0
    }

    pub fn kg(self) -> f64 {
        self.0 as f64 / 1e9
    }
}

impl From<f64> for Mass {
    fn from(kg: f64) -> Self {
        Self::from_kg(kg)
    }
}

impl From<Mass> for f64 {
    fn from(mass: Mass) -> f64 {
        mass.kg()
    }
}

/// A length on the saw: whole tenths of a millimetre. In JSON it is a number of millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(from = "f64", into = "f64")]
#[schemars(with = "f64")]
pub struct Tenths(pub i64);

impl Tenths {
    /// The nearest tenth: the one place where geometry becomes a cut length.
    pub fn nearest(mm: f64) -> Self {
        Self((mm * 10.0).round() as i64)
    }

    pub fn mm(self) -> f64 {
        self.0 as f64 / 10.0
    }
}

impl From<f64> for Tenths {
    fn from(mm: f64) -> Self {
        Self::nearest(mm)
    }
}

impl From<Tenths> for f64 {
    fn from(tenths: Tenths) -> f64 {
        tenths.mm()
    }
}

impl fmt::Display for Tenths {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        write!(f, "{sign}{}.{}", self.0.unsigned_abs() / 10, self.0.unsigned_abs() % 10)
    }
}

/// An amount in the shop's currency. The currency itself belongs to the shop. In JSON it is a decimal string.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[schemars(with = "String")]
#[serde(transparent)]
pub struct Money(pub Decimal);

impl Money {
    pub const ZERO: Self = Self(Decimal::ZERO);

    /// Rounds half away from zero, as invoices do, to so many decimals.
    pub fn rounded(self, decimals: u32) -> Self {
        Self(self.0.round_dp_with_strategy(decimals, RoundingStrategy::MidpointAwayFromZero))
    }
}

impl Mul<Decimal> for Money {
    type Output = Self;

    /// Saturates instead of panicking where a product does not fit.
    fn mul(self, by: Decimal) -> Self {
        Self(self.0.saturating_mul(by))
    }
}

macro_rules! additive {
    ($($kind:ident),*) => { $(
        impl Add for $kind {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0.saturating_add(other.0))
            }
        }
        impl Sub for $kind {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0.saturating_sub(other.0))
            }
        }
        impl AddAssign for $kind {
            fn add_assign(&mut self, other: Self) {
                *self = *self + other;
            }
        }
        impl SubAssign for $kind {
            fn sub_assign(&mut self, other: Self) {
                *self = *self - other;
            }
        }
        impl Neg for $kind {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Sum for $kind {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                items.fold(Self::default(), |total, item| total + item)
            }
        }
    )* };
}
additive!(Length, Mass, Tenths, Money);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sixty_fourth_of_an_inch_is_exact() {
        assert_eq!(Length::from_mm(25.4 / 64.0).nm(), 396_875);
    }

    #[test]
    fn a_length_survives_json() {
        let length = Length::from_mm(157.1625);
        let text = serde_json::to_string(&length).unwrap();
        assert_eq!(text, "157.1625");
        assert_eq!(serde_json::from_str::<Length>(&text).unwrap(), length);
    }

    #[test]
    fn money_rounds_half_away_from_zero() {
        assert_eq!(Money("2.345".parse().unwrap()).rounded(2), Money("2.35".parse().unwrap()));
        assert_eq!(Money("-2.345".parse().unwrap()).rounded(2), Money("-2.35".parse().unwrap()));
    }

    #[test]
    fn tenths_print_one_decimal() {
        assert_eq!(Tenths(-5).to_string(), "-0.5");
        assert_eq!(Tenths::nearest(1234.56).to_string(), "1234.6");
    }
}
