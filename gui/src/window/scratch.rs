//! A folder for the recordings of invented clients. It goes away with the window; one that a killed window left is
//! cleared away by the next.

use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

/// What such a folder is called, with the number of the process after it.
const NAME: &str = "legraise-trial-";
/// Held while the folder is in use.
const IN_USE: &str = "in-use";

/// The folder of one window.
pub(super) struct Scratch {
    folder: PathBuf,
    /// Held, not written.
    _in_use: Option<File>,
}

impl Scratch {
    /// In the system's folder for temporary files. What others left there is cleared away first.
    pub(super) fn new() -> Self {
        Self::inside(&std::env::temp_dir(), std::process::id())
    }

    fn inside(parent: &Path, process: u32) -> Self {
        clear(parent);
        let folder = parent.join(format!("{NAME}{process}"));
        // Without a lock the folder still does; only a later window can't tell it from one in use, and takes it away.
        let held = held(&folder).ok();
        Self {
            folder,
            _in_use: held,
        }
    }

    /// Where it is.
    pub(super) fn folder(&self) -> PathBuf {
        self.folder.clone()
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        fs::remove_dir_all(&self.folder).ok(); // the next window takes away what is left
    }
}

fn held(folder: &Path) -> io::Result<File> {
    fs::create_dir_all(folder)?;
    let file = File::create(folder.join(IN_USE))?;
    file.try_lock()?;
    Ok(file)
}

/// Takes away the folders that nobody holds.
fn clear(parent: &Path) {
    for entry in fs::read_dir(parent).into_iter().flatten().flatten() {
        let is_ours = entry.file_name().to_string_lossy().starts_with(NAME);
        let held = is_ours.then(|| File::open(entry.path().join(IN_USE)).map(|f| f.try_lock()));
        if let Some(Ok(Ok(()) | Err(TryLockError::Error(_)))) = held {
            fs::remove_dir_all(entry.path()).ok(); // somebody else's, perhaps
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_killed_window_left_goes_and_what_is_in_use_stays() {
        let parent = tempfile::tempdir().unwrap();
        let other = parent.path().join("something-else");
        let left = parent.path().join(format!("{NAME}1"));
        for folder in [&other, &left] {
            fs::create_dir_all(folder.join("sub-a")).unwrap();
            fs::write(folder.join(IN_USE), "").unwrap();
        }
        let one = Scratch::inside(parent.path(), 2);
        assert!(!left.exists() && other.exists() && one.folder().exists());
        let two = Scratch::inside(parent.path(), 3);
        assert!(one.folder().exists() && two.folder().exists());
        let (first, second) = (one.folder(), two.folder());
        drop((one, two));
        assert!(!first.exists() && !second.exists());
    }
}
