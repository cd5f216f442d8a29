//! Backups: a whole, checked, encrypted copy under the same passphrase, and the way back.

use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::backup::Backup;

use super::error::{Inner, StoreError, StoreErrorKind, at};
use super::lock::Lock;
use super::open::{check, connect, look, new_file, sync_folder};
use super::passphrase::Passphrase;
use super::{Store, schema};

/// Pages copied at a step.
const STEP_PAGES: i32 = 1024;

impl Store {
    /// Copies the casebook to a new file, under the same passphrase, and checks the copy page by page.
    pub fn back_up(&self, to: &Path) -> Result<(), StoreError> {
        let copy = || {
            new_file(to)?;
            let done = (|| {
                let mut copy = connect(to, &self.passphrase)?;
                Backup::new(&self.db, &mut copy)?.run_to_completion(
                    STEP_PAGES,
                    std::time::Duration::ZERO,
                    None,
                )?;
                check(&copy)?;
                drop(copy);
                sync_folder(to)
            })();
            if done.is_err() {
                // Half a backup would be taken for one.
                drop(fs::remove_file(to));
            }
            done
        };
        copy().map_err(at(to))
    }
}

/// Puts a backup in the casebook's place. The backup is checked first, page by page; a casebook that is there is kept
/// beside, under the name that is given back.
pub fn restore(
    backup: &Path,
    book: &Path,
    passphrase: &Passphrase,
    stamp: &str,
) -> Result<Option<PathBuf>, StoreError> {
    verify(backup, passphrase).map_err(at(backup))?;
    replace(backup, book, stamp).map_err(at(book))
}

/// Opens a file and reads all of it; an earlier version is as good as this.
fn verify(backup: &Path, passphrase: &Passphrase) -> Inner<()> {
    look(backup)?;
    let db = connect(backup, passphrase)?;
    let found = schema::version(&db)?;
    if found > schema::VERSION {
        return Err(StoreErrorKind::Newer {
            found,
            known: schema::VERSION,
        });
    }
    check(&db)
}

/// The database's own journal of a change that is under way.
fn journal(book: &Path) -> PathBuf {
    let mut name = book.as_os_str().to_owned();
    name.push("-journal");
    PathBuf::from(name)
}

fn replace(backup: &Path, book: &Path, stamp: &str) -> Inner<Option<PathBuf>> {
    let io = StoreErrorKind::of_io;
    let folder = match book.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    fs::create_dir_all(folder).map_err(io)?;
    let _lock = Lock::take(book)?;
    let mut part = tempfile::Builder::new()
        .prefix(".casebook.")
        .suffix(".part")
        .tempfile_in(folder)
        .map_err(io)?;
    std::io::copy(&mut fs::File::open(backup).map_err(io)?, &mut part).map_err(io)?;
    part.as_file().sync_all().map_err(io)?;
    let mut name = book.as_os_str().to_owned();
    name.push(format!(".before-{stamp}"));
    let kept = PathBuf::from(name);
    if kept.exists() {
        return Err(StoreErrorKind::Exists);
    }
    let aside = book.exists().then(|| kept.clone());
    if journal(book).exists() {
        // A change of the former file that was broken off. Its journal takes it back when that file is opened, and would
        // spoil the restored one: so the two go aside together, and a cut in between leaves no casebook under this name
        // rather than a wrong one.
        if book.exists() {
            fs::rename(book, &kept).map_err(io)?;
            sync_folder(book)?;
        }
        fs::rename(journal(book), journal(&kept)).map_err(io)?;
    } else if book.exists() {
        fs::hard_link(book, &kept)
            .or_else(|_| fs::copy(book, &kept).map(drop))
            .map_err(io)?;
    }
    sync_folder(book)?;
    part.persist(book).map_err(|e| io(e.error))?;
    sync_folder(book)?;
    Ok(aside)
}
