//! What stops a journal, and what was odd in one that could be read.

use std::io;
use std::path::PathBuf;

use thiserror::Error;

use super::{FILE_BYTES_MAX, HEADING_BYTES_MAX};
use crate::bids::WriteErrorKind;
use crate::event::EventFault;
use crate::{Placement, TimingFault};

/// Why a journal could not be kept or read.
#[derive(Debug, Error)]
#[error("{}: {kind}; {}", path.file_name().unwrap_or(path.as_os_str()).display(), kind.mend())]
pub struct JournalError {
    /// The journal.
    pub path: PathBuf,
    /// What.
    pub kind: JournalErrorKind,
}

/// What was found.
#[derive(Debug, Error)]
pub enum JournalErrorKind {
    /// The system refused.
    #[error("{0}")]
    Io(io::Error),
    /// A journal of that name is there.
    #[error("a journal of this run is there, expected none")]
    Exists,
    /// Another program is recording into it.
    #[error("the run is still being recorded")]
    InUse,
    /// The name of the run breaks the standard.
    #[error("{0}")]
    Id(WriteErrorKind),
    /// No sensor, or one place twice.
    #[error("{count} sensors at {places} places, expected one a place, and one at least")]
    Streams {
        /// How many.
        count: usize,
        /// At how many places.
        places: usize,
    },
    /// A stream whose time can't be told.
    #[error("{placement}: {fault}")]
    Timing {
        /// Whose.
        placement: Placement,
        /// What is wrong.
        fault: TimingFault,
    },
    /// Texts of the heading are too long.
    #[error("a heading of {bytes} bytes, expected at most {HEADING_BYTES_MAX}")]
    Heading {
        /// How long.
        bytes: usize,
    },
    /// An event beyond its limits.
    #[error("{0}")]
    Event(EventFault),
    /// An event of a sensor that the heading doesn't name.
    #[error("an event of {placement}, which is no sensor of this run")]
    Stranger {
        /// Whose.
        placement: Placement,
    },
    /// The journal has reached its limit.
    #[error("{bytes} bytes, expected at most {FILE_BYTES_MAX}")]
    Full {
        /// How long it would be, or is.
        bytes: u64,
    },
    /// Another file.
    #[error("not a journal, expected its first line to be legraise/journal/1")]
    NotAJournal,
    /// Cut or damaged before the end of its heading.
    #[error("its heading can't be read")]
    NoHeading,
    /// Nothing was recorded.
    #[error("no sample in it")]
    NoSamples,
}

impl JournalErrorKind {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::Io(_) => "check that the folder may be written and has room".to_owned(),
            Self::Exists => "rebuild that run first, or take the next run number".to_owned(),
            Self::InUse => "stop the recording first".to_owned(),
            Self::Id(kind) => kind.mend(),
            Self::Streams { .. } => "give each sensor a placement of its own".to_owned(),
            Self::Timing { fault, .. } => fault.mend(),
            Self::Heading { .. } => "shorten the texts".to_owned(),
            Self::Event(fault) => fault.mend(),
            Self::Stranger { .. } => "connect all sensors before the run is started".to_owned(),
            Self::Full { .. } => "stop the run and start another".to_owned(),
            Self::NotAJournal => "name a file that ends in _journal.bin".to_owned(),
            Self::NoHeading => {
                "restore the file from a copy; without one the run is lost".to_owned()
            }
            Self::NoSamples => "nothing is to be done: no sensor had sent anything".to_owned(),
        }
    }
}

/// One oddity of a journal that could be read.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{}: {kind}; {}", path.file_name().unwrap_or(path.as_os_str()).display(), kind.mend())]
pub struct Problem {
    /// The journal.
    pub path: PathBuf,
    /// What.
    pub kind: ProblemKind,
}

/// What was found and what was made of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum ProblemKind {
    /// The end is no whole record.
    #[error("the last {bytes} bytes are cut short, left out")]
    Torn {
        /// How many.
        bytes: u64,
    },
    /// A part before the end can't be read.
    #[error("{bytes} bytes from byte {at} can't be read, left out")]
    Damaged {
        /// Counted from 0.
        at: u64,
        /// How many.
        bytes: u64,
    },
    /// No sensor can have felt these.
    #[error("{count} samples of {placement} beyond what any sensor measures, left out")]
    Impossible {
        /// Whose.
        placement: Placement,
        /// How many.
        count: u64,
    },
    /// A sensor of the heading never sent anything.
    #[error("no sample of {placement}, left out")]
    Empty {
        /// Whose.
        placement: Placement,
    },
    /// Far from the samples.
    #[error("{count} marks too far from the samples, left out")]
    Strayed {
        /// How many.
        count: u64,
    },
}

impl ProblemKind {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::Torn { .. } => "nothing needs to be done; the run was broken off while writing",
            Self::Damaged { .. } => "check the disk; samples there are missing",
            Self::Impossible { .. } => "check units and sensor",
            Self::Empty { .. } => "check the sensor of this place",
            Self::Strayed { .. } => "check the marker's clock",
        }
        .to_owned()
    }
}
