//! How far prices move: what a quote's validity may cost, when a new price is more likely a slip, and an index of a class.
//!
//! The figures of [`Movement`] are per cent changes of producer price indices of the Bureau of Labor Statistics (public
//! domain), January 2000 to November 2023, worked out by this project: the 95th percentile of the changes over one month
//! and over three. Changes trend (the correlation of one month with the next is 0.34 to 0.73), so a horizon is never scaled
//! by the root of time.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rust_decimal::Decimal;

use super::{ItemClass, Policy};
use crate::measure::Money;

/// The rise that 95 of 100 changes of an index stayed below, per cent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Movement {
    /// Over 30 days.
    pub month: Decimal,
    /// Over 91 days.
    pub quarter: Decimal,
    /// The index that it was read from.
    pub index: &'static str,
}

const MONTH_DAYS: u32 = 30;
const QUARTER_DAYS: u32 = 91;

/// What is known of a class; none for goods that no index was looked at for.
pub fn movement(class: ItemClass) -> Option<Movement> {
    let of = |month, quarter, index| {
        Some(Movement { month: Decimal::new(month, 1), quarter: Decimal::new(quarter, 1), index })
    };
    match class {
        ItemClass::HollowSection => of(53, 143, "steel pipe and tube, WPU101706"),
        ItemClass::OpenSection => of(49, 131, "hot-rolled bars, plates and structural shapes, WPU101704"),
        ItemClass::SteelSheet => of(76, 202, "cold-rolled sheet and strip, WPU101707"),
        ItemClass::Aluminium => of(33, 75, "aluminium mill shapes, WPU102501"),
        ItemClass::Timber => of(85, 163, "plywood, WPU083"),
        ItemClass::Part | ItemClass::Consumable | ItemClass::Paint | ItemClass::Labour | ItemClass::OutsideWork => None,
    }
}

impl Movement {
    /// The rise to allow for over so many days, per cent, to 0.01: straight from nought over the measured points at 30 and
    /// at 91 days, and on with the same slope (beyond 91 days nothing was measured).
    pub fn allowance_percent(&self, days: u32) -> Decimal {
        let share = |days: u32, of: u32| Decimal::from(days) / Decimal::from(of);
        let percent = if days <= MONTH_DAYS {
            self.month * share(days, MONTH_DAYS)
        } else {
            self.month + (self.quarter - self.month) * share(days - MONTH_DAYS, QUARTER_DAYS - MONTH_DAYS)
        };
        percent.round_dp(2)
    }
}

/// How far a price may be edited before the page asks, per cent. Steel 15 and plywood 20 lie above every one-month rise of
/// pipe and tube (11.9 %) and of plywood (18.1 %) in those 24 years, aluminium 10 above that of mill shapes (8.3 %): more is
/// more likely a slip of the unit or the point. The others are common practice, no source.
pub const fn default_jump_percent(class: ItemClass) -> u32 {
    match class {
        ItemClass::HollowSection | ItemClass::OpenSection | ItemClass::SteelSheet => 15,
        ItemClass::Timber => 20,
        ItemClass::Aluminium => 10,
        ItemClass::Part | ItemClass::Consumable | ItemClass::Paint | ItemClass::OutsideWork | ItemClass::Labour => 30,
    }
}

/// A new price that is more likely a slip than a change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Jump {
    pub before: Money,
    pub after: Money,
    /// To 0.1; none from a price of nought.
    pub percent: Option<Decimal>,
    pub limit: Decimal,
}

/// Whether a price moves farther than the shop believes at once. A price that held for more than a month may have moved
/// twice as far (over three months pipe and tube rose by up to 30 %, plywood by up to 44 %).
pub fn jump(class: ItemClass, before: (Money, Date), after: (Money, Date), policy: &Policy) -> Option<Jump> {
    let old = (after.1 - before.1).get_days() > 31;
    let limit = policy.jump_percent(class) * Decimal::from(if old { 2 } else { 1 });
    let (was, now) = (before.0.0, after.0.0);
    if was == now {
        return None;
    }
    let percent = now.checked_div(was).map(|ratio| ((ratio - Decimal::ONE) * Decimal::ONE_HUNDRED).round_dp(1));
    let far = percent.is_none_or(|percent| percent.abs() > limit);
    far.then_some(Jump { before: before.0, after: after.0, percent, limit })
}

/// A price and the day from which it holds.
pub type Priced = (Date, f64);

/// The chained index of a class: 100 on the first day, then on each day on which a price moved
///
///   I(t) = I(t − 1) · exp( (1/n) Σ ln( p(t) / p(t − 1) ) )
///
/// over the n items that have a price above nought on both days: the geometric mean of the price relatives, chained (a Jevons
/// index; Producer Price Index Manual of the IMF, chapter on elementary indices, from memory). An item that comes or goes
/// moves nothing; all prices up by 10 % move it by 10 %.
///
/// Each item gives its prices in the order of their days, one for a day. Days before the first item's are left out.
pub fn class_index(items: &[Vec<Priced>]) -> Vec<(Date, f64)> {
    let days: BTreeSet<Date> = items.iter().flatten().map(|(day, _)| *day).collect();
    let moves: BTreeMap<Date, Vec<(f64, f64)>> =
        items.iter().flat_map(|prices| prices.windows(2)).fold(BTreeMap::new(), |mut moves, pair| {
            if let [(_, before), (day, after)] = pair {
                moves.entry(*day).or_insert_with(Vec::new).push((*before, *after));
            }
            moves
        });
    let mut level = 100.0_f64;
    let mut index = Vec::new();
    for day in days {
        // Items whose price stands still on a day count with a relative of one.
        let standing =
            items.iter().filter(|prices| prices.first().is_some_and(|(first, price)| *first < day && *price > 0.0));
        let count = standing.count();
        let relatives = moves.get(&day).into_iter().flatten().filter(|(before, after)| *before > 0.0 && *after > 0.0);
        let sum: f64 = relatives.map(|(before, after)| (after / before).ln()).sum();
        if count > 0 {
            level *= (sum / count as f64).exp();
        }
        index.push((day, level));
    }
    index
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn money(text: &str) -> Money {
        Money(text.parse().unwrap())
    }

    #[test]
    fn the_allowance_runs_through_the_measured_points() {
        let tube = movement(ItemClass::HollowSection).unwrap();
        for (days, percent) in [(0, "0"), (14, "2.47"), (30, "5.3"), (91, "14.3"), (61, "9.87"), (122, "18.87")] {
            assert_eq!(tube.allowance_percent(days), percent.parse().unwrap(), "{days}");
        }
        // √3 times a month would be 9.2 %: the measured quarter is half as much again.
        assert!(tube.quarter > tube.month * Decimal::new(1_732, 3));
        assert_eq!(movement(ItemClass::Labour), None);
    }

    #[test]
    fn a_slip_of_the_point_is_asked_about_and_a_usual_rise_is_not() {
        let policy = Policy::default();
        let at = |price: &str, month| (money(price), date(2026, month, 1));
        let tube = |before, after| jump(ItemClass::HollowSection, before, after, &policy);
        assert_eq!(tube(at("2.00", 11), at("2.30", 11)), None);
        let slip = tube(at("2.00", 11), at("20.0", 11)).unwrap();
        assert_eq!((slip.percent, slip.limit), (Some(Decimal::from(900)), Decimal::from(15)));
        assert!(tube(at("2.00", 11), at("1.60", 11)).is_some(), "a fall too");
        // A quarter old: twice as far.
        assert_eq!(tube(at("2.00", 8), at("2.60", 11)), None);
        assert!(tube(at("2.00", 8), at("2.62", 11)).is_some());
        assert!(jump(ItemClass::Timber, at("10", 11), at("12", 11), &policy).is_none());
        assert!(tube(at("0", 11), at("2", 11)).is_some_and(|slip| slip.percent.is_none()));
        assert_eq!(tube(at("0", 11), at("0", 11)), None);
    }

    #[test]
    fn the_index_is_chained_and_new_items_do_not_move_it() {
        let day = |day| date(2026, 1, day);
        let rising = vec![(day(1), 10.0), (day(5), 11.0), (day(9), 12.1)];
        let still = vec![(day(1), 50.0)];
        let late = vec![(day(5), 900.0), (day(9), 990.0)];
        let index = class_index(&[rising.clone(), late]);
        let told: Vec<_> = index.iter().map(|(day, level)| (day.day(), (level * 100.0).round() / 100.0)).collect();
        assert_eq!(told, [(1, 100.0), (5, 110.0), (9, 121.0)]);
        // Half of the items by 10 %: √1.1.
        let half = class_index(&[rising, still]);
        assert!((half[1].1 - 100.0 * 1.1_f64.sqrt()).abs() < 1e-9);
        assert_eq!(class_index(&[]), []);
    }
}
