//! What a stream says about its own time, as its profile states it.

use thiserror::Error;

/// What a sensor's counter counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Counts {
    /// Every sample taken.
    Samples,
    /// Every packet; all samples of a packet carry its number, or only the first does.
    Packets,
}

/// A counter that tells what was lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Counter {
    /// It wraps at 2 to this power; 8 to 64.
    pub bits: u8,
    /// What it counts.
    pub counts: Counts,
}

/// The sensor's own clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ticks {
    /// It wraps at 2 to this power; 8 to 64.
    pub bits: u8,
    /// Nominal length of a tick, s.
    pub tick_s: f64,
}

/// All that places the samples of one stream in time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timing {
    /// Nominal sampling rate, Hz. The true one may differ by 3 % without a clock of the sensor's own.
    pub nominal_hz: f64,
    /// The counter, if packets carry one. Without it loss shows only as far as the clock shows it.
    pub counter: Option<Counter>,
    /// The clock, if packets carry one. Without it time is counted in samples.
    pub ticks: Option<Ticks>,
}

/// What is wrong with a [`Timing`].
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum TimingFault {
    /// Not a rate.
    #[error("nominal rate is {0} Hz, expected 0.1 to 10000")]
    Rate(f64),
    /// Not a width.
    #[error("a counter or clock has {0} bits, expected 8 to 64")]
    Bits(u8),
    /// Not a tick.
    #[error("a tick is {0} s, expected 1e-9 to 0.1")]
    Tick(f64),
}

impl TimingFault {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::Rate(_) => "correct the nominal rate in the sensor's profile",
            Self::Bits(_) => "correct the type of the counter or clock in the sensor's profile",
            Self::Tick(_) => "correct the tick of the clock in the sensor's profile",
        }
        .to_owned()
    }
}

impl Timing {
    /// A stream of which only the rate is known: gaps can't be seen.
    pub const fn of_rate(nominal_hz: f64) -> Self {
        Self {
            nominal_hz,
            counter: None,
            ticks: None,
        }
    }

    /// Whether it makes sense.
    pub fn check(&self) -> Result<(), TimingFault> {
        if !(0.1..=1e4).contains(&self.nominal_hz) {
            return Err(TimingFault::Rate(self.nominal_hz));
        }
        let widths = [self.counter.map(|c| c.bits), self.ticks.map(|t| t.bits)];
        if let Some(bits) = widths
            .into_iter()
            .flatten()
            .find(|bits| !(8..=64).contains(bits))
        {
            return Err(TimingFault::Bits(bits));
        }
        match self.ticks {
            Some(ticks) if !(1e-9..=0.1).contains(&ticks.tick_s) => {
                Err(TimingFault::Tick(ticks.tick_s))
            }
            _ => Ok(()),
        }
    }

    /// How far the sensor's second may be from this computer's, as a fraction: a crystal by 500 ppm, the
    /// sampling of a chip without one by 3 %.
    pub(super) const fn skew_max(&self) -> f64 {
        if self.ticks.is_some() { 5e-4 } else { 0.03 }
    }

    /// Shortest stretch, s, from which a slope is taken: before it a slope would be worse than none.
    pub(super) const fn slope_s_min(&self) -> f64 {
        if self.ticks.is_some() { 5.0 } else { 2.0 }
    }
}
