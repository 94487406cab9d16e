//! The order in which the fasteners of a circle are tightened.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the next fastener is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Pattern {
    /// Across the circle each time (even counts); the same as [`Pattern::Star`] for odd ones.
    CrissCross,
    /// Along the lines of a star.
    Star,
    /// Each next to the one before.
    InTurn,
}

impl Pattern {
    /// The order for `count` fasteners, as numbers from 1, counted clockwise from the top. Each fastener
    /// comes once. Across the circle and in a star, two that are neighbours never follow one another
    /// where the count allows it, that is from five upward (common practice, no source).
    pub fn order(self, count: u16) -> Vec<u16> {
        match self {
            Self::InTurn => (1..=count).collect(),
            Self::CrissCross | Self::Star if count % 2 == 1 => {
                // (n − 1) / 2 and n have no common factor, so each is met once.
                let step = u32::from(count / 2).max(1);
                (0..u32::from(count))
                    .filter_map(|k| u16::try_from(k * step % u32::from(count) + 1).ok())
                    .collect()
            }
            Self::CrissCross | Self::Star => {
                let half = count / 2;
                // Six is the one count where every second diameter would end beside the next.
                let diameters: Vec<u16> = if half == 3 {
                    (0..half).collect()
                } else {
                    (0..half).step_by(2).chain((1..half).step_by(2)).collect()
                };
                diameters
                    .into_iter()
                    .flat_map(|a| [a + 1, a + half + 1])
                    .collect()
            }
        }
    }
}

/// Where fastener `number` of `count` sits, as the nearest hour of a clock face: 1 is at twelve o'clock.
pub fn clock_position(number: u16, count: u16) -> u16 {
    if count == 0 {
        return 12;
    }
    let hour = (f64::from(number.saturating_sub(1)) * 12.0 / f64::from(count)).round() as u16 % 12;
    if hour == 0 { 12 } else { hour }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn each_once_and_neighbours_apart() {
        for pattern in [Pattern::CrissCross, Pattern::Star, Pattern::InTurn] {
            for count in 1..=60u16 {
                let order = pattern.order(count);
                let mut sorted = order.clone();
                sorted.sort_unstable();
                assert_eq!(
                    sorted,
                    (1..=count).collect::<Vec<_>>(),
                    "{pattern:?} {count}"
                );
                if count >= 5 && pattern != Pattern::InTurn {
                    for pair in order.windows(2) {
                        let apart = pair[0].abs_diff(pair[1]);
                        assert!(
                            apart.min(count - apart) >= 2,
                            "{pattern:?} {count} {order:?}"
                        );
                    }
                }
            }
        }
    }

    /// Common practice, no source: five nuts along the lines of a star, four crosswise.
    #[test]
    fn wheels_are_tightened_as_the_trade_does() {
        assert_eq!(Pattern::Star.order(5), [1, 3, 5, 2, 4]);
        assert_eq!(Pattern::CrissCross.order(4), [1, 3, 2, 4]);
        assert_eq!(Pattern::CrissCross.order(6), [1, 4, 2, 5, 3, 6]);
        assert_eq!(Pattern::CrissCross.order(8), [1, 5, 3, 7, 2, 6, 4, 8]);
    }

    #[test]
    fn the_clock_starts_at_the_top() {
        assert_eq!(
            (1..=4).map(|n| clock_position(n, 4)).collect::<Vec<_>>(),
            [12, 3, 6, 9]
        );
        assert_eq!(
            (1..=5).map(|n| clock_position(n, 5)).collect::<Vec<_>>(),
            [12, 2, 5, 7, 10]
        );
    }

    proptest! {
        /// Far more fasteners than any flange has: each once, neighbours apart, and across the circle each time for
        /// an even count.
        #[test]
        fn whatever_the_count(count in 0u16..2_000) {
            for pattern in [Pattern::CrissCross, Pattern::Star] {
                let order = pattern.order(count);
                let mut sorted = order.clone();
                sorted.sort_unstable();
                prop_assert_eq!(sorted, (1..=count).collect::<Vec<_>>());
                let apart = |a: u16, b: u16| a.abs_diff(b).min(count - a.abs_diff(b));
                if count >= 5 {
                    prop_assert!(order.windows(2).all(|pair| apart(pair[0], pair[1]) >= 2));
                }
                if count % 2 == 0 {
                    prop_assert!(order.chunks(2).all(|pair| apart(pair[0], pair[1]) == count / 2));
                }
            }
        }

        #[test]
        fn up_to_twelve_each_has_an_hour_of_its_own(count in 1u16..=12) {
            let mut hours: Vec<u16> = (1..=count).map(|number| clock_position(number, count)).collect();
            prop_assert_eq!(hours[0], 12);
            hours.sort_unstable();
            hours.dedup();
            prop_assert_eq!(hours.len(), usize::from(count));
            prop_assert!(hours.iter().all(|hour| (1..=12).contains(hour)));
        }
    }
}
