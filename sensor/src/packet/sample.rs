//! One sample, and what it is made of.

use super::take::Packet;
use super::{Decoded, Fact, PacketFault};
use crate::profile::{ChannelKind, Pair, PairBy, Stream};
use crate::{Counts, DeviceTicks, HostTime, RawSample, RunTime, Sample};

/// One reading as the device sent it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DecodedSample {
    /// Goes up when the device counts from the beginning again; `sequence` and `device_ticks` of
    /// different segments can't be compared.
    pub segment: u32,
    /// Its number, unwrapped, missing ones counted; `None` where the packets have no counter.
    pub sequence: Option<u64>,
    /// The device's clock, unwrapped: it may begin a turn up, and goes on over each wrap. Samples
    /// between two stamps lie evenly between them.
    pub device_ticks: Option<u64>,
    /// The counter as it came, wrapped: the packet's, or where samples are counted the sample's own.
    pub raw_counter: Option<u64>,
    /// The clock as it came, wrapped; only on the sample that it stamps.
    pub raw_stamp: Option<DeviceTicks>,
    /// When its packet arrived, as pushed.
    pub arrival: Option<HostTime>,
    /// Specific force in body axes, m/s².
    pub accel_m_s2: [f32; 3],
    /// Angular rate in body axes, rad/s.
    pub gyro_rad_s: [f32; 3],
    /// Whether a number stands at the end of its range.
    pub is_at_full_scale: bool,
    /// Charge, percent, where the packet tells it.
    pub battery_percent: Option<f32>,
    /// Temperature, °C, where the packet tells it.
    pub temperature_c: Option<f32>,
}

impl DecodedSample {
    /// As it is journalled, and placed in time by [`crate::ClockMap`] or [`crate::fit`].
    pub fn raw(&self) -> RawSample {
        RawSample {
            sequence: self.raw_counter,
            device: self.raw_stamp,
            accel_m_s2: self.accel_m_s2,
            gyro_rad_s: self.gyro_rad_s,
        }
    }
}

/// The counter of a sample of a packet, as it came.
pub(super) fn raw_counter(stream: &Stream, packet: &Packet, number: usize) -> Option<u64> {
    let raw = packet.counter?;
    let counter = stream.counter?;
    Some(match counter.counts {
        Counts::Packets => raw,
        Counts::Samples => (raw + number as u64) & (u64::MAX >> (64 - counter.field.bits())),
    })
}

/// Whether a stream has motion, and must be joined with another.
pub(super) fn is_half(stream: &Stream) -> bool {
    stream.has(ChannelKind::Acc) != stream.has(ChannelKind::Gyro)
}

/// What tells which halves belong together, as seconds.
pub(super) fn key_s(
    pair: &Pair,
    sample: &DecodedSample,
    tick_s: Option<f64>,
    rate_hz: f64,
    samples_after: usize,
) -> Option<f64> {
    match pair.by {
        PairBy::Clock => Some(sample.device_ticks? as f64 * tick_s?),
        PairBy::Counter => Some(sample.sequence? as f64 / rate_hz),
        PairBy::Arrival => Some(sample.arrival?.0 as f64 * 1e-9 - samples_after as f64 / rate_hz),
    }
}

/// As kept and analysed.
pub(super) fn single(values: Option<[f64; 3]>) -> [f32; 3] {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "samples are kept in single precision; what is too large becomes infinite and is left out"
    )]
    values.unwrap_or_default().map(|value| value as f32)
}

/// A sample, unless no sensor can have felt it or the packet has no motion.
pub(super) fn checked(sample: DecodedSample, stream: &Stream) -> Decoded {
    if !stream.has(ChannelKind::Acc) {
        return Decoded::Fact(Fact::Aside {
            battery_percent: sample.battery_percent,
            temperature_c: sample.temperature_c,
        });
    }
    if is_possible(&sample) {
        Decoded::Sample(sample)
    } else {
        Decoded::Fault(PacketFault::Impossible)
    }
}

/// Whether all numbers are finite and within what a sensor can feel.
pub(super) fn is_possible(sample: &DecodedSample) -> bool {
    Sample {
        at: RunTime::ZERO,
        accel_m_s2: sample.accel_m_s2,
        gyro_rad_s: sample.gyro_rad_s,
    }
    .is_possible()
}
