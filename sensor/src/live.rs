//! Live sources: opened one by one, begun together, each a task that sends events.
//!
//! Opening finds and connects a sensor and learns what the heading of a run must say of it. Nothing is
//! recorded before all sources of a run are open and its journal lies on the disk; then each gets a
//! [`Begin`], and sends [`Event`]s until it is told to stop or has nothing more. Its last event for each
//! of its streams is [`Event::Ended`].

use std::future::Future;
use std::pin::Pin;
use std::time::Instant;

use tokio::sync::mpsc;
use tokio::sync::mpsc::error::TrySendError;

pub use tokio_util::sync::CancellationToken;

use crate::event::{Event, Loss};
use crate::{HostTime, Placement, Stream};

/// Events that may wait for their reader: ten seconds of four sensors at 200 Hz with a packet a sample.
pub const QUEUE_EVENTS_MAX: usize = 8192;

/// A sensor, or several that come as one, that has been opened.
pub trait Source: Send {
    /// What the heading of the run says of its sensors.
    fn streams(&self) -> Vec<Stream>;

    /// Sends events from now on.
    fn run(self: Box<Self>, begin: Begin) -> Pin<Box<dyn Future<Output = ()> + Send>>;
}

/// What a source gets when its run begins.
#[derive(Clone, Debug)]
pub struct Begin {
    /// The clock of the run.
    pub clock: RunClock,
    /// Where its events go.
    pub sink: Sink,
    /// Cancelled when no more events are wanted.
    pub stop: CancellationToken,
}

/// The monotonic clock of a run on this computer: time 0 is when the run was started.
#[derive(Clone, Copy, Debug)]
pub struct RunClock {
    origin: Instant,
}

impl RunClock {
    /// A run that starts now.
    pub fn start() -> Self {
        Self {
            origin: Instant::now(),
        }
    }

    /// Now.
    pub fn now(self) -> HostTime {
        self.at(Instant::now())
    }

    /// A moment of this computer's clock; below 0 before the start.
    pub fn at(self, moment: Instant) -> HostTime {
        let ns = |span: std::time::Duration| i64::try_from(span.as_nanos()).unwrap_or(i64::MAX);
        HostTime(match moment.checked_duration_since(self.origin) {
            Some(after) => ns(after),
            None => -ns(self.origin.duration_since(moment)),
        })
    }

    /// A moment of the run on this computer's clock; the start for one before it.
    pub fn instant(self, at: HostTime) -> Instant {
        let after = std::time::Duration::from_nanos(u64::try_from(at.0).unwrap_or(0));
        self.origin.checked_add(after).unwrap_or(self.origin)
    }
}

/// Where the events of a source go. Each task has its own.
#[derive(Debug)]
pub struct Sink {
    sender: mpsc::Sender<Event>,
    /// Whose packets found no room, and since when; told as soon as there is room.
    overflowed: Vec<(Placement, HostTime)>,
}

impl Clone for Sink {
    /// Another sink to the same reader, that has lost nothing yet.
    fn clone(&self) -> Self {
        Self {
            sender: self.sender.clone(),
            overflowed: Vec::new(),
        }
    }
}

impl Sink {
    /// A sink, and what is read from it.
    pub fn channel() -> (Self, mpsc::Receiver<Event>) {
        let (sender, receiver) = mpsc::channel(QUEUE_EVENTS_MAX);
        let overflowed = Vec::new();
        (Self { sender, overflowed }, receiver)
    }

    /// Sends without ever waiting, as a task that stamps arrivals must. Where the reader has fallen far
    /// behind, the event is dropped, and a gap of cause [`Loss::Queue`] says so later. Returns whether
    /// anybody still reads.
    pub fn push(&mut self, event: Event) -> bool {
        while let Some((placement, from)) = self.overflowed.pop() {
            match self.sender.try_send(overflow(placement, from, event.at())) {
                Ok(()) => {}
                Err(TrySendError::Full(_)) => {
                    self.overflowed.push((placement, from));
                    break;
                }
                Err(TrySendError::Closed(_)) => return false,
            }
        }
        match self.sender.try_send(event) {
            Ok(()) => true,
            Err(TrySendError::Full(event)) => {
                if let Some(placement) = event.placement()
                    && self.overflowed.iter().all(|(p, _)| *p != placement)
                {
                    self.overflowed.push((placement, event.at()));
                }
                true
            }
            Err(TrySendError::Closed(_)) => false,
        }
    }

    /// Waits until there is room: for marks, for ends, and for sources that aren't bound to a pace.
    /// Returns whether anybody still reads.
    pub async fn send(&mut self, event: Event) -> bool {
        for (placement, from) in std::mem::take(&mut self.overflowed) {
            let gap = overflow(placement, from, event.at());
            if self.sender.send(gap).await.is_err() {
                return false;
            }
        }
        self.sender.send(event).await.is_ok()
    }
}

/// What says that packets found no room in the queue.
const fn overflow(placement: Placement, from: HostTime, to: HostTime) -> Event {
    Event::Gap {
        placement,
        from,
        to,
        cause: Loss::Queue,
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;
    use crate::event::Status;

    fn status(ns: i64) -> Event {
        Event::Status {
            placement: Placement::ShinLeft,
            at: HostTime(ns),
            status: Status::default(),
        }
    }

    #[test]
    fn moments_go_both_ways() {
        let clock = RunClock::start();
        let later = clock.origin + Duration::from_millis(1500);
        assert_eq!(clock.at(later), HostTime(1_500_000_000));
        assert_eq!(clock.instant(clock.at(later)), later);
        assert_eq!(clock.instant(HostTime(-5)), clock.origin);
    }

    #[tokio::test]
    async fn an_overflow_is_told_once_there_is_room() {
        let (mut sink, mut receiver) = Sink::channel();
        let full = i64::try_from(QUEUE_EVENTS_MAX).unwrap();
        for ns in 0..full + 3 {
            assert!(sink.push(status(ns)));
        }
        for ns in 0..full {
            assert_eq!(receiver.recv().await, Some(status(ns)));
        }
        assert!(sink.push(status(full + 3)));
        let gap = Event::Gap {
            placement: Placement::ShinLeft,
            from: HostTime(full),
            to: HostTime(full + 3),
            cause: Loss::Queue,
        };
        assert_eq!(receiver.recv().await, Some(gap));
        assert_eq!(receiver.recv().await, Some(status(full + 3)));
        drop(receiver);
        assert!(!sink.push(status(0)) && !sink.send(status(0)).await);
    }
}
