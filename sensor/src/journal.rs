//! The journal of a run: its raw events, kept as they come, so that a run killed at any point is rebuilt.
//!
//! One hidden file beside the recording, `.sub-…_run-…_journal.bin`. Its first line says what it is; then
//! come records with length, number and checksum, the first of which is the heading. Binary, not text:
//! numbers come back as the same bits without care, five sensors at 200 Hz make some 65 kB/s instead of
//! 200, and a sample is kept within a microsecond or two. What text would give, going on after a damaged
//! line, is had from the marker before each record: damage costs the records it hits. Every record is
//! checked by itself, so that a file cut anywhere yields the events before the cut.
//!
//! Each event is handed to the system as it comes: if the program dies, nothing is lost. Events are synced
//! once the oldest unsynced one is half a second old: a power cut costs half a second and the time
//! between two calls of [`Journal::append`] or [`Journal::tick`].
//!
//! Limits: a run of four hours ([`RUN_S_MAX`](crate::RUN_S_MAX)), a file of [`FILE_BYTES_MAX`]. The
//! journal is for the owner alone, holds no identity but the pseudonym, and is removed when the run is
//! written. It reads no clock: the time is an argument.

mod code;
mod error;
mod read;
mod record;
mod recover;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_damage;

use std::collections::BTreeSet;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::bids::{
    Name, WriteError, WriteErrorKind, check_id, is_date_time, make_folder, motion_folder,
    sync_folder,
};
use crate::event::Event;
use crate::{Heading, HostTime, RecordingId};

pub use error::{JournalError, JournalErrorKind, Problem, ProblemKind};
pub use read::{Contents, REBUILT, Rebuilt, broken_off, left_over, read, rebuild};
pub use recover::{Recovered, recover, recover_all};

/// No journal may be larger: 1 GiB, four hours of five sensors at 200 Hz with a packet a sample.
pub const FILE_BYTES_MAX: u64 = 1 << 30;
/// No heading may be longer.
pub const HEADING_BYTES_MAX: usize = record::PAYLOAD_BYTES_MAX;
/// An event is synced when it is this old, ns.
const SYNC_NS: i64 = 500_000_000;
/// The first line.
const FIRST_LINE: &[u8] = b"legraise/journal/1\n";
const SUFFIX: &str = "journal";
const EXTENSION: &str = "bin";

/// Where bytes are kept for good.
pub trait Store: Write {
    /// Comes back when all that was written outlasts a power cut.
    fn sync(&mut self) -> io::Result<()>;
}

/// A file that is held against other programs.
#[derive(Debug)]
pub struct Held(File);

impl Write for Held {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

impl Store for Held {
    fn sync(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }
}

impl Drop for Held {
    /// Said, not left to closing: a child that is just being started has the file open too, and would hold it on.
    fn drop(&mut self) {
        self.0.unlock().ok(); // closing does the same a little later
    }
}

/// Where the journal of a run lies: beside its files, hidden.
pub fn path_of(root: &Path, id: &RecordingId) -> PathBuf {
    let name = Name::of(id, None, SUFFIX, EXTENSION);
    motion_folder(root, id).join(format!(".{name}"))
}

/// A journal that is being written.
#[derive(Debug)]
pub struct Journal<S: Store = Held> {
    path: PathBuf,
    store: S,
    places: BTreeSet<crate::Placement>,
    payload: code::Writer,
    record: Vec<u8>,
    next: u32,
    bytes: u64,
    /// When the oldest event that isn't synced was appended.
    unsynced: Option<HostTime>,
}

impl Journal<Held> {
    /// Creates the journal of a run in a data set, with its folder; one that is there is never touched.
    /// Comes back when the heading is safe: only then may the first sample be asked for.
    pub fn create(root: &Path, heading: &Heading) -> Result<Self, JournalError> {
        let path = path_of(root, &heading.id);
        check(heading).map_err(fail(&path))?;
        let folder = motion_folder(root, &heading.id);
        make_folder(&folder).map_err(write_error(&path))?;
        let mut options = OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let file = options.open(&path).map_err(|e| {
            fail(&path)(if e.kind() == io::ErrorKind::AlreadyExists {
                JournalErrorKind::Exists
            } else {
                JournalErrorKind::Io(e)
            })
        })?;
        // Held while the run goes on, so that no other program takes it for a run that was killed.
        match file.try_lock() {
            Err(TryLockError::Error(e)) if e.kind() != io::ErrorKind::Unsupported => {
                return Err(fail(&path)(JournalErrorKind::Io(e)));
            }
            _ => {}
        }
        let synced = Self::start(Held(file), &path, heading).and_then(|journal| {
            sync_folder(&folder).map_err(write_error(&path))?;
            Ok(journal)
        });
        if synced.is_err() {
            // Nothing is in it yet, and it would be in the way of the next attempt.
            drop(fs::remove_file(&path));
        }
        synced
    }

    /// What was kept so far, read back while the journal is still held: what the run is written from, so
    /// that a long run needs no memory.
    pub fn contents(&mut self) -> Result<Contents, JournalError> {
        self.sync()?;
        let bytes = fs::read(&self.path).map_err(|e| self.error(JournalErrorKind::Io(e)))?;
        read::parse(&self.path, &bytes)
    }

    /// Removes the journal: the run has been written.
    pub fn remove(self) -> Result<(), JournalError> {
        drop(self.store);
        fs::remove_file(&self.path).map_err(|e| fail(&self.path)(JournalErrorKind::Io(e)))
    }
}

impl<S: Store> Journal<S> {
    /// Begins a journal on any store; `path` is for messages.
    pub fn start(store: S, path: &Path, heading: &Heading) -> Result<Self, JournalError> {
        check(heading).map_err(fail(path))?;
        let mut journal = Self {
            path: path.to_owned(),
            store,
            places: heading.streams.iter().map(|s| s.placement).collect(),
            payload: code::Writer::default(),
            record: FIRST_LINE.to_vec(),
            next: 0,
            bytes: 0,
            unsynced: None,
        };
        code::put_heading(&mut journal.payload, heading);
        let bytes = journal.payload.0.len();
        if HEADING_BYTES_MAX < bytes {
            return Err(journal.error(JournalErrorKind::Heading { bytes }));
        }
        journal.write()?;
        journal.sync()?;
        Ok(journal)
    }

    /// Keeps an event. After an error the journal may be used on: what was written half is left out when
    /// it is read.
    pub fn append(&mut self, event: &Event, now: HostTime) -> Result<(), JournalError> {
        if let Err(fault) = event.check() {
            return Err(self.error(JournalErrorKind::Event(fault)));
        }
        if let Some(placement) = event.placement().filter(|p| !self.places.contains(p)) {
            return Err(self.error(JournalErrorKind::Stranger { placement }));
        }
        self.record.clear();
        self.payload.0.clear();
        code::put_event(&mut self.payload, event);
        self.write()?;
        self.unsynced.get_or_insert(now);
        self.tick(now)
    }

    /// Syncs if it is due. To be called at least twice a second, whether events come or not.
    pub fn tick(&mut self, now: HostTime) -> Result<(), JournalError> {
        match self.unsynced {
            Some(since) if SYNC_NS <= now.0.saturating_sub(since.0) => self.sync(),
            _ => Ok(()),
        }
    }

    /// Syncs now: at the end of a run, say.
    pub fn sync(&mut self) -> Result<(), JournalError> {
        self.store
            .sync()
            .map_err(|e| self.error(JournalErrorKind::Io(e)))?;
        self.unsynced = None;
        Ok(())
    }

    /// Bytes written.
    pub const fn bytes(&self) -> u64 {
        self.bytes
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes the payload as the next record, after what `record` holds already.
    fn write(&mut self) -> Result<(), JournalError> {
        record::put(&mut self.record, self.next, &self.payload.0);
        let bytes = self.bytes + self.record.len() as u64;
        if FILE_BYTES_MAX < bytes {
            return Err(self.error(JournalErrorKind::Full { bytes }));
        }
        let outcome = self.store.write_all(&self.record);
        // However much of it was written, the number is used up.
        self.next = self.next.saturating_add(1);
        self.bytes = bytes;
        outcome.map_err(|e| self.error(JournalErrorKind::Io(e)))
    }

    fn error(&self, kind: JournalErrorKind) -> JournalError {
        fail(&self.path)(kind)
    }
}

fn fail(path: &Path) -> impl Fn(JournalErrorKind) -> JournalError + '_ {
    |kind| JournalError {
        path: path.to_owned(),
        kind,
    }
}

fn write_error(path: &Path) -> impl Fn(WriteError) -> JournalError + '_ {
    |e| {
        fail(path)(match e.kind {
            WriteErrorKind::Io(e) => JournalErrorKind::Io(e),
            kind => JournalErrorKind::Id(kind),
        })
    }
}

/// What a heading must be, so that the run can be written later.
fn check(heading: &Heading) -> Result<(), JournalErrorKind> {
    check_id(&heading.id).map_err(JournalErrorKind::Id)?;
    if let Some(text) = heading.acquired.as_ref().filter(|text| !is_date_time(text)) {
        return Err(JournalErrorKind::Id(WriteErrorKind::Acquired {
            text: text.clone(),
        }));
    }
    let places: BTreeSet<_> = heading.streams.iter().map(|s| s.placement).collect();
    let count = heading.streams.len();
    if count == 0 || places.len() < count {
        return Err(JournalErrorKind::Streams {
            count,
            places: places.len(),
        });
    }
    for stream in &heading.streams {
        stream
            .timing
            .check()
            .map_err(|fault| JournalErrorKind::Timing {
                placement: stream.placement,
                fault,
            })?;
    }
    Ok(())
}
