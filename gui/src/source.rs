//! Which recordings a command is to work on, and the calibration they share.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use fusion::SessionContext;
use sensor::bids::{Found, RunFiles, read_run, search, session_of};
use sensor::journal::broken_off;

use crate::error::{CommandError, Exit};
use crate::wording;

/// What was found under the paths of a command.
#[derive(Debug)]
pub(crate) struct Sources {
    /// In the order of the paths, each path's sorted; none twice.
    pub(crate) runs: Vec<RunFiles>,
    /// What went wrong on the way, a sentence each.
    pub(crate) messages: Vec<String>,
    /// The status so far.
    pub(crate) exit: Exit,
}

/// Finds the recordings under several paths.
pub(crate) fn find(paths: &[PathBuf]) -> Sources {
    let mut sources = Sources {
        runs: Vec::new(),
        messages: Vec::new(),
        exit: Exit::Done,
    };
    let mut seen = BTreeSet::new();
    for path in paths {
        match search(path).map_err(CommandError::from) {
            Ok(Found { runs, problems }) => {
                // A folder that can't be looked into may hold recordings.
                if !problems.is_empty() {
                    sources.exit = sources.exit.max(Exit::Incomplete);
                }
                sources
                    .messages
                    .extend(problems.iter().map(ToString::to_string));
                sources.runs.extend(
                    runs.into_iter()
                        .filter(|run| paths.len() == 1 || seen.insert(identity(run))),
                );
            }
            Err(e) => {
                sources.exit = sources.exit.max(e.exit());
                sources.messages.push(e.to_string());
            }
        }
    }
    let roots: BTreeSet<&Path> = sources
        .runs
        .iter()
        .filter_map(|r| r.root.as_deref())
        .collect();
    let broken = roots.into_iter().flat_map(broken_off);
    let broken: Vec<String> = broken.map(|path| wording::broken_off(&path)).collect();
    sources.messages.extend(broken);
    sources
}

/// The same for the same files, however they were named.
fn identity(run: &RunFiles) -> Vec<PathBuf> {
    let real = |path: &PathBuf| fs::canonicalize(path).unwrap_or_else(|_| path.clone());
    run.motions.iter().map(real).collect()
}

/// Runs that follow each other and share their session's calibration.
pub(crate) fn sessions(runs: &[RunFiles]) -> Vec<&[RunFiles]> {
    fn key(run: &RunFiles) -> (&Path, Option<&str>, Option<&str>, Option<&RunFiles>) {
        // A flat recording is not calibrated by itself, and a lone file has no session.
        let is_alone = run.id.task == "flat" || run.id.subject.is_none();
        (
            &run.folder,
            run.id.subject.as_deref(),
            run.id.session.as_deref(),
            is_alone.then_some(run),
        )
    }
    runs.chunk_by(|a, b| key(a) == key(b)).collect()
}

/// What the runs of one session are analysed against, read once.
#[derive(Debug, Default)]
pub(crate) struct Session {
    /// The other recordings.
    pub(crate) context: SessionContext,
    /// What was odd about them, a sentence each.
    pub(crate) problems: Vec<String>,
}

impl Session {
    /// Reads the session's flat recordings from disk, whatever path was named. A damaged one is a problem.
    ///
    /// The analysis doesn't look at earlier runs yet, so they are not read.
    pub(crate) fn of(run: &RunFiles) -> Self {
        let mut session = Self::default();
        for files in session_of(run).flats {
            match read_run(&files) {
                Ok(read) => {
                    session
                        .problems
                        .extend(read.problems.iter().map(ToString::to_string));
                    session
                        .problems
                        .extend(read.unreadable.iter().map(ToString::to_string));
                    session.context.flats.push(read.run);
                }
                Err(e) => session.problems.push(e.to_string()),
            }
        }
        session
    }
}
