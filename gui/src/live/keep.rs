//! The journal thread: events are kept as they come, and written as a recording at the end.

use std::fs;
use std::io;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::thread::{Builder, JoinHandle};
use std::time::Duration;

use sensor::bids::{free_run_label, write_run};
use sensor::journal::{Journal, JournalError, path_of, recover_all};
use sensor::live::RunClock;
use sensor::{Assembled, Event, Heading, RecordingId, assemble};

use super::plan::Visit;
use crate::error::CommandError;
use crate::wording;

/// Events that may wait for the disk: a minute and a half of four sensors at 200 Hz with a packet a sample.
const QUEUE_MAX: usize = 1 << 16;
/// Sentences of the thread that may wait.
const TOLD_MAX: usize = 64;
/// Between two looks whether something is to be synced.
const TICK: Duration = Duration::from_millis(200);

/// The journal thread of a run.
pub(super) struct Keeper {
    queue: SyncSender<Event>,
    thread: JoinHandle<Result<Option<RecordingId>, CommandError>>,
    told: Receiver<String>,
}

/// What belongs to the thread.
struct Keeping {
    visit: Visit,
    heading: Heading,
    journal: Journal,
    /// What the journal didn't take, so that it can still be written.
    refused: Vec<Event>,
    told: SyncSender<String>,
}

/// Brings back runs of a data set that were killed. A sentence for each.
pub(super) fn bring_back(visit: &Visit) -> Vec<String> {
    let root = visit.root.display();
    let mut told = Vec::new();
    for back in recover_all(&visit.root) {
        match back {
            Ok(back) => {
                told.push(wording::brought_back(&root.to_string(), &back));
                told.extend(back.problems.iter().map(ToString::to_string));
            }
            Err(e) => told.push(e.to_string()),
        }
    }
    told
}

impl Keeper {
    /// Gives the run a name that is free, and begins its journal: what is in the heading then outlasts a power cut.
    pub(super) fn create(
        visit: &Visit,
        heading: &mut Heading,
        clock: RunClock,
    ) -> Result<Self, CommandError> {
        let mut id = visit.id(&heading.id.task);
        let mut label = free_run_label(&visit.root, &id);
        id.run = Some(label.clone());
        // The journal of a run that couldn't be brought back keeps its number.
        while path_of(&visit.root, &id).exists() {
            let next = label.parse().map_or(1, |n: u32| n.saturating_add(1));
            label = format!("{next:02}");
            id.run = Some(label.clone());
        }
        heading.id = id;
        let (told, sentences) = sync_channel(TOLD_MAX);
        let keeping = Keeping {
            visit: visit.clone(),
            heading: heading.clone(),
            journal: Journal::create(&visit.root, heading)?,
            refused: Vec::new(),
            told,
        };
        let (queue, events) = sync_channel(QUEUE_MAX);
        let thread = Builder::new()
            .name("journal".to_owned())
            .spawn(move || keeping.keep(&events, clock))
            .map_err(CommandError::Thread)?;
        Ok(Self {
            queue,
            thread,
            told: sentences,
        })
    }

    /// Keeps an event. Comes back at once, unless the disk has stood still for very long: then waiting is better
    /// than losing.
    pub(super) fn keep(&self, event: Event) {
        drop(self.queue.send(event)); // a thread that is gone is told at the end
    }

    /// What the thread had to say meanwhile.
    pub(super) fn told(&self) -> impl Iterator<Item = String> + '_ {
        self.told.try_iter()
    }

    /// Writes the recording; only then is the journal removed. `None` if no sensor sent anything.
    pub(super) fn finish(self) -> (Result<Option<RecordingId>, CommandError>, Vec<String>) {
        drop(self.queue);
        let ended = self.thread.join();
        let gone = || CommandError::Thread(io::Error::other("the journal thread has failed"));
        (
            ended.unwrap_or_else(|_| Err(gone())),
            self.told.try_iter().collect(),
        )
    }
}

impl Keeping {
    fn keep(
        mut self,
        events: &Receiver<Event>,
        clock: RunClock,
    ) -> Result<Option<RecordingId>, CommandError> {
        loop {
            match events.recv_timeout(TICK) {
                Ok(event) => {
                    if let Err(e) = self.journal.append(&event, clock.now()) {
                        self.tell_first(&e);
                        self.refused.push(event);
                    }
                }
                Err(RecvTimeoutError::Timeout) => {
                    if let Err(e) = self.journal.tick(clock.now()) {
                        self.tell_first(&e);
                    }
                }
                Err(RecvTimeoutError::Disconnected) => return self.write(),
            }
        }
    }

    /// One sentence is enough: the run goes on.
    fn tell_first(&self, e: &JournalError) {
        if self.refused.is_empty() {
            self.tell(e.to_string());
        }
    }

    fn tell(&self, text: String) {
        drop(self.told.try_send(text)); // told or not, what came is written
    }

    fn write(mut self) -> Result<Option<RecordingId>, CommandError> {
        let path = self.journal.path().to_owned();
        let kept = |e: CommandError| {
            let kept = format!("{}: what came is kept here", path.display());
            CommandError::NotWritten(kept, Box::new(e))
        };
        let mut events = self.journal.contents().map_err(|e| kept(e.into()))?.events;
        events.append(&mut self.refused);
        events.sort_by_key(Event::at);
        let made = assemble(&self.heading, &events);
        for text in wording::of_sensors(&self.heading, &made) {
            self.tell(text);
        }
        let Assembled { run, .. } = made;
        if run.tracks.is_empty() {
            self.journal.remove()?;
            return Ok(None);
        }
        write_run(&self.visit.root, &run).map_err(|e| kept(e.into()))?;
        drop(self.journal); // its lock goes with it
        fs::remove_file(&path).map_err(|source| CommandError::Folder { path, source })?;
        Ok(Some(run.id))
    }
}
