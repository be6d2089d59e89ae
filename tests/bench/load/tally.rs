//! How long answers took, by route.

use std::{collections::BTreeMap, time::Duration};

#[derive(Debug, Default)]
pub struct Tally(BTreeMap<&'static str, Vec<Duration>>);

impl Tally {
    pub fn took(&mut self, route: &'static str, time: Duration) {
        self.0.entry(route).or_default().push(time);
    }

    pub fn add(&mut self, other: Self) {
        for (route, times) in other.0 {
            self.0.entry(route).or_default().extend(times);
        }
    }

    /// One line a route: how often, the median, the 99th percentile, the slowest.
    pub fn print(&mut self, lasted: Duration) {
        println!("{:<28} {:>7} {:>8} {:>9} {:>9} {:>9}", "route", "asked", "a second", "p50 ms", "p99 ms", "most ms");
        for (route, times) in &mut self.0 {
            times.sort_unstable();
            let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1e3;
            let pace = times.len() as f64 / lasted.as_secs_f64();
            println!("{route:<28} {:>7} {pace:>8.1} {:>9.2} {:>9.2} {:>9.2}", times.len(), at(0.5), at(0.99), at(1.0));
        }
    }
}
