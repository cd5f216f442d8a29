//! What stops the loading of a drill: where, what, and the mend.

use std::fmt;

use thiserror::Error;

use super::SCHEMA;

/// A drill, and a line of it where one can be named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrillPlace {
    /// As given when it was parsed.
    pub id: String,
    /// Counted from 1.
    pub line: Option<usize>,
}

impl fmt::Display for DrillPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.id)?;
        self.line.map_or(Ok(()), |line| write!(f, ":{line}"))
    }
}

/// Why a drill can't be used.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{place}: {kind}; {}", kind.mend())]
pub struct DrillError {
    /// Where.
    pub place: DrillPlace,
    /// What.
    pub kind: DrillErrorKind,
}

/// What was found that can't be used.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum DrillErrorKind {
    /// Beyond the limit on size.
    #[error("{bytes} bytes, expected at most {limit}")]
    TooLarge {
        /// Its size.
        bytes: usize,
        /// The limit.
        limit: usize,
    },
    /// A name that can't be a file's.
    #[error("called {id:?}, expected 1 to 60 small letters, digits and hyphens")]
    Id {
        /// As given.
        id: String,
    },
    /// What the TOML reader says: an unknown key, a missing one, a wrong type.
    #[error("{message}")]
    Toml {
        /// Its words, on one line.
        message: String,
    },
    /// Another format, or another version.
    #[error("schema {found:?}, expected {SCHEMA:?}")]
    Schema {
        /// As written.
        found: String,
    },
    /// A text that is empty, too long, or holds what can't be shown.
    #[error("{key} has {chars} characters or some that can't be shown, expected 1 to {most}")]
    Text {
        /// Where it is written.
        key: &'static str,
        /// Its length.
        chars: usize,
        /// The limit.
        most: usize,
    },
    /// Too few or too many of something.
    #[error("{count} of {key}, expected {least} to {most}")]
    Count {
        /// Of what.
        key: &'static str,
        /// How many.
        count: usize,
        /// The fewest.
        least: usize,
        /// The most.
        most: usize,
    },
    /// A number outside its limits, or no number.
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
    /// The most is less than the least.
    #[error("{key} from {least} to {most}, expected the smaller number first")]
    Reversed {
        /// Where it is written.
        key: &'static str,
        /// As written.
        least: f64,
        /// As written.
        most: f64,
    },
    /// Words of a language that has no code.
    #[error("words.{found}, expected two small letters, such as words.de")]
    Language {
        /// As written.
        found: String,
    },
    /// Not as many sentences as the drill has.
    #[error("{found} of {key} in these words, expected {expected} as in the drill")]
    Untold {
        /// Of what.
        key: &'static str,
        /// How many.
        found: usize,
        /// How many the drill has.
        expected: usize,
    },
    /// Two cautions for the same.
    #[error("a second caution for {word}, expected one for each")]
    Twice {
        /// Which.
        word: &'static str,
    },
    /// With the most of everything it takes too long.
    #[error("takes up to {found_s:.0} s, expected at most {limit_s:.0} s")]
    TooLong {
        /// How long.
        found_s: f64,
        /// The limit.
        limit_s: f64,
    },
}

impl DrillErrorKind {
    /// What to do about it.
    pub fn mend(&self) -> &'static str {
        match self {
            Self::TooLarge { .. } => "leave only one drill in the file",
            Self::Id { .. } => "rename the file",
            Self::Toml { message } if message.starts_with("unknown field") => {
                "remove it or correct its spelling"
            }
            Self::Toml { message } if message.starts_with("missing field") => "add it",
            Self::Toml { .. } => "correct it at this place",
            Self::Schema { .. } => "write the schema so, or use a version that knows the other one",
            Self::Text { .. } => "write it in fewer words, without control characters",
            Self::Count { .. } => "add or remove some",
            Self::Range { .. } => "correct the number",
            Self::Reversed { .. } => "turn the numbers round",
            Self::Language { .. } => "write the language's code of ISO 639-1",
            Self::Untold { .. } => "say each sentence once, in the same order",
            Self::Twice { .. } => "join them to one",
            Self::TooLong { .. } => "lower sets, reps or seconds",
        }
    }
}
