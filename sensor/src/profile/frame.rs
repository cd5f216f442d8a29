//! How packets are cut out of a stream of bytes.

use serde::Deserialize;

use super::Number;

/// The frame around a packet. Offsets of the packet count from the frame's first byte.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Frame {
    /// What it begins with; may be empty only with an escape, which marks its ends.
    pub sync: Vec<u8>,
    /// How long it is; `None` only with an escape.
    pub length: Option<FrameLength>,
    /// What proves it whole.
    pub checksum: Option<Checksum>,
    /// How its ends are marked.
    pub escape: Escape,
}

impl Frame {
    /// The longest frame there may be, bytes; a longer one is a damaged length.
    pub const BYTES_MAX: usize = 1024;
}

/// How long a frame is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrameLength {
    /// Always as many bytes.
    Fixed(usize),
    /// A number in it, plus a constant.
    Field {
        /// Its first byte.
        at: usize,
        /// How it stands there.
        number: Number,
        /// What is added, so that the whole frame is counted.
        add: i64,
    },
}

/// A place counted from the beginning or, written as a negative number, from the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// So many bytes from the beginning.
    FromStart(usize),
    /// So many bytes before the end.
    FromEnd(usize),
}

impl Edge {
    /// The place in a frame of this length; `None` where it lies outside.
    pub fn of(self, length: usize) -> Option<usize> {
        match self {
            Self::FromStart(at) => (at <= length).then_some(at),
            Self::FromEnd(before) => length.checked_sub(before),
        }
    }
}

/// The proof that a frame is whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Checksum {
    /// How it is computed.
    pub kind: ChecksumKind,
    /// The first byte it covers.
    pub from: usize,
    /// The byte after the last it covers.
    pub to: Edge,
    /// Where it stands.
    pub at: Edge,
    /// How it stands there.
    pub number: Number,
}

/// How a checksum is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ChecksumKind {
    /// The sum of all bytes, its lowest 8 bits.
    Sum8,
    /// All bytes combined by exclusive or.
    Xor8,
    /// The sum of all bytes, its lowest 16 bits.
    Sum16,
    /// Polynomial 0x07, begun with 0 (`123456789` gives 0xF4).
    Crc8,
    /// Polynomial 0x1021, begun with 0xFFFF (`123456789` gives 0x29B1).
    Crc16Ccitt,
}

impl ChecksumKind {
    /// How many bytes it takes.
    pub const fn size(self) -> usize {
        match self {
            Self::Sum8 | Self::Xor8 | Self::Crc8 => 1,
            Self::Sum16 | Self::Crc16Ccitt => 2,
        }
    }

    /// The checksum of these bytes.
    pub fn of(self, bytes: &[u8]) -> u16 {
        match self {
            Self::Sum8 => bytes
                .iter()
                .fold(0, |sum: u16, byte| (sum + u16::from(*byte)) & 0xff),
            Self::Sum16 => bytes
                .iter()
                .fold(0, |sum: u16, byte| sum.wrapping_add(u16::from(*byte))),
            Self::Xor8 => u16::from(bytes.iter().fold(0, |sum, byte| sum ^ byte)),
            Self::Crc8 => {
                let shift = |crc: u8, _| (crc << 1) ^ if crc & 0x80 == 0 { 0 } else { 0x07 };
                u16::from(
                    bytes
                        .iter()
                        .fold(0, |crc, byte| (0..8).fold(crc ^ byte, shift)),
                )
            }
            Self::Crc16Ccitt => {
                let shift = |crc: u16, _| (crc << 1) ^ if crc & 0x8000 == 0 { 0 } else { 0x1021 };
                bytes.iter().fold(0xffff, |crc, byte| {
                    (0..8).fold(crc ^ (u16::from(*byte) << 8), shift)
                })
            }
        }
    }
}

/// How the ends of a frame are marked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Escape {
    /// Not at all: by sync and length.
    #[default]
    None,
    /// By 0xC0; within, 0xDB 0xDC stands for 0xC0 and 0xDB 0xDD for 0xDB (RFC 1055).
    Slip,
    /// By 0x00, which the bytes between are rid of (Cheshire and Baker 1999, doi 10.1109/90.769765).
    Cobs,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_check_values() {
        // The usual check input of the catalogues of cyclic redundancy checks.
        let input = b"123456789";
        for (kind, expected) in [
            (ChecksumKind::Crc16Ccitt, 0x29b1),
            (ChecksumKind::Crc8, 0xf4),
            (ChecksumKind::Sum8, 0xdd),
            (ChecksumKind::Sum16, 0x01dd),
            (ChecksumKind::Xor8, 0x31),
        ] {
            assert_eq!(kind.of(input), expected, "{kind:?}");
        }
    }

    #[test]
    fn edges_count_from_either_end() {
        assert_eq!(Edge::FromStart(3).of(3), Some(3));
        assert_eq!(Edge::FromStart(4).of(3), None);
        assert_eq!(Edge::FromEnd(1).of(3), Some(2));
        assert_eq!(Edge::FromEnd(4).of(3), None);
    }
}
