//! From notifications to events: what decodes, and remembers what came before a link was lost.

use std::sync::atomic::Ordering;

use super::air::Note;
use super::line::{Arrived, Intake, now};
use super::steps::answering;
use crate::event::{Event, Link, Loss, PACKET_SAMPLES_MAX, Packet, Status};
use crate::live::{RunClock, Sink};
use crate::packet::{Decoded, DecodedSample, Decoder, Fact, PacketFault, RestartCause, Tally};
use crate::profile::{Uuid, When};
use crate::{HostTime, Placement};

/// How often it is told how many samples didn't come, ns.
const TOLD_EVERY_NS: i64 = 5_000_000_000;

/// The decoding side of one sensor, for a whole run.
#[derive(Debug)]
pub(super) struct Desk {
    placement: Placement,
    clock: RunClock,
    sink: Sink,
    decoder: Decoder,
    rate_hz: f64,
    streams: Vec<Uuid>,
    answering: Vec<Uuid>,
    /// When samples came last, in any session.
    last: Option<HostTime>,
    /// The link was lost since.
    is_parted: bool,
    /// Samples have come in this session.
    has_come: bool,
    is_read: bool,
    battery_percent: Option<u8>,
    told: (HostTime, Tally),
    out: Vec<Decoded>,
}

impl Desk {
    pub(super) fn new(
        placement: Placement,
        decoder: Decoder,
        rate_hz: f64,
        clock: RunClock,
        sink: Sink,
    ) -> Self {
        let all = [When::Connect, When::Start, When::Keepalive, When::Stop];
        Self {
            placement,
            clock,
            sink,
            rate_hz,
            streams: decoder.profile().notifying(),
            answering: answering(decoder.profile(), &all),
            decoder,
            last: None,
            is_parted: false,
            has_come: false,
            is_read: true,
            battery_percent: None,
            told: (HostTime(0), Tally::default()),
            out: Vec::new(),
        }
    }

    /// Whether samples have come since the session began.
    pub(super) const fn has_come(&self) -> bool {
        self.has_come
    }

    /// Whether anybody still reads.
    pub(super) const fn is_read(&self) -> bool {
        self.is_read
    }

    pub(super) fn tell(&mut self, status: Status) {
        let at = now(self.clock);
        self.push(Event::Status {
            placement: self.placement,
            at,
            status,
        });
    }

    fn push(&mut self, event: Event) {
        self.is_read &= self.sink.push(event);
    }

    /// The link was lost: what comes next belongs to another session.
    pub(super) fn lost(&mut self) {
        if self.last.is_some() {
            self.is_parted = true;
            let mut out = std::mem::take(&mut self.out);
            self.decoder.reconnect(&mut out);
            self.give(&mut out, now(self.clock));
            self.out = out;
        }
        self.has_come = false;
    }

    /// Decodes until there is nothing more to come or nobody to read it.
    pub(super) async fn take(&mut self, intake: &mut Intake) {
        while self.is_read {
            tokio::select! {
                biased;
                Some(read) = intake.reads.recv() => self.read(&read),
                arrived = intake.arrivals.recv() => match arrived {
                    Some(arrived) => self.arrived(&arrived, intake),
                    None => return,
                },
            }
        }
    }

    /// What has come and waits.
    pub(super) fn drain(&mut self, intake: &mut Intake) {
        while let Ok(arrived) = intake.arrivals.try_recv() {
            self.arrived(&arrived, intake);
        }
    }

    /// What waits for its other half.
    pub(super) fn finish(&mut self) {
        let mut out = std::mem::take(&mut self.out);
        self.decoder.finish(&mut out);
        self.give(&mut out, now(self.clock));
    }

    /// A value that was read again. One that is of no use leaves the former as it was.
    fn read(&mut self, note: &Note) {
        drop(self.decoder.push_read(note.from, &note.bytes));
    }

    fn arrived(&mut self, arrived: &Arrived, intake: &Intake) {
        let Arrived { at, note } = arrived;
        if self.answering.contains(&note.from) {
            // Where nobody waits for an answer, it is no matter that there is no room.
            drop(intake.answers.try_send(note.clone()));
        }
        if !self.streams.contains(&note.from) {
            return;
        }
        let from = self.last.unwrap_or(*at);
        if intake.pulse.is_overflowed.swap(false, Ordering::Relaxed) {
            self.gap(from, *at, Loss::Queue);
        }
        let mut out = std::mem::take(&mut self.out);
        self.decoder
            .push(note.from, Some(*at), &note.bytes, &mut out);
        let needs_reading = |one: &Decoded| {
            matches!(
                one,
                Decoded::Fault(PacketFault::Stale { .. } | PacketFault::Unread { .. })
            )
        };
        if out.iter().any(needs_reading) {
            intake.pulse.stale.notify_one();
        }
        let count = out
            .iter()
            .filter(|one| matches!(one, Decoded::Sample(_)))
            .count();
        if count > 0 {
            self.came(*at, count, intake);
        }
        self.give(&mut out, *at);
        self.out = out;
        if count > 0 {
            self.last = Some(*at);
        }
    }

    /// Samples came: what that says of the link.
    fn came(&mut self, at: HostTime, count: usize, intake: &Intake) {
        let pulse = &intake.pulse;
        pulse.beat(at);
        pulse.learn(count as f64 / self.rate_hz);
        let was_silent = pulse.is_silent.swap(false, Ordering::Relaxed);
        if std::mem::take(&mut self.is_parted) {
            self.gap(self.last.unwrap_or(at), at, Loss::Link);
        }
        if was_silent || !self.has_come {
            self.tell(Status {
                link: Some(Link::Streaming),
                rate_hz: Some(self.rate_hz),
                ..Status::default()
            });
        }
        self.has_come = true;
        let (told, before) = self.told;
        if at.0 - told.0 >= TOLD_EVERY_NS {
            let tally = *self.decoder.tally();
            let missing = tally.missing_samples - before.missing_samples;
            let all = missing + tally.samples - before.samples;
            self.told = (at, tally);
            if all > 0 {
                self.tell(Status {
                    lost_fraction: Some(missing as f64 / all as f64),
                    ..Status::default()
                });
            }
        }
    }

    fn gap(&mut self, from: HostTime, to: HostTime, cause: Loss) {
        self.push(Event::Gap {
            placement: self.placement,
            from,
            to,
            cause,
        });
    }

    /// Gives what was decoded, in its order.
    fn give(&mut self, out: &mut Vec<Decoded>, at: HostTime) {
        let mut samples: Vec<DecodedSample> = Vec::new();
        for one in out.drain(..) {
            match one {
                Decoded::Sample(sample) => samples.push(sample),
                Decoded::Fact(fact) => {
                    let cause = match fact {
                        Fact::Restarted { cause } if cause != RestartCause::Link => Loss::Restart,
                        Fact::LostInside => Loss::Sensor,
                        Fact::Aside {
                            battery_percent, ..
                        } => {
                            self.battery(battery_percent);
                            continue;
                        }
                        _ => continue,
                    };
                    self.send(&mut samples, at);
                    self.gap(self.last.unwrap_or(at), at, cause);
                }
                Decoded::Fault(_) => {}
            }
        }
        self.send(&mut samples, at);
    }

    fn send(&mut self, samples: &mut Vec<DecodedSample>, at: HostTime) {
        for sample in &*samples {
            self.battery(sample.battery_percent);
        }
        // Of two streams, one may have waited for the other.
        for packet in samples.chunk_by(|a, b| a.arrival == b.arrival) {
            for part in packet.chunks(PACKET_SAMPLES_MAX) {
                let arrival = part.first().and_then(|sample| sample.arrival);
                self.push(Event::Samples {
                    placement: self.placement,
                    packet: Packet {
                        arrival: arrival.unwrap_or(at),
                        samples: part.iter().map(DecodedSample::raw).collect(),
                    },
                });
            }
        }
        samples.clear();
    }

    fn battery(&mut self, percent: Option<f32>) {
        let Some(percent) = percent.filter(|percent| (0.0..=100.0).contains(percent)) else {
            return;
        };
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "0 to 100, as just seen"
        )]
        let percent = Some(percent.round() as u8);
        if self.battery_percent != percent {
            self.battery_percent = percent;
            self.tell(Status {
                battery_percent: percent,
                ..Status::default()
            });
        }
    }
}
