//! What stops the loading of a profile, and what is odd in one: where, what, and the mend.

use std::fmt;

use thiserror::Error;

use super::{ChannelKind, Number, SCHEMA};

/// A profile, and a line of it where one can be named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProfilePlace {
    /// The profile's name, as given when it was parsed.
    pub name: String,
    /// Counted from 1.
    pub line: Option<usize>,
}

impl fmt::Display for ProfilePlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)?;
        self.line.map_or(Ok(()), |line| write!(f, ":{line}"))
    }
}

/// Why a profile can't be used.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{place}: {kind}; {}", kind.mend())]
pub struct ProfileError {
    /// Where.
    pub place: ProfilePlace,
    /// What.
    pub kind: ProfileErrorKind,
}

/// What the TOML reader found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TomlFault {
    /// A key that nobody knows.
    UnknownKey,
    /// A key that must be there.
    MissingKey,
    /// A word that isn't one of the list.
    UnknownWord,
    /// A value of another type.
    Type,
    /// Not TOML at all.
    Syntax,
}

/// What was found that can't be used.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ProfileErrorKind {
    /// Beyond the limit on size.
    #[error("{bytes} bytes, expected at most {limit}")]
    TooLarge {
        /// Its size.
        bytes: usize,
        /// The limit.
        limit: usize,
    },
    /// What the TOML reader says.
    #[error("{message}")]
    Toml {
        /// What it is.
        fault: TomlFault,
        /// Its words, on one line.
        message: String,
    },
    /// Another format, or another version.
    #[error("schema {found:?}, expected {SCHEMA:?}")]
    Schema {
        /// As written.
        found: String,
    },
    /// Nothing says which device is meant.
    #[error("[find] is empty, expected service, name or manufacturer")]
    FindsNothing,
    /// No identifier.
    #[error("{key} is {text:?}, expected 4 or 8 hex digits, or 8-4-4-4-12")]
    NotUuid {
        /// Where it is written.
        key: &'static str,
        /// As written.
        text: String,
    },
    /// No bytes.
    #[error("{key} is {text:?}, expected bytes of two hex digits each")]
    NotHex {
        /// Where it is written.
        key: &'static str,
        /// As written.
        text: String,
    },
    /// A placeholder that isn't known, or a rate that doesn't fit it.
    #[error(
        "placeholder {text:?} with these rates, expected {{rate:u16le}}, {{rate:u8}} or {{index:u8}}"
    )]
    Placeholder {
        /// As written.
        text: String,
    },
    /// A number outside its limits.
    #[error("{key} is {found}, expected {least} to {most}")]
    Range {
        /// Where it is written.
        key: &'static str,
        /// As written.
        found: f64,
        /// The lowest.
        least: f64,
        /// The highest.
        most: f64,
    },
    /// No type of a number, or not one for this.
    #[error("{key} is {found:?}, expected {expected}")]
    NumberType {
        /// Where it is written.
        key: &'static str,
        /// As written.
        found: String,
        /// What may stand there.
        expected: &'static str,
    },
    /// A mask without bits, with a hole, or wider than its number.
    #[error("mask is {found:#x}, expected one unbroken stretch of bits within {size} bytes")]
    Mask {
        /// As written.
        found: i64,
        /// Of the number.
        size: usize,
    },
    /// Too few bits to be followed.
    #[error("{what} of {bits} bits, expected at least 8")]
    Narrow {
        /// `counter` or `clock`.
        what: &'static str,
        /// Its bits.
        bits: u32,
    },
    /// A key that is needed here.
    #[error("no {key}, which {because} needs")]
    Needed {
        /// The key.
        key: &'static str,
        /// What needs it.
        because: &'static str,
    },
    /// A key that can't stand here.
    #[error("{key} with {because}, expected one without the other")]
    Needless {
        /// The key.
        key: &'static str,
        /// What forbids it.
        because: &'static str,
    },
    /// Axes that aren't x, y and z once each.
    #[error("axes of {channel} are {found:?}, expected x, y and z once each, with or without -")]
    Axes {
        /// Which channel.
        channel: ChannelKind,
        /// As written, of all its channels.
        found: String,
    },
    /// A unit of something else.
    #[error("unit of {channel} is {found:?}, expected one for it")]
    Unit {
        /// Which channel.
        channel: ChannelKind,
        /// As written.
        found: &'static str,
    },
    /// A name that no `[[read]]` gives.
    #[error("{key} is {found:?}, expected a number or the name of a [[read]]")]
    UnknownName {
        /// Where it is written.
        key: &'static str,
        /// As written.
        found: String,
    },
    /// Two of one name.
    #[error("a second {key} {found:?}, expected different ones")]
    Twice {
        /// Where it is written.
        key: &'static str,
        /// As written.
        found: String,
    },
    /// Something that ends after what holds it.
    #[error("{what} ends at byte {end}, expected at most {limit}")]
    Outside {
        /// What.
        what: &'static str,
        /// The byte after it.
        end: usize,
        /// The size of what holds it.
        limit: usize,
    },
    /// No stream, or none with motion.
    #[error("no stream with {missing}")]
    NoMotion {
        /// What is missing.
        missing: ChannelKind,
    },
    /// Too many of something.
    #[error("{count} {what}, expected at most {limit}")]
    TooMany {
        /// Of what.
        what: &'static str,
        /// How many.
        count: usize,
        /// The limit.
        limit: usize,
    },
    /// Acc and gyro apart, and nothing that joins them; or together, and something that does.
    #[error("[pair] is {}, expected it where acc and gyro come in two streams, and only there",
        if *is_there { "there" } else { "missing" })]
    Pair {
        /// Whether it is written.
        is_there: bool,
    },
    /// Two streams that can't be joined so.
    #[error("[pair] by {by}, expected both streams to have the same kind of {by}")]
    Unpairable {
        /// `clock` or `counter`.
        by: &'static str,
    },
    /// Two kinds of packets of one characteristic that can't be told apart.
    #[error("several streams from {from}, expected the same frame and a match in each")]
    Ambiguous {
        /// The characteristic.
        from: String,
    },
    /// The nominal rate can't be set.
    #[error("nominal_hz is {nominal_hz}, expected one of the choices")]
    NominalNotAChoice {
        /// As written.
        nominal_hz: f64,
    },
}

impl ProfileErrorKind {
    /// What to do about it.
    pub fn mend(&self) -> String {
        use ProfileErrorKind as K;
        match self {
            K::TooLarge { .. } => "leave only the profile of one kind of sensor",
            K::Toml { fault, .. } => match fault {
                TomlFault::UnknownKey => "remove it or correct its spelling",
                TomlFault::MissingKey => "add it",
                TomlFault::UnknownWord => "use one of these words",
                TomlFault::Type => "correct the type of the value",
                TomlFault::Syntax => "correct the TOML at this place",
            },
            K::Schema { .. } => "write the schema so, or use a version that knows the other one",
            K::FindsNothing => "add one of them, so that other devices aren't taken for this one",
            K::NotUuid { .. } => "copy the identifier from the sensor's description",
            K::NotHex { .. } => "write it like \"02 ff\"",
            K::Placeholder { .. } => {
                "use one of these, with whole rates that fit, and `choices` for {index:u8}"
            }
            K::Range { .. } => "correct the number",
            K::NumberType { .. } => "use one of these types",
            K::Mask { .. } => "set only bits that stand side by side, such as 0x1f",
            K::Narrow { .. } => "leave it out, or correct type and mask",
            K::Needed { .. } => "add it",
            K::Needless { .. } => "remove one of them",
            K::Axes { .. } => "name each axis once, in the order of the packet's numbers",
            K::Unit { .. } => "use g or m/s^2 for acc, deg/s or rad/s for gyro, none for others",
            K::UnknownName { .. } => "add a [[read]] with this `as`, or correct the spelling",
            K::Twice { .. } => "rename one of them",
            K::Outside { .. } => "correct offset, type or size",
            K::NoMotion { .. } => "add a channel for it; an angle needs both acc and gyro",
            K::TooMany { .. } => "leave out those that aren't needed",
            K::Pair { is_there: true } => "remove [pair]",
            K::Pair { is_there: false } => {
                "add pair = { by = \"clock\", tolerance_ms = 5, method = \"linear\" }"
            }
            K::Unpairable { .. } => "correct the type or tick, or pair by something else",
            K::Ambiguous { .. } => "tell the packets apart by match = [{ at, hex }]",
            K::NominalNotAChoice { .. } => "add it to `choices`, or start from one of these",
        }
        .to_owned()
    }
}

/// Something odd in a profile that works all the same.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{place}: {kind}; {}", kind.mend())]
pub struct ProfileWarning {
    /// Where.
    pub place: ProfilePlace,
    /// What.
    pub kind: ProfileWarningKind,
}

/// What is odd.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ProfileWarningKind {
    /// A mirrored triple of axes.
    #[error("axes of {channel} are left-handed, expected a turned sensor, not a mirrored one")]
    LeftHanded {
        /// Which channel.
        channel: ChannelKind,
    },
    /// Nothing tells when samples are missing.
    #[error("neither counter nor clock, expected one of them; lost samples can't be seen")]
    Blind,
    /// A name that nothing uses.
    #[error("[[read]] {name:?} is used nowhere")]
    Unused {
        /// The name.
        name: String,
    },
}

impl ProfileWarningKind {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::LeftHanded { .. } => {
                "correct a sign or the order, unless the sensor's description says so"
            }
            Self::Blind => "add it if the packet has one",
            Self::Unused { .. } => "remove it or use the name",
        }
        .to_owned()
    }
}

/// The words for a number's type, by what it is for.
pub(super) const UNSIGNED: &str = "u8, u16, u24 or u32, perhaps with le or be";
/// As a constant of this module, so that both lists stand in one place.
pub(super) const ANY: &str = Number::WORDS;
