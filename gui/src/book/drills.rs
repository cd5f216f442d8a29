//! The drills to choose from: those that come with the program, and the practitioner's own.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use casebook::drill::{Drill, shipped};
use casebook::store::{Setting, Store};

use super::BookFault;
use crate::error::CommandError;

/// All drills; an own one of a shipped one's name takes its place. What can't be used is told.
pub(crate) fn drills(store: &Store, err: &mut dyn Write) -> Result<Vec<Drill>, CommandError> {
    let mut all = shipped();
    let Some(folder) = store.setting(Setting::DrillsFolder)? else {
        return Ok(all);
    };
    for path in files(Path::new(&folder), err) {
        match crate::drills::read(&path) {
            Ok(drill) => {
                all.retain(|known| known.id != drill.id);
                all.push(drill);
            }
            // The others can be used all the same.
            Err(text) => drop(writeln!(err, "{text}")),
        }
    }
    all.truncate(Drill::COUNT_MAX);
    Ok(all)
}

/// One drill by its name.
pub(crate) fn drill_named(
    store: &Store,
    name: &str,
    err: &mut dyn Write,
) -> Result<Drill, CommandError> {
    let mut all = drills(store, err)?;
    if let Some(at) = all.iter().position(|drill| drill.id == name) {
        return Ok(all.swap_remove(at));
    }
    let known: Vec<String> = all.into_iter().map(|drill| drill.id).collect();
    Err(BookFault::NoDrill {
        name: name.to_owned(),
        known: known.join(", "),
    }
    .into())
}

fn files(folder: &Path, err: &mut dyn Write) -> Vec<PathBuf> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(e) => {
            let folder = folder.display();
            drop(writeln!(
                err,
                "{folder}: {e}; check the folder of your own drills, `legraise book settings`"
            ));
            return Vec::new();
        }
    };
    let mut paths: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|end| end == "toml"))
        .take(Drill::COUNT_MAX)
        .collect();
    paths.sort();
    paths
}
