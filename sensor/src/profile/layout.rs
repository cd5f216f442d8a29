//! What a packet holds and where, once checked.

use std::fmt;

use serde::Deserialize;

use super::{Edge, Field, Frame, Number, Uuid};
use crate::Counts;

/// Standard gravity, m/s² (CGPM 1901).
const GRAVITY_M_S2: f64 = 9.806_65;

/// A number of the profile, or one that the device tells when it is read.
#[derive(Clone, Debug, PartialEq)]
pub enum Factor {
    /// Written in the profile.
    Number(f64),
    /// The name of a `[[read]]`.
    Name(String),
}

impl Factor {
    /// The name, if the device tells it.
    pub fn name(&self) -> Option<&str> {
        match self {
            Self::Number(_) => None,
            Self::Name(name) => Some(name),
        }
    }
}

/// Packets of one kind of one characteristic.
#[derive(Clone, Debug, PartialEq)]
pub struct Stream {
    /// Its name in messages; `stream 1` where the profile gives none.
    pub id: String,
    /// The characteristic that notifies.
    pub from: Uuid,
    /// How packets are cut out of a stream of bytes; `None` where a notification is a packet.
    pub frame: Option<Frame>,
    /// How long a packet is.
    pub length: Length,
    /// What tells this kind of packet from others.
    pub matches: Vec<Pattern>,
    /// What must be so for the packet to be understood.
    pub verify: Vec<Verify>,
    /// Bits that say something.
    pub flags: Vec<FlagBit>,
    /// Counts packets or samples.
    pub counter: Option<Counter>,
    /// The device's own clock.
    pub clock: Option<Clock>,
    /// Where the samples are.
    pub samples: Samples,
    /// What a sample holds.
    pub channels: Vec<Channel>,
}

impl Stream {
    /// Whether it has a channel of this kind.
    pub fn has(&self, kind: ChannelKind) -> bool {
        self.channels.iter().any(|channel| channel.kind == kind)
    }

    /// Bytes after the samples that belong to the frame.
    pub fn tail(&self) -> usize {
        let checksum = self
            .frame
            .as_ref()
            .and_then(|frame| frame.checksum.as_ref());
        checksum.map_or(0, |sum| match sum.at {
            Edge::FromEnd(before) => before,
            Edge::FromStart(_) => 0,
        })
    }

    /// The shortest packet there can be, bytes.
    pub fn shortest(&self) -> usize {
        let count = match self.samples.count {
            Count::Fixed(count) => count,
            Count::Rest | Count::Field(_) => 1,
        };
        let samples = self.samples.at + count * self.samples.stride + self.tail();
        match self.length {
            Length::Exactly(length) => length,
            Length::AtLeast(length) => length.max(samples),
            Length::AsCounted => samples,
        }
    }
}

/// How long a packet is, bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Length {
    /// Always the same.
    Exactly(usize),
    /// This or more.
    AtLeast(usize),
    /// As the number of samples makes it, not a byte more.
    AsCounted,
}

/// Bytes at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    /// The first byte.
    pub at: usize,
    /// The bytes.
    pub bytes: Vec<u8>,
}

/// What a field must be.
#[derive(Clone, Debug, PartialEq)]
pub struct Verify {
    /// Which.
    pub field: Field,
    /// What it must be.
    pub must: Must,
}

/// A demand on a field.
#[derive(Clone, Debug, PartialEq)]
pub enum Must {
    /// This number, or the one last read from the device.
    Equal(Factor),
    /// No more than this.
    AtMost(u64),
}

/// A bit that says something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FlagBit {
    /// The byte.
    pub at: usize,
    /// The bit, or bits of which any says it.
    pub mask: u8,
    /// What it says.
    pub means: FlagMeaning,
}

/// What a bit can say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FlagMeaning {
    /// The device counts from the beginning again.
    Restart,
    /// The device lost samples before this packet.
    Lost,
    /// A value is at full scale.
    FullScale,
}

/// A counter of the packet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counter {
    /// Where; it wraps with its bits.
    pub field: Field,
    /// What it counts; of samples it numbers the packet's first.
    pub counts: Counts,
}

/// A clock of the device.
#[derive(Clone, Debug, PartialEq)]
pub struct Clock {
    /// Where; it wraps with its bits.
    pub field: Field,
    /// What it counts.
    pub tick: Tick,
    /// Which sample it stamps.
    pub of: Stamped,
}

/// How long a tick is.
#[derive(Clone, Debug, PartialEq)]
pub enum Tick {
    /// So many seconds.
    Seconds(Factor),
    /// So many in a second.
    Hertz(Factor),
}

impl Tick {
    /// The number or name.
    pub fn factor(&self) -> &Factor {
        match self {
            Self::Seconds(factor) | Self::Hertz(factor) => factor,
        }
    }

    /// Seconds a tick, from the number's value.
    pub fn seconds(&self, value: f64) -> f64 {
        match self {
            Self::Seconds(_) => value,
            Self::Hertz(_) => value.recip(),
        }
    }
}

/// Which sample of a packet the clock belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Stamped {
    /// The oldest.
    First,
    /// The newest.
    Last,
}

/// Where the samples of a packet are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Samples {
    /// The first byte of the first.
    pub at: usize,
    /// Bytes from one to the next.
    pub stride: usize,
    /// How many.
    pub count: Count,
    /// Which comes first.
    pub order: Order,
}

/// How many samples a packet holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Count {
    /// Always as many.
    Fixed(usize),
    /// As many as fit.
    Rest,
    /// The packet says it.
    Field(Field),
}

/// Which sample comes first in a packet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Order {
    /// The oldest.
    #[default]
    Oldest,
    /// The newest.
    Newest,
}

/// Numbers of one kind within a sample.
#[derive(Clone, Debug, PartialEq)]
pub struct Channel {
    /// What they measure.
    pub kind: ChannelKind,
    /// Which body axis each number feeds; empty for battery and temperature.
    pub axes: Vec<Axis>,
    /// The first byte, counted within the sample.
    pub at: usize,
    /// How each stands there.
    pub number: Number,
    /// What one step is, in `unit`.
    pub scale: Factor,
    /// Turns the scaled number into SI: m/s² or rad/s; 1 for battery and temperature.
    pub si: f64,
}

impl Channel {
    /// How many numbers.
    pub fn width(&self) -> usize {
        self.axes.len().max(1)
    }
}

/// What a channel measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ChannelKind {
    /// Specific force.
    Acc,
    /// Angular rate.
    Gyro,
    /// Charge, percent.
    Battery,
    /// Temperature, °C.
    Temperature,
}

impl fmt::Display for ChannelKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Acc => "acc",
            Self::Gyro => "gyro",
            Self::Battery => "battery",
            Self::Temperature => "temperature",
        })
    }
}

/// The unit of a motion channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub enum Unit {
    /// Standard gravity.
    #[serde(rename = "g")]
    Gravity,
    /// Metres a second squared.
    #[serde(rename = "m/s^2")]
    MetresPerSecondSquared,
    /// Degrees a second.
    #[serde(rename = "deg/s")]
    DegreesPerSecond,
    /// Radians a second.
    #[serde(rename = "rad/s")]
    RadiansPerSecond,
}

impl Unit {
    /// The word used in profiles.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Gravity => "g",
            Self::MetresPerSecondSquared => "m/s^2",
            Self::DegreesPerSecond => "deg/s",
            Self::RadiansPerSecond => "rad/s",
        }
    }

    /// What it measures.
    pub const fn kind(self) -> ChannelKind {
        match self {
            Self::Gravity | Self::MetresPerSecondSquared => ChannelKind::Acc,
            Self::DegreesPerSecond | Self::RadiansPerSecond => ChannelKind::Gyro,
        }
    }

    /// How much of m/s² or rad/s it is.
    pub const fn si(self) -> f64 {
        match self {
            Self::Gravity => GRAVITY_M_S2,
            Self::DegreesPerSecond => std::f64::consts::PI / 180.0,
            Self::MetresPerSecondSquared | Self::RadiansPerSecond => 1.0,
        }
    }
}

/// A body axis with its sign, as in `-y`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Axis {
    /// 0 for x, 1 for y, 2 for z.
    pub index: usize,
    /// Whether the number counts against it.
    pub is_negative: bool,
}

impl Axis {
    /// `x`, `y`, `z`.
    pub const XYZ: [Self; 3] = [Self::of(0), Self::of(1), Self::of(2)];

    const fn of(index: usize) -> Self {
        Self {
            index,
            is_negative: false,
        }
    }

    /// Reads `x` or `-x`.
    pub fn parse(text: &str) -> Option<Self> {
        let (is_negative, letter) = text
            .strip_prefix('-')
            .map_or((false, text), |rest| (true, rest));
        let index = ["x", "y", "z"].iter().position(|axis| *axis == letter)?;
        Some(Self { index, is_negative })
    }

    /// −1 or 1.
    pub fn sign(self) -> f64 {
        if self.is_negative { -1.0 } else { 1.0 }
    }
}

impl fmt::Display for Axis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.is_negative { "-" } else { "" };
        write!(f, "{sign}{}", ["x", "y", "z"][self.index])
    }
}
