//! Files that may hold a name: whole or not at all, and for their owner alone.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// Writes one.
pub(crate) fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let name = path.file_name().ok_or(io::ErrorKind::InvalidInput)?;
    let part: PathBuf = path.with_file_name(format!(".{}.part", name.to_string_lossy()));
    let written = write_new(&part, bytes).and_then(|()| fs::rename(&part, path));
    if written.is_err() {
        drop(fs::remove_file(&part)); // the error itself is the news
    }
    written
}

fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}
