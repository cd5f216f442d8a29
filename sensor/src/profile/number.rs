//! How numbers stand in a packet, and how they are taken out of it.

use serde::Deserialize;

/// Which byte comes first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Endian {
    /// The least significant.
    #[default]
    Little,
    /// The most significant.
    Big,
}

/// The kinds of numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumberKind {
    /// Without sign.
    Unsigned,
    /// Two's complement.
    Signed,
    /// IEEE 754.
    Float,
}

/// A number of a packet: kind, size and order of bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Number {
    /// Which kind.
    pub kind: NumberKind,
    /// How many bytes: 1 to 4, or 8.
    pub size: usize,
    /// Which byte comes first.
    pub endian: Endian,
}

impl Number {
    /// The words a profile may use.
    pub const WORDS: &str =
        "u8, i8, u16, i16, u24, i24, u32, i32, f32 or f64, perhaps with le or be";

    /// A byte without sign.
    pub const U8: Self = Self {
        kind: NumberKind::Unsigned,
        size: 1,
        endian: Endian::Little,
    };

    /// Reads `i16` or `i16be`; without an end, the order of bytes is `usual`.
    pub fn parse(word: &str, usual: Endian) -> Option<Self> {
        use NumberKind as K;
        let (plain, endian) = if let Some(plain) = word.strip_suffix("le") {
            (plain, Endian::Little)
        } else if let Some(plain) = word.strip_suffix("be") {
            (plain, Endian::Big)
        } else {
            (word, usual)
        };
        let (kind, size) = match plain {
            "u8" => (K::Unsigned, 1),
            "i8" => (K::Signed, 1),
            "u16" => (K::Unsigned, 2),
            "i16" => (K::Signed, 2),
            "u24" => (K::Unsigned, 3),
            "i24" => (K::Signed, 3),
            "u32" => (K::Unsigned, 4),
            "i32" => (K::Signed, 4),
            "f32" => (K::Float, 4),
            "f64" => (K::Float, 8),
            _ => return None,
        };
        Some(Self { kind, size, endian })
    }

    /// The bits at a place, or `None` where the packet ends before.
    fn bits(self, bytes: &[u8], at: usize) -> Option<u64> {
        let part = bytes.get(at..at.checked_add(self.size)?)?;
        let join = |sum: u64, byte: &u8| (sum << 8) | u64::from(*byte);
        Some(match self.endian {
            Endian::Little => part.iter().rev().fold(0, join),
            Endian::Big => part.iter().fold(0, join),
        })
    }

    /// The number at a place, or `None` where the packet ends before.
    pub fn read(self, bytes: &[u8], at: usize) -> Option<f64> {
        let bits = self.bits(bytes, at)?;
        Some(match (self.kind, self.size) {
            (NumberKind::Float, 4) => f64::from(f32::from_bits(u32::try_from(bits).ok()?)),
            (NumberKind::Float, _) => f64::from_bits(bits),
            (NumberKind::Unsigned, _) => bits as f64,
            (NumberKind::Signed, size) => {
                let unused = 64 - 8 * size;
                ((bits << unused).cast_signed() >> unused) as f64
            }
        })
    }

    /// Whether a value of this number stands at an end of its range, where a sensor's clipping shows.
    pub fn is_at_its_end(self, value: f64) -> bool {
        let bits = i32::try_from(8 * self.size).unwrap_or(i32::MAX);
        match self.kind {
            NumberKind::Signed => value.abs() >= 2f64.powi(bits - 1) - 1.0,
            NumberKind::Unsigned | NumberKind::Float => false,
        }
    }
}

/// A whole number without sign at a place of a packet, perhaps only some bits of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// Its first byte.
    pub at: usize,
    /// Its size and order of bytes; never a float, never signed.
    pub number: Number,
    /// The bits that count, one unbroken stretch.
    pub mask: u64,
}

impl Field {
    /// The value, moved down to the lowest bit; `None` where the packet ends before.
    pub fn read(&self, bytes: &[u8]) -> Option<u64> {
        let bits = self.number.bits(bytes, self.at)?;
        Some((bits & self.mask) >> self.mask.trailing_zeros().min(63))
    }

    /// How many bits count.
    pub fn bits(&self) -> u32 {
        self.mask.count_ones()
    }

    /// The byte after it.
    pub fn end(&self) -> usize {
        self.at + self.number.size
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_type_reads_both_orders() {
        let table: [(&str, &[u8], f64); 16] = [
            ("u8", &[0xfe], 254.0),
            ("i8", &[0xfe], -2.0),
            ("u16le", &[0xfe, 0x01], 510.0),
            ("u16be", &[0xfe, 0x01], 65025.0),
            ("i16le", &[0x00, 0x80], -32768.0),
            ("i16be", &[0x80, 0x01], -32767.0),
            ("u24le", &[1, 2, 3], 197_121.0),
            ("u24be", &[1, 2, 3], 66051.0),
            ("i24le", &[0, 0x0c, 0xfe], -128_000.0),
            ("i24be", &[0xfe, 0x0c, 0], -128_000.0),
            ("u32le", &[0xff, 0xff, 0xff, 0xff], 4_294_967_295.0),
            ("i32be", &[0xff, 0xff, 0xff, 0xff], -1.0),
            ("f32le", &[0, 0, 0x80, 0x3f], 1.0),
            ("f32be", &[0xbf, 0x80, 0, 0], -1.0),
            ("f64le", &[0, 0, 0, 0, 0, 0, 0xe0, 0x3f], 0.5),
            ("f64be", &[0x3f, 0xe0, 0, 0, 0, 0, 0, 0], 0.5),
        ];
        for (word, bytes, expected) in table {
            let number = Number::parse(word, Endian::Little).unwrap();
            let found = number.read(bytes, 0).unwrap();
            assert!((found - expected).abs() < 1e-12, "{word}: {found}");
            assert_eq!(number.read(bytes, 1), None, "{word}");
            assert_eq!(number.read(bytes, usize::MAX), None, "{word}");
        }
        assert_eq!(Number::parse("u64", Endian::Little), None);
        assert_eq!(
            Number::parse("i16", Endian::Big),
            Number::parse("i16be", Endian::Little)
        );
    }

    #[test]
    fn masked_bits_move_down() {
        let field = |mask| Field {
            at: 0,
            number: Number::U8,
            mask,
        };
        assert_eq!(field(0x1f).read(&[0x42]), Some(2));
        assert_eq!(field(0x18).read(&[0x2a]), Some(1));
        assert_eq!(field(0xe0).read(&[0x2a]), Some(1));
        assert_eq!(field(0xe0).bits(), 3);
        assert_eq!(field(0xff).read(&[]), None);
    }

    #[test]
    fn clipping_shows_at_the_ends_of_signed_numbers() {
        let number = Number::parse("i16", Endian::Little).unwrap();
        for (value, expected) in [
            (32767.0, true),
            (-32767.0, true),
            (-32768.0, true),
            (32766.0, false),
        ] {
            assert_eq!(number.is_at_its_end(value), expected, "{value}");
        }
    }
}
