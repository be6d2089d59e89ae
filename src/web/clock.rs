//! The only place of the pages that asks what time it is.

use jiff::{Timestamp, civil::Date, tz::TimeZone};

pub fn now() -> Timestamp {
    Timestamp::now()
}

/// The day in the time zone of this machine: the shop's.
pub fn today() -> Date {
    day_of(now())
}

/// A moment as the shop reads it: `5 Nov 2026, 14:05`.
pub fn moment(at: Timestamp) -> String {
    at.to_zoned_datetime(TimeZone::system()).strftime("%-d %b %Y, %H:%M").to_string()
}

/// The day of a moment.
pub fn day_of(at: Timestamp) -> Date {
    at.to_zoned_datetime(TimeZone::system()).date()
}
