//! What a profile says is to be written and read, done.

use std::time::Duration;

use tokio::sync::mpsc;
use tokio::time::timeout;

use super::air::{Note, Unit, limit, within};
use super::error::BleError;
use crate::profile::{Expect, Profile, Uuid, When, WriteStep};

/// Answers that may wait for the step that expects them.
pub(super) const ANSWERS_COUNT_MAX: usize = 64;

/// A device, and how it is told and asked.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hand<'a, U> {
    pub(super) unit: &'a U,
    /// For messages.
    pub(super) name: &'a str,
    pub(super) profile: &'a Profile,
    pub(super) rate_hz: f64,
}

impl<U: Unit> Hand<'_, U> {
    /// Does all writes of an occasion in order, each once its answer has come. What is read again on the way goes to
    /// `reads`.
    pub(super) async fn perform(
        &self,
        when: When,
        answers: &mut mpsc::Receiver<Note>,
        reads: &mpsc::Sender<Note>,
    ) -> Result<(), BleError> {
        for step in self.profile.writes_when(when) {
            while answers.try_recv().is_ok() {}
            let bytes = self.write(step).await?;
            if let Some(expect) = &step.expect {
                self.answer(expect, &bytes, answers).await?;
            }
            if step.sets_rate() {
                for note in self.read_all().await? {
                    // Nobody to read them: the session is at its end.
                    drop(reads.send(note).await);
                }
            }
        }
        Ok(())
    }

    /// One write; gives what was written.
    pub(super) async fn write(&self, step: &WriteStep) -> Result<Vec<u8>, BleError> {
        let bytes = step.bytes(&self.profile.rate, self.rate_hz);
        let bytes = bytes.map_err(|fault| BleError::Refused {
            doing: format!("{}: writing", self.name),
            said: fault.to_string(),
        })?;
        let written = self.unit.write(step.to, &bytes, step.with_response);
        let written = within(limit::WRITE, written).await;
        written.map_err(|fault| {
            let doing = format!("writing {}", hex(&bytes));
            BleError::of_device(self.name, &doing, fault)
        })?;
        Ok(bytes)
    }

    async fn answer(
        &self,
        expect: &Expect,
        written: &[u8],
        answers: &mut mpsc::Receiver<Note>,
    ) -> Result<(), BleError> {
        let mut found = None;
        let awaited = async {
            while let Some(note) = answers.recv().await {
                if note.from == expect.from && note.bytes.starts_with(&expect.prefix) {
                    return true;
                }
                if note.from == expect.from {
                    found = Some(hex(&note.bytes));
                }
            }
            false
        };
        let limit = Duration::from_millis(u64::from(expect.timeout_ms));
        if timeout(limit, awaited).await.unwrap_or(false) {
            return Ok(());
        }
        Err(BleError::Unanswered {
            device: self.name.to_owned(),
            written: hex(written),
            expected: hex(&expect.prefix),
            found,
        })
    }

    /// The values the profile needs, each characteristic once.
    pub(super) async fn read_all(&self) -> Result<Vec<Note>, BleError> {
        let mut notes: Vec<Note> = Vec::new();
        for step in &self.profile.reads {
            if notes.iter().any(|note| note.from == step.from) {
                continue;
            }
            let bytes = within(limit::READ, self.unit.read(step.from)).await;
            let bytes = bytes.map_err(|fault| {
                BleError::of_device(self.name, &format!("reading {}", step.name), fault)
            })?;
            notes.push(Note {
                from: step.from,
                bytes,
            });
        }
        Ok(notes)
    }

    /// Subscribes to all that are given, each once.
    pub(super) async fn subscribe(&self, all: &[Uuid]) -> Result<(), BleError> {
        for from in all {
            let subscribed = within(limit::SUBSCRIBE, self.unit.subscribe(*from)).await;
            subscribed.map_err(|fault| BleError::of_device(self.name, "subscribing", fault))?;
        }
        Ok(())
    }
}

/// What must be listened to for the answers of some occasions, each once.
pub(super) fn answering(profile: &Profile, occasions: &[When]) -> Vec<Uuid> {
    let mut found = Vec::new();
    for step in &profile.writes {
        if let Some(expect) = &step.expect
            && occasions.contains(&step.when)
            && !found.contains(&expect.from)
        {
            found.push(expect.from);
        }
    }
    found
}

/// Two digits a byte.
fn hex(bytes: &[u8]) -> String {
    let digits: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    digits.join(" ")
}
