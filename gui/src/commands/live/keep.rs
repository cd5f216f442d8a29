//! A live run is journalled as it comes, and written as a recording at its end.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use sensor::bids::{DataSet, create, free_run_label, write_run};
use sensor::journal::{Journal, JournalError, path_of};
use sensor::{Event, Heading, HostTime, RecordingId, assemble};

use super::super::simulate::is_free;
use crate::error::CommandError;

/// What keeps a run.
pub(super) struct Keeper {
    root: PathBuf,
    is_new: bool,
    journal: Journal,
    events: Vec<Event>,
    has_told: bool,
}

impl Keeper {
    /// Gives the run a name that is free and begins its journal.
    pub(super) fn create(root: &Path, heading: &mut Heading) -> Result<Self, CommandError> {
        let is_new = is_free(root).map_err(|source| CommandError::Folder {
            path: root.to_owned(),
            source,
        })?;
        let mut id = RecordingId {
            subject: Some("trial".to_owned()),
            session: Some("01".to_owned()),
            task: "legraise".to_owned(),
            ..RecordingId::default()
        };
        let mut label = free_run_label(root, &id);
        id.run = Some(label.clone());
        // The journal of a run that was killed keeps its number.
        while path_of(root, &id).exists() {
            label = format!(
                "{:02}",
                label.parse().map_or(1, |n: u32| n.saturating_add(1))
            );
            id.run = Some(label.clone());
        }
        heading.id = id;
        Ok(Self {
            root: root.to_owned(),
            is_new,
            journal: Journal::create(root, heading)?,
            events: Vec::new(),
            has_told: false,
        })
    }

    /// Keeps an event. What the journal can't keep is still written at the end.
    pub(super) fn keep(&mut self, event: Event, err: &mut dyn Write) {
        let kept = self.journal.append(&event, event.at());
        self.told(kept, err);
        self.events.push(event);
    }

    /// To be called at least twice a second.
    pub(super) fn tick(&mut self, now: HostTime, err: &mut dyn Write) {
        let kept = self.journal.tick(now);
        self.told(kept, err);
    }

    fn told(&mut self, kept: Result<(), JournalError>, err: &mut dyn Write) {
        if let Err(e) = kept
            && !self.has_told
        {
            self.has_told = true;
            drop(writeln!(err, "{e}")); // the run goes on, told or not
        }
    }

    /// Writes the recording; only then is the journal removed.
    pub(super) fn finish(self, heading: &Heading, err: &mut dyn Write) -> Result<(), CommandError> {
        let journal = self.journal.path().to_owned();
        let run = assemble(heading, &self.events).run;
        let written = if self.is_new {
            create(&self.root, &DataSet::default())
        } else {
            Ok(())
        };
        let root = self.root.display();
        if let Err(e) = written.and_then(|()| write_run(&self.root, &run)) {
            drop(writeln!(
                err,
                "{}: what came is kept here",
                journal.display()
            )); // the error itself is told below
            return Err(e.into());
        }
        drop(self.journal); // its lock goes with it
        fs::remove_file(&journal).map_err(|source| CommandError::Folder {
            path: journal,
            source,
        })?;
        drop(writeln!(err, "{root}: recorded {}", run.id)); // it lies there, told or not
        Ok(())
    }
}
