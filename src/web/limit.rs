//! Customers' copies are asked for at a person's pace: what comes faster from one address waits. It protects the shop's
//! machine; a link's secret needs no such help.

use std::{
    net::{IpAddr, Ipv6Addr},
    num::NonZeroU32,
    time::Duration,
};

use governor::{
    DefaultKeyedRateLimiter, Quota, RateLimiter,
    clock::{Clock, DefaultClock},
};

/// Pages at once, then one a second.
const AT_ONCE: NonZeroU32 = NonZeroU32::new(60).unwrap();
/// What something that is sent counts for: six at once, then one every ten seconds.
const SENDING: NonZeroU32 = NonZeroU32::new(10).unwrap();
const READING: NonZeroU32 = NonZeroU32::new(1).unwrap();
/// More addresses than this are looked through for those that rested.
const MANY: usize = 10_000;

#[derive(Debug)]
pub(super) struct Limit {
    addresses: DefaultKeyedRateLimiter<IpAddr>,
}

impl Default for Limit {
    fn default() -> Self {
        Self { addresses: RateLimiter::keyed(Quota::per_second(NonZeroU32::MIN).allow_burst(AT_ONCE)) }
    }
}

impl Limit {
    /// Counts a request of a visitor. One whose address is not known (no proxy is trusted to tell it) is not held up: all
    /// visitors would share its turn.
    ///
    /// # Errors
    /// How long to wait.
    pub fn take(&self, visitor: Option<IpAddr>, sends: bool) -> Result<(), Duration> {
        let Some(visitor) = visitor.filter(|address| !address.is_loopback()) else { return Ok(()) };
        if self.addresses.len() > MANY {
            self.addresses.retain_recent();
        }
        let cost = if sends { SENDING } else { READING };
        match self.addresses.check_key_n(&network(visitor), cost) {
            Ok(Ok(())) => Ok(()),
            Ok(Err(not_until)) => Err(not_until.wait_time_from(DefaultClock::default().now())),
            // One request never counts for more than all at once.
            Err(_) => Err(Duration::from_secs(1)),
        }
    }
}

/// Whom an address stands for: of version 6 the network of 64 bits, which is one visitor's.
pub(super) fn network(address: IpAddr) -> IpAddr {
    match address {
        IpAddr::V4(_) => address,
        IpAddr::V6(long) => {
            let [a, b, c, d, ..] = long.segments();
            IpAddr::V6(Ipv6Addr::new(a, b, c, d, 0, 0, 0, 0))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn visitor(text: &str) -> Option<IpAddr> {
        Some(text.parse().expect("an address"))
    }

    #[test]
    fn sixty_pages_or_six_forms_at_once_then_it_waits() {
        let limit = Limit::default();
        for _ in 0..60 {
            assert_eq!(limit.take(visitor("203.0.113.9"), false), Ok(()));
        }
        let wait = limit.take(visitor("203.0.113.9"), false).expect_err("too many");
        assert!(wait <= Duration::from_secs(1), "{wait:?}");
        for nth in 0..6 {
            assert_eq!(limit.take(visitor(&format!("2001:db8::{nth}")), true), Ok(()), "another visitor");
        }
        let wait = limit.take(visitor("2001:db8::ffff"), true).expect_err("the same network");
        assert!(wait > Duration::from_secs(5), "{wait:?}");
    }

    #[test]
    fn visitors_whose_address_is_not_known_do_not_share_a_turn() {
        let limit = Limit::default();
        for _ in 0..200 {
            assert_eq!(limit.take(None, true), Ok(()));
            assert_eq!(limit.take(visitor("127.0.0.1"), true), Ok(()));
        }
    }
}
