//! What the engine tells a view, and what a view asks of it.

use std::collections::VecDeque;
use std::fmt;
use std::sync::Arc;
use std::sync::mpsc::{SyncSender, TrySendError};
use std::time::Instant;

use fusion::Reading;
use fusion::calibrate::GuideNow;
use sensor::{MarkKind, RecordingId, Side};

use super::health::Health;

/// News that may wait for a view.
pub(crate) const QUEUE_MAX: usize = 4096;
/// News that must not be lost, waiting for room in that queue; more are dropped.
const BACKLOG_MAX: usize = 1024;

/// What the engine tells.
#[derive(Clone, Debug)]
pub(crate) enum News {
    /// A sentence for people.
    Told(String),
    /// All sources are open and the run has begun.
    Began,
    /// What can be said of a leg now.
    Reading {
        /// It.
        reading: Reading,
        /// When its packet came.
        #[cfg_attr(
            not(feature = "window"),
            expect(dead_code, reason = "only the window asks how old a reading is")
        )]
        arrived: Instant,
    },
    /// How the sensors do; once or twice a second.
    Health(Vec<Health>),
    /// Somebody pressed a button.
    Marked {
        /// When, s of the run.
        at_s: f64,
        /// What it says.
        kind: MarkKind,
        /// For which leg.
        side: Option<Side>,
        /// A face, or a remark.
        value: String,
    },
    /// How far the calibration of a unit is.
    Guide(GuideNow),
}

/// What a view asks.
#[derive(Clone, Debug)]
pub(crate) enum Command {
    /// A mark, pressed now.
    Mark {
        /// What it says.
        kind: MarkKind,
        /// For which leg.
        side: Option<Side>,
        /// A face, or a remark.
        value: String,
    },
    /// No more.
    Stop,
}

/// How a run has ended.
#[derive(Clone, Debug, Default)]
pub(crate) struct Outcome {
    /// The recording, if one was kept.
    pub(crate) recorded: Option<RecordingId>,
    /// Readings that no view took in time.
    pub(crate) dropped_count: u64,
}

/// Wakes a view that sleeps until there are news.
#[derive(Clone)]
pub(crate) struct Waker(Arc<dyn Fn() + Send + Sync>);

impl Waker {
    /// Calls this, from any thread.
    #[cfg(feature = "window")]
    pub(crate) fn new(wake: impl Fn() + Send + Sync + 'static) -> Self {
        Self(Arc::new(wake))
    }

    /// For views that wait at the queue itself.
    pub(crate) fn none() -> Self {
        Self(Arc::new(|| {}))
    }

    pub(crate) fn wake(&self) {
        (self.0)();
    }
}

impl fmt::Debug for Waker {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Waker")
    }
}

/// The engine's end of the way to a view: it never waits, unless the run isn't bound to a pace.
#[derive(Debug)]
pub(crate) struct Outlet {
    queue: SyncSender<News>,
    waker: Waker,
    backlog: VecDeque<News>,
    may_wait: bool,
    /// Readings that no view took in time.
    pub(crate) dropped_count: u64,
    /// Nobody listens any more.
    pub(crate) is_closed: bool,
}

impl Outlet {
    pub(crate) const fn new(queue: SyncSender<News>, waker: Waker) -> Self {
        Self {
            queue,
            waker,
            backlog: VecDeque::new(),
            may_wait: false,
            dropped_count: 0,
            is_closed: false,
        }
    }

    /// From now on a slow view slows the run: only for runs that come faster than real time.
    pub(crate) const fn wait_for_view(&mut self) {
        self.may_wait = true;
    }

    /// Tells a sentence.
    pub(crate) fn tell(&mut self, text: impl Into<String>) {
        self.send(News::Told(text.into()));
    }

    /// Sends news. A reading that finds no room is dropped, for the next one is better; all else waits its turn.
    pub(crate) fn send(&mut self, news: News) {
        if self.may_wait {
            self.waker.wake();
            self.is_closed |= tokio::task::block_in_place(|| self.queue.send(news).is_err());
            return;
        }
        self.flush();
        let is_reading = matches!(
            news,
            News::Reading { .. } | News::Health(_) | News::Guide(_)
        );
        if self.backlog.is_empty() || is_reading {
            match self.queue.try_send(news) {
                Ok(()) => {}
                Err(TrySendError::Disconnected(_)) => self.is_closed = true,
                Err(TrySendError::Full(_)) if is_reading => self.dropped_count += 1,
                Err(TrySendError::Full(news)) => self.backlog.push_back(news),
            }
        } else if self.backlog.len() < BACKLOG_MAX {
            self.backlog.push_back(news);
        }
        self.waker.wake();
    }

    /// Sends what has waited, as far as there is room.
    pub(crate) fn flush(&mut self) {
        while let Some(news) = self.backlog.pop_front() {
            match self.queue.try_send(news) {
                Ok(()) => {}
                Err(TrySendError::Disconnected(_)) => {
                    self.is_closed = true;
                    return;
                }
                Err(TrySendError::Full(news)) => {
                    self.backlog.push_front(news);
                    return;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::sync_channel;

    use super::*;

    #[test]
    fn sentences_wait_for_room_and_readings_do_not() {
        let (queue, view) = sync_channel(1);
        let mut outlet = Outlet::new(queue, Waker::none());
        outlet.tell("a");
        outlet.tell("b");
        outlet.send(News::Health(Vec::new()));
        assert_eq!(outlet.dropped_count, 1);
        assert!(matches!(view.try_recv(), Ok(News::Told(text)) if text == "a"));
        outlet.flush();
        assert!(matches!(view.try_recv(), Ok(News::Told(text)) if text == "b"));
        drop(view);
        outlet.tell("c");
        assert!(outlet.is_closed);
    }
}
