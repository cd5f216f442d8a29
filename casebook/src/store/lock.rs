//! Keeps a second program away, for as long as a casebook is open.

use std::fs::{File, TryLockError};
use std::io::{Read as _, Seek as _, Write as _};
use std::path::{Path, PathBuf};

use super::error::{Inner, StoreErrorKind};

/// Held while a casebook is open. The system lets go of it however the program ends.
#[derive(Debug)]
pub(super) struct Lock {
    file: File,
}

/// Where the lock lies: beside the casebook, hidden.
pub(super) fn path_of(book: &Path) -> PathBuf {
    let name = book.file_name().unwrap_or_default().to_string_lossy();
    book.with_file_name(format!(".{name}.lock"))
}

impl Drop for Lock {
    /// Closing the file would do, but for a program just being started by this one, which holds it open for a moment.
    fn drop(&mut self) {
        drop(self.file.unlock());
    }
}

impl Lock {
    /// Takes the lock, or says who has it. The file stays: removing it would let two programs hold one each.
    pub(super) fn take(book: &Path) -> Inner<Self> {
        let mut options = File::options();
        options.create(true).truncate(false).read(true).write(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut file = options.open(path_of(book)).map_err(StoreErrorKind::of_io)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut who = String::new();
                let read = (&mut file).take(200).read_to_string(&mut who);
                let who = who.trim();
                let is_told = read.is_ok() && !who.is_empty();
                return Err(StoreErrorKind::Held {
                    who: if is_told { who } else { "not known which" }.to_owned(),
                });
            }
            // A file system without locks gives none; the database's own still hold.
            Err(TryLockError::Error(e)) if e.kind() == std::io::ErrorKind::Unsupported => {}
            Err(TryLockError::Error(e)) => return Err(StoreErrorKind::of_io(e)),
        }
        // Only for the words of others: that it can't be written stops nothing.
        drop(
            file.set_len(0)
                .and_then(|()| file.rewind())
                .and_then(|()| write!(file, "legraise, process {}", std::process::id())),
        );
        Ok(Self { file })
    }
}
