//! How simulated sensors send: their rate, clock and counter, the radio, and what goes wrong on the way.
//!
//! Plain data: the same [`Sending`] and seed give the same packets. A run says what is measured, a
//! `Sending` what a listener gets of it.

mod text;

pub use text::SendingFault;

/// A common length of packets, s: filled well at 50 to 200 Hz, and no delay that anybody notices.
pub const PACKET_S: f64 = 0.02;

/// The course of a sensor's clock, besides its constant share off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ClockCourse {
    /// A constant share off, and nothing else.
    Linear,
    /// It swings as its crystal warms and cools.
    Periodic {
        /// Largest error, s.
        amplitude_s: f64,
        /// From one swing to the next, s.
        period_s: f64,
    },
    /// It is put on once.
    Step {
        /// When, s.
        at_s: f64,
        /// By how much, s; below 0: it is put back.
        by_s: f64,
    },
    /// Each stamp is a little off.
    Noisy {
        /// Standard deviation, s.
        sd_s: f64,
    },
}

/// The sensor's own clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SensorClock {
    /// Its second is off by this share, for one sensor to this side, for another to that. Crystals stay
    /// below 5e-4.
    pub skew: f64,
    /// What else it does.
    pub course: ClockCourse,
}

/// A sensor that begins anew, its counter and its clock at zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Restart {
    /// When it stops sampling, s.
    pub at_s: f64,
    /// How long it is away, s.
    pub away_s: f64,
    /// Whether it says so. If not, only counter and clock show it.
    pub is_told: bool,
}

/// A stretch in which the link is down: nothing comes, counter and clock go on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outage {
    /// From, s.
    pub from_s: f64,
    /// To, s.
    pub to_s: f64,
}

/// How sensors send.
#[derive(Clone, Debug, PartialEq)]
pub struct Sending {
    /// Of all chance on the way.
    pub seed: u64,
    /// Sampling rate, Hz, where the scenario's shall not be kept: for whoever carries out the scenario.
    pub hz: Option<f64>,
    /// The rate is this share over the nominal one.
    pub rate_error: f64,
    /// Whether a counter of samples comes along.
    pub has_counter: bool,
    /// The clock that stamps the samples, if one does.
    pub clock: Option<SensorClock>,
    /// Counter and clock wrap soon after the start; else they begin at zero.
    pub wraps: bool,
    /// Length of a packet, s.
    pub packet_s: f64,
    /// The radio's connection interval, s: packets wait for its end and come together. 0: they don't wait.
    pub burst_s: f64,
    /// No packet comes sooner after its last sample, s.
    pub delay_s: f64,
    /// Up to this much later, s.
    pub jitter_s: f64,
    /// Share of packets at which the radio stalls.
    pub stall_share: f64,
    /// For so long at most, s.
    pub stall_s: f64,
    /// The sensor begins anew.
    pub restart: Option<Restart>,
    /// The link goes down and comes back.
    pub drops: Vec<Outage>,
    /// Share of packets that never come.
    pub lost_share: f64,
    /// Share of packets that come twice.
    pub repeated_share: f64,
    /// Share of packets that are overtaken by their successor.
    pub late_share: f64,
    /// From here on, s, the battery is empty.
    pub battery_s: Option<f64>,
}

impl Sending {
    /// Nothing goes wrong: full packets after a constant delay, a clock that is right.
    pub fn plain() -> Self {
        Self {
            seed: 0,
            hz: None,
            rate_error: 0.0,
            has_counter: true,
            clock: Some(SensorClock {
                skew: 0.0,
                course: ClockCourse::Linear,
            }),
            wraps: false,
            packet_s: PACKET_S,
            burst_s: 0.0,
            delay_s: 0.008,
            jitter_s: 0.0,
            stall_share: 0.0,
            stall_s: 0.05,
            restart: None,
            drops: Vec::new(),
            lost_share: 0.0,
            repeated_share: 0.0,
            late_share: 0.0,
            battery_s: None,
        }
    }

    /// What is to be expected of any sensor: bursts, waits and rare stalls, a rate 1 % off, a clock 300 ppm
    /// off, and counters that wrap.
    pub fn usual() -> Self {
        Self {
            rate_error: 0.01,
            clock: Some(SensorClock {
                skew: 3e-4,
                course: ClockCourse::Linear,
            }),
            wraps: true,
            burst_s: 0.03,
            jitter_s: 0.004,
            stall_share: 0.002,
            ..Self::plain()
        }
    }

    /// A bad day: besides, the link drops and the sensor begins anew within the first quarter of a minute,
    /// and some packets are lost, repeated or late.
    pub fn hard(seed: u64) -> Self {
        let mut random = super::random::Random::new(seed, 0x0620);
        let from_s = random.between(3.0, 5.0);
        let drop = Outage {
            from_s,
            to_s: from_s + random.between(0.6, 3.0),
        };
        let restart = Restart {
            at_s: random.between(9.0, 13.0),
            away_s: 1.0,
            is_told: random.chance(0.5),
        };
        Self {
            seed,
            restart: Some(restart),
            drops: vec![drop],
            lost_share: 0.01,
            repeated_share: 0.01,
            late_share: 0.01,
            ..Self::usual()
        }
    }
}
