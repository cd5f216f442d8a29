//! From notifications to a bounded queue: one task that stamps arrivals and does nothing else.
//!
//! On some systems the library holds 16 notifications and drops the rest without a word, on Linux it holds all that
//! aren't taken. So whoever takes them must never decode, write or wait for anything else.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};
use std::time::Duration;

use futures_util::StreamExt as _;
use tokio::sync::{Notify, mpsc};
use tokio::task::JoinHandle;
use tokio::time::Instant;

use super::air::{Note, Notes};
use super::steps::ANSWERS_COUNT_MAX;
use crate::HostTime;
use crate::live::RunClock;

/// Notifications that may wait to be decoded: ten seconds at 200 a second.
const ARRIVALS_COUNT_MAX: usize = 2048;
/// Values read anew that may wait to be taken.
const READS_COUNT_MAX: usize = 64;

/// A notification and when it came.
#[derive(Clone, Debug)]
pub(super) struct Arrived {
    pub(super) at: HostTime,
    pub(super) note: Note,
}

/// The side that decodes.
#[derive(Debug)]
pub(super) struct Intake {
    pub(super) arrivals: mpsc::Receiver<Arrived>,
    pub(super) reads: mpsc::Receiver<Note>,
    pub(super) answers: mpsc::Sender<Note>,
    pub(super) pulse: Arc<Pulse>,
    _pump: Pump,
}

/// The side that writes, and waits for answers.
#[derive(Debug)]
pub(super) struct Voice {
    pub(super) answers: mpsc::Receiver<Note>,
    pub(super) reads: mpsc::Sender<Note>,
    pub(super) pulse: Arc<Pulse>,
}

/// What both sides know of the flow.
#[derive(Debug)]
pub(super) struct Pulse {
    /// When samples came last, or were first waited for.
    last_ns: AtomicI64,
    /// From packet to packet, as far as known.
    packet_ns: AtomicI64,
    /// Whether it has been told that nothing comes.
    pub(super) is_silent: AtomicBool,
    /// Notifications found no room.
    pub(super) is_overflowed: AtomicBool,
    /// Values must be read again before packets mean something.
    pub(super) stale: Notify,
}

impl Pulse {
    pub(super) fn beat(&self, at: HostTime) {
        self.last_ns.store(at.0, Ordering::Relaxed);
    }

    pub(super) fn last(&self) -> HostTime {
        HostTime(self.last_ns.load(Ordering::Relaxed))
    }

    pub(super) fn learn(&self, packet_s: f64) {
        let at = HostTime::from_s(packet_s).unwrap_or(HostTime(0));
        self.packet_ns.store(at.0, Ordering::Relaxed);
    }

    /// From packet to packet.
    pub(super) fn packet(&self) -> Duration {
        let ns = self.packet_ns.load(Ordering::Relaxed);
        Duration::from_nanos(u64::try_from(ns).unwrap_or(0))
    }
}

/// The task; it ends with its holder.
#[derive(Debug)]
struct Pump(JoinHandle<()>);

impl Drop for Pump {
    fn drop(&mut self) {
        self.0.abort();
    }
}

/// Takes notifications from now on.
pub(super) fn line(mut notes: Notes, clock: RunClock) -> (Intake, Voice) {
    let (sender, arrivals) = mpsc::channel(ARRIVALS_COUNT_MAX);
    let (answer_sender, answers) = mpsc::channel(ANSWERS_COUNT_MAX);
    let (read_sender, reads) = mpsc::channel(READS_COUNT_MAX);
    let pulse = Arc::new(Pulse {
        last_ns: AtomicI64::new(now(clock).0),
        packet_ns: AtomicI64::new(0),
        is_silent: AtomicBool::new(false),
        is_overflowed: AtomicBool::new(false),
        stale: Notify::new(),
    });
    let overflow = Arc::clone(&pulse);
    let pump = tokio::spawn(async move {
        while let Some(note) = notes.next().await {
            let at = now(clock);
            match sender.try_send(Arrived { at, note }) {
                Ok(()) => {}
                Err(mpsc::error::TrySendError::Full(_)) => {
                    overflow.is_overflowed.store(true, Ordering::Relaxed);
                }
                Err(mpsc::error::TrySendError::Closed(_)) => break,
            }
        }
    });
    let intake = Intake {
        arrivals,
        reads,
        answers: answer_sender,
        pulse: Arc::clone(&pulse),
        _pump: Pump(pump),
    };
    let voice = Voice {
        answers,
        reads: read_sender,
        pulse,
    };
    (intake, voice)
}

/// Now, by the clock that timers go by.
pub(super) fn now(clock: RunClock) -> HostTime {
    clock.at(Instant::now().into_std())
}
