//! Clients that go, at the command line: said first what would go, done with a yes.

use std::io::Write;
use std::path::Path;

use casebook::store::Store;
use sensor::bids::recordings_of;

use crate::book;
use crate::error::CommandError;

/// What no erasing here reaches.
const NOT_REACHED: &str = "backups of the casebook and of the recordings, casebooks put aside by a restore, what was exported, handed over, \
     printed or sent, and what the disk itself still holds of erased files (encrypt the disk)";

/// Makes the second client part of the first.
pub(super) fn merge(
    store: &Store,
    [kept, former]: [&str; 2],
    because: &str,
    data: Option<&Path>,
    yes: bool,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    let (kept, former) = (store.code_of(kept)?, store.code_of(former)?);
    let root = book::data_folder(store, data)?;
    let names = (store.client(&kept)?.name, store.client(&former)?.name);
    let what = format!(
        "{former} ({}): would become part of {kept} ({})",
        names.1, names.0
    );
    book::confirmed(yes, &what)?;
    let count = book::merge(store, [&kept, &former], &root, because)?;
    book::finish_moves(store, err)?;
    writeln!(
        out,
        "{former}: now part of {kept}, recordings moved {count}. Angles that other programs worked out are to be worked out \
         again"
    )
    .map_err(CommandError::Output)
}

/// Erases a client.
pub(super) fn forget(
    store: &Store,
    code: &str,
    data: Option<&Path>,
    yes: bool,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let client = store.client(code)?;
    let root = book::data_folder(store, data)?;
    let count = recordings_of(&root, code).len();
    let what = format!(
        "{code} ({}): recordings {count}, results, identity and history would be erased for good",
        client.name
    );
    book::confirmed(yes, &what)?;
    let gone = book::forget(store, code, &root)?;
    let mut lines = vec![
        format!(
            "{code}: erased, recordings {} and all the casebook knew.",
            gone.count
        ),
        format!("Not reached from here: {}.", NOT_REACHED),
    ];
    let still = gone
        .left
        .iter()
        .map(|path| format!("Still there: {}", path.display()));
    lines.extend(still);
    writeln!(out, "{}", lines.join("\n")).map_err(CommandError::Output)
}
