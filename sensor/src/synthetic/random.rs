//! Chance that comes out the same for the same seed.
//!
//! Seeds are spread by `SplitMix64` (Steele, Lea, Flood 2014, doi:10.1145/2660193.2660195) into a
//! xoshiro256++ state (Blackman, Vigna 2021, doi:10.1145/3460772); normal numbers are made by the
//! transform of Box and Muller (1958, doi:10.1214/aoms/1177706645). The whole numbers are the same on
//! every machine; `ln`, `sin` and `cos` may differ in the last bit between platforms.

use std::f64::consts::TAU;

use super::vector::{Turn, Vector};

/// A stream of random numbers.
#[derive(Clone, Debug)]
pub(super) struct Random {
    state: [u64; 4],
}

impl Random {
    /// One of many independent streams of a seed: what is drawn for one thing never moves another.
    pub(super) fn new(seed: u64, stream: u64) -> Self {
        let mut mixed = seed ^ stream.wrapping_mul(0xD1B5_4A32_D192_ED03);
        let mut next = || {
            mixed = mixed.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut z = mixed;
            z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            z ^ (z >> 31)
        };
        Self {
            state: [next(), next(), next(), next()],
        }
    }

    pub(super) fn bits(&mut self) -> u64 {
        let [a, b, c, d] = self.state;
        let result = a.wrapping_add(d).rotate_left(23).wrapping_add(a);
        let (c2, d2) = (c ^ a, d ^ b);
        self.state = [a ^ d2, b ^ c2, c2 ^ (b << 17), d2.rotate_left(45)];
        result
    }

    /// In [0, 1).
    pub(super) fn uniform(&mut self) -> f64 {
        (self.bits() >> 11) as f64 * (1.0 / (1_u64 << 53) as f64)
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Within ±`limit`, all values alike.
    pub(super) fn within(&mut self, limit: f64) -> f64 {
        self.between(-limit, limit)
    }

    pub(super) fn chance(&mut self, probability: f64) -> bool {
        self.uniform() < probability
    }

    /// A size between `low` and `high`, small ones more often, of either sign.
    pub(super) fn either_sign(&mut self, low: f64, high: f64) -> f64 {
        let size = low * (high / low).powf(self.uniform());
        if self.chance(0.5) { size } else { -size }
    }

    /// A whole number from `low` to `high`, both included.
    pub(super) fn count(&mut self, low: usize, high: usize) -> usize {
        let span = (high.saturating_sub(low) + 1) as u64;
        #[expect(
            clippy::cast_possible_truncation,
            reason = "below the span, which came from usize"
        )]
        let offset = (self.bits() % span) as usize;
        low + offset
    }

    pub(super) fn normal(&mut self, sd: f64) -> f64 {
        // 1 − u is in (0, 1], so that the logarithm is finite.
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        sd * radius * (TAU * self.uniform()).cos()
    }

    pub(super) fn normal_vector(&mut self, sd: f64) -> Vector {
        Vector::new(self.normal(sd), self.normal(sd), self.normal(sd))
    }

    pub(super) fn within_each(&mut self, limit: f64) -> [f64; 3] {
        [self.within(limit), self.within(limit), self.within(limit)]
    }

    /// Any orientation, all alike: four normal numbers brought to length one.
    pub(super) fn orientation(&mut self) -> Turn {
        let parts = [
            self.normal(1.0),
            self.normal(1.0),
            self.normal(1.0),
            self.normal(1.0),
        ];
        let norm = parts.iter().map(|p| p * p).sum::<f64>().sqrt();
        if norm < 1e-9 {
            return Turn::NONE;
        }
        Turn::of_wxyz(
            parts[0] / norm,
            parts[1] / norm,
            parts[2] / norm,
            parts[3] / norm,
        )
    }
}

/// A smooth, aimless movement: a few sines of random pitch, so that it has all its derivatives.
#[derive(Clone, Debug, Default)]
pub(super) struct Wander {
    terms: Vec<(f64, f64, f64)>,
}

impl Wander {
    const TERMS: usize = 6;

    /// With the given standard deviation over long times, between two frequencies.
    pub(super) fn drawn(random: &mut Random, sd: f64, hz_low: f64, hz_high: f64) -> Self {
        let amplitude = sd * (2.0 / Self::TERMS as f64).sqrt();
        let terms = (0..Self::TERMS)
            .map(|_| {
                (
                    amplitude,
                    TAU * random.between(hz_low, hz_high),
                    random.between(0.0, TAU),
                )
            })
            .collect();
        Self {
            terms: if sd > 0.0 { terms } else { Vec::new() },
        }
    }

    /// Both at once.
    pub(super) fn and(mut self, other: Self) -> Self {
        self.terms.extend(other.terms);
        self
    }

    pub(super) fn at(&self, t_s: f64) -> f64 {
        self.terms
            .iter()
            .map(|&(size, rad_s, phase)| size * (rad_s * t_s + phase).sin())
            .sum()
    }
}
