//! A simulated sensor and radio with a clock of known faults, for the tests.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::print_stdout,
    clippy::struct_field_names,
    clippy::unnecessary_wraps,
    reason = "seeds and figures for whoever looks into a failure; numbers of a simulation stay small; counters and clocks are given as the optional fields they fill"
)]

use std::f64::consts::TAU;

use super::{Counter, Counts, Ticks, Timing};
use crate::event::{Packet, RawSample};
use crate::{DeviceTicks, HostTime};

/// Chance by a seed (`SplitMix64`).
pub(super) struct Chance(pub(super) u64);

impl Chance {
    pub(super) fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(super) fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.uniform()).ln()).sqrt() * (TAU * self.uniform()).cos()
    }
}

/// All that can be chosen. Faults are of the clock by which the sensor stamps, or, without stamps, samples.
#[derive(Clone, Debug)]
pub(super) struct Link {
    pub(super) seed: u64,
    pub(super) timing: Timing,
    pub(super) duration_s: f64,
    pub(super) per_packet: usize,
    pub(super) interval_s: f64,
    /// Share of packets that need another connection event.
    pub(super) retry: f64,
    /// Linear: the clock runs fast by this fraction.
    pub(super) skew: f64,
    /// Periodic: amplitude and period, s.
    pub(super) periodic: (f64, f64),
    /// Step: when, and by how much the clock is put on, s. Only a clock that stamps can step.
    pub(super) step: (f64, f64),
    /// Noisy: standard deviation of stamps, s.
    pub(super) noise_s: f64,
    /// The sensor begins anew: when, and for how long it is away, s.
    pub(super) restart: Option<(f64, f64)>,
    /// Nothing comes, samples are lost: when, and how long, s.
    pub(super) outage: Option<(f64, f64)>,
    /// Share of packets lost at random.
    pub(super) loss: f64,
    /// The radio stalls and delivers all at once: when, and how long, s.
    pub(super) stall: Option<(f64, f64)>,
}

/// What came, and the truth.
pub(super) struct Sent {
    pub(super) packets: Vec<Packet>,
    /// True time of each sample taken, s, by its number (see `number_of`).
    pub(super) truth_s: Vec<f64>,
}

/// A crystal clock of microseconds in 32 bits, and a 16-bit counter of samples.
pub(super) fn full(nominal_hz: f64) -> Timing {
    Timing {
        nominal_hz,
        counter: counter(16),
        ticks: ticks(32, 1e-6),
    }
}

pub(super) fn counter(bits: u8) -> Option<Counter> {
    Some(Counter {
        bits,
        counts: Counts::Samples,
    })
}

pub(super) fn ticks(bits: u8, tick_s: f64) -> Option<Ticks> {
    Some(Ticks { bits, tick_s })
}

impl Link {
    pub(super) fn new(seed: u64, timing: Timing) -> Self {
        Self {
            seed,
            timing,
            duration_s: 60.0,
            per_packet: 1,
            interval_s: 0.03,
            retry: 0.05,
            skew: 0.0,
            periodic: (0.0, 60.0),
            step: (f64::INFINITY, 0.0),
            noise_s: 0.0,
            restart: None,
            outage: None,
            loss: 0.0,
            stall: None,
        }
    }

    /// The faulty clock at a true time, s, without noise.
    fn clock_s(&self, t_s: f64) -> f64 {
        let (amplitude_s, period_s) = self.periodic;
        let step_s = if self.step.0 <= t_s { self.step.1 } else { 0.0 };
        t_s * (1.0 + self.skew) + amplitude_s * (TAU * t_s / period_s).sin() + step_s
    }

    /// When sample number `k` is taken, s.
    fn taken_s(&self, k: usize) -> f64 {
        let count_s = k as f64 / self.timing.nominal_hz;
        if self.timing.ticks.is_some() {
            return count_s;
        }
        // Where nothing stamps, the faulty clock is what the samples are taken by.
        let mut t_s = count_s;
        for _ in 0..20 {
            t_s -= self.clock_s(t_s) - count_s;
        }
        t_s
    }

    pub(super) fn send(&self) -> Sent {
        let mut chance = Chance(self.seed);
        let event_phase_s = self.interval_s * chance.uniform();
        let clock_zero_s = 1000.0 * chance.uniform();
        let count_zero = (1000.0 * chance.uniform()) as u64;
        let mut sent = Sent {
            packets: Vec::new(),
            truth_s: Vec::new(),
        };
        let (mut free_s, mut gathered, mut is_anew) = (0.0_f64, Vec::new(), false);
        let mut count = count_zero;
        let is_in = |span: Option<(f64, f64)>, t_s: f64| {
            span.is_some_and(|(from_s, length_s)| from_s <= t_s && t_s < from_s + length_s)
        };
        for k in 0.. {
            let t_s = self.taken_s(k);
            if self.duration_s < t_s {
                break;
            }
            sent.truth_s.push(t_s);
            if is_in(self.restart, t_s) {
                (is_anew, count) = (true, 0);
                gathered.clear();
                continue;
            }
            let base_s = if is_anew {
                -self.restart.map_or(0.0, |r| r.0)
            } else {
                clock_zero_s
            };
            gathered.push(self.sample(k, count, self.clock_s(t_s) + base_s, &mut chance));
            count += 1;
            if gathered.len() < self.per_packet {
                continue;
            }
            let samples = std::mem::take(&mut gathered);
            if is_in(self.outage, t_s) || chance.uniform() < self.loss {
                continue;
            }
            // Two milliseconds to fill and queue a packet, then the next event of the radio, in order.
            let mut ready_s = (t_s + 0.002).max(free_s - 0.0005);
            if let Some((from_s, length_s)) = self.stall
                && from_s <= ready_s
            {
                ready_s = ready_s.max(from_s + length_s);
            }
            let event = ((ready_s - event_phase_s) / self.interval_s).ceil();
            let mut arrival_s = event_phase_s + event * self.interval_s;
            while chance.uniform() < self.retry {
                arrival_s += self.interval_s;
            }
            arrival_s += 0.0003 * chance.uniform();
            arrival_s = arrival_s.max(free_s);
            free_s = arrival_s + 1e-5;
            sent.packets.push(Packet {
                arrival: HostTime::from_s(arrival_s).expect("finite"),
                samples,
            });
        }
        sent
    }

    fn sample(&self, k: usize, count: u64, clock_s: f64, chance: &mut Chance) -> RawSample {
        let wrapped = |value: u64, bits: u8| value & (u64::MAX >> (64 - u32::from(bits)));
        let device = self.timing.ticks.map(|clock| {
            let noisy_s = clock_s + self.noise_s * chance.normal();
            DeviceTicks(wrapped(((noisy_s + 1e4) / clock.tick_s) as u64, clock.bits))
        });
        RawSample {
            sequence: self.timing.counter.map(|c| wrapped(count, c.bits)),
            device,
            accel_m_s2: [(k / 4096) as f32, (k % 4096) as f32, 9.8],
            gyro_rad_s: [0.0; 3],
        }
    }
}

/// The number by which a sample's true time is found.
pub(super) fn number_of(accel_m_s2: [f32; 3]) -> usize {
    accel_m_s2[0] as usize * 4096 + accel_m_s2[1] as usize
}

/// Errors of times against the truth, s.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Errors {
    /// Mean: the least delay, which nothing can tell from here.
    pub(super) offset_s: f64,
    /// Root mean square about the mean.
    pub(super) rms_s: f64,
    /// Largest from the mean.
    pub(super) max_s: f64,
    /// Largest difference between the time from one sample to the next and the true one.
    pub(super) step_s: f64,
}

impl Errors {
    /// No bound at all.
    pub(super) const ANY: Self = Self {
        offset_s: f64::INFINITY,
        rms_s: f64::INFINITY,
        max_s: f64::INFINITY,
        step_s: f64::INFINITY,
    };

    /// Prints them; each must be below its bound, and the offset not under `least_s` either.
    pub(super) fn hold(&self, what: &str, told: &impl std::fmt::Debug, least_s: f64, most: &Self) {
        let each = [
            ("offset", self.offset_s, most.offset_s),
            ("rms", self.rms_s, most.rms_s),
            ("max", self.max_s, most.max_s),
            ("step", self.step_s, most.step_s),
        ];
        let text = each.map(|(name, s, _)| format!("{name} {:.3} ms", s * 1e3));
        println!("{what}: {}; {told:?}", text.join(", "));
        for (name, s, most_s) in each {
            assert!(s < most_s, "{what}: {name} {} ms", s * 1e3);
        }
        assert!(
            least_s <= self.offset_s,
            "{what}: offset {} ms",
            self.offset_s * 1e3
        );
    }
}

/// Compares `(accel, time)` of samples with the truth.
pub(super) fn errors(times: &[([f32; 3], f64)], truth_s: &[f64]) -> Errors {
    let each: Vec<f64> = times
        .iter()
        .map(|(accel, at_s)| at_s - truth_s[number_of(*accel)])
        .collect();
    let count = each.len().max(1) as f64;
    let offset_s = each.iter().sum::<f64>() / count;
    let from_mean = |e: &f64| e - offset_s;
    Errors {
        offset_s,
        rms_s: (each.iter().map(|e| from_mean(e).powi(2)).sum::<f64>() / count).sqrt(),
        max_s: each.iter().map(|e| from_mean(e).abs()).fold(0.0, f64::max),
        step_s: each
            .windows(2)
            .map(|w| (w[1] - w[0]).abs())
            .fold(0.0, f64::max),
    }
}
