//! What a simulated sensor makes of its samples: packets, with its counter and its clock.

use std::f64::consts::TAU;

use crate::event::{PACKET_SAMPLES_MAX, RawSample};
use crate::{DeviceTicks, Placement, RunTime, Sample, Track};

use super::super::random::Random;
use super::super::{ClockCourse, Restart, Sending, SensorClock};

/// Length of a tick of the sensors' clocks, s.
pub(super) const TICK_S: f64 = 1.0 / 32_768.0;
pub(super) const COUNTER_BITS: u8 = 16;
pub(super) const CLOCK_BITS: u8 = 32;
/// Counter and clock wrap so many samples and seconds after the start, at most.
const WRAP_SAMPLES: usize = 1000;
const WRAP_S: f64 = 10.0;
/// A clock that counts from zero has gone on so far when the first sample is taken, s.
const BOOT_S: f64 = 0.1;

/// A packet as it leaves the sensor.
pub(super) struct Made {
    /// When its last sample was taken: before that it can't leave.
    pub(super) last: RunTime,
    pub(super) samples: Vec<RawSample>,
    /// The sensor says with it that it has begun anew.
    pub(super) tells_restart: bool,
}

/// All packets of a track, in their order.
pub(super) fn packets(placement: Placement, track: &Track, sending: &Sending) -> Vec<Made> {
    let mut sensor = Sensor::new(placement, track, sending);
    let packet_s = sending.packet_s.max(1e-3);
    let packet = |sample: &Sample| (sample.at.s() / packet_s).floor();
    let same = |a: &Sample, b: &Sample| packet(a).total_cmp(&packet(b)).is_eq();
    let chunks = track
        .samples
        .chunk_by(same)
        .flat_map(|packet| packet.chunks(PACKET_SAMPLES_MAX));
    let mut made: Vec<Made> = Vec::new();
    for chunk in chunks {
        // What a sensor holds when it stops is lost with it.
        let Some(last) = chunk.last().filter(|last| is_powered(sending, last.at)) else {
            continue;
        };
        let held = |s: &&Sample| sending.restart.is_none_or(|r| is_held(&r, s.at, last.at));
        let was_anew = sensor.is_anew;
        let samples: Vec<RawSample> = chunk.iter().filter(held).map(|s| sensor.send(s)).collect();
        if samples.is_empty() {
            continue;
        }
        let is_told = sending.restart.is_some_and(|r| r.is_told);
        made.push(Made {
            last: last.at,
            samples,
            tells_restart: is_told && sensor.is_anew && !was_anew,
        });
    }
    made
}

fn is_powered(sending: &Sending, at: RunTime) -> bool {
    sending.battery_s.is_none_or(|empty_s| at.s() < empty_s)
}

/// Whether a sample is there when its packet is full.
fn is_held(restart: &Restart, at: RunTime, full: RunTime) -> bool {
    full.s() < restart.at_s || restart.at_s + restart.away_s <= at.s()
}

/// Counter and clock of a sensor.
struct Sensor {
    rate_hz: f64,
    first: RunTime,
    clock: Option<SensorClock>,
    has_counter: bool,
    restart: Option<Restart>,
    /// What the counter is at `first`.
    count_at_first: u64,
    /// What the clock is at the run's time 0, but for what its course adds.
    clock_at_zero_s: f64,
    /// Number of the next sample, at least.
    next: u64,
    is_anew: bool,
    noise: Random,
}

impl Sensor {
    fn new(placement: Placement, track: &Track, sending: &Sending) -> Self {
        let mut random = Random::new(sending.seed, 0x0600 + placement as u64);
        let turn_s = 2.0_f64.powi(CLOCK_BITS.into()) * TICK_S;
        let (samples, seconds) = (
            random.count(1, WRAP_SAMPLES),
            random.between(BOOT_S, WRAP_S),
        );
        let is_slow = random.chance(0.5);
        let clock = sending.clock.map(|clock| SensorClock {
            skew: if is_slow { -clock.skew } else { clock.skew },
            ..clock
        });
        let (count_at_first, clock_at_zero_s) = if sending.wraps {
            ((1 << COUNTER_BITS) - samples as u64, turn_s - seconds)
        } else {
            (0, BOOT_S)
        };
        Self {
            rate_hz: track.rate_hz,
            first: track.samples.first().map_or(RunTime::ZERO, |s| s.at),
            clock,
            has_counter: sending.has_counter,
            restart: sending.restart,
            count_at_first,
            clock_at_zero_s,
            next: 0,
            is_anew: false,
            noise: Random::new(sending.seed, 0x0610 + placement as u64),
        }
    }

    /// A sample that was lost before was counted all the same.
    fn send(&mut self, sample: &Sample) -> RawSample {
        if let Some(restart) = self.restart.take_if(|r| r.at_s <= sample.at.s()) {
            self.first = sample.at;
            (self.count_at_first, self.next) = (0, 0);
            let began_s = restart.at_s + restart.away_s;
            self.clock_at_zero_s = BOOT_S - began_s;
            self.is_anew = true;
        }
        let number = whole((sample.at - self.first) * self.rate_hz + 0.5).max(self.next);
        self.next = number + 1;
        let device = self.clock.map(|clock| {
            let clock_s = self.clock_at_zero_s + self.reading_s(&clock, sample.at.s());
            DeviceTicks(whole(clock_s / TICK_S) % (1 << CLOCK_BITS))
        });
        let sequence = (self.count_at_first + number) % (1 << COUNTER_BITS);
        RawSample {
            sequence: self.has_counter.then_some(sequence),
            device,
            accel_m_s2: sample.accel_m_s2,
            gyro_rad_s: sample.gyro_rad_s,
        }
    }

    /// What the clock makes of a moment, s.
    fn reading_s(&mut self, clock: &SensorClock, t_s: f64) -> f64 {
        let off_s = match clock.course {
            ClockCourse::Periodic {
                amplitude_s,
                period_s,
            } => amplitude_s * (TAU * t_s / period_s).sin(),
            // One that has begun anew knows nothing of it.
            ClockCourse::Step { at_s, by_s } if at_s <= t_s && !self.is_anew => by_s,
            ClockCourse::Linear | ClockCourse::Step { .. } => 0.0,
            ClockCourse::Noisy { sd_s } => self.noise.normal(sd_s),
        };
        t_s * (1.0 + clock.skew) + off_s
    }
}

/// The whole number below.
fn whole(value: f64) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "counts of a run are far below 2^63, and none is below 0"
    )]
    let number = value.max(0.0) as u64;
    number
}
