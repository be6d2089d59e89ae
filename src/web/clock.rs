//! The only place of the pages that asks what time it is.

use jiff::{Timestamp, Zoned, civil::Date, tz::TimeZone};

pub fn now() -> Timestamp {
    Timestamp::now()
}

/// The day in the time zone of this machine: the shop's.
pub fn today() -> Date {
    Zoned::now().date()
}

/// A moment as the shop reads it: `5 Nov 2026, 14:05`.
pub fn moment(at: Timestamp) -> String {
    at.to_zoned(TimeZone::system()).strftime("%-d %b %Y, %H:%M").to_string()
}

/// The day of a moment.
pub fn day_of(at: Timestamp) -> Date {
    at.to_zoned(TimeZone::system()).date()
}
