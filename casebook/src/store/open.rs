//! Making, opening and checking the file, and changing its passphrase.

use std::fs::{self, File};
use std::io::Read as _;
use std::path::Path;

use rusqlite::{Connection, OpenFlags};

use super::error::{Inner, StoreError, StoreErrorKind, at};
use super::lock::Lock;
use super::passphrase::Passphrase;
use super::{Store, schema};

/// `SQLCipher`'s page, and so the least file.
const PAGE_BYTES: u64 = 4096;
/// What `SQLCipher` 4 does by itself. Written out, for the file doesn't say it. Tests open many files.
const KEY_ROUNDS: u32 = if cfg!(test) { 1000 } else { 256_000 };
/// Pages in memory, KiB.
const CACHE_KIB: i64 = 32_768;

impl Store {
    /// Makes a new casebook, with its folder, for the owner alone.
    pub fn create(path: &Path, passphrase: &Passphrase) -> Result<Self, StoreError> {
        let make = || {
            passphrase.check()?;
            if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
                let mut builder = fs::DirBuilder::new();
                builder.recursive(true);
                #[cfg(unix)]
                std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
                builder.create(folder).map_err(StoreErrorKind::of_io)?;
            }
            let lock = Lock::take(path)?;
            new_file(path)?;
            let filled: Inner<Connection> = (|| {
                let db = connect(path, passphrase)?;
                schema::bring_up(&db)?;
                sync_folder(path)?;
                Ok(db)
            })();
            if filled.is_err() {
                // Nothing is in it, and it would be in the way of the next attempt.
                drop(fs::remove_file(path));
            }
            Ok(Self {
                path: path.to_owned(),
                db: filled?,
                passphrase: passphrase.clone(),
                _lock: lock,
            })
        };
        make().map_err(at(path))
    }

    /// Opens a casebook, and brings one of an earlier version to this.
    pub fn open(path: &Path, passphrase: &Passphrase) -> Result<Self, StoreError> {
        let open = || {
            look(path)?;
            let lock = Lock::take(path)?;
            let db = connect(path, passphrase)?;
            schema::bring_up(&db)?;
            Ok(Self {
                path: path.to_owned(),
                db,
                passphrase: passphrase.clone(),
                _lock: lock,
            })
        };
        open().map_err(at(path))
    }

    /// Reads every page and row, and says what is wrong with the first that is.
    pub fn check(&self) -> Result<(), StoreError> {
        self.read(check)
    }

    /// Encrypts everything anew, under another passphrase.
    pub fn set_passphrase(&mut self, new: &Passphrase) -> Result<(), StoreError> {
        self.read(|db| {
            new.check()?;
            db.pragma_update(None, "rekey", new.text())?;
            Ok(())
        })?;
        self.passphrase = new.clone();
        Ok(())
    }
}

/// Puts an empty file where there is none. One that is empty is what is left where this was broken off before.
pub(super) fn new_file(path: &Path) -> Inner<()> {
    let mut options = File::options();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Ok(_) => Ok(()),
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {
            let is_empty = fs::metadata(path).is_ok_and(|meta| meta.is_file() && meta.len() == 0);
            if is_empty {
                Ok(())
            } else {
                Err(StoreErrorKind::Exists)
            }
        }
        Err(e) => Err(StoreErrorKind::of_io(e)),
    }
}

/// Makes a new name in a folder last.
pub(super) fn sync_folder(path: &Path) -> Inner<()> {
    if cfg!(unix) {
        let folder = match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        File::open(folder)
            .and_then(|folder| folder.sync_all())
            .map_err(StoreErrorKind::of_io)?;
    }
    Ok(())
}

/// What can be seen without the key. An encrypted file is noise throughout.
pub(super) fn look(path: &Path) -> Inner<()> {
    let meta = match fs::metadata(path) {
        Ok(meta) => meta,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Err(StoreErrorKind::Missing),
        Err(e) => return Err(StoreErrorKind::of_io(e)),
    };
    let other = |what| Err(StoreErrorKind::NotACasebook { what });
    if !meta.is_file() {
        return other("a folder or device");
    }
    let mut start = Vec::new();
    File::open(path)
        .and_then(|file| file.take(PAGE_BYTES).read_to_end(&mut start))
        .map_err(StoreErrorKind::of_io)?;
    if start.starts_with(b"SQLite format 3\0") {
        return other("a database that isn't encrypted");
    }
    if start.len() > 15 && std::str::from_utf8(&start).is_ok() {
        return other("a file of text");
    }
    if meta.len() < PAGE_BYTES {
        return Err(StoreErrorKind::CutShort {
            what: format!("{} bytes, less than one page", meta.len()),
        });
    }
    Ok(())
}

/// Connects to a file and gives the key.
pub(super) fn connect(path: &Path, passphrase: &Passphrase) -> Inner<Connection> {
    // Not created here: a file must be there already, with its rights.
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = Connection::open_with_flags(path, flags)?;
    // What it would print on standard error is told in our words.
    db.query_row("PRAGMA cipher_log_level = NONE", [], |_| Ok(()))?;
    db.pragma_update(None, "key", passphrase.text())?;
    db.pragma_update(None, "kdf_iter", KEY_ROUNDS)?;
    let is_empty = fs::metadata(path).map_err(StoreErrorKind::of_io)?.len() == 0;
    let pages: i64 = match db.query_row("PRAGMA page_count", [], |row| row.get(0)) {
        Ok(pages) => pages,
        Err(e) => {
            return Err(match e.sqlite_error_code() {
                Some(rusqlite::ErrorCode::NotADatabase) => StoreErrorKind::Passphrase,
                Some(rusqlite::ErrorCode::DatabaseCorrupt) => StoreErrorKind::CutShort {
                    what: "pages are missing at its end".to_owned(),
                },
                _ => e.into(),
            });
        }
    };
    // An interrupted change was taken back by the first read, so the lengths must agree now.
    let bytes = fs::metadata(path).map_err(StoreErrorKind::of_io)?.len();
    let expected = u64::try_from(pages).unwrap_or(0) * PAGE_BYTES;
    if !is_empty && bytes < expected {
        return Err(StoreErrorKind::CutShort {
            what: format!("{bytes} bytes, expected {expected}"),
        });
    }
    // A folder or file that can't be written is told before anybody has typed something.
    if db.is_readonly(rusqlite::MAIN_DB)? {
        return Err(StoreErrorKind::ReadOnly);
    }
    db.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))?;
    db.execute_batch(&format!(
        "PRAGMA synchronous = EXTRA; PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON; \
         PRAGMA temp_store = MEMORY; PRAGMA cache_size = -{CACHE_KIB}; PRAGMA cell_size_check = ON; \
         PRAGMA trusted_schema = OFF"
    ))?;
    db.set_prepared_statement_cache_capacity(64);
    Ok(db)
}

/// Every page passes its own check, every index agrees with its table, every row belongs to one that is there.
pub(super) fn check(db: &Connection) -> Inner<()> {
    for pragma in [
        "PRAGMA cipher_integrity_check",
        "PRAGMA integrity_check(1)",
        "PRAGMA foreign_key_check",
    ] {
        let mut all = db.prepare(pragma)?;
        let mut rows = all.query([])?;
        while let Some(row) = rows.next()? {
            let what: String = row.get(0)?;
            if what != "ok" {
                return Err(StoreErrorKind::Damaged { what });
            }
        }
    }
    Ok(())
}
