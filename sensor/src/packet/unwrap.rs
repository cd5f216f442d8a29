//! A counter or clock of few bits, carried on as one that never wraps.

/// How far it should have gone by another clock.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hint {
    /// Units of the counter.
    pub(super) advance: f64,
    /// Units in a second.
    pub(super) rate: f64,
}

/// What a new value means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Step {
    /// There was none before.
    First,
    /// The same again.
    Same,
    /// So much further.
    Forward(u64),
    /// Back, or further ahead than there was time for: it began anew.
    Back,
}

/// The counter so far.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unwrap {
    modulus: u64,
    last: Option<u64>,
}

impl Unwrap {
    /// A turn is only counted where time agrees with it to this part of a turn. This project's policy.
    const TURN_SHARE_MAX: f64 = 0.25;
    /// A counter may be ahead of time by this much, s, and by half: packets that waited somewhere come
    /// in a burst. This project's policy.
    const AHEAD_S_MAX: f64 = 2.0;

    pub(super) fn new(bits: u32) -> Self {
        Self {
            modulus: 1 << bits.min(40),
            last: None,
        }
    }

    /// The value so far, unwrapped.
    pub(super) fn last(&self) -> Option<u64> {
        self.last
    }

    pub(super) fn forget(&mut self) {
        self.last = None;
    }

    /// Where to begin, so that another counter that is a little behind has room below.
    pub(super) fn room_below(&self, raw: u64) -> u64 {
        if raw < self.modulus / 32 {
            raw + self.modulus
        } else {
            raw
        }
    }

    /// Takes the next value. The first one begins on the turn that is nearest to `near`.
    /// After [`Step::Back`] it is as before.
    pub(super) fn step(&mut self, raw: u64, hint: Option<Hint>, near: Option<u64>) -> Step {
        let raw = raw % self.modulus;
        let Some(last) = self.last else {
            self.last = Some(near.map_or(raw, |near| self.nearest(raw, near)));
            return Step::First;
        };
        let by = (raw + self.modulus - last % self.modulus) % self.modulus;
        let by = match hint {
            None if by < self.modulus / 2 => Some(by),
            None => None,
            Some(hint) => self.by_time(by, hint),
        };
        match by {
            None => Step::Back,
            Some(0) => Step::Same,
            Some(by) => match last.checked_add(by) {
                None => Step::Back,
                Some(next) => {
                    self.last = Some(next);
                    Step::Forward(by)
                }
            },
        }
    }

    /// The way forward with its whole turns, or `None` where it can't have been forward.
    fn by_time(&self, by: u64, hint: Hint) -> Option<u64> {
        let modulus = self.modulus as f64;
        let turns = (hint.advance - by as f64) / modulus;
        let by = if (turns - turns.round()).abs() <= Self::TURN_SHARE_MAX {
            if turns.round() < 0.0 {
                return None;
            }
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "not negative, and times of a run give far fewer than 2^53 turns"
            )]
            let whole = turns.round() as u64;
            by.checked_add(self.modulus.checked_mul(whole)?)?
        } else if by < self.modulus / 2 {
            by
        } else {
            return None;
        };
        let most = 1.5 * hint.advance.max(0.0) + Self::AHEAD_S_MAX * hint.rate;
        (by as f64 <= most.max(1.0)).then_some(by)
    }

    /// The value on the turn nearest to another's.
    fn nearest(&self, raw: u64, near: u64) -> u64 {
        let here = near - near % self.modulus + raw;
        let below = here.checked_sub(self.modulus);
        let turns = below.into_iter().chain([here, here + self.modulus]);
        turns.min_by_key(|turn| turn.abs_diff(near)).unwrap_or(raw)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hint(advance: f64) -> Hint {
        Hint {
            advance,
            rate: 100.0,
        }
    }

    #[test]
    fn wraps_repeats_and_restarts() {
        // This project's own check values: last, next, time's advance, what it means.
        let table = [
            (8, 254, 255, None, Step::Forward(1)),
            (8, 254, 2, None, Step::Forward(4)),
            (8, 10, 10, None, Step::Same),
            (8, 200, 100, None, Step::Back),
            (8, 10, 11, Some(hint(257.0)), Step::Forward(257)),
            (8, 10, 10, Some(hint(256.0)), Step::Forward(256)),
            (8, 10, 10, Some(hint(1.0)), Step::Same),
            (8, 10, 250, Some(hint(240.0)), Step::Forward(240)),
            (8, 10, 9, Some(hint(2.0)), Step::Back),
            (16, 65534, 2, None, Step::Forward(4)),
            // A restart that only time tells from a loss of 5536 samples.
            (16, 60000, 0, Some(hint(100.0)), Step::Back),
            (16, 60000, 0, Some(hint(5500.0)), Step::Forward(5536)),
            (16, 60000, 0, None, Step::Forward(5536)),
            (16, 40000, 0, Some(hint(100.0)), Step::Back),
            (32, 4_294_967_295, 99, Some(hint(100.0)), Step::Forward(100)),
            // A burst after a wait: time stands still, the counter doesn't.
            (16, 100, 150, Some(hint(0.0)), Step::Forward(50)),
        ];
        for (bits, last, next, hint, expected) in table {
            let mut counter = Unwrap::new(bits);
            assert_eq!(counter.step(last, None, None), Step::First);
            let found = counter.step(next, hint, None);
            assert_eq!(found, expected, "{bits} bits, {last} to {next}, {hint:?}");
            let by = match expected {
                Step::Forward(by) => by,
                _ => 0,
            };
            assert_eq!(counter.last(), Some(last + by));
        }
    }

    #[test]
    fn a_second_counter_begins_on_the_turn_of_the_first() {
        for (raw, near, expected) in [
            (2, 65530, 65538),
            (65530, 65538, 65530),
            (65530, 2, 65530),
            (7, 7, 7),
            (7, 131_072, 131_079),
        ] {
            let mut counter = Unwrap::new(16);
            counter.step(raw, None, Some(near));
            assert_eq!(counter.last(), Some(expected), "{raw} near {near}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_values_are_taken(
            bits in 1u32..=32,
            values in proptest::collection::vec((proptest::num::u64::ANY, proptest::num::f64::ANY), 0..40),
        ) {
            let mut counter = Unwrap::new(bits);
            for (raw, advance) in values {
                let before = counter.last();
                counter.step(raw, Some(Hint { advance, rate: 100.0 }), None);
                proptest::prop_assert!(counter.last() >= before);
            }
        }
    }
}
