//! When a trailer can be collected: working days from the day on which order, deposit and approved drawing are all there.

use jiff::{ToSpan, civil::Date};
use rust_decimal::{Decimal, RoundingStrategy, prelude::ToPrimitive};
use serde::{Deserialize, Serialize};

use crate::shop::{Policy, Workdays};

/// Working days that a job takes, by what they are spent on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Days {
    /// Until work starts: the shop's own lead or the longest delivery, whichever is longer.
    pub before: u32,
    /// Hours over the shop's capacity.
    pub building: u32,
    /// Away for galvanising or coating.
    pub outside: u32,
}

impl Days {
    /// Hours in the shop, days until the last goods arrive, and days away.
    pub fn new(hours: f64, longest_delivery: u32, outside: u32, policy: &Policy) -> Self {
        let hours = Decimal::try_from(hours).unwrap_or_default();
        let days = hours.checked_div(policy.capacity_hours_per_day).unwrap_or_default();
        let building = days.round_dp_with_strategy(0, RoundingStrategy::ToPositiveInfinity).to_u32().unwrap_or(0);
        Self { before: policy.lead_days.max(longest_delivery), building, outside }
    }

    pub const fn total(self) -> u32 {
        self.before.saturating_add(self.building).saturating_add(self.outside)
    }

    /// The first day on which it can be collected, when everything needed is there on `start`.
    pub fn collection(self, start: Date, policy: &Policy) -> Date {
        after_working_days(start, self.total(), policy.workdays)
    }
}

/// The working day that comes so many working days after a date; 0 is the date itself or the next day that is worked. A
/// shop that works on no day of the week is taken to work on all.
pub fn after_working_days(from: Date, days: u32, workdays: Workdays) -> Date {
    let works = |date: Date| workdays.works(date.weekday());
    let any = (0..7).any(|day| from.checked_add(day.days()).is_ok_and(works));
    let mut date = from;
    let mut left = days.min(10_000);
    // Stops at the end of the calendar.
    while left > 0 || (any && !works(date)) {
        let Ok(next) = date.checked_add(1.day()) else { return date };
        date = next;
        if left > 0 && (!any || works(date)) {
            left -= 1;
        }
    }
    date
}

/// The last working day from which so many working days lead to a date, or to the last working day before it: what is ordered then
/// and takes that long is there in time. A shop that works on no day of the week is taken to work on all.
pub fn before_working_days(to: Date, days: u32, workdays: Workdays) -> Date {
    let works = |date: Date| workdays.works(date.weekday());
    let any = (0..7).any(|day| to.checked_sub(day.days()).is_ok_and(works));
    let mut date = to;
    let mut left = days.min(10_000);
    // Stops at the beginning of the calendar.
    while (any && !works(date)) || left > 0 {
        left -= u32::from(left > 0 && (!any || works(date)));
        let Ok(earlier) = date.checked_sub(1.day()) else { return date };
        date = earlier;
    }
    date
}

/// Whether what is ordered today and takes so many working days comes after the day on which it is needed.
pub fn comes_too_late(today: Date, days: u32, needed: Date, workdays: Workdays) -> bool {
    after_working_days(today, days, workdays) > needed
}

/// The last day on which a quote of `day` can be accepted.
pub fn valid_until(day: Date, policy: &Policy) -> Date {
    day.checked_add(i64::from(policy.validity_days).days()).unwrap_or(day)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn weekends_do_not_count() {
        let week = Workdays::default();
        // Wednesday 25 November 2026.
        let wednesday = date(2026, 11, 25);
        assert_eq!(after_working_days(wednesday, 0, week), wednesday);
        assert_eq!(after_working_days(wednesday, 2, week), date(2026, 11, 27));
        assert_eq!(after_working_days(wednesday, 3, week), date(2026, 11, 30));
        assert_eq!(after_working_days(date(2026, 11, 28), 0, week), date(2026, 11, 30));
        assert_eq!(after_working_days(wednesday, 10, week), date(2026, 12, 9));
        let never =
            Workdays { monday: false, tuesday: false, wednesday: false, thursday: false, friday: false, ..week };
        assert_eq!(after_working_days(wednesday, 3, never), date(2026, 11, 28));
        assert_eq!(after_working_days(Date::MAX, 3, week), Date::MAX);
    }

    #[test]
    fn what_is_ordered_so_many_days_before_is_there_in_time() {
        let week = Workdays::default();
        // Thursday 10 and Sunday 13 December 2026.
        assert_eq!(before_working_days(date(2026, 12, 10), 0, week), date(2026, 12, 10));
        assert_eq!(before_working_days(date(2026, 12, 10), 4, week), date(2026, 12, 4));
        assert_eq!(before_working_days(date(2026, 12, 13), 0, week), date(2026, 12, 11));
        for (day, days) in (0..21).flat_map(|day| (0..30).map(move |days| (day, days))) {
            let to = date(2026, 12, 1).checked_add(day.days()).unwrap();
            let order = before_working_days(to, days, week);
            let there = after_working_days(order, days, week);
            let later = after_working_days(order, 1, week);
            assert!(there <= to && after_working_days(later, days, week) > to, "{to}, {days} days: {order}");
        }
        assert_eq!(before_working_days(Date::MIN, 3, week), Date::MIN);
    }

    #[test]
    fn days_off_make_no_delivery_late() {
        let week = Workdays::default();
        // Needed on Friday 4 December 2026, five working days after Friday 27 November.
        let late = |today: Date, days: u32| comes_too_late(today, days, date(2026, 12, 4), week);
        assert_eq!([27, 28, 29, 30].map(|day| late(date(2026, 11, day), 5)), [false, false, false, true]);
        assert!(!late(date(2026, 12, 4), 0) && late(date(2026, 12, 5), 0));
    }

    #[test]
    fn the_longest_delivery_and_the_hours_decide() {
        let policy = Policy { lead_days: 8, capacity_hours_per_day: Decimal::from(12), ..Policy::default() };
        let days = Days::new(37.0, 10, 7, &policy);
        assert_eq!(days, Days { before: 10, building: 4, outside: 7 });
        assert_eq!(days.collection(date(2026, 11, 25), &policy), date(2026, 12, 24));
        assert_eq!(valid_until(date(2026, 11, 25), &policy), date(2026, 12, 9));
    }
}
