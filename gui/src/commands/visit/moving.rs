//! `legraise visit move`: a recording made under the wrong client.

use std::io::Write;

use casebook::store::Store;

use crate::args::VisitCommand;
use crate::book::{self, Moving};
use crate::error::CommandError;

/// Gives it to the right client.
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
    let code = store.code_of(client)?;
    let root = book::data_folder(store, data.as_deref())?;
    let recording = format!("sub-{code}/ses-{visit}/run-{run}");
    let wanted = Moving {
        code,
        visit: visit.clone(),
        run: run.clone(),
        to: store.code_of(to)?,
        to_visit: to_visit.clone(),
    };
    let target = book::move_recording(store, &root, &wanted, because)?;
    book::finish_moves(store, err)?;
    writeln!(out, "{recording}: now {target}").map_err(CommandError::Output)
}
