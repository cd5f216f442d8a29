//! Run times as samples come, from the past alone.

use super::axis::{Axis, Placed};
use super::envelope::{Envelope, Point};
use super::report::ClockReport;
use super::timing::Timing;
use crate::event::{Loss, Packet};
use crate::{HostTime, RunTime, Sample};

/// Times of one stream while it is being received. Provisional: [`fit`](crate::fit) knows the whole run.
///
/// Times strictly increase. A better estimate is approached slowly, at most 1 ms in a second (50 ms in a
/// second during the first five of a segment), so that no step is taken for motion. Samples that come again
/// or after their successors are left out.
#[derive(Clone, Debug)]
pub struct ClockMap {
    timing: Timing,
    origin: HostTime,
    axis: Axis,
    placed: Vec<Placed>,
    segment: Option<Segment>,
    slope: f64,
    last: Option<RunTime>,
    /// Start of the sensor's count, and the last sample.
    counted: Option<(usize, Placed)>,
    lost: i64,
    report: ClockReport,
}

/// The mapping since the last restart.
#[derive(Clone, Debug)]
struct Segment {
    number: usize,
    envelope: Envelope,
    began_s: f64,
    /// Last device time shown, s, and how far the shown host time is over the line's, s.
    shown_s: f64,
    excess_s: f64,
}

/// Least step between two samples, ns, where their clock shows none.
pub(super) const NUDGE_NS: i64 = 1000;

impl ClockMap {
    /// Longest time a segment is still finding its line, s.
    const SETTLING_S: f64 = 5.0;
    const SLEW: f64 = 1e-3;
    const SLEW_SETTLING: f64 = 0.05;
    /// What is off by more, s, is set right at once.
    const JUMP_S: f64 = 0.25;

    /// A stream of a run whose time 0 is `origin`: the arrival of the run's first packet, say.
    pub fn new(timing: &Timing, origin: HostTime) -> Self {
        Self {
            timing: *timing,
            origin,
            axis: Axis::new(timing),
            placed: Vec::new(),
            segment: None,
            slope: 1.0,
            last: None,
            counted: None,
            lost: 0,
            report: ClockReport {
                rate_hz: timing.nominal_hz,
                ..ClockReport::default()
            },
        }
    }

    /// Takes note that samples were lost.
    pub const fn lost(&mut self, cause: Loss) {
        if cause.breaks_clock() {
            self.axis.break_here();
        } else {
            self.axis.lost_here();
        }
    }

    /// Gives the samples of a packet their times; those that can't be placed, or that no sensor can have
    /// felt, are left out.
    pub fn push(&mut self, packet: &Packet, out: &mut Vec<Sample>) {
        let mut placed = std::mem::take(&mut self.placed);
        let arrived = self.axis.place(packet, &mut placed);
        let newest = arrived.newest_s.map(|device_s| Point {
            device_s,
            host_s: packet.arrival.s(),
        });
        if let Some(newest) = newest {
            self.follow(arrived.segment, newest, &placed);
        }
        for (raw, place) in packet.samples.iter().zip(&placed) {
            if !place.is_fresh {
                self.report.late_count += 1;
                continue;
            }
            if let Some(at) = self.time(place, arrived.start) {
                let sample = Sample {
                    at,
                    accel_m_s2: raw.accel_m_s2,
                    gyro_rad_s: raw.gyro_rad_s,
                };
                self.report.sample_count += 1;
                if sample.is_possible() {
                    out.push(sample);
                }
            }
        }
        self.placed = placed;
    }

    /// How the clock has done so far.
    pub fn report(&self) -> ClockReport {
        let slope = self
            .segment
            .as_ref()
            .map_or(self.slope, |s| s.envelope.line().slope);
        let period_s = if self.timing.ticks.is_some() {
            self.axis.period_s()
        } else {
            1.0 / self.timing.nominal_hz
        };
        ClockReport {
            rate_hz: 1.0 / (slope * period_s),
            skew: 1.0 / slope - 1.0,
            lost_count: self
                .axis
                .sees_gaps()
                .then(|| u64::try_from(self.lost).unwrap_or(0)),
            segment_count: self.segment.as_ref().map_or(0, |s| s.number as u64 + 1),
            ..self.report
        }
    }

    /// Brings the line up to date with the newest sample of a packet.
    fn follow(&mut self, number: usize, newest: Point, placed: &[Placed]) {
        match &mut self.segment {
            Some(segment) if segment.number == number => {
                let before_s = segment.envelope.line().host_s(segment.shown_s);
                segment.envelope.add(newest);
                let change_s = before_s - segment.envelope.line().host_s(segment.shown_s);
                segment.excess_s += change_s;
                if Self::JUMP_S < segment.excess_s.abs() {
                    segment.excess_s = 0.0;
                }
            }
            _ => {
                if let Some(segment) = &self.segment {
                    self.slope = segment.envelope.line().slope;
                }
                let first = placed.first().map_or(newest.device_s, |p| p.device_s);
                let mut envelope = Envelope::new(&self.timing, self.slope, newest);
                envelope.add(newest);
                self.segment = Some(Segment {
                    number,
                    envelope,
                    began_s: first,
                    shown_s: first,
                    excess_s: 0.0,
                });
            }
        }
    }

    /// The time of a fresh sample.
    fn time(&mut self, place: &Placed, start: usize) -> Option<RunTime> {
        let segment = self.segment.as_mut()?;
        let step_s = (place.device_s - segment.shown_s).max(0.0);
        let slew = if place.device_s - segment.began_s < Self::SETTLING_S {
            Self::SLEW_SETTLING
        } else {
            Self::SLEW
        };
        let most_s = slew * step_s;
        segment.excess_s -= segment.excess_s.clamp(-most_s, most_s);
        segment.shown_s = segment.shown_s.max(place.device_s);
        let host_s = segment.envelope.line().host_s(place.device_s) + segment.excess_s;
        if let Some((before, last)) = self.counted
            && before == start
        {
            self.lost += missing(&last, place, &self.axis);
        }
        self.counted = Some((start, *place));
        let mut at = HostTime::from_s(host_s)?.since(self.origin);
        if let Some(last) = self.last
            && at.ns() < last.ns() + NUDGE_NS
        {
            at = RunTime::from_ns(last.ns() + NUDGE_NS);
            self.report.nudged_count += 1;
        }
        self.last = Some(at);
        Some(at)
    }
}

/// How many samples are missing between two of one start. By a clock it may be less than none: noise of
/// its stamps then cancels over a run.
pub(super) fn missing(before: &Placed, after: &Placed, axis: &Axis) -> i64 {
    let steps = if axis.counts() {
        after.index.saturating_sub(before.index)
    } else {
        let steps = (after.device_s - before.device_s) / axis.period_s();
        #[expect(
            clippy::cast_possible_truncation,
            reason = "what is too large for a count is left out just below"
        )]
        {
            steps.round() as i64
        }
    };
    // More than a run can hold is a fault of the counter.
    if steps.saturating_abs() < 1_000_000_000 {
        steps - 1
    } else {
        0
    }
}
