//! The sensor's own axis: where each sample of a stream lies by counter and clock, unwrapped, in stretches
//! ("segments") within which the sensor's clock ran through.
//!
//! A segment ends where the sensor began anew (said so, or its count or clock jumps back, or ahead of what
//! can have arrived), where a pause was so long that a turn of the counter can hide in it, and where the
//! sensor's clock has fallen behind for good. A segment too many costs little: it has an offset of its own
//! and shares the slope.

use super::timing::{Counter, Counts, Timing};
use super::unwrap::{forward, modulus, number_each, numbers, spread, step, unwrap_stamps};
use crate::event::{Packet, RawSample};

/// A packet may come this late after its successors, s; one from farther back is of another start.
const REORDER_S: f64 = 0.5;
/// So many packets in a row from the past are no stragglers.
const LATE_PACKETS: usize = 3;
/// A sample can't be so much younger than the least delay seen so far, s.
const AHEAD_S: f64 = 0.1;
/// A delay this much over the least, s, for this long, s, in at least so many packets, won't go away.
const BEHIND_S: f64 = 0.25;
const BEHIND_FOR_S: f64 = 1.0;
const BEHIND_PACKETS: usize = 10;
/// Without counter and clock, a silence of this length, s, counts as loss.
const PAUSE_S: f64 = 0.25;
/// A counter that wraps sooner, s, can't tell loss from a radio's usual waits, and isn't used.
const TURN_S_MIN: f64 = 0.5;

/// Where one sample lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Placed {
    /// Number of the sample, unwrapped; counts what came where there is no counter.
    pub(super) index: i64,
    /// On the sensor's clock, s; zero and rate are the sensor's.
    pub(super) device_s: f64,
    /// Later than all before it; else it is a straggler or comes again.
    pub(super) is_fresh: bool,
}

/// What is said of a whole packet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Arrived {
    /// Counted from 0.
    pub(super) segment: usize,
    /// Starts of the sensor's count, from 0: numbers of one start can be compared.
    pub(super) start: usize,
    /// The newest sample on the sensor's clock, s, if it is fresh: the one with the least delay.
    pub(super) newest_s: Option<f64>,
    /// The segment began with an earlier packet, as is seen only now: its number, counted from 0.
    pub(super) began: Option<usize>,
}

/// The newest sample so far.
#[derive(Clone, Copy, Debug)]
struct Last {
    arrival_s: f64,
    sample: RawSample,
    index: i64,
    device_s: f64,
    /// The counter at `index`.
    count_raw: u64,
    /// Of its packet.
    first_index: i64,
    packet_count: i64,
    /// The latest stamp: as it came, unwrapped from the segment's first, and the index it belongs to.
    ticks: Option<(u64, i64, i64)>,
}

/// A stretch in which the delay is far over its least.
#[derive(Clone, Copy, Debug)]
struct Behind {
    packet: usize,
    arrival_s: f64,
    count: usize,
    least_s: f64,
}

/// Places packets, in order of arrival.
#[derive(Clone, Debug)]
pub(super) struct Axis {
    timing: Timing,
    /// The counter, if it wraps slowly enough to be of use.
    counter: Option<Counter>,
    is_broken: bool,
    segment: usize,
    start: usize,
    packet: usize,
    last: Option<Last>,
    /// From sample to sample on the sensor's clock, s, and on how many packets that rests.
    period_s: f64,
    period_weight: f64,
    /// Least `arrival − device` of the segment, s, rising as fast as clocks may part.
    floor_s: f64,
    late_packets: usize,
    behind: Option<Behind>,
}

impl Axis {
    pub(super) fn new(timing: &Timing) -> Self {
        // A packet holds one sample at least: that is the shortest turn there can be.
        let counter = timing
            .counter
            .filter(|counter| TURN_S_MIN <= modulus(counter.bits) / timing.nominal_hz);
        Self {
            timing: *timing,
            counter,
            is_broken: false,
            segment: 0,
            start: 0,
            packet: 0,
            last: None,
            period_s: 1.0 / timing.nominal_hz,
            period_weight: 8.0,
            floor_s: f64::INFINITY,
            late_packets: 0,
            behind: None,
        }
    }

    /// Whether loss can be seen by a counter.
    pub(super) const fn counts(&self) -> bool {
        self.counter.is_some()
    }

    /// Whether loss can be seen at all.
    pub(super) const fn sees_gaps(&self) -> bool {
        self.counter.is_some() || self.timing.ticks.is_some()
    }

    /// From sample to sample on the sensor's clock, s.
    pub(super) const fn period_s(&self) -> f64 {
        self.period_s
    }

    /// The next packet begins a segment.
    pub(super) const fn break_here(&mut self) {
        self.is_broken = true;
    }

    /// Something was lost that only a counter or a clock can tell the size of.
    pub(super) const fn lost_here(&mut self) {
        self.is_broken |= !self.sees_gaps();
    }

    /// Places the samples of the next packet, one `Placed` each.
    pub(super) fn place(&mut self, packet: &Packet, placed: &mut Vec<Placed>) -> Arrived {
        let arrival_s = packet.arrival.s();
        let number = self.packet;
        self.packet += 1;
        let is_anew = std::mem::take(&mut self.is_broken);
        let mut last = self.last.filter(|_| !is_anew);
        let is_paused = last.is_some_and(|last| self.pause_s(&last) < arrival_s - last.arrival_s);
        let mut draft = self.draft(packet, last.as_ref(), is_paused, placed);
        let mut begins = last.is_none() || is_paused;
        if let Some(before) = last
            && !is_paused
            && self.is_restart(&before, &draft, arrival_s)
        {
            last = None;
            begins = true;
            draft = self.draft(packet, None, false, placed);
        }
        if self.last.is_some() {
            self.segment += usize::from(begins);
            self.start += usize::from(last.is_none());
        }
        let least_s = arrival_s - draft.device_s;
        let mut began = None;
        if begins {
            self.floor_s = least_s;
            self.behind = None;
            self.late_packets = 0;
        } else if let Some(before) = last {
            self.floor_s += self.timing.skew_max() * (arrival_s - before.arrival_s).max(0.0);
            began = self.watch(number, arrival_s, least_s);
            self.floor_s = self.floor_s.min(least_s);
        }
        let is_newer = last.is_none_or(|last| self.is_newer(&last, &draft));
        if is_newer {
            if let Some(before) = &last {
                self.learn_period(before, &draft);
            }
            self.last = Some(draft);
        } else if let Some(last) = &mut self.last {
            last.arrival_s = arrival_s;
        }
        Arrived {
            segment: self.segment,
            start: self.start,
            newest_s: is_newer.then_some(draft.device_s),
            began,
        }
    }

    /// A silence longer than this may hide a turn, s.
    fn pause_s(&self, last: &Last) -> f64 {
        let packet_s = last.packet_count as f64 / self.timing.nominal_hz;
        match (self.timing.ticks, self.counter) {
            (Some(ticks), _) => 0.5 * modulus(ticks.bits) * ticks.tick_s,
            (None, Some(counter)) => match counter.counts {
                Counts::Samples => 0.5 * modulus(counter.bits) / self.timing.nominal_hz,
                Counts::Packets => 0.5 * modulus(counter.bits) * packet_s,
            },
            (None, None) => PAUSE_S.max(4.0 * packet_s),
        }
    }

    /// Places the samples after `last`, or from the beginning; what is returned is the newest of them.
    fn draft(
        &self,
        packet: &Packet,
        last: Option<&Last>,
        is_paused: bool,
        placed: &mut Vec<Placed>,
    ) -> Last {
        let samples = &packet.samples;
        let before = last
            .and_then(|last| last.ticks)
            .map(|(raw, unwrapped, _)| (raw, unwrapped));
        let stamps = match self.timing.ticks {
            Some(clock) => unwrap_stamps(samples, clock.bits, before, is_paused),
            None => Vec::new(),
        };
        let device_s = self.timing.ticks.map_or(Vec::new(), |clock| {
            let before_s = last.map_or(0.0, |last| last.device_s);
            spread(
                samples.len(),
                &stamps,
                clock.tick_s,
                self.period_s,
                before_s,
            )
        });
        let (indices, count_raw) = self.indices(samples, last, is_paused, &device_s, packet);
        placed.clear();
        let mut newest = last.map(|last| last.index);
        let repeats = last.is_some_and(|last| {
            self.counter.is_none()
                && last.sample.device.is_some()
                && samples.last() == Some(&last.sample)
        });
        for (j, &index) in indices.iter().enumerate() {
            let is_fresh = !repeats && newest.is_none_or(|newest| newest < index);
            newest = newest.max(Some(index));
            let device_s = if self.timing.ticks.is_some() {
                device_s[j]
            } else {
                index as f64 / self.timing.nominal_hz
            };
            placed.push(Placed {
                index,
                device_s,
                is_fresh,
            });
        }
        let end = placed.last().copied().unwrap_or(Placed {
            index: 0,
            device_s: 0.0,
            is_fresh: false,
        });
        let stamped = stamps
            .last()
            .and_then(|stamp| Some((stamp.raw, stamp.ticks, placed.get(stamp.sample)?.index)));
        Last {
            arrival_s: packet.arrival.s(),
            sample: samples.last().copied().unwrap_or(NOTHING),
            index: end.index,
            device_s: end.device_s,
            count_raw,
            first_index: indices.first().copied().unwrap_or(0),
            packet_count: i64::try_from(indices.len()).unwrap_or(1),
            ticks: stamped.or(last.and_then(|last| last.ticks)),
        }
    }

    /// The number of each sample, and the counter at the last of them.
    fn indices(
        &self,
        samples: &[RawSample],
        last: Option<&Last>,
        is_paused: bool,
        device_s: &[f64],
        packet: &Packet,
    ) -> (Vec<i64>, u64) {
        let numbered = samples.iter().position(|s| s.sequence.is_some());
        let (Some(counter), Some(at)) = (self.counter, numbered) else {
            let first = last.map_or(0, |last| last.index.wrapping_add(1));
            let raw = last.map_or(0, |last| last.count_raw.wrapping_add(samples.len() as u64));
            return (numbers(first, samples.len()), raw);
        };
        let raw = samples[at].sequence.unwrap_or(0);
        let expected = last.and_then(|last| match device_s.get(at) {
            Some(device_s) => Some((device_s - last.device_s) / self.period_s),
            None if is_paused => {
                Some((packet.arrival.s() - last.arrival_s) * self.timing.nominal_hz)
            }
            None => None,
        });
        match counter.counts {
            Counts::Packets => {
                let expected = expected
                    .zip(last)
                    .map(|(e, last)| e / last.packet_count.max(1) as f64);
                let first = last.map_or(0, |last| {
                    match step(raw, last.count_raw, counter.bits, expected) {
                        0 => last.first_index,
                        n if n < 0 => last
                            .first_index
                            .wrapping_add(n.wrapping_mul(last.packet_count)),
                        n => last
                            .index
                            .wrapping_add(1)
                            .wrapping_add((n - 1).wrapping_mul(last.packet_count)),
                    }
                });
                (numbers(first, samples.len()), raw)
            }
            Counts::Samples => {
                let start = last.map_or(forward(raw, 0, counter.bits).cast_signed(), |last| {
                    let ahead = step(raw, last.count_raw, counter.bits, expected);
                    last.index.wrapping_add(ahead)
                });
                number_each(samples, at, start, raw, counter.bits)
            }
        }
    }

    fn is_newer(&self, last: &Last, draft: &Last) -> bool {
        if self.counter.is_some() {
            last.index < draft.index
        } else {
            // Sent in order: a stamp that goes back a little is the clock's noise. What comes again is not new.
            draft.sample.device.is_none() || draft.sample != last.sample
        }
    }

    /// Whether the sensor has begun anew between two packets.
    fn is_restart(&mut self, last: &Last, draft: &Last, arrival_s: f64) -> bool {
        let back_s = if self.counter.is_some() {
            last.index.saturating_sub(draft.index) as f64 / self.timing.nominal_hz
        } else {
            last.device_s - draft.device_s
        };
        let is_late = self.counter.is_some() && draft.index < last.index;
        self.late_packets = if is_late { self.late_packets + 1 } else { 0 };
        let is_clock_back = REORDER_S < last.device_s - draft.device_s;
        let is_ahead = arrival_s - draft.device_s < self.floor_s - AHEAD_S;
        REORDER_S < back_s || is_clock_back || self.late_packets >= LATE_PACKETS || is_ahead
    }

    /// Notes a delay far over the least; gives the packet where that began, once it is clear that it stays.
    fn watch(&mut self, packet: usize, arrival_s: f64, least_s: f64) -> Option<usize> {
        if least_s <= self.floor_s + BEHIND_S {
            self.behind = None;
            return None;
        }
        let behind = self.behind.get_or_insert(Behind {
            packet,
            arrival_s,
            count: 0,
            least_s,
        });
        behind.count += 1;
        behind.least_s = behind.least_s.min(least_s);
        let stays = BEHIND_PACKETS <= behind.count && BEHIND_FOR_S <= arrival_s - behind.arrival_s;
        let (began, least_s) = (behind.packet, behind.least_s);
        if stays {
            self.segment += 1;
            self.floor_s = least_s;
            self.behind = None;
        }
        stays.then_some(began)
    }

    /// The true time from sample to sample on the sensor's clock, from one stamp to the next.
    fn learn_period(&mut self, last: &Last, now: &Last) {
        let (Some(clock), Some((_, from, from_index)), Some((_, to, to_index))) =
            (self.timing.ticks, last.ticks, now.ticks)
        else {
            return;
        };
        let count = to_index.saturating_sub(from_index) as f64;
        let period_s = to.saturating_sub(from) as f64 * clock.tick_s / count;
        let nominal_s = 1.0 / self.timing.nominal_hz;
        // A coarse tick, or a loss nobody counted, must not spoil it.
        if count <= 0.0 || !(0.5 * nominal_s..1.5 * nominal_s).contains(&period_s) {
            return;
        }
        self.period_weight = (self.period_weight + 1.0).min(256.0);
        self.period_s += (period_s - self.period_s) / self.period_weight;
    }
}

const NOTHING: RawSample = RawSample {
    sequence: None,
    device: None,
    accel_m_s2: [0.0; 3],
    gyro_rad_s: [0.0; 3],
};
