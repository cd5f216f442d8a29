//! The three time axes, and how one is had from another.
//!
//! The axes are different types, so that an arrival can't be taken for a sample time. Only this module
//! makes a [`RunTime`] of the other two: [`ClockMap`] while a run is going on, [`fit`] over the whole of it.
//!
//! The model is `host = slope · device + offset + delay` with a delay that is never negative and often
//! close to its least. Least squares would take half the spread of the delay for offset; so the line is
//! laid *below* all points, touching them: the edge of their lower convex hull above the mean abscissa
//! (Zhang, Liu, Xia, "Clock synchronization algorithms for network measurements", INFOCOM 2002; Moon,
//! Skelly, Towsley, INFOCOM 1999). What is left is the least delay, the same for every sample of a
//! stream: a few milliseconds that only a two-way echo could tell.

mod axis;
mod envelope;
mod fit;
mod map;
mod report;
mod segments;
mod timing;
mod unwrap;

#[cfg(test)]
mod link;
#[cfg(test)]
mod tests_envelope;
#[cfg(test)]
mod tests_fit;
#[cfg(test)]
mod tests_map;
#[cfg(test)]
mod tests_packets;
#[cfg(test)]
mod tests_sending;

use std::ops::Sub;

pub use fit::{Fitted, FittedSample, Part, fit};
pub use map::ClockMap;
pub use report::ClockReport;
pub use timing::{Counter, Counts, Ticks, Timing, TimingFault};

/// A count of the sensor's own clock or counter, as it came; it wraps where the sensor's does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DeviceTicks(pub u64);

/// A moment of this computer's monotonic clock, such as the arrival of a packet: nanoseconds since the
/// run was started.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct HostTime(pub i64);

impl HostTime {
    /// From seconds, rounded to the nanosecond; `None` if not finite or beyond [`RunTime::LIMIT_S`].
    pub fn from_s(s: f64) -> Option<Self> {
        RunTime::from_s(s).map(|at| Self(at.ns()))
    }

    /// Seconds since the run was started.
    pub fn s(self) -> f64 {
        self.0 as f64 * 1e-9
    }

    /// The same moment as time of a run whose first sample was taken at `origin`.
    pub fn since(self, origin: Self) -> RunTime {
        RunTime::from_ns(self.0.saturating_sub(origin.0))
    }
}

/// A moment of a run: nanoseconds since its first sample. Printed as seconds with nine decimals.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RunTime(i64);
impl RunTime {
    /// The run's first sample.
    pub const ZERO: Self = Self(0);
    /// No run may reach beyond this many seconds (about 11 days); a stamp that does is damage.
    pub const LIMIT_S: f64 = 1e6;

    /// From whole nanoseconds.
    pub const fn from_ns(ns: i64) -> Self {
        Self(ns)
    }

    /// From seconds, rounded to the nanosecond; `None` if not finite or beyond [`Self::LIMIT_S`].
    pub fn from_s(s: f64) -> Option<Self> {
        if s.is_finite() && s.abs() <= Self::LIMIT_S {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "bounded by LIMIT_S just above"
            )]
            Some(Self((s * 1e9).round() as i64))
        } else {
            None
        }
    }

    /// Whole nanoseconds since the run began.
    pub const fn ns(self) -> i64 {
        self.0
    }

    /// Seconds since the run began.
    pub fn s(self) -> f64 {
        self.0 as f64 * 1e-9
    }
}

impl Sub for RunTime {
    type Output = f64;
    /// Seconds from `rhs` to `self`.
    fn sub(self, rhs: Self) -> f64 {
        (self.0 - rhs.0) as f64 * 1e-9
    }
}
