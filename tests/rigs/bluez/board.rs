//! A board that speaks the open motion profile: what it samples, how it counts and stamps, what it answers.

use std::time::Duration;

use sensor::Placement;
use sensor::synthetic::{Scenario, simulate};
use tokio::time::Instant;

pub(in super::super) const TICK_HZ: f64 = 32_768.0;
/// ±8 g and ±1000 °/s, as after power-on.
const RANGES: u8 = 2 << 3 | 3;

/// m/s² and rad/s a step.
pub(in super::super) fn steps() -> [f32; 2] {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "single precision, as it stands in Info"
    )]
    [8.0 * 9.80665 / 32_768.0, 1000.0_f64.to_radians() / 32_768.0].map(|step: f64| step as f32)
}

/// A packet as it went out.
#[derive(Clone, Debug)]
pub(in super::super) struct Sent {
    /// Number of its first sample, wrapped.
    pub(in super::super) number: u16,
    /// The board's clock at its first sample, wrapped.
    pub(in super::super) ticks: u32,
    /// Acc x y z, gyro x y z.
    pub(in super::super) values: Vec<[i16; 6]>,
    pub(in super::super) at: Instant,
}

/// What is particular about a board.
#[derive(Clone, Debug)]
pub(in super::super) struct Board {
    /// The sampling runs fast by this share.
    pub(in super::super) rate_off: f64,
    /// The clock runs fast by this many millionths.
    pub(in super::super) clock_ppm: f64,
    /// The first number after power-on.
    pub(in super::super) first_number: u16,
    /// The clock at power-on, ticks.
    pub(in super::super) first_ticks: u32,
    pub(in super::super) per_packet: u8,
    /// From one connection event to the next.
    pub(in super::super) interval: Duration,
    pub(in super::super) battery_percent: u8,
    /// What its sensor will read, again and again.
    pub(in super::super) readings: Vec<[i16; 6]>,
}

impl Board {
    /// On a person who raises a leg.
    pub(in super::super) fn worn(placement: Placement, seed: u64) -> Self {
        let mut scenario = Scenario::slow(seed);
        scenario.sensors = vec![placement];
        let run = simulate(&scenario).run;
        let steps = steps();
        #[expect(
            clippy::cast_possible_truncation,
            reason = "beyond full scale it stays there, as in a chip"
        )]
        let raw = |value: f32, step: f32| (value / step).round() as i16;
        let readings = run.tracks[0].samples.iter().map(|sample| {
            let [ax, ay, az] = sample.accel_m_s2.map(|value| raw(value, steps[0]));
            let [gx, gy, gz] = sample.gyro_rad_s.map(|value| raw(value, steps[1]));
            [ax, ay, az, gx, gy, gz]
        });
        let even = if seed.is_multiple_of(2) { 1.0 } else { -1.0 };
        Self {
            rate_off: 0.01 * even,
            clock_ppm: 300.0 * even,
            // Both wrap within the first seconds.
            first_number: u16::MAX - 700,
            first_ticks: u32::MAX - 3 * 32_768,
            per_packet: 2,
            interval: Duration::from_millis(30),
            battery_percent: 80,
            readings: readings.collect(),
        }
    }
}

/// What a board is at.
#[derive(Clone, Debug)]
pub(super) struct Doing {
    pub(super) rate_hz: u16,
    /// Sampling since.
    began: Option<Instant>,
    /// Samples taken and sent, or dropped, since.
    taken: u64,
    /// All readings before that.
    before: u64,
    is_first: bool,
    has_lost: bool,
    /// Number and clock of the first sample.
    number: u16,
    ticks: u32,
    powered: Instant,
}

impl Doing {
    pub(super) fn new(board: &Board) -> Self {
        Self {
            rate_hz: 100,
            began: None,
            taken: 0,
            before: 0,
            is_first: false,
            has_lost: false,
            number: board.first_number,
            ticks: board.first_ticks,
            powered: Instant::now(),
        }
    }

    fn clock(&self, board: &Board, at: Instant) -> u32 {
        let since_s = at.saturating_duration_since(self.powered).as_secs_f64();
        let ticks = since_s * (1.0 + board.clock_ppm * 1e-6) * TICK_HZ;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "wraps, as the board's does"
        )]
        self.ticks.wrapping_add(ticks as u64 as u32)
    }

    /// Stops sampling, as the board does on its own when the link is lost.
    pub(super) fn stop(&mut self) {
        self.before += self.taken;
        #[expect(
            clippy::cast_possible_truncation,
            reason = "wraps, as the board's does"
        )]
        let taken = self.taken as u16;
        self.number = self.number.wrapping_add(taken);
        self.taken = 0;
        self.began = None;
    }

    fn start(&mut self) {
        self.stop();
        self.began = Some(Instant::now());
        self.is_first = true;
    }

    /// Power fails for a moment: number and clock begin at zero, and it goes on sampling.
    pub(super) fn restart(&mut self) {
        self.start();
        self.number = 0;
        self.ticks = 0;
        self.powered = Instant::now();
    }

    /// The board's own queue was full.
    pub(super) fn lose(&mut self, samples: u64) {
        self.taken += samples;
        self.has_lost = true;
    }

    /// All whole packets that were sampled by now.
    pub(super) fn packets(&mut self, board: &Board, now: Instant) -> Vec<Sent> {
        let mut sent = Vec::new();
        let Some(began) = self.began else {
            return sent;
        };
        let rate_hz = f64::from(self.rate_hz) * (1.0 + board.rate_off);
        let count = u64::from(board.per_packet);
        loop {
            let taken_at = |n: u64| began + Duration::from_secs_f64(n as f64 / rate_hz);
            if now < taken_at(self.taken + count) {
                return sent;
            }
            let first = usize::try_from(self.before + self.taken).expect("fits");
            let of = board.readings.len();
            #[expect(
                clippy::cast_possible_truncation,
                reason = "wraps, as the board's does"
            )]
            let number = self.number.wrapping_add(self.taken as u16);
            sent.push(Sent {
                number,
                ticks: self.clock(board, taken_at(self.taken)),
                values: (0..usize::from(board.per_packet))
                    .map(|n| board.readings[(first + n) % of])
                    .collect(),
                at: now,
            });
            self.taken += count;
        }
    }

    /// As bytes.
    pub(super) fn encode(&mut self, sent: &Sent) -> Vec<u8> {
        let count = u8::try_from(sent.values.len()).expect("few");
        let flags = u8::from(std::mem::take(&mut self.is_first)) << 7
            | u8::from(std::mem::take(&mut self.has_lost)) << 5;
        let mut bytes = vec![1 << 5 | RANGES, count | flags];
        bytes.extend(sent.number.to_le_bytes());
        bytes.extend(sent.ticks.to_le_bytes());
        bytes.extend(sent.values.iter().flatten().flat_map(|v| v.to_le_bytes()));
        bytes
    }

    /// What stands in Info.
    pub(super) fn info(&self, board: &Board) -> Vec<u8> {
        let mut bytes = vec![1, u8::from(self.began.is_some())];
        bytes.extend(self.rate_hz.to_le_bytes());
        bytes.extend(32_768_u32.to_le_bytes());
        bytes.extend(steps().iter().flat_map(|step| step.to_le_bytes()));
        bytes.extend([RANGES >> 3 & 3, RANGES & 7, board.per_packet, 0]);
        bytes
    }

    /// Does what was written to Control, and answers.
    pub(super) fn control(&mut self, board: &Board, written: &[u8]) -> Vec<u8> {
        let code = written.first().copied().unwrap_or(0xff);
        let mut answer = vec![0x80 | code, 0];
        match written {
            [0] => self.stop(),
            [1] => {
                self.start();
                answer.extend(self.clock(board, Instant::now()).to_le_bytes());
            }
            [2, low, high] => {
                let rate_hz = u16::from_le_bytes([*low, *high]);
                if [25, 50, 100, 200].contains(&rate_hz) {
                    self.rate_hz = rate_hz;
                } else {
                    answer[1] = 2;
                }
                answer.extend(self.rate_hz.to_le_bytes());
            }
            [4, _] => answer.push(board.per_packet),
            [7] => answer.push(board.battery_percent),
            _ => answer[1] = 1,
        }
        answer
    }
}
