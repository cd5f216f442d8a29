//! What stops the writing of a recording: where, what, and the mend.

use std::io;
use std::path::PathBuf;

use thiserror::Error;

use crate::Placement;

/// Why a recording could not be written. Nothing of it was, unless the kind is `Io`.
#[derive(Debug, Error)]
#[error("{}: {kind}; {}", path.display(), kind.mend())]
pub struct WriteError {
    /// The data set, or the file.
    pub path: PathBuf,
    /// What.
    pub kind: WriteErrorKind,
}

/// What can't be written.
#[derive(Debug, Error)]
pub enum WriteErrorKind {
    /// The system refused.
    #[error("{0}")]
    Io(io::Error),
    /// A name part that the standard doesn't allow.
    #[error("{part} is {label:?}, expected letters and digits{}", if *part == "run" { " (digits only)" } else { "" })]
    Label {
        /// `subject`, `session`, `task`, `acquisition`, `run`, `track` or `table`.
        part: &'static str,
        /// As given; empty if missing.
        label: String,
    },
    /// A run of nothing.
    #[error("no track")]
    NoTracks,
    /// Two tracks of one name.
    #[error("two tracks are named {name:?}")]
    SameTrack {
        /// The name.
        name: String,
    },
    /// A track that can't be written as it is.
    #[error("track {name:?}: {fault}")]
    Track {
        /// Its name.
        name: String,
        /// What is wrong with it.
        fault: TrackFault,
    },
    /// The run's clock doesn't begin with its first sample.
    #[error("the first sample is at {first_s} s, expected 0")]
    NotFromZero {
        /// Seconds.
        first_s: f64,
    },
    /// A duration that is negative or no number.
    #[error("a mark lasts {duration_s} s, expected 0 or more")]
    Duration {
        /// As given.
        duration_s: f64,
    },
    /// A mark farther from the samples than the longest run.
    #[error("a mark is at {at_s} s, expected at most 1000000")]
    MarkTime {
        /// Seconds.
        at_s: f64,
    },
    /// Not a date and time of the standard.
    #[error("acquired is {text:?}, expected YYYY-MM-DDThh:mm:ss")]
    Acquired {
        /// As given.
        text: String,
    },
    /// Another recording of that name is there.
    #[error("another recording of this name is there")]
    Exists,
    /// A table or description that is there can't be extended.
    #[error("can't be extended: {what}")]
    Existing {
        /// What is wrong with it.
        what: String,
    },
    /// Rows and columns that don't fit the standard's tables.
    #[error("{what}")]
    Table {
        /// What is wrong with them.
        what: String,
    },
}

/// What is wrong with a track that is to be written.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum TrackFault {
    /// No sample.
    #[error("no samples")]
    Empty,
    /// Time doesn't increase.
    #[error("sample {index} is not later than the one before")]
    Unsorted {
        /// Counted from 0.
        index: usize,
    },
    /// NaN, infinity, or beyond what any sensor measures.
    #[error("sample {index} is impossible")]
    Impossible {
        /// Counted from 0.
        index: usize,
    },
    /// Beyond the longest run.
    #[error("it lasts {0} s, expected at most 1000000")]
    TooLong(f64),
    /// Not a rate.
    #[error("its rate is {0} Hz, expected more than 0")]
    Rate(f64),
    /// Not a limit.
    #[error("a limit of its unit is {0}, expected 0 or more")]
    Limit(f64),
    /// Stamps don't belong to the samples.
    #[error("{stamps} stamps of {samples} samples")]
    Stamps {
        /// How many.
        stamps: usize,
        /// How many.
        samples: usize,
    },
    /// Its name says another place than its placement.
    #[error("its name says {named}, its placement doesn't")]
    Placement {
        /// What the name says.
        named: Placement,
    },
    /// Not m/s², by the look of it.
    #[error("its acceleration is about {0}, expected about 9.8 m/s^2")]
    Units(f64),
}

impl WriteErrorKind {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::Io(_) => "check that the folder may be written and has room",
            Self::Label { .. } => "rename it",
            Self::NoTracks
            | Self::Track {
                fault: TrackFault::Empty,
                ..
            } => "check that the sensor sends samples",
            Self::SameTrack { .. } => "give each sensor a placement of its own",
            Self::Track {
                fault: TrackFault::Unsorted { .. },
                ..
            } => "sort the samples by time",
            Self::Track {
                fault: TrackFault::Impossible { .. },
                ..
            } => "leave such samples out",
            Self::Track {
                fault: TrackFault::TooLong(_),
                ..
            } => "split the run",
            Self::Track {
                fault: TrackFault::Rate(_) | TrackFault::Limit(_),
                ..
            } => "correct the sensor's profile",
            Self::Track {
                fault: TrackFault::Stamps { .. },
                ..
            } => "give one stamp a sample, or none at all",
            Self::Track {
                fault: TrackFault::Placement { .. },
                ..
            } => "name the track by its placement",
            Self::Track {
                fault: TrackFault::Units(_),
                ..
            } => "correct the accelerometer's scale in the sensor's profile",
            Self::NotFromZero { .. } => "count times from the earliest first sample",
            Self::Duration { .. } | Self::MarkTime { .. } => "correct the mark",
            Self::Acquired { .. } => "write date and time as 2026-03-02T09:30:00",
            Self::Exists => "take the next run number",
            Self::Existing { .. } => "correct that file by hand",
            Self::Table { .. } => "correct the rows",
        }
        .to_owned()
    }
}
