//! A run that was killed becomes a recording: rebuilt, written, and only then its journal removed.

use std::fs;
use std::path::{Path, PathBuf};

use super::error::{JournalError, JournalErrorKind, Problem};
use super::read::{REBUILT, left_over, rebuild};
use super::{fail, write_error};
use crate::RecordingId;
use crate::bids::{RunFiles, WriteErrorKind, free_run_label, write_run};

/// A run that was brought back.
#[derive(Clone, Debug, PartialEq)]
pub struct Recovered {
    /// The journal it was in.
    pub journal: PathBuf,
    /// The recording it is now.
    pub id: RecordingId,
    /// Whether the recording had been written before, and only the journal was left.
    pub was_written: bool,
    /// What was odd.
    pub problems: Vec<Problem>,
}

/// Brings back every run of a data set that was killed. One that can't be is told and stays as it is.
pub fn recover_all(root: &Path) -> Vec<Result<Recovered, JournalError>> {
    let paths = left_over(root);
    paths.iter().map(|path| recover(root, path)).collect()
}

/// Brings back the run of one journal.
pub fn recover(root: &Path, path: &Path) -> Result<Recovered, JournalError> {
    let rebuilt = match rebuild(path) {
        Err(e) if matches!(e.kind, JournalErrorKind::NoSamples) => {
            // Nothing is lost with it, and it would be told again at each start.
            fs::remove_file(path).map_err(|e| fail(path)(JournalErrorKind::Io(e)))?;
            return Err(e);
        }
        rebuilt => rebuilt?,
    };
    let mut run = rebuilt.run;
    let there = RunFiles::in_set(root, &run.id);
    let was_written = there.is_some_and(|files| run.tracks.len() <= files.motions.len());
    let before = run.marks.clone();
    if was_written {
        run.marks.retain(|mark| mark.value != REBUILT);
    }
    match write_run(root, &run) {
        Err(e) if matches!(e.kind, WriteErrorKind::Exists) => {
            // Another recording has taken its name.
            run.id.run = Some(free_run_label(root, &run.id));
            run.marks = before;
            write_run(root, &run)
        }
        written => written,
    }
    .map_err(write_error(path))?;
    fs::remove_file(path).map_err(|e| fail(path)(JournalErrorKind::Io(e)))?;
    Ok(Recovered {
        journal: path.to_owned(),
        id: run.id,
        was_written,
        problems: rebuilt.problems,
    })
}

#[cfg(test)]
mod tests {
    use super::super::Journal;
    use super::*;
    use crate::bids::{find_runs, read_run};
    use crate::event::Event;
    use crate::synthetic::{Scenario, Sending, live_events, simulate};
    use crate::{Heading, assemble};

    fn sent() -> (Heading, Vec<Event>) {
        let mut run = simulate(&Scenario::slow(4)).run;
        run.id = RecordingId {
            subject: Some("trial".into()),
            session: Some("01".into()),
            task: "legraise".into(),
            run: Some("01".into()),
            ..RecordingId::default()
        };
        live_events(&run, &Sending::usual())
    }

    fn killed(root: &Path, heading: &Heading, events: &[Event]) {
        let mut journal = Journal::create(root, heading).unwrap();
        for event in events {
            journal.append(event, event.at()).unwrap();
        }
    }

    #[test]
    fn a_killed_run_is_written_and_says_so() {
        let (heading, events) = sent();
        let folder = tempfile::tempdir().unwrap();
        killed(folder.path(), &heading, &events[..events.len() / 2]);
        let back = recover_all(folder.path());
        let [Ok(back)] = back.as_slice() else {
            panic!("{back:?}")
        };
        assert!(!back.was_written && back.problems.is_empty());
        let runs = find_runs(folder.path()).unwrap();
        let run = read_run(&runs[0]).unwrap().run;
        assert!(run.marks.iter().any(|mark| mark.value == REBUILT));
        assert!(recover_all(folder.path()).is_empty());
    }

    #[test]
    fn a_run_that_was_written_just_before_stays_as_it_was() {
        let (heading, events) = sent();
        let folder = tempfile::tempdir().unwrap();
        killed(folder.path(), &heading, &events);
        write_run(folder.path(), &assemble(&heading, &events).run).unwrap();
        let back = recover_all(folder.path());
        assert!(back.iter().all(|b| b.as_ref().is_ok_and(|b| b.was_written)));
        let run = read_run(&find_runs(folder.path()).unwrap()[0]).unwrap().run;
        assert!(run.marks.iter().all(|mark| mark.value != REBUILT));
    }

    #[test]
    fn a_name_that_was_taken_since_is_not_written_over() {
        let (heading, events) = sent();
        let folder = tempfile::tempdir().unwrap();
        killed(folder.path(), &heading, &events);
        let mut other = assemble(&heading, &events).run;
        for track in &mut other.tracks {
            track.samples.truncate(500);
            track.stamps.truncate(500);
        }
        write_run(folder.path(), &other).unwrap();
        let back = recover_all(folder.path());
        let names = back.iter().map(|b| b.as_ref().unwrap().id.run.clone());
        assert_eq!(names.collect::<Vec<_>>(), [Some("02".to_owned())]);
        assert_eq!(find_runs(folder.path()).unwrap().len(), 2);
    }

    #[test]
    fn a_journal_without_samples_is_told_once_and_removed() {
        let (heading, _) = sent();
        let folder = tempfile::tempdir().unwrap();
        killed(folder.path(), &heading, &[]);
        let back = recover_all(folder.path());
        assert!(matches!(&back[..], [Err(e)] if matches!(e.kind, JournalErrorKind::NoSamples)));
        assert!(left_over(folder.path()).is_empty());
    }
}
