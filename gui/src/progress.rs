//! How far a long command is: shown only where somebody watches, and only once it takes a while.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Work that takes less is not worth a bar.
const PATIENCE: Duration = Duration::from_millis(500);

/// A bar on standard error that stays away until it is of use.
pub(crate) struct Progress {
    bar: ProgressBar,
    began: Instant,
    is_watched: bool,
    is_shown: AtomicBool,
}

impl Progress {
    /// For `count` steps. Nothing is ever shown if nobody watches.
    pub(crate) fn new(count: usize, is_watched: bool) -> Self {
        let bar = ProgressBar::with_draw_target(Some(count as u64), ProgressDrawTarget::hidden());
        if let Ok(style) =
            ProgressStyle::with_template("{pos} of {len} recordings  [{bar:30}]  {eta} left")
        {
            bar.set_style(style.progress_chars("=> "));
        }
        Self {
            bar,
            began: Instant::now(),
            is_watched,
            is_shown: AtomicBool::new(false),
        }
    }

    /// One step is done.
    pub(crate) fn step(&self) {
        if self.is_watched
            && self.began.elapsed() > PATIENCE
            && !self.is_shown.swap(true, Ordering::Relaxed)
        {
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        self.bar.inc(1);
    }

    /// Takes the bar away.
    pub(crate) fn finish(&self) {
        self.bar.finish_and_clear();
    }
}
