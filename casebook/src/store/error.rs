//! What goes wrong with the casebook: where, what, and what to do about it.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;
use thiserror::Error;

/// Something went wrong with a casebook.
#[derive(Debug)]
pub struct StoreError {
    /// The casebook's file, or the file beside it.
    pub path: PathBuf,
    /// What.
    pub kind: StoreErrorKind,
}

/// What went wrong.
#[derive(Debug, Error)]
pub enum StoreErrorKind {
    /// No file.
    #[error("no casebook there; name another with --book, or make one with `legraise book make`")]
    Missing,
    /// A file where one was to be made.
    #[error("there is one already, expected a new name; it is left as it is, name another file")]
    Exists,
    /// Another program has it.
    #[error("open in another program ({who}); close that one, or wait until it is done")]
    Held {
        /// As that program says.
        who: String,
    },
    /// The key doesn't fit.
    #[error(
        "the passphrase doesn't open it; type it again, with small and capital letters as they were. If it is right, the file is no casebook or its beginning is damaged: restore a backup"
    )]
    Passphrase,
    /// A passphrase that can't be one.
    #[error("{0}; take another passphrase")]
    WeakPassphrase(&'static str),
    /// Something else under its name.
    #[error("no casebook but {what}; name the casebook's own file")]
    NotACasebook {
        /// What it looks like.
        what: &'static str,
    },
    /// The end is missing.
    #[error(
        "cut short ({what}); leave it as it is and restore a backup with `legraise book restore`"
    )]
    CutShort {
        /// What tells it.
        what: String,
    },
    /// A page or a row makes no sense.
    #[error(
        "damaged ({what}); leave it as it is and restore a backup with `legraise book restore`"
    )]
    Damaged {
        /// What tells it.
        what: String,
    },
    /// Written by a later program.
    #[error("of version {found}, expected {known} or earlier; use the newer program that wrote it")]
    Newer {
        /// Its version.
        found: i64,
        /// The latest known here.
        known: i64,
    },
    /// No room.
    #[error("the disk is full, so nothing was changed; make room and do it again")]
    Full,
    /// It can't be written.
    #[error(
        "it may not be written, so nothing was changed; allow writing to the file and its folder"
    )]
    ReadOnly,
    /// The system refused.
    #[error("{0}; check the path and the disk")]
    Io(io::Error),
    /// Anything else the database says.
    #[error("the database says: {0}; check the disk, then `legraise book check`")]
    Sqlite(rusqlite::Error),
    /// No such client.
    #[error("no client {0:?}; look with `legraise client find`")]
    NoClient(String),
    /// Several clients.
    #[error("{asked:?} may be {}; give the code", .codes.join(" or "))]
    ManyClients {
        /// What was asked for.
        asked: String,
        /// Whom it may mean.
        codes: Vec<String>,
    },
    /// A code that is used.
    #[error("client {0} is there already; take another code, or edit that client")]
    CodeTaken(String),
    /// No such visit.
    #[error("client {client} has no visit {session:?}; look with `legraise client show {client}`")]
    NoVisit {
        /// Whose.
        client: String,
        /// Its label.
        session: String,
    },
    /// A visit that is there.
    #[error(
        "client {client} has a visit {session} already; take another label, or go on with that visit"
    )]
    VisitTaken {
        /// Whose.
        client: String,
        /// Its label.
        session: String,
    },
    /// No such round.
    #[error("no round {0}; add it with `legraise visit take`")]
    NoRound(String),
    /// No such raise.
    #[error("round {recording} has no raise {number}, it has {count}; count from 1")]
    NoRaise {
        /// The round.
        recording: String,
        /// As asked, from 1.
        number: usize,
        /// How many there are.
        count: usize,
    },
    /// A value that can't be.
    #[error("{field} is {value:?}, expected {expected}; correct it")]
    Value {
        /// Of what.
        field: &'static str,
        /// As given.
        value: String,
        /// What would do.
        expected: &'static str,
    },
    /// A change of something kept, without a reason.
    #[error("{field} would be changed without a reason; say why with --because")]
    NoReason {
        /// What.
        field: &'static str,
    },
    /// Consent is missing or was taken back.
    #[error("{0}")]
    Consent(super::consent::ConsentFault),
}

impl StoreErrorKind {
    /// Sorts what the database says.
    pub(super) fn of(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::Full,
            Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                Self::ReadOnly
            }
            Some(ErrorCode::DatabaseCorrupt) => Self::Damaged {
                what: "a page is not as it was written".to_owned(),
            },
            Some(ErrorCode::NotADatabase) => Self::Damaged {
                what: "a page does not pass its check".to_owned(),
            },
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Held {
                who: "a database tool".to_owned(),
            },
            _ => Self::Sqlite(error),
        }
    }

    pub(super) fn of_io(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::StorageFull
            | io::ErrorKind::QuotaExceeded
            | io::ErrorKind::FileTooLarge => Self::Full,
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly,
            _ => Self::Io(error),
        }
    }
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.path.display(), self.kind)
    }
}

impl std::error::Error for StoreError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match &self.kind {
            StoreErrorKind::Io(e) => Some(e),
            StoreErrorKind::Sqlite(e) => Some(e),
            _ => None,
        }
    }
}

/// Adds where it happened.
pub(super) fn at(path: &Path) -> impl Fn(StoreErrorKind) -> StoreError + '_ {
    |kind| StoreError {
        path: path.to_owned(),
        kind,
    }
}

/// Errors inside of the store have no place yet.
pub(super) type Inner<T> = Result<T, StoreErrorKind>;

impl From<rusqlite::Error> for StoreErrorKind {
    fn from(error: rusqlite::Error) -> Self {
        Self::of(error)
    }
}
