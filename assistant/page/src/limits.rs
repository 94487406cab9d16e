//! How much is taken from whom.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// How much a server takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Viewers that follow the job at once.
    pub viewers: usize,
    /// Connections at once.
    pub connections: usize,
    /// Requests from one address.
    pub requests: Rate,
    /// Requests from one address that ask for something to be done.
    pub doings: Rate,
    /// Wrong tokens from one address.
    pub wrong_tokens: Rate,
    /// Bytes of a photo.
    pub photo_bytes: usize,
    /// How long a request's head may take to come, and its body.
    pub patience: Duration,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            viewers: 500,
            connections: 1000,
            // A viewer loads about ten things at once; a whole shop behind one address reloads.
            requests: Rate {
                at_once: 4000,
                a_second: 200,
            },
            doings: Rate {
                at_once: 20,
                a_second: 2,
            },
            wrong_tokens: Rate {
                at_once: 10,
                a_second: 1,
            },
            photo_bytes: 10 * 1024 * 1024,
            patience: Duration::from_secs(20),
        }
    }
}

/// So many at once, and so many a second for good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rate {
    /// At once.
    pub at_once: u32,
    /// A second.
    pub a_second: u32,
}

/// Addresses that are remembered. Beyond it those that have been quiet are forgotten.
const MAX_ADDRESSES: usize = 4096;

/// What each address has left: a bucket that fills up again.
#[derive(Debug)]
pub(crate) struct Allowance {
    rate: Rate,
    left: Mutex<HashMap<IpAddr, (f64, Instant)>>,
}

impl Allowance {
    pub(crate) fn new(rate: Rate) -> Self {
        Self {
            rate,
            left: Mutex::default(),
        }
    }

    /// Whether this address has one left, which is taken.
    pub(crate) fn takes(&self, from: IpAddr, now: Instant) -> bool {
        self.with(from, now, |left| {
            let has = *left >= 1.0;
            if has {
                *left -= 1.0;
            }
            has
        })
    }

    /// Whether this address has one left, which it keeps.
    pub(crate) fn has(&self, from: IpAddr, now: Instant) -> bool {
        self.with(from, now, |left| *left >= 1.0)
    }

    fn with<T>(&self, from: IpAddr, now: Instant, then: impl FnOnce(&mut f64) -> T) -> T {
        let full = f64::from(self.rate.at_once);
        let filled = |(left, since): (f64, Instant)| {
            let time = now.saturating_duration_since(since).as_secs_f64();
            (left + time * f64::from(self.rate.a_second)).min(full)
        };
        // A poisoned lock still holds counts.
        let mut all = self.left.lock().unwrap_or_else(|it| it.into_inner());
        if all.len() >= MAX_ADDRESSES && !all.contains_key(&from) {
            all.retain(|_, entry| filled(*entry) < full);
            if all.len() >= MAX_ADDRESSES {
                // So many at once are no shop: they share what is left.
                all.clear();
            }
        }
        let entry = all.entry(from).or_insert((full, now));
        entry.0 = filled(*entry);
        entry.1 = now;
        then(&mut entry.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_has_so_many_at_once_and_gets_new_ones_with_time() {
        let rate = Rate {
            at_once: 3,
            a_second: 2,
        };
        let allowance = Allowance::new(rate);
        let (one, other) = ([10, 0, 0, 1].into(), [10, 0, 0, 2].into());
        let start = Instant::now();
        let takes = |from, ms| allowance.takes(from, start + Duration::from_millis(ms));
        assert_eq!([takes(one, 0), takes(one, 0), takes(one, 0)], [true; 3]);
        assert!(!takes(one, 0));
        assert!(takes(other, 0));
        assert!(!takes(one, 400));
        assert!(takes(one, 500));
        // Never more than at once, however long it was quiet.
        assert_eq!((0..10).filter(|_| takes(one, 60_000)).count(), 3);
    }

    #[test]
    fn not_more_addresses_are_remembered_than_fit() {
        let allowance = Allowance::new(Rate {
            at_once: 1,
            a_second: 1,
        });
        let now = Instant::now();
        for number in 0..20_000u32 {
            allowance.takes(IpAddr::from(number.to_be_bytes()), now);
        }
        assert!(allowance.left.lock().unwrap().len() <= MAX_ADDRESSES);
    }
}
