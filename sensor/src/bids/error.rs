//! What stops the finding or reading of a recording: where, what, and the mend.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

/// A file, and a line of it where one can be named.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// The file or folder.
    pub path: PathBuf,
    /// Counted from 1.
    pub line: Option<u64>,
}

impl Place {
    /// A whole file.
    pub fn of(path: &Path) -> Self {
        Self {
            path: path.to_owned(),
            line: None,
        }
    }

    /// One line of a file.
    pub fn line(path: &Path, line: u64) -> Self {
        Self {
            path: path.to_owned(),
            line: Some(line),
        }
    }
}

impl fmt::Display for Place {
    /// The file's name without its folders: names of the standard tell all, and results then don't
    /// depend on where a data set lies.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.path.file_name().unwrap_or(self.path.as_os_str());
        write!(f, "{}", name.display())?;
        self.line.map_or(Ok(()), |line| write!(f, ":{line}"))
    }
}

/// Why a path gives no list of recordings.
#[derive(Debug, Error)]
pub enum FindError {
    /// There is nothing of that name.
    #[error("{}: no such file or folder; {}", path.display(), self.mend())]
    Missing {
        /// The path as given.
        path: PathBuf,
    },
    /// It is there, but holds no recording.
    #[error("{}: no task-legraise recording found; {}", path.display(), self.mend())]
    NothingHere {
        /// The path as given.
        path: PathBuf,
    },
    /// It couldn't be looked into.
    #[error("{}: {source}; {}", path.display(), self.mend())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

impl FindError {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::Missing { .. } => "check the spelling of the path".to_owned(),
            Self::NothingHere { .. } => {
                "name a folder that holds sub-…_task-legraise_tracksys-…_motion.tsv files, or such a file".to_owned()
            }
            Self::Io { .. } => "check that the path may be read".to_owned(),
        }
    }
}

/// Why one file, or a whole run, could not be read.
#[derive(Debug, Error)]
#[error("{place}: {kind}; {}", kind.mend())]
pub struct ReadError {
    /// Where.
    pub place: Place,
    /// What.
    pub kind: ReadErrorKind,
}

/// What was wrong with one row of samples.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum RowFault {
    /// Too few or too many cells.
    #[error("{found} columns, expected {expected}")]
    Cells {
        /// In this row.
        found: usize,
        /// As the channels say.
        expected: usize,
    },
    /// A cell that is no number.
    #[error("column {column} is {text:?}, expected a number")]
    NotANumber {
        /// Counted from 1.
        column: usize,
        /// The cell, shortened.
        text: String,
    },
}

/// What was found that can't be read.
#[derive(Debug, Error)]
pub enum ReadErrorKind {
    /// The system refused.
    #[error("{0}")]
    Io(io::Error),
    /// A folder or a device.
    #[error("not a file, expected a file of samples")]
    NotAFile,
    /// No content.
    #[error("empty recording")]
    Empty,
    /// Beyond the limit on size.
    #[error("{bytes} bytes, expected at most {limit}")]
    TooLarge {
        /// Its size, or what was read of it.
        bytes: u64,
        /// The limit.
        limit: u64,
    },
    /// Bytes that are no text.
    #[error("not text, expected numbers in UTF-8")]
    NotText,
    /// Beyond the limit on a line.
    #[error("a line longer than {limit} bytes")]
    LineTooLong {
        /// The limit.
        limit: usize,
    },
    /// Beyond the limit on channels.
    #[error("{count} channels, expected at most {limit}")]
    TooManyChannels {
        /// As described.
        count: usize,
        /// The limit.
        limit: usize,
    },
    /// Nothing says what the columns are.
    #[error(
        "no _channels.tsv, and {columns} columns, expected 7 (time, accelerometer x y z, gyroscope x y z)"
    )]
    NoChannels {
        /// In the first row.
        columns: usize,
    },
    /// The channels hold no whole motion sensor.
    #[error("no {missing} channel, expected ACCEL and GYRO x y z of one tracked point")]
    NoSensor {
        /// The first one missing.
        missing: String,
    },
    /// A unit that can't be converted.
    #[error("channel {channel:?} is in {units:?}, expected {expected}")]
    UnknownUnits {
        /// Its name.
        channel: String,
        /// As described.
        units: String,
        /// What can be read.
        expected: &'static str,
    },
    /// Neither stamps nor a rate.
    #[error("neither a LATENCY channel nor a SamplingFrequency")]
    NoTime,
    /// A comma for a decimal point.
    #[error("column {column} is {text:?}, expected a number")]
    DecimalComma {
        /// Counted from 1.
        column: usize,
        /// The cell, shortened.
        text: String,
    },
    /// More than a tenth of the rows make no sense.
    #[error("{bad_count} of {row_count} rows can't be read: {first}")]
    TooManyBadRows {
        /// How many.
        bad_count: u64,
        /// Of how many.
        row_count: u64,
        /// The first one's fault; its line is the place.
        first: RowFault,
    },
    /// All rows are `n/a`.
    #[error("no sample with all its values")]
    NoSamples,
    /// A run without a motion file.
    #[error("no motion file of this run")]
    NoMotion,
}

impl ReadErrorKind {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::Io(_) => "check that the file is there and may be read",
            Self::NotAFile => "name a _motion.tsv file",
            Self::Empty => "record it again, or take the file from its source again",
            Self::TooLarge { .. } => "split the recording",
            Self::NotText => "save it as plain UTF-8 text with tabs between the columns",
            Self::LineTooLong { .. } => "put each sample on a line of its own",
            Self::TooManyChannels { .. } => "leave only the channels of the motion sensors",
            Self::NoChannels { .. } => "add a _channels.tsv beside it that names the columns",
            Self::NoSensor { .. } => "correct type, component and tracked_point in _channels.tsv",
            Self::UnknownUnits { .. } => {
                "correct the units in _channels.tsv, or convert the values"
            }
            Self::NoTime => "add SamplingFrequency to _motion.json, or a LATENCY channel",
            Self::DecimalComma { .. } => "use a decimal point",
            Self::TooManyBadRows {
                first: RowFault::Cells { .. },
                ..
            } => "make _channels.tsv describe every column, in their order",
            Self::TooManyBadRows { .. } => {
                "correct these rows; a value that is missing is written n/a"
            }
            Self::NoSamples => "check the channels and the export; values must be numbers",
            Self::NoMotion => "put the run's _motion.tsv back",
        }
        .to_owned()
    }
}
