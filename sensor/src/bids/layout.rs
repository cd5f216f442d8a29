//! What the columns of a file of samples are for, and how its cells are told apart.

/// What a column is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    Skip,
    Time,
    /// Axes 0–2 are the accelerometer's, 3–5 the gyroscope's.
    Value {
        point: usize,
        axis: usize,
    },
    Stamp {
        point: usize,
        kind: StampKind,
    },
}

/// Which part of a [`RawStamp`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum StampKind {
    Sequence,
    Device,
    Arrival,
}

/// What stands between two columns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Separator {
    /// One byte: a tab, a comma, a semicolon.
    Byte(u8),
    /// Any number of blanks.
    Blanks,
}

impl Separator {
    /// The cells of a line; blanks around a cell and separators at the end don't count.
    pub(crate) fn cells(self, line: &[u8]) -> impl Iterator<Item = &[u8]> {
        let line = line.trim_ascii_end();
        let line = match self {
            Self::Byte(_) => line,
            Self::Blanks => line.trim_ascii_start(),
        };
        let is_blanks = self == Self::Blanks;
        line.split(move |&b| match self {
            Self::Byte(byte) => b == byte,
            Self::Blanks => b == b' ' || b == b'\t',
        })
        .map(<[u8]>::trim_ascii)
        .filter(move |cell| !is_blanks || !cell.is_empty())
    }
}

/// How the rows of one file are to be read.
pub(crate) struct Layout<'a> {
    pub(crate) roles: &'a [Role],
    pub(crate) point_count: usize,
    pub(crate) separator: Separator,
    /// What the time column, read as seconds, is divided by; or the rate that takes its place.
    pub(crate) clock: Clock,
    /// For each point, whether stamps are kept.
    pub(crate) has_stamps: &'a [bool],
    /// The file's line number before the first one given.
    pub(crate) lines_before: u64,
}

/// Where the time of a row comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Clock {
    Column { divisor: i64 },
    Rate { hz: f64 },
}

/// Whether a cell says that there is no value.
pub(crate) fn is_missing(cell: &[u8]) -> bool {
    const WORDS: [&[u8]; 11] = [
        b"",
        b"n/a",
        b"na",
        b"nan",
        b"-nan",
        b"null",
        b"inf",
        b"+inf",
        b"-inf",
        b"infinity",
        b"-infinity",
    ];
    WORDS.iter().any(|word| cell.eq_ignore_ascii_case(word))
}

/// Whether a number has a comma where its decimal point should be.
pub(crate) fn is_decimal_comma(cell: &[u8]) -> bool {
    let mut parts = cell.split(|&b| b == b',');
    let (Some(whole), Some(fraction), None) = (parts.next(), parts.next(), parts.next()) else {
        return false;
    };
    let digits = whole
        .strip_prefix(b"-")
        .or(whole.strip_prefix(b"+"))
        .unwrap_or(whole);
    !digits.is_empty()
        && digits.iter().all(u8::is_ascii_digit)
        && fraction.first().is_some_and(u8::is_ascii_digit)
}
