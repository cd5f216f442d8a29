//! The casebook as the program uses it: found, opened with its passphrase, and brought in line with the disk.

mod consent;
mod copies;
mod drills;
mod fault;
mod give;
pub(crate) mod json;
mod leave;
mod moves;
mod moving;
mod own;
mod passphrase;
mod take;
mod visits;

use std::io::Write;
use std::path::{Path, PathBuf};

use casebook::store::{Setting, Store, StoreError, Why};
use jiff::civil::Date;
use jiff::{Timestamp, Zoned};

use crate::args::BookFile;
use crate::error::CommandError;

pub(crate) use consent::{check_cautions, check_recording};
pub(crate) use copies::put_back;
pub(crate) use drills::{drill_named, drills};
pub(crate) use fault::BookFault;
pub(crate) use give::give;
pub(crate) use leave::{Forgotten, forget, merge};
pub(crate) use moves::finish as finish_moves;
pub(crate) use moving::{Moving, id_of, move_recording};
pub(crate) use own::{set_bands, set_rule};
pub(crate) use passphrase::{new_passphrase, passphrase};
pub(crate) use take::{kept_round, take};
pub(crate) use visits::{empty_visit, next_label};

/// The casebook's file name, where nothing else is said.
const FILE_NAME: &str = "casebook.db";

/// The file that is meant.
pub(crate) fn path(file: &BookFile) -> Result<PathBuf, CommandError> {
    if let Some(path) = &file.book {
        return Ok(path.clone());
    }
    let folders = directories::ProjectDirs::from("", "", "legraise");
    let folders = folders.ok_or(BookFault::NoFolder)?;
    Ok(folders.data_local_dir().join(FILE_NAME))
}

/// Opens the casebook. Moves on disk that were broken off are finished and told; what keeps one from that is told as well,
/// and keeps nobody from the casebook.
pub(crate) fn open(file: &BookFile, err: &mut dyn Write) -> Result<Store, CommandError> {
    let path = path(file)?;
    if !path.exists() {
        // Before anybody types a passphrase for nothing.
        let kind = casebook::store::StoreErrorKind::Missing;
        return Err(StoreError { path, kind }.into());
    }
    let store = Store::open(&path, &passphrase(file)?)?;
    if let Err(e) = moves::finish(&store, err) {
        drop(writeln!(err, "{e}"));
    }
    Ok(store)
}

/// The data set with the recordings: as said, or the casebook's.
pub(crate) fn data_folder(store: &Store, said: Option<&Path>) -> Result<PathBuf, CommandError> {
    match said {
        Some(path) => Ok(whole(path)),
        None => Ok(store
            .setting(Setting::DataFolder)?
            .map(PathBuf::from)
            .ok_or(BookFault::NoData)?),
    }
}

/// The path from the root of the file system, as it is kept.
pub(crate) fn whole(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}

/// Now, and why.
pub(crate) fn why(reason: &str) -> Why<'_> {
    Why {
        at: Timestamp::now(),
        reason,
    }
}

/// Today, where this computer is.
pub(crate) fn today() -> Date {
    Zoned::now().date()
}

/// The visit that is meant: as said, or the latest.
pub(crate) fn session(
    store: &Store,
    code: &str,
    said: Option<&str>,
) -> Result<String, CommandError> {
    if let Some(label) = said {
        return Ok(label.to_owned());
    }
    let latest = store.sessions(code)?.pop();
    Ok(latest.ok_or_else(|| BookFault::NoVisits(code.to_owned()))?)
}

/// A confirmation that has to be given beforehand: nothing is asked, so that scripts don't hang.
pub(crate) fn confirmed(yes: bool, what: &str) -> Result<(), CommandError> {
    if yes {
        Ok(())
    } else {
        Err(BookFault::NotConfirmed(what.to_owned()).into())
    }
}
