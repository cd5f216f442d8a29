//! Reading a journal, whole or cut, and making its run.

use std::fs::{self, File, TryLockError};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use super::code::{get_event, get_heading};
use super::error::{JournalError, JournalErrorKind, Problem, ProblemKind};
use super::record::{Found, Records};
use super::{EXTENSION, FILE_BYTES_MAX, FIRST_LINE, SUFFIX, check, fail};
use crate::event::{Event, Loss};
use crate::{ClockReport, Heading, HostTime, Mark, MarkKind, Placement, Run, RunTime, assemble};

/// The note that a rebuilt run carries at its beginning.
pub const REBUILT: &str = "rebuilt from its journal";

/// What a journal holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Contents {
    /// What was known before the first sample.
    pub heading: Heading,
    /// In the order they came. Where a part couldn't be read, each stream has a gap of cause `journal`.
    pub events: Vec<Event>,
    /// What was odd.
    pub problems: Vec<Problem>,
}

/// A run made of its journal.
#[derive(Clone, Debug, PartialEq)]
pub struct Rebuilt {
    /// On its final clock; a note at 0 says where it comes from.
    pub run: Run,
    /// How the clock of each stream did.
    pub clocks: Vec<(Placement, ClockReport)>,
    /// What was odd.
    pub problems: Vec<Problem>,
}

/// Reads a journal that nobody writes any more, however it ends.
pub fn read(path: &Path) -> Result<Contents, JournalError> {
    let io = |e| fail(path)(JournalErrorKind::Io(e));
    let file = File::open(path).map_err(io)?;
    match file.try_lock_shared() {
        Err(TryLockError::WouldBlock) => return Err(fail(path)(JournalErrorKind::InUse)),
        Err(TryLockError::Error(e)) if e.kind() != io::ErrorKind::Unsupported => return Err(io(e)),
        _ => {}
    }
    let mut bytes = Vec::new();
    file.take(FILE_BYTES_MAX + 1)
        .read_to_end(&mut bytes)
        .map_err(io)?;
    if FILE_BYTES_MAX < bytes.len() as u64 {
        let bytes = bytes.len() as u64;
        return Err(fail(path)(JournalErrorKind::Full { bytes }));
    }
    parse(path, &bytes)
}

/// The same from bytes.
pub(super) fn parse(path: &Path, bytes: &[u8]) -> Result<Contents, JournalError> {
    if !bytes.starts_with(FIRST_LINE) {
        let is_cut = FIRST_LINE.starts_with(bytes);
        return Err(fail(path)(if is_cut {
            JournalErrorKind::NoHeading
        } else {
            JournalErrorKind::NotAJournal
        }));
    }
    let mut records = Records::new(bytes, FIRST_LINE.len());
    let heading = match records.next() {
        Some(Found::Whole { payload, .. }) => get_heading(payload).filter(|h| check(h).is_ok()),
        _ => None,
    };
    let mut contents = Contents {
        heading: heading.ok_or_else(|| fail(path)(JournalErrorKind::NoHeading))?,
        events: Vec::new(),
        problems: Vec::new(),
    };
    for found in records {
        let problem = match found {
            Found::Whole { at, payload } => match get_event(payload) {
                Some(event) => {
                    contents.events.push(event);
                    continue;
                }
                // Whole, and yet no event: of a later version of this program.
                None => ProblemKind::Damaged {
                    at: at as u64,
                    bytes: payload.len() as u64,
                },
            },
            Found::Damaged { at, bytes } => ProblemKind::Damaged {
                at: at as u64,
                bytes: bytes as u64,
            },
            Found::Torn { bytes } => ProblemKind::Torn {
                bytes: bytes as u64,
            },
        };
        if let ProblemKind::Damaged { .. } = problem {
            contents.note_damage();
        }
        contents.problems.push(Problem {
            path: path.to_owned(),
            kind: problem,
        });
    }
    Ok(contents)
}

impl Contents {
    /// Every stream may have lost something here.
    fn note_damage(&mut self) {
        let at = self.events.last().map_or(HostTime(0), Event::at);
        let gaps = self.heading.streams.iter().map(|stream| Event::Gap {
            placement: stream.placement,
            from: at,
            to: at,
            cause: Loss::Journal,
        });
        self.events.extend(gaps);
    }
}

/// Makes the run of a journal, by its final clock. The journal stays: remove it when the run is written.
pub fn rebuild(path: &Path) -> Result<Rebuilt, JournalError> {
    let contents = read(path)?;
    let made = assemble(&contents.heading, &contents.events);
    if made.run.tracks.is_empty() {
        return Err(fail(path)(JournalErrorKind::NoSamples));
    }
    let mut problems = contents.problems;
    let mut push = |kind| {
        problems.push(Problem {
            path: path.to_owned(),
            kind,
        });
    };
    for (placement, count) in made.impossible {
        push(ProblemKind::Impossible { placement, count });
    }
    for placement in made.empty {
        push(ProblemKind::Empty { placement });
    }
    if 0 < made.strayed {
        push(ProblemKind::Strayed {
            count: made.strayed,
        });
    }
    let mut run = made.run;
    run.marks.push(Mark {
        at: RunTime::ZERO,
        duration_s: None,
        kind: MarkKind::Note,
        side: None,
        value: REBUILT.to_owned(),
    });
    run.marks.sort_by_key(|m| m.at);
    Ok(Rebuilt {
        run,
        clocks: made.clocks,
        problems,
    })
}

/// The journals of a data set that nobody writes any more: their runs were broken off.
pub fn broken_off(root: &Path) -> Vec<PathBuf> {
    let is_written = |path: &PathBuf| {
        let locked = File::open(path).map(|file| file.try_lock_shared());
        matches!(locked, Ok(Err(TryLockError::WouldBlock)))
    };
    let mut paths = left_over(root);
    paths.retain(|path| !is_written(path));
    paths
}

/// The journals that lie in a data set, by name: runs that were killed, and those going on.
pub fn left_over(root: &Path) -> Vec<PathBuf> {
    let below = |folder: &Path, prefix: &str| -> Vec<PathBuf> {
        let entries = fs::read_dir(folder).into_iter().flatten().flatten();
        entries
            .filter(|e| e.file_name().to_string_lossy().starts_with(prefix))
            .map(|e| e.path())
            .collect()
    };
    let mut found = Vec::new();
    for subject in below(root, "sub-") {
        let mut folders = below(&subject, "ses-");
        folders.push(subject);
        for folder in folders {
            let ending = format!("_{SUFFIX}.{EXTENSION}");
            let hidden = below(&folder.join("motion"), ".sub-").into_iter();
            found.extend(hidden.filter(|path| path.to_string_lossy().ends_with(&ending)));
        }
    }
    found.sort();
    found
}
