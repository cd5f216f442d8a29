//! Simulated events in real time: the only place that sleeps.

use std::thread::sleep;
use std::time::{Duration, Instant};

use sensor::HostTime;

/// Nothing else waits longer than this.
const NAP: Duration = Duration::from_millis(250);

/// When events are due.
pub(super) struct Pace {
    /// `None`: at once.
    began: Option<Instant>,
}

impl Pace {
    /// Time 0 is now.
    pub(super) fn new(is_fast: bool) -> Self {
        Self {
            began: (!is_fast).then(Instant::now),
        }
    }

    /// Comes back when an event is due, and does in between what has to be done meanwhile.
    pub(super) fn until(&self, at: HostTime, mut meanwhile: impl FnMut(HostTime)) {
        let Some(began) = self.began else { return };
        let due = Duration::from_nanos(u64::try_from(at.0).unwrap_or(0));
        loop {
            let passed = began.elapsed();
            let left = due.saturating_sub(passed);
            if left.is_zero() {
                return;
            }
            sleep(left.min(NAP));
            meanwhile(HostTime(
                i64::try_from(began.elapsed().as_nanos()).unwrap_or(at.0),
            ));
        }
    }
}
