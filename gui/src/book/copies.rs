//! A backup in the casebook's place.

use std::path::{Path, PathBuf};

use casebook::store::{Passphrase, StoreError, restore};
use jiff::Zoned;

/// Puts it there; where the former casebook is now, if there was one.
pub(crate) fn put_back(
    from: &Path,
    path: &Path,
    passphrase: &Passphrase,
) -> Result<Option<PathBuf>, StoreError> {
    let stamp = Zoned::now().strftime("%Y%m%dT%H%M%S").to_string();
    restore(from, path, passphrase, &stamp)
}
