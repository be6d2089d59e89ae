//! Sign-ins that fail are slowed down, by name and by address. Kept in memory: a start of the server forgets it.

use std::{
    collections::HashMap,
    net::IpAddr,
    sync::{Mutex, PoisonError},
    time::{Duration, Instant},
};

use super::limit::network;

/// After so many failures the next attempt has to wait; each further one doubles the wait.
const FREE_BY_NAME: u32 = 5;
/// A shop's people may share one address.
const FREE_BY_ADDRESS: u32 = 20;
const FIRST_WAIT: Duration = Duration::from_secs(2);
/// So that nobody is kept out for long by someone who types their name: about 60 tries an hour, under the 100 that
/// OWASP ASVS 4.0.3 allows (2.2.1, from memory).
const LONGEST_WAIT: Duration = Duration::from_secs(60);
/// Failures are forgotten after this time without another.
const FORGOTTEN: Duration = Duration::from_secs(3600);
/// More names and addresses than this are not kept: the older half makes room.
const MOST: usize = 10_000;

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Key {
    Name(String),
    Address(Option<IpAddr>),
}

impl Key {
    const fn free(&self) -> u32 {
        match self {
            Self::Name(_) => FREE_BY_NAME,
            Self::Address(_) => FREE_BY_ADDRESS,
        }
    }
}

#[derive(Clone, Copy, Debug)]
struct Failures {
    count: u32,
    last: Instant,
}

impl Failures {
    fn wait(&self, free: u32, now: Instant) -> Option<Duration> {
        let over = self.count.checked_sub(free)?;
        let wait = FIRST_WAIT.saturating_mul(2_u32.saturating_pow(over.min(16))).min(LONGEST_WAIT);
        let passed = now.saturating_duration_since(self.last);
        wait.checked_sub(passed).filter(|left| !left.is_zero())
    }
}

#[derive(Debug, Default)]
pub(super) struct Throttle {
    failures: Mutex<HashMap<Key, Failures>>,
}

impl Throttle {
    /// Notes an attempt, as a failure until [`Throttle::succeeded`] takes it back: so many attempts at once count as many.
    ///
    /// # Errors
    /// How long to wait; then the attempt was not noted, and must not be made.
    pub fn attempt(&self, name: &str, address: Option<IpAddr>, now: Instant) -> Result<(), Duration> {
        let mut failures = self.failures.lock().unwrap_or_else(PoisonError::into_inner);
        let keys = keys(name, address);
        let waits = keys.iter().filter_map(|key| failures.get(key)?.wait(key.free(), now));
        if let Some(wait) = waits.max() {
            return Err(wait);
        }
        if failures.len() >= MOST {
            make_room(&mut failures);
        }
        for key in keys {
            let found = failures.entry(key).or_insert(Failures { count: 0, last: now });
            let is_old = now.saturating_duration_since(found.last) >= FORGOTTEN;
            *found = Failures { count: if is_old { 1 } else { found.count.saturating_add(1) }, last: now };
        }
        Ok(())
    }

    /// The attempt was right: the name starts afresh, the address is not charged for it.
    pub fn succeeded(&self, name: &str, address: Option<IpAddr>) {
        let mut failures = self.failures.lock().unwrap_or_else(PoisonError::into_inner);
        let [name, address] = keys(name, address);
        failures.remove(&name);
        if let Some(found) = failures.get_mut(&address) {
            found.count = found.count.saturating_sub(1);
        }
    }
}

/// Drops the older half.
fn make_room(failures: &mut HashMap<Key, Failures>) {
    let mut times: Vec<Instant> = failures.values().map(|failures| failures.last).collect();
    times.sort_unstable();
    let Some(middle) = times.get(times.len() / 2).copied() else { return };
    failures.retain(|_, failures| failures.last > middle);
}

fn keys(name: &str, address: Option<IpAddr>) -> [Key; 2] {
    [Key::Name(name.to_owned()), Key::Address(address.map(network))]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(text: &str) -> Option<IpAddr> {
        Some(text.parse().expect("an address"))
    }

    #[test]
    fn a_name_waits_after_five_failures_and_ever_longer_up_to_a_minute() {
        let (throttle, start) = (Throttle::default(), Instant::now());
        for last in 1..=5 {
            assert_eq!(throttle.attempt("ann", address(&format!("192.0.2.{last}")), start), Ok(()));
        }
        let mut now = start;
        for wait in [2, 4, 8, 16, 32, 60, 60] {
            let wait = Duration::from_secs(wait);
            assert_eq!(throttle.attempt("ann", None, now), Err(wait));
            assert_eq!(throttle.attempt("bo", address("198.51.100.7"), now), Ok(()), "another name is free");
            throttle.succeeded("bo", address("198.51.100.7"));
            now += wait;
            assert_eq!(throttle.attempt("ann", address("203.0.113.1"), now), Ok(()));
        }
        assert_eq!(throttle.attempt("ann", None, now + FORGOTTEN), Ok(()));
        assert_eq!(throttle.attempt("ann", None, now + FORGOTTEN), Ok(()), "an hour later it starts afresh");
    }

    #[test]
    fn an_address_waits_after_twenty_failures_of_any_name_and_a_network_is_one_address() {
        let (throttle, now) = (Throttle::default(), Instant::now());
        for nth in 0..20 {
            assert_eq!(throttle.attempt(&format!("name {nth}"), address(&format!("2001:db8::{nth}")), now), Ok(()));
        }
        assert!(throttle.attempt("another", address("2001:db8::ffff"), now).is_err());
        assert_eq!(throttle.attempt("another", address("2001:db8:0:1::1"), now), Ok(()));
    }

    #[test]
    fn a_right_attempt_is_not_counted() {
        let (throttle, now) = (Throttle::default(), Instant::now());
        for _ in 0..100 {
            assert_eq!(throttle.attempt("ann", None, now), Ok(()));
            throttle.succeeded("ann", None);
        }
    }

    #[test]
    fn it_never_grows_without_end() {
        let (throttle, now) = (Throttle::default(), Instant::now());
        for nth in 0..12_000_u32 {
            let _ = throttle.attempt(&nth.to_string(), Some(IpAddr::from(nth.to_be_bytes())), now);
        }
        assert!(throttle.failures.lock().unwrap().len() <= MOST + 1);
    }
}
