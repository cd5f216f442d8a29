//! Clients that go: one of two entries of a person, and one who is to be forgotten.

use std::path::{Path, PathBuf};

use casebook::store::Store;
use sensor::bids::{erase_person, recordings_of};
use sensor::journal::left_over;

use super::{BookFault, why};
use crate::error::CommandError;

/// What is gone of a client, and what isn't.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Forgotten {
    /// Recordings that were there.
    pub(crate) count: usize,
    /// What still lies there under the code.
    pub(crate) left: Vec<PathBuf>,
}

/// Makes the second client part of the first, in the casebook and on disk. So many recordings moved.
pub(crate) fn merge(
    store: &Store,
    [kept, former]: [&str; 2],
    root: &Path,
    because: &str,
) -> Result<usize, CommandError> {
    for code in [kept, former] {
        no_journal(root, code)?;
    }
    let mut on_disk = recordings_of(root, kept);
    on_disk.extend(recordings_of(root, former));
    let moves = store.merge(kept, former, root, &on_disk, why(because))?;
    Ok(moves.len())
}

/// A run that goes on, or was killed, would keep its former name.
fn no_journal(root: &Path, code: &str) -> Result<(), CommandError> {
    let folder = root.join(format!("sub-{code}"));
    let mut journals = left_over(root).into_iter();
    match journals.find(|path| path.starts_with(&folder)) {
        Some(path) => Err(BookFault::Journal(path).into()),
        None => Ok(()),
    }
}

/// Erases a client. Only the code names one: nobody is to be erased by a word that happens to fit.
pub(crate) fn forget(store: &Store, code: &str, root: &Path) -> Result<Forgotten, CommandError> {
    let count = recordings_of(root, code).len();
    // The recordings first: as long as they are there, the casebook knows whose they are.
    let left = if root.exists() {
        erase_person(root, code)?
    } else {
        Vec::new()
    };
    store.forget(code)?;
    Ok(Forgotten { count, left })
}
