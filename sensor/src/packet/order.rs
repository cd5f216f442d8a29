//! Where a packet stands among those before it: missing ones, repeats, restarts, and the ticks of
//! samples between two stamps.

use super::fault::RestartCause;
use super::take::Packet;
use super::unwrap::{Hint, Step, Unwrap};
use crate::profile::{Stamped, Stream};
use crate::{Counts, HostTime};

/// How far the rate may be off its nominal value to be believed. Rates of inertial chips without a
/// crystal are off by some percent. This project's policy.
const RATE_SHARE_MAX: f64 = 0.1;

/// One stream so far.
#[derive(Clone, Debug)]
pub(super) struct StreamOrder {
    counts: Option<Counts>,
    of: Stamped,
    counter: Unwrap,
    clock: Unwrap,
    before: Option<Before>,
    /// Ticks from one sample to the next, as last measured.
    step_ticks: Option<f64>,
}

/// The packet before.
#[derive(Clone, Copy, Debug)]
struct Before {
    /// Number of its first sample.
    first: u64,
    /// How many.
    count: u64,
    /// Number and ticks of the sample that the clock stamped.
    stamp: Option<(u64, u64)>,
    arrival: Option<HostTime>,
}

/// How far counter and clock have come.
#[derive(Clone, Copy, Debug)]
pub(super) struct Last {
    counter: Option<u64>,
    clock: Option<u64>,
}

/// Where a packet stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Order {
    pub(super) is_repeated: bool,
    /// Samples missing before it.
    pub(super) missing: u64,
    /// Number of its first sample.
    pub(super) sequence: Option<u64>,
    /// One a sample, or none.
    pub(super) ticks: Vec<u64>,
    /// Which of the packet's samples the clock stamped.
    pub(super) stamped: usize,
}

impl StreamOrder {
    pub(super) fn new(stream: &Stream) -> Self {
        let counter = stream.counter.map(|counter| counter.field.bits());
        let clock = stream.clock.as_ref();
        Self {
            counts: stream.counter.map(|counter| counter.counts),
            of: clock.map_or(Stamped::Last, |clock| clock.of),
            counter: Unwrap::new(counter.unwrap_or(1)),
            clock: Unwrap::new(clock.map_or(1, |clock| clock.field.bits())),
            before: None,
            step_ticks: None,
        }
    }

    /// Whether a packet was taken since the beginning or the last restart.
    pub(super) fn has_begun(&self) -> bool {
        self.before.is_some()
    }

    pub(super) fn last(&self) -> Last {
        Last {
            counter: self.counter.last(),
            clock: self.clock.last(),
        }
    }

    /// The device began anew: only its pace is still known.
    pub(super) fn forget(&mut self) {
        self.counter.forget();
        self.clock.forget();
        self.before = None;
    }

    /// Takes the next packet, or says why the device must have begun anew.
    pub(super) fn step(
        &mut self,
        packet: &Packet,
        arrival: Option<HostTime>,
        rate_hz: f64,
        tick_s: Option<f64>,
        partner: Option<&Last>,
    ) -> Result<Order, RestartCause> {
        let count = packet.samples.len() as u64;
        let arrivals = self.before.and_then(|before| before.arrival).zip(arrival);
        let waited_s = arrivals.map(|(before, now)| now.0.saturating_sub(before.0) as f64 * 1e-9);
        let clock_before = self.clock.last();
        if let Some((raw, tick_s)) = packet.clock.zip(tick_s) {
            let hint = waited_s.map(|waited_s| Hint {
                advance: waited_s / tick_s,
                rate: tick_s.recip(),
            });
            let begin = self.clock.room_below(raw);
            let near = partner.map(|partner| partner.clock.unwrap_or(begin));
            if self.clock.step(raw, hint, near) == Step::Back {
                return Err(RestartCause::Clock);
            }
        }
        // A device's own clock doesn't know of queues on the way.
        let ticked_s = self.clock.last().zip(clock_before).zip(tick_s);
        let ticked_s = ticked_s.map(|((now, before), tick_s)| (now - before) as f64 * tick_s);
        let order = self.number(packet, count, ticked_s.or(waited_s), rate_hz, partner)?;
        if order.is_repeated {
            return Ok(order);
        }
        let first = order.sequence.unwrap_or_else(|| {
            let before = self.before.map_or(0, |before| before.first + before.count);
            before + order.missing
        });
        let ticks = self.ticks(packet, first, rate_hz, tick_s);
        self.before = Some(Before {
            first,
            count,
            stamp: packet
                .clock
                .and(self.clock.last())
                .map(|ticks| (self.stamped(first, count), ticks)),
            arrival,
        });
        let stamped = match self.of {
            Stamped::First => 0,
            Stamped::Last => packet.samples.len() - 1,
        };
        Ok(Order {
            ticks,
            stamped,
            ..order
        })
    }

    /// The number of the sample that the clock stamps.
    fn stamped(&self, first: u64, count: u64) -> u64 {
        match self.of {
            Stamped::First => first,
            Stamped::Last => first + count - 1,
        }
    }

    fn number(
        &mut self,
        packet: &Packet,
        count: u64,
        elapsed_s: Option<f64>,
        rate_hz: f64,
        partner: Option<&Last>,
    ) -> Result<Order, RestartCause> {
        let Some((counts, raw)) = self.counts.zip(packet.counter) else {
            return Ok(Order::default());
        };
        let rate = match counts {
            Counts::Samples => rate_hz,
            Counts::Packets => rate_hz / count as f64,
        };
        let hint = elapsed_s.map(|elapsed_s| Hint {
            advance: elapsed_s * rate,
            rate,
        });
        let begin = self.counter.room_below(raw);
        let near = partner.map(|partner| partner.counter.unwrap_or(begin));
        let (by, before) = match (self.counter.step(raw, hint, near), self.before) {
            (Step::Back, _) => return Err(RestartCause::Counter),
            (Step::Same, _) => {
                return Ok(Order {
                    is_repeated: true,
                    ..Order::default()
                });
            }
            (Step::Forward(by), Some(before)) => (by, before),
            (Step::First | Step::Forward(_), _) => {
                let begun = self.counter.last().unwrap_or(raw);
                let sequence = match counts {
                    Counts::Samples => begun,
                    Counts::Packets => begun * count,
                };
                return Ok(Order {
                    sequence: Some(sequence),
                    ..Order::default()
                });
            }
        };
        let missing = match counts {
            Counts::Packets => (by - 1).saturating_mul(count),
            // Fewer than the packet before held: it counts something else now.
            Counts::Samples => by.checked_sub(before.count).ok_or(RestartCause::Counter)?,
        };
        let next = before.first + before.count;
        Ok(Order {
            missing,
            sequence: Some(next.checked_add(missing).ok_or(RestartCause::Counter)?),
            ..Order::default()
        })
    }

    /// Ticks of all samples, from the stamped one at the measured pace.
    fn ticks(
        &mut self,
        packet: &Packet,
        first: u64,
        rate_hz: f64,
        tick_s: Option<f64>,
    ) -> Vec<u64> {
        let (Some(_), Some(tick_s), Some(clock)) = (packet.clock, tick_s, self.clock.last()) else {
            return Vec::new();
        };
        let nominal = (rate_hz * tick_s).recip();
        let stamped = self.stamped(first, packet.samples.len() as u64);
        if let Some((number, ticks)) = self.before.and_then(|before| before.stamp)
            && stamped > number
        {
            let pace = clock.saturating_sub(ticks) as f64 / (stamped - number) as f64;
            if (pace / nominal - 1.0).abs() <= RATE_SHARE_MAX {
                self.step_ticks = Some(pace);
            }
        }
        let pace = self.step_ticks.unwrap_or(nominal);
        let before = (stamped - first) as f64;
        (0..packet.samples.len())
            .map(|number| {
                let away = ((number as f64 - before) * pace).round();
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "at most 255 steps; what lies before the clock's zero becomes zero"
                )]
                if away < 0.0 {
                    clock.saturating_sub((-away) as u64)
                } else {
                    clock.saturating_add(away as u64)
                }
            })
            .collect()
    }
}
