//! Day and time, as this computer has them.

use jiff::civil::DateTime;
use jiff::{Span, Zoned};

/// The clock on the wall. Visits, drills and recordings are dated by the same one, so that the time between them can be
/// told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Wall {
    /// Ahead of this computer's clock: days that a test has let pass.
    ahead_days: i64,
}

impl Wall {
    /// Day and time.
    pub(crate) fn now(self) -> DateTime {
        let ahead = Span::new().days(self.ahead_days);
        Zoned::now().datetime().saturating_add(ahead)
    }

    /// Lets days pass.
    #[cfg(all(test, feature = "window"))]
    pub(crate) const fn pass_days(&mut self, days: i64) {
        self.ahead_days += days;
    }

    /// So many have passed.
    #[cfg(all(test, feature = "window"))]
    pub(crate) const fn passed_days(self) -> i64 {
        self.ahead_days
    }
}
