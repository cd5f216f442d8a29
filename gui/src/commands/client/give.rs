//! `legraise client give`: everything about one client, in one folder and one step.

use std::io::Write;
use std::path::Path;

use casebook::store::Store;

use crate::book;
use crate::error::CommandError;

/// Writes the folder, and says what to do with it.
pub(super) fn run(
    store: &Store,
    client: &str,
    folder: &Path,
    data: Option<&Path>,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let code = store.code_of(client)?;
    let root = book::data_folder(store, data)?;
    let recordings = if book::give(store, &code, folder, &root)? {
        "record, raises and recordings"
    } else {
        "record and raises; no recordings were found"
    };
    writeln!(
        out,
        "{}: {recordings} of {code}. It names the client and isn't encrypted: hand it over, then erase it here",
        folder.display()
    )
    .map_err(CommandError::Output)
}
