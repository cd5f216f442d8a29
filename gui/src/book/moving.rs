//! A recording made under the wrong client goes to the right one.

use std::collections::BTreeSet;
use std::path::Path;

use casebook::store::{Move, Store};
use sensor::RecordingId;
use sensor::bids::recordings_of;

use super::{BookFault, why};
use crate::error::CommandError;

/// A run, and whose it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Moving {
    /// Whose it is said to be.
    pub(crate) code: String,
    /// At which visit.
    pub(crate) visit: String,
    /// Its number, as `01`.
    pub(crate) run: String,
    /// Whose it really is.
    pub(crate) to: String,
    /// At which visit of theirs; that of the same day, or a new one, without.
    pub(crate) to_visit: Option<String>,
}

/// Gives the recording, and copies of the flat recordings that calibrate it, to the right client, in the casebook. On disk
/// they follow by [`super::finish_moves`]. What it is called now.
pub(crate) fn move_recording(
    store: &Store,
    root: &Path,
    wanted: &Moving,
    because: &str,
) -> Result<RecordingId, CommandError> {
    let Moving {
        code,
        visit,
        run,
        to: new,
        to_visit,
    } = wanted;
    let nothing = |what: &str| BookFault::Nothing {
        client: code.clone(),
        session: visit.clone(),
        what: what.to_owned(),
    };
    let from = id_of(&format!("sub-{code}/ses-{visit}/run-{run}"));
    let from = from.ok_or_else(|| nothing("no such run; name its number, as 01"))?;
    let (here, there) = (recordings_of(root, code), recordings_of(root, new));
    if !here.contains(&from) {
        return Err(nothing(
            "this run isn't on disk, so it can't be moved; name its number, as 01",
        )
        .into());
    }
    let session = match to_visit {
        Some(label) => label.clone(),
        None => same_day(store, code, visit, new)?,
    };
    let kept: Vec<RecordingId> = match store.visit(new, &session) {
        Ok(visit) => visit
            .rounds
            .iter()
            .filter_map(|r| id_of(&r.recording))
            .collect(),
        Err(_) => Vec::new(),
    };
    let target = RecordingId {
        subject: Some(new.clone()),
        session: Some(session.clone()),
        task: from.task.clone(),
        acquisition: None,
        run: Some(free_run(there.iter().chain(&kept), &session, &from.task)),
    };
    let mut moves = vec![Move {
        from: from.clone(),
        to: target.clone(),
        is_copy: false,
    }];
    moves.extend(flats(&here, visit, &there, (new, &session)));
    store.move_round(root, &moves, why(because))?;
    Ok(target)
}

/// The parts of a kept recording's name.
pub(crate) fn id_of(recording: &str) -> Option<RecordingId> {
    let mut id = RecordingId {
        task: "legraise".to_owned(),
        ..RecordingId::default()
    };
    for part in recording.split('/') {
        let (key, label) = part.split_once('-')?;
        let label = Some(label.to_owned());
        match key {
            "sub" => id.subject = label,
            "ses" => id.session = label,
            "acq" => id.acquisition = label,
            "run" => id.run = label,
            _ => return None,
        }
    }
    Some(id)
}

/// Copies of the flat recordings that calibrate a run: without them its results would be others. Where the other visit has
/// its own, those calibrate.
fn flats(
    here: &[RecordingId],
    visit: &str,
    there: &[RecordingId],
    (code, session): (&str, &str),
) -> Vec<Move> {
    let of = |ids: &[RecordingId], session: &str| -> Vec<RecordingId> {
        let flats = ids.iter().filter(|id| id.task == "flat");
        flats
            .filter(|id| id.session.as_deref() == Some(session))
            .cloned()
            .collect()
    };
    if !of(there, session).is_empty() {
        return Vec::new();
    }
    let copy = |from: RecordingId| Move {
        to: RecordingId {
            subject: Some(code.to_owned()),
            session: Some(session.to_owned()),
            ..from.clone()
        },
        from,
        is_copy: true,
    };
    of(here, visit).into_iter().map(copy).collect()
}

/// The other client's visit of the same day, or a new label.
fn same_day(store: &Store, code: &str, visit: &str, new: &str) -> Result<String, CommandError> {
    let date = store.visit(code, visit)?.date;
    for label in store.sessions(new)? {
        if store.visit(new, &label)?.date == date {
            return Ok(label);
        }
    }
    super::next_label(store, new)
}

/// The number after the highest of a visit's runs, two digits.
fn free_run<'a>(ids: impl Iterator<Item = &'a RecordingId>, session: &str, task: &str) -> String {
    let runs: BTreeSet<u32> = ids
        .filter(|id| id.session.as_deref() == Some(session) && id.task == task)
        .filter_map(|id| id.run.as_ref()?.parse().ok())
        .collect();
    format!("{:02}", runs.last().map_or(1, |n| n.saturating_add(1)))
}
