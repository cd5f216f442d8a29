//! Clients that go: one of two entries of a person, and one who is to be forgotten.

use std::io::Write;
use std::path::Path;

use casebook::store::Store;
use sensor::bids::{erase_person, recordings_of};
use sensor::journal::left_over;

use crate::book::{self, BookFault};
use crate::error::CommandError;

/// Makes the second client part of the first, in the casebook and on disk.
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
    for code in [&kept, &former] {
        no_journal(&root, code)?;
    }
    let mut on_disk = recordings_of(&root, &kept);
    on_disk.extend(recordings_of(&root, &former));
    let moves = store.merge(&kept, &former, &root, &on_disk, book::why(because))?;
    book::finish_moves(store, err)?;
    writeln!(
        out,
        "{former}: now part of {kept}, recordings moved {}. Angles that other programs worked out are to be worked out again",
        moves.len()
    )
    .map_err(CommandError::Output)
}

/// A run that goes on, or was killed, would keep its former name.
pub(super) fn no_journal(root: &Path, code: &str) -> Result<(), CommandError> {
    let folder = root.join(format!("sub-{code}"));
    let mut journals = left_over(root).into_iter();
    match journals.find(|path| path.starts_with(&folder)) {
        Some(path) => Err(BookFault::Journal(path).into()),
        None => Ok(()),
    }
}

/// Erases a client. Only the code names one: nobody is to be erased by a word that happens to fit.
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
    // The recordings first: as long as they are there, the casebook knows whose they are.
    let left = if root.exists() {
        erase_person(&root, code)?
    } else {
        Vec::new()
    };
    store.forget(code)?;
    let mut lines = vec![format!(
        "{code}: erased, recordings {count} and all the casebook knew."
    )];
    lines.push(
        "Not reached from here: backups of the casebook and of the recordings, casebooks put aside by a restore, what was \
         exported, handed over, printed or sent, and what the disk itself still holds of erased files (encrypt the disk)."
            .to_owned(),
    );
    let still = left
        .iter()
        .map(|path| format!("Still there: {}", path.display()));
    lines.extend(still);
    writeln!(out, "{}", lines.join("\n")).map_err(CommandError::Output)
}
