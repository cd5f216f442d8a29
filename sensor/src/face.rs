//! The six ways to lay a unit on a table.

use std::fmt;
use std::str::FromStr;

/// The axis of a unit that points up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// x up.
    PlusX,
    /// x down.
    MinusX,
    /// y up.
    PlusY,
    /// y down.
    MinusY,
    /// z up.
    PlusZ,
    /// z down.
    MinusZ,
}

impl Face {
    /// All six.
    pub const ALL: [Self; 6] = [
        Self::PlusX,
        Self::MinusX,
        Self::PlusY,
        Self::MinusY,
        Self::PlusZ,
        Self::MinusZ,
    ];

    /// The word in the files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::PlusX => "+x",
            Self::MinusX => "-x",
            Self::PlusY => "+y",
            Self::MinusY => "-y",
            Self::PlusZ => "+z",
            Self::MinusZ => "-z",
        }
    }

    /// The one below it.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::PlusX => Self::MinusX,
            Self::MinusX => Self::PlusX,
            Self::PlusY => Self::MinusY,
            Self::MinusY => Self::PlusY,
            Self::PlusZ => Self::MinusZ,
            Self::MinusZ => Self::PlusZ,
        }
    }

    /// The unit vector that points up, in the sensor's axes.
    pub const fn up(self) -> [f64; 3] {
        match self {
            Self::PlusX => [1.0, 0.0, 0.0],
            Self::MinusX => [-1.0, 0.0, 0.0],
            Self::PlusY => [0.0, 1.0, 0.0],
            Self::MinusY => [0.0, -1.0, 0.0],
            Self::PlusZ => [0.0, 0.0, 1.0],
            Self::MinusZ => [0.0, 0.0, -1.0],
        }
    }
}

impl fmt::Display for Face {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl FromStr for Face {
    type Err = ();
    fn from_str(s: &str) -> Result<Self, ()> {
        let mut all = Self::ALL.into_iter();
        all.find(|face| face.as_str() == s).ok_or(())
    }
}
