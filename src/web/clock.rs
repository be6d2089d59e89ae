//! The only place of the pages that asks what time it is.

use std::sync::RwLock;

use jiff::{Timestamp, civil::Date, tz::TimeZone};

/// The shop's time zone; that of the machine until the shop says one. A server serves one shop.
static ZONE: RwLock<Option<TimeZone>> = RwLock::new(None);

pub fn now() -> Timestamp {
    Timestamp::now()
}

/// The shop's day.
pub fn today() -> Date {
    day_of(now())
}

/// A moment as the shop reads it: `5 Nov 2026, 14:05`.
pub fn moment(at: Timestamp) -> String {
    written(at.to_zoned_datetime(zone()))
}

fn written(at: jiff::ZonedDateTime) -> String {
    at.strftime("%-d %b %Y, %H:%M").to_string()
}

/// The day of a moment.
pub fn day_of(at: Timestamp) -> Date {
    at.to_zoned_datetime(zone()).date()
}

/// [`moment`] in the zone of this name: that which was frozen with a revision.
pub fn moment_in(zone: &str, at: Timestamp) -> String {
    written(at.to_zoned_datetime(TimeZone::get(zone).unwrap_or(TimeZone::UTC)))
}

/// [`day_of`] in the zone of this name.
pub fn day_in(zone: &str, at: Timestamp) -> Date {
    at.to_zoned_datetime(TimeZone::get(zone).unwrap_or(TimeZone::UTC)).date()
}

/// Whether a text names a time zone, or none.
pub fn is_zone(name: &str) -> bool {
    name.is_empty() || TimeZone::get(name).is_ok()
}

/// From now on days are those of this zone (a name of the IANA database); without a known name those of the machine.
pub fn keep_zone(name: &str) {
    let found = if name.is_empty() { None } else { TimeZone::get(name).ok() };
    *ZONE.write().unwrap_or_else(std::sync::PoisonError::into_inner) = found;
}

/// The name of the zone, for what is frozen with its days.
pub fn zone_name() -> String {
    zone().iana_name().unwrap_or("UTC").to_owned()
}

/// The shop's time zone.
pub fn zone() -> TimeZone {
    ZONE.read().unwrap_or_else(std::sync::PoisonError::into_inner).clone().unwrap_or_else(TimeZone::system)
}
