//! The three time axes. They are different types, so that an arrival can't be taken for a sample time.

use std::ops::Sub;

/// A count of the sensor's own clock or counter, as it came; it wraps where the sensor's does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DeviceTicks(pub u64);

/// When this computer got the packet: nanoseconds of its monotonic clock since the run began.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct HostTime(pub i64);

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
