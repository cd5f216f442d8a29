//! A whole run: its tracks on one clock, its marks, and how it was done.

use std::path::{Path, PathBuf};

use super::error::{Place, ReadError, ReadErrorKind};
use super::events::read_events;
use super::find::RunFiles;
use super::motion::read_motion_in;
use super::problem::{Problem, ProblemKind};
use super::sidecar::read_table;
use crate::{Conditions, Mark, Run, RunTime, Track};

/// What could be read of a run.
#[derive(Debug)]
pub struct RunRead {
    /// The run; it has at least one track.
    pub run: Run,
    /// What was odd.
    pub problems: Vec<Problem>,
    /// Files of samples that couldn't be read, while others could.
    pub unreadable: Vec<ReadError>,
}

/// Reads what can be read of a run; an error only where no track can. Times count from the earliest
/// first sample of all its tracks.
pub fn read_run(files: &RunFiles) -> Result<RunRead, ReadError> {
    let mut problems: Vec<Problem> = Vec::new();
    let mut unreadable = Vec::new();
    let mut tracks: Vec<Track> = Vec::new();
    for path in &files.motions {
        match read_motion_in(path, files.root.as_deref()) {
            Ok((read, odd)) => {
                tracks.extend(read);
                // Side files that serve several sensors would tell the same problem for each.
                for problem in odd {
                    if !problems.contains(&problem) {
                        problems.push(problem);
                    }
                }
            }
            Err(e) => unreadable.push(e),
        }
    }
    if tracks.is_empty() {
        let none = || ReadError {
            place: Place::of(&files.folder),
            kind: ReadErrorKind::NoMotion,
        };
        return Err(unreadable.into_iter().next().unwrap_or_else(none));
    }
    tracks.sort_by(|a, b| a.name.cmp(&b.name));
    let scans = scans_of(files);
    let marks = match (&files.events, &scans) {
        (Some(path), _) => read_events(path, &mut problems),
        (None, Some(_)) => {
            problems.push(Problem::of(&files.folder, ProblemKind::NoEvents));
            Vec::new()
        }
        (None, None) => Vec::new(),
    };
    let (conditions, acquired) = scans
        .map(|path| read_scans(&path, files, &mut problems))
        .unwrap_or_default();
    let mut run = Run {
        id: files.id.clone(),
        acquired,
        conditions,
        tracks,
        marks,
    };
    let events_place = Place::of(files.events.as_deref().unwrap_or(&files.folder));
    problems.extend(count_from_first(&mut run).map(|kind| Problem {
        place: events_place,
        kind,
    }));
    Ok(RunRead {
        run,
        problems,
        unreadable,
    })
}

/// Shifts a run's times so that its earliest sample is at zero.
fn count_from_first(run: &mut Run) -> Option<ProblemKind> {
    let zero = run
        .tracks
        .iter()
        .filter_map(|t| t.samples.first())
        .map(|s| s.at)
        .min()?;
    let end = run
        .tracks
        .iter()
        .filter_map(|t| t.samples.last())
        .map(|s| s.at)
        .max()?;
    if zero == RunTime::ZERO {
        return None;
    }
    let earlier = |at: RunTime| RunTime::from_ns(at.ns().saturating_sub(zero.ns()));
    for sample in run.tracks.iter_mut().flat_map(|track| &mut track.samples) {
        sample.at = earlier(sample.at);
    }
    // The standard counts onsets from the first sample. Files whose clock starts elsewhere do it so or on
    // that clock; marks that all fit only one of the two tell which.
    let fits = |from: RunTime, to: RunTime| move |mark: &Mark| (from..=to).contains(&mark.at);
    let is_from_first = !run.marks.is_empty()
        && !run.marks.iter().any(fits(zero, end))
        && run.marks.iter().all(fits(RunTime::ZERO, earlier(end)));
    if is_from_first {
        return Some(ProblemKind::EventClock);
    }
    for mark in &mut run.marks {
        mark.at = earlier(mark.at);
    }
    None
}

/// The session's list of recordings, if there is one.
fn scans_of(files: &RunFiles) -> Option<PathBuf> {
    let name = scans_name(files.id.subject.as_deref()?, files.id.session.as_deref());
    files
        .folder
        .ancestors()
        .take(3)
        .map(|folder| folder.join(&name))
        .find(|path| path.is_file())
}

/// What a session's list of recordings is called.
pub(crate) fn scans_name(subject: &str, session: Option<&str>) -> String {
    session.map_or_else(
        || format!("sub-{subject}_scans.tsv"),
        |s| format!("sub-{subject}_ses-{s}_scans.tsv"),
    )
}

/// How and when a run was done, as the rows of any of its files say.
fn read_scans(
    path: &Path,
    files: &RunFiles,
    problems: &mut Vec<Problem>,
) -> (Conditions, Option<String>) {
    let Some(table) = read_table(path, &["filename"], problems) else {
        return Default::default();
    };
    let mine: Vec<_> = table
        .rows
        .iter()
        .filter(|row| {
            let name = table
                .get(row, "filename")
                .rsplit(['/', '\\'])
                .next()
                .unwrap_or_default();
            files
                .motions
                .iter()
                .any(|motion| motion.file_name().is_some_and(|n| n == name))
        })
        .collect();
    let first = |column: &str| {
        mine.iter()
            .map(|row| table.get(row, column))
            .find(|cell| !cell.is_empty())
            .map(str::to_owned)
    };
    let conditions = Conditions {
        movement: first("movement"),
        ankle: first("ankle"),
        asked_for: first("asked_for"),
        rater: first("rater"),
    };
    (conditions, first("acq_time"))
}
