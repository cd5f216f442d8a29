//! What stops a command, what to do about it, and the exit status that says so.

use std::io;
use std::path::PathBuf;
use std::process::ExitCode;

use casebook::export::share::ShareError;
use sensor::Placement;
use sensor::bids::{FindError, ReadError, WriteError};
use sensor::journal::JournalError;
use thiserror::Error;

use crate::profiles::LoadError;
use crate::selector::SelectorError;

/// The exit status of the program. Part of its contract: scripts rely on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Exit {
    /// All was done.
    Done = 0,
    /// At least one recording could not be analysed, or a file not be read or written.
    Incomplete = 1,
    /// The command or its arguments are wrong; a path that isn't there is one of these.
    Usage = 2,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// What stops a command.
#[derive(Debug, Error)]
pub(crate) enum CommandError {
    /// A path gives no recordings.
    #[error(transparent)]
    Find(#[from] FindError),
    /// A file of samples can't be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// A data set can't be written.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// A live source isn't one.
    #[error(transparent)]
    Selector(#[from] SelectorError),
    /// A live run can't be kept.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The output can't be written.
    #[error("output: {0}; check that there is room and that it may be written")]
    Output(io::Error),
    /// A file was expected.
    #[error("{}: a folder, expected one _motion.tsv file; name the file", .0.display())]
    NotAFile(PathBuf),
    /// The folder for a new data set holds something.
    #[error("{}: not empty, expected a new or empty folder; name another one", .0.display())]
    Occupied(PathBuf),
    /// The folder for a new data set can't be used.
    #[error("{}: {source}; check the path and that it may be written", path.display())]
    Folder {
        /// As given.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Several sensors in one file, and none was chosen.
    #[error("{}: {} tracked points ({}), expected one; add --point NAME", file.display(), names.len(), names.join(", "))]
    ManyPoints {
        /// The file of samples.
        file: PathBuf,
        /// What it holds.
        names: Vec<String>,
    },
    /// A sensor was chosen that isn't in the file.
    #[error("{}: no tracked point {asked:?}, there is {}; choose one of these", file.display(), names.join(", "))]
    NoPoint {
        /// The file of samples.
        file: PathBuf,
        /// What was asked for.
        asked: String,
        /// What it holds.
        names: Vec<String>,
    },
    /// A drill can't be had; the text says where, what, and the mend.
    #[error("{0}")]
    Drill(String),
    /// A sensor profile can't be had.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// Sensors over Bluetooth can't be found or opened.
    #[cfg(feature = "ble")]
    #[error(transparent)]
    Ble(#[from] sensor::ble::BleError),
    /// Pages for phones can't be served.
    #[cfg(feature = "phone")]
    #[error(transparent)]
    Phone(#[from] sensor::phone::PhoneError),
    /// A report can't be drawn.
    #[cfg(feature = "pdf")]
    #[error(transparent)]
    Pdf(#[from] casebook::report::pdf::PdfError),
    /// A table can't be made.
    #[error(transparent)]
    Csv(#[from] casebook::export::csv::CsvError),
    /// A data set can't be shared.
    #[error(transparent)]
    Share(#[from] casebook::export::share::ShareError),
    /// A visit that the client doesn't have.
    #[error("visit {0:?}: not one of this client's; name one of theirs, or leave --visit out")]
    NoVisit(String),
    /// A sensor profile can't be used, or its packets not be read.
    #[error(transparent)]
    Profile(#[from] crate::commands::profile::ProfileFault),
    /// A recording lacks a sensor that is to be played again.
    #[error("{0}: not in {1}; leave it away, or name a recording that has it")]
    NotRecorded(Placement, String),
    /// A kind of sensor that was left out when the program was built.
    #[cfg(not(all(feature = "ble", feature = "pdf", feature = "phone")))]
    #[error("{0}: not in this build of the program; build it with the feature `{0}`")]
    NotBuilt(&'static str),
    /// A calibration that would be kept nowhere.
    #[error("{0}: a calibration is for the recordings of a visit; add --data DIR")]
    Unkept(Placement),
    /// A live run could not be written; its journal has it.
    #[error("{1}\n{0}")]
    NotWritten(String, Box<CommandError>),
    /// The casebook can't be opened, read or changed.
    #[cfg(feature = "book")]
    #[error(transparent)]
    Store(#[from] casebook::store::StoreError),
    /// What is asked of the casebook can't be done.
    #[cfg(feature = "book")]
    #[error(transparent)]
    Book(#[from] crate::book::BookFault),
    /// The system gave no thread, or one failed.
    #[error("threads: {0}; close other programs and try again")]
    Thread(io::Error),
    /// The system gave no threads.
    #[error("threads: {0}; use a smaller --jobs")]
    Threads(rayon::ThreadPoolBuildError),
}

impl CommandError {
    /// Whether only the reader of the output has gone away, which is no error.
    pub(crate) fn is_closed_pipe(&self) -> bool {
        matches!(self, Self::Output(e) if e.kind() == io::ErrorKind::BrokenPipe)
    }

    /// The exit status that goes with it.
    pub(crate) fn exit(&self) -> Exit {
        match self {
            Self::Profile(fault) => fault.exit(),
            #[cfg(feature = "book")]
            Self::Store(e) => of_store(&e.kind),
            #[cfg(feature = "book")]
            Self::Book(fault) => fault.exit(),
            Self::Load(e) => e.exit(),
            #[cfg(not(all(feature = "ble", feature = "pdf", feature = "phone")))]
            Self::NotBuilt(_) => Exit::Usage,
            #[cfg(feature = "ble")]
            Self::Ble(_) => Exit::Incomplete,
            #[cfg(feature = "phone")]
            Self::Phone(_) => Exit::Incomplete,
            #[cfg(feature = "pdf")]
            Self::Pdf(_) => Exit::Incomplete,
            Self::Share(
                ShareError::Find(FindError::Missing { .. })
                | ShareError::Occupied(_)
                | ShareError::Inside(_)
                | ShareError::NoClient(_),
            )
            | Self::Drill(_)
            | Self::NoVisit(_)
            | Self::Find(FindError::Missing { .. })
            | Self::Selector(_)
            | Self::NotAFile(_)
            | Self::Occupied(_)
            | Self::ManyPoints { .. }
            | Self::NoPoint { .. }
            | Self::NotRecorded(..)
            | Self::Unkept(_)
            | Self::Threads(_) => Exit::Usage,
            Self::Find(_)
            | Self::Read(_)
            | Self::Write(_)
            | Self::Journal(_)
            | Self::Csv(_)
            | Self::Share(_)
            | Self::Output(_)
            | Self::NotWritten(..)
            | Self::Thread(_)
            | Self::Folder { .. } => Exit::Incomplete,
        }
    }
}

/// What was named wrongly is wrong usage; what can't be done is not.
#[cfg(feature = "book")]
const fn of_store(kind: &casebook::store::StoreErrorKind) -> Exit {
    use casebook::store::StoreErrorKind as Kind;
    match kind {
        Kind::Missing
        | Kind::Exists
        | Kind::WeakPassphrase(_)
        | Kind::NotACasebook { .. }
        | Kind::NoClient(_)
        | Kind::ManyClients { .. }
        | Kind::CodeTaken(_)
        | Kind::NoVisit { .. }
        | Kind::VisitTaken { .. }
        | Kind::NoRound(_)
        | Kind::NoRaise { .. }
        | Kind::Value { .. }
        | Kind::NoReason { .. } => Exit::Usage,
        _ => Exit::Incomplete,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_error_names_its_mend_after_a_semicolon() {
        let path = || PathBuf::from("a");
        let names = || vec!["left".to_owned(), "right".to_owned()];
        let errors = [
            CommandError::Find(FindError::Missing { path: path() }),
            CommandError::Find(FindError::NothingHere { path: path() }),
            CommandError::Output(io::Error::other("disk full")),
            CommandError::NotAFile(path()),
            CommandError::Occupied(path()),
            CommandError::Folder {
                path: path(),
                source: io::Error::other("no"),
            },
            CommandError::ManyPoints {
                file: path(),
                names: names(),
            },
            CommandError::NoPoint {
                file: path(),
                asked: "x".to_owned(),
                names: names(),
            },
        ];
        for error in errors {
            let text = error.to_string();
            assert!(
                text.contains("; ") && text.contains(": ") && !text.ends_with('.'),
                "{text}"
            );
        }
    }

    #[test]
    fn a_missing_path_is_wrong_usage_and_an_empty_one_is_not() {
        let of = |error: FindError| CommandError::from(error).exit();
        assert_eq!(
            of(FindError::Missing {
                path: PathBuf::new()
            }),
            Exit::Usage
        );
        assert_eq!(
            of(FindError::NothingHere {
                path: PathBuf::new()
            }),
            Exit::Incomplete
        );
    }
}
