//! What is wrong with bytes, what packets tell beside samples, and how often each was met.

use thiserror::Error;

use super::Decoded;
use crate::profile::Uuid;

/// Why bytes were left out.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("packet: {}; {}", self.found(), self.mend())]
pub enum PacketFault {
    /// From a characteristic that the profile doesn't know.
    Characteristic {
        /// Which.
        from: Uuid,
    },
    /// Of a kind that no stream matches.
    Kind {
        /// Its length.
        bytes: usize,
    },
    /// Too short, too long, or not whole samples.
    Length {
        /// Its length.
        found: usize,
        /// As the profile says.
        expected: LengthWanted,
    },
    /// Damaged on the way.
    Checksum {
        /// As it stands there.
        found: u16,
        /// As the bytes give it.
        computed: u16,
    },
    /// Bytes between frames.
    Discarded {
        /// How many.
        bytes: usize,
    },
    /// A field isn't what it must be, such as another version.
    Unexpected {
        /// Its first byte.
        at: usize,
        /// As it stands there.
        found: u64,
        /// As the profile says.
        expected: f64,
        /// Whether it may also be less.
        or_less: bool,
    },
    /// A field isn't what was last read from the device: it has changed its range.
    Stale {
        /// The name of the `[[read]]`.
        name: String,
        /// As it stands in the packet.
        found: u64,
        /// As it was read.
        known: f64,
    },
    /// A value must be read from the device first.
    Unread {
        /// The name of the `[[read]]`.
        name: String,
    },
    /// A packet that says it holds no samples.
    Empty,
    /// Not a number, or more than a sensor can feel.
    Impossible,
    /// An acc without a gyro near enough, or a half without what they are joined by.
    Unpaired,
}

/// The length that was expected, bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthWanted {
    /// Just this.
    Exactly(usize),
    /// This or more.
    AtLeast(usize),
    /// This, and then whole samples.
    Steps {
        /// Before the samples and after them.
        besides: usize,
        /// Of a sample.
        stride: usize,
    },
}

impl PacketFault {
    fn found(&self) -> String {
        match self {
            Self::Characteristic { from } => {
                format!("from characteristic {from}, expected one of the profile")
            }
            Self::Kind { bytes } => format!("{bytes} bytes of a kind that no stream matches"),
            Self::Length { found, expected } => match expected {
                LengthWanted::Exactly(bytes) => format!("{found} bytes, expected {bytes}"),
                LengthWanted::AtLeast(bytes) => {
                    format!("{found} bytes, expected at least {bytes}")
                }
                LengthWanted::Steps { besides, stride } => {
                    format!("{found} bytes, expected {besides} and a multiple of {stride}")
                }
            },
            Self::Checksum { found, computed } => {
                format!("checksum {found:#x}, expected {computed:#x}")
            }
            Self::Discarded { bytes } => format!("{bytes} bytes outside a frame"),
            Self::Unexpected {
                at,
                found,
                expected,
                or_less,
            } => {
                let at_most = if *or_less { "at most " } else { "" };
                format!("byte {at} says {found}, expected {at_most}{expected}")
            }
            Self::Stale { name, found, known } => {
                format!("{name} is {found}, expected {known} as it was read")
            }
            Self::Unread { name } => format!("{name} is not known yet"),
            Self::Empty => "no samples in it".to_owned(),
            Self::Impossible => "a value that no sensor can feel".to_owned(),
            Self::Unpaired => "a sample without its other half".to_owned(),
        }
    }

    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::Characteristic { .. } => "add a [[stream]] from it, or don't subscribe to it",
            Self::Kind { .. } => "add a [[stream]] for it if it holds samples",
            Self::Length { .. } => "check `length`, `samples` and, over the air, the MTU",
            Self::Checksum { .. } => "if it happens often, check `checksum` in the profile",
            Self::Discarded { .. } => "if it happens often, check `frame` in the profile",
            Self::Unexpected { .. } => "use a profile for this version of the device",
            Self::Stale { .. } => "read the values of the device again",
            Self::Unread { .. } => "read the values of the device first",
            Self::Empty => "check `count` in the profile, or the device",
            Self::Impossible => "check `type`, `endian`, `at` and `scale` in the profile",
            Self::Unpaired => "check [pair] in the profile; tolerance_ms may be too small",
        }
        .to_owned()
    }
}

/// What packets tell beside samples. It holds from the next sample on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fact {
    /// The device counts from the beginning again: a new segment.
    Restarted {
        /// What showed it.
        cause: RestartCause,
    },
    /// So many samples are missing before the next.
    Missing {
        /// By the counter; those of packets count as many as this packet holds.
        samples: u64,
    },
    /// A packet came twice; it is given once.
    Repeated,
    /// The device says it lost samples before this packet.
    LostInside,
    /// The device says a value is at full scale.
    FullScale,
    /// A packet without motion told this.
    Aside {
        /// Charge, percent.
        battery_percent: Option<f32>,
        /// Temperature, °C.
        temperature_c: Option<f32>,
    },
}

/// What shows that the device began anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum RestartCause {
    /// It says so.
    Flag,
    /// Its counter went back, or further ahead than there was time for.
    Counter,
    /// Its clock did.
    Clock,
    /// The link was lost.
    Link,
}

impl RestartCause {
    /// The word used in messages.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Flag => "flag",
            Self::Counter => "counter",
            Self::Clock => "clock",
            Self::Link => "link",
        }
    }
}

/// How often each thing was met.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Packets, good or not.
    pub packets: u64,
    /// Samples given.
    pub samples: u64,
    /// Samples missing by the counter.
    pub missing_samples: u64,
    /// Packets that came twice.
    pub repeated: u64,
    /// New beginnings.
    pub restarts: u64,
    /// Packets before which the device lost samples.
    pub lost_inside: u64,
    /// Packets with a value at full scale, as the device says.
    pub full_scale: u64,
    /// Notifications of a characteristic that isn't known.
    pub characteristic: u64,
    /// Packets of another kind.
    pub kind: u64,
    /// Packets of a wrong length.
    pub length: u64,
    /// Frames with a wrong checksum.
    pub checksum: u64,
    /// Bytes between frames.
    pub discarded_bytes: u64,
    /// Packets with a field that isn't as it must be.
    pub unexpected: u64,
    /// Packets of a range that must be read again.
    pub stale: u64,
    /// Packets before the device's values were read.
    pub unread: u64,
    /// Packets without samples.
    pub empty: u64,
    /// Samples that no sensor can have felt.
    pub impossible: u64,
    /// Samples without their other half.
    pub unpaired: u64,
}

impl Tally {
    /// Everything that was left out, but for missing samples: packets, samples, and stretches of bytes.
    pub fn faults(&self) -> u64 {
        self.characteristic
            + self.kind
            + self.length
            + self.checksum
            + u64::from(self.discarded_bytes > 0)
            + self.unexpected
            + self.stale
            + self.unread
            + self.empty
            + self.impossible
            + self.unpaired
    }

    pub(super) fn add(&mut self, found: &Decoded) {
        match found {
            Decoded::Sample(_) => self.samples += 1,
            Decoded::Fact(fact) => match fact {
                Fact::Restarted { .. } => self.restarts += 1,
                Fact::Missing { samples } => {
                    self.missing_samples = self.missing_samples.saturating_add(*samples);
                }
                Fact::Repeated => self.repeated += 1,
                Fact::LostInside => self.lost_inside += 1,
                Fact::FullScale => self.full_scale += 1,
                Fact::Aside { .. } => {}
            },
            Decoded::Fault(fault) => match fault {
                PacketFault::Characteristic { .. } => self.characteristic += 1,
                PacketFault::Kind { .. } => self.kind += 1,
                PacketFault::Length { .. } => self.length += 1,
                PacketFault::Checksum { .. } => self.checksum += 1,
                PacketFault::Discarded { bytes } => self.discarded_bytes += *bytes as u64,
                PacketFault::Unexpected { .. } => self.unexpected += 1,
                PacketFault::Stale { .. } => self.stale += 1,
                PacketFault::Unread { .. } => self.unread += 1,
                PacketFault::Empty => self.empty += 1,
                PacketFault::Impossible => self.impossible += 1,
                PacketFault::Unpaired => self.unpaired += 1,
            },
        }
    }
}
