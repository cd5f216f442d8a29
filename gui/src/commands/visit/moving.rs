//! `legraise visit move`: a recording made under the wrong client.

use std::collections::BTreeSet;
use std::io::Write;

use casebook::store::{Move, Store};
use sensor::RecordingId;
use sensor::bids::recordings_of;

use super::taking::id_of;
use crate::args::VisitCommand;
use crate::book::{self, BookFault};
use crate::error::CommandError;

/// Gives the recording, and copies of the flat recordings that calibrate it, to the right client.
pub(super) fn run(
    store: &Store,
    command: &VisitCommand,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    let VisitCommand::Move {
        client,
        visit,
        run,
        to,
        to_visit,
        because,
        data,
    } = command
    else {
        return Ok(());
    };
    let (code, new) = (store.code_of(client)?, store.code_of(to)?);
    let root = book::data_folder(store, data.as_deref())?;
    let recording = format!("sub-{code}/ses-{visit}/run-{run}");
    let nothing = |what: &str| BookFault::Nothing {
        client: code.clone(),
        session: visit.clone(),
        what: what.to_owned(),
    };
    let from = id_of(&recording).ok_or_else(|| nothing("no such run; name its number, as 01"))?;
    let (here, there) = (recordings_of(&root, &code), recordings_of(&root, &new));
    if !here.contains(&from) {
        return Err(nothing(
            "this run isn't on disk, so it can't be moved; name its number, as 01",
        )
        .into());
    }
    let session = match to_visit {
        Some(label) => label.clone(),
        None => same_day(store, &code, visit, &new)?,
    };
    let at = |task: &str, run: String| RecordingId {
        subject: Some(new.clone()),
        session: Some(session.clone()),
        task: task.to_owned(),
        acquisition: None,
        run: Some(run),
    };
    let kept: Vec<RecordingId> = match store.visit(&new, &session) {
        Ok(visit) => visit
            .rounds
            .iter()
            .filter_map(|r| id_of(&r.recording))
            .collect(),
        Err(_) => Vec::new(),
    };
    let target = at(
        &from.task,
        free_run(there.iter().chain(&kept), &session, &from.task),
    );
    let mut moves = vec![Move {
        from: from.clone(),
        to: target.clone(),
        is_copy: false,
    }];
    moves.extend(flats(&here, visit, &there, (&new, &session)));
    store.move_round(&root, &moves, book::why(because))?;
    book::finish_moves(store, err)?;
    writeln!(out, "{recording}: now {target}").map_err(CommandError::Output)
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
    crate::book::next_label(store, new)
}

/// The number after the highest of a visit's runs, two digits.
fn free_run<'a>(ids: impl Iterator<Item = &'a RecordingId>, session: &str, task: &str) -> String {
    let runs: BTreeSet<u32> = ids
        .filter(|id| id.session.as_deref() == Some(session) && id.task == task)
        .filter_map(|id| id.run.as_ref()?.parse().ok())
        .collect();
    format!("{:02}", runs.last().map_or(1, |n| n.saturating_add(1)))
}
