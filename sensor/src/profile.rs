//! Sensor profiles: what a kind of sensor is called, what it is told, and what its packets hold.
//!
//! A profile is a TOML file, so that a new sensor needs no new program. Nothing here speaks Bluetooth:
//! a profile is parsed and checked ([`Profile::parse`]), its packets are decoded by [`crate::packet`].
//! A profile that parses can be used: all offsets lie inside, all names are known.

mod check;
mod check_frame;
mod check_head;
mod check_parts;
mod check_stream;
mod error;
mod find;
mod frame;
mod layout;
mod number;
mod step;
mod text;
mod uuid;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_mistakes;

use serde::Deserialize;

use crate::UnitLimits;

pub use error::{
    ProfileError, ProfileErrorKind, ProfilePlace, ProfileWarning, ProfileWarningKind, TomlFault,
};
pub use find::{Advertisement, Find, Mismatch};
pub use frame::{Checksum, ChecksumKind, Edge, Escape, Frame, FrameLength};
pub use layout::{
    Axis, Channel, ChannelKind, Clock, Count, Counter, Factor, FlagBit, FlagMeaning, Length, Must,
    Order, Pattern, Samples, Stamped, Stream, Tick, Unit, Verify,
};
pub use number::{Endian, Field, Number, NumberKind};
pub use step::{
    Expect, Piece, Rate, RateNotOffered, ReadFault, ReadFaultKind, ReadStep, When, WriteStep,
};
pub use uuid::Uuid;

/// The format's name. Its number goes up when a former reader would misunderstand a profile.
pub const SCHEMA: &str = "legraise/sensor-profile/1";

/// Profiles that come with the program: name and text.
const SHIPPED: [(&str, &str); 4] = [
    ("open-motion", include_str!("../profiles/open-motion.toml")),
    (
        "example-notify",
        include_str!("../profiles/example-notify.toml"),
    ),
    (
        "example-serial",
        include_str!("../profiles/example-serial.toml"),
    ),
    ("example-two", include_str!("../profiles/example-two.toml")),
];

/// One kind of sensor.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// What it is called in messages.
    pub name: String,
    /// What it is, in a sentence; may be empty.
    pub about: String,
    /// Which devices are meant.
    pub find: Find,
    /// How fast it samples.
    pub rate: Rate,
    /// What is written to it, in order.
    pub writes: Vec<WriteStep>,
    /// What is read from it.
    pub reads: Vec<ReadStep>,
    /// What it sends.
    pub streams: Vec<Stream>,
    /// How acc and gyro are joined where they come apart.
    pub pair: Option<Pair>,
    /// How far a unit of this kind may be off; `None` where nobody says.
    pub limits: Option<UnitLimits>,
    /// What is odd.
    pub warnings: Vec<ProfileWarning>,
}

/// How acc and gyro of two streams are joined. Samples stand at the times of acc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// What tells which belong together.
    pub by: PairBy,
    /// How far apart they may be, s.
    pub tolerance_s: f64,
    /// What is made of them.
    pub method: PairMethod,
}

/// What tells which gyro belongs to which acc.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PairBy {
    /// The device's clock, of which both have one.
    Clock,
    /// The counters, which count the same.
    Counter,
    /// When they arrived.
    Arrival,
}

/// What is made of gyro around the time of acc.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PairMethod {
    /// The nearest.
    Nearest,
    /// Between the one before and the one after; the nearest where one is missing.
    Linear,
}

impl Profile {
    /// The longest text of a profile, bytes. Real ones have one or two thousand.
    pub const BYTES_MAX: usize = 64 * 1024;

    /// Reads and checks a profile. `name` is what messages call it, such as the file's name.
    pub fn parse(text: &str, name: &str) -> Result<Self, ProfileError> {
        check::profile(text, name)
    }

    /// The writes of an occasion, in order.
    pub fn writes_when(&self, when: When) -> impl Iterator<Item = &WriteStep> {
        self.writes.iter().filter(move |step| step.when == when)
    }

    /// The characteristics that must be listened to for samples, each once.
    pub fn notifying(&self) -> Vec<Uuid> {
        let mut found = Vec::new();
        for stream in &self.streams {
            if !found.contains(&stream.from) {
                found.push(stream.from);
            }
        }
        found
    }

    /// The smallest ATT MTU that its shortest packets pass, bytes: 3 more than the longest of these.
    pub fn mtu_min(&self) -> usize {
        let shortest = self.streams.iter().map(|stream| match stream.frame {
            None => stream.shortest(),
            // Pieces of a stream of bytes may be cut anywhere.
            Some(_) => 1,
        });
        shortest.max().unwrap_or(0).max(20) + 3
    }
}

/// The text of a profile that comes with the program, to copy from.
pub fn shipped_text(name: &str) -> Option<&'static str> {
    let mut texts = SHIPPED.iter();
    texts
        .find(|(known, _)| *known == name)
        .map(|(_, text)| *text)
}

/// The profiles that come with the program, in a fixed order.
pub fn shipped() -> Vec<Profile> {
    let parsed = SHIPPED
        .iter()
        .map(|(name, text)| Profile::parse(text, name));
    // A test over the folder shows that none is lost here.
    parsed.filter_map(Result::ok).collect()
}
