//! All of one person's recordings at once: taken out as a data set of their own, or erased.

use std::fs;
use std::path::{Path, PathBuf};

use super::dataset::existing_table;
use super::file::{lock, make_folder, replace, write_io};
use super::move_run::{RESULTS, drop_person};
use super::table::Table;
use super::write_check::check_id;
use super::write_error::{WriteError, WriteErrorKind};
use crate::RecordingId;

/// A person's folders are this deep at most.
const DEPTH_MAX: usize = 16;

/// Copies one person's recordings, and what was worked out from them, into a new data set.
pub fn copy_person(root: &Path, subject: &str, to: &Path) -> Result<(), WriteError> {
    check(root, subject)?;
    let _held = lock(root)?;
    copy_set(root, subject, to)?;
    let results = root.join(RESULTS);
    if results.join(format!("sub-{subject}")).is_dir() {
        copy_set(&results, subject, &to.join(RESULTS))?;
        let table = Path::new("phenotype/legraise.tsv");
        if results.join(table).is_file() {
            make_folder(&to.join(RESULTS).join("phenotype"))?;
            copy_rows(&results, subject, &to.join(RESULTS), table)?;
            copy_file(&results, &to.join(RESULTS), &table.with_extension("json"))?;
        }
    }
    Ok(())
}

/// Erases one person's recordings and what was worked out from them. May be called again after it was broken off. Given
/// back are places of the data set that still hold something of the person.
pub fn erase_person(root: &Path, subject: &str) -> Result<Vec<PathBuf>, WriteError> {
    check(root, subject)?;
    let folder = format!("sub-{subject}");
    let _held = lock(root)?;
    let results = root.join(RESULTS);
    for gone in [results.join(&folder), root.join(&folder)] {
        match fs::remove_dir_all(&gone) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
                return Err(write_io(&gone)(e));
            }
            _ => {}
        }
    }
    drop_person(&results.join("phenotype/legraise.tsv"), subject)?;
    drop_person(&root.join("participants.tsv"), subject)?;
    let mut left = Vec::new();
    named(root, &folder, 0, &mut left);
    Ok(left)
}

/// Files and folders below that bear a person's code.
fn named(folder: &Path, word: &str, depth: usize, found: &mut Vec<PathBuf>) {
    if depth > DEPTH_MAX {
        return;
    }
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    for entry in entries {
        let name = entry.file_name().to_string_lossy().into_owned();
        // `sub-ab` is not `sub-abc`.
        let rest = name.trim_start_matches('.').strip_prefix(word);
        if rest.is_some_and(|rest| !rest.starts_with(|c: char| c.is_ascii_alphanumeric())) {
            found.push(entry.path());
        } else if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            named(&entry.path(), word, depth + 1, found);
        }
    }
}

fn check(root: &Path, subject: &str) -> Result<(), WriteError> {
    let id = RecordingId {
        subject: Some(subject.to_owned()),
        task: "legraise".to_owned(),
        ..RecordingId::default()
    };
    check_id(&id).map_err(|kind| WriteError {
        path: root.to_owned(),
        kind,
    })
}

/// What describes a data set, the person's row, and the person's folder.
fn copy_set(root: &Path, subject: &str, to: &Path) -> Result<(), WriteError> {
    make_folder(to)?;
    let entries = fs::read_dir(root).map_err(write_io(root))?;
    for entry in entries {
        let entry = entry.map_err(write_io(root))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let is_file = entry.file_type().is_ok_and(|kind| kind.is_file());
        if !is_file || name.starts_with('.') {
            continue;
        }
        if name == "participants.tsv" {
            copy_rows(root, subject, to, Path::new(&name))?;
        } else {
            copy_file(root, to, Path::new(&name))?;
        }
    }
    let person = PathBuf::from(format!("sub-{subject}"));
    if root.join(&person).is_dir() {
        copy_folder(root, to, &person, 0)?;
    }
    Ok(())
}

fn copy_folder(root: &Path, to: &Path, inside: &Path, depth: usize) -> Result<(), WriteError> {
    let folder = root.join(inside);
    if depth > DEPTH_MAX {
        return Err(WriteError {
            path: folder,
            kind: WriteErrorKind::Existing {
                what: "too many folders in one another".to_owned(),
            },
        });
    }
    make_folder(&to.join(inside))?;
    for entry in fs::read_dir(&folder).map_err(write_io(&folder))? {
        let entry = entry.map_err(write_io(&folder))?;
        // A hidden file is a journal of a run that goes on, or half a file.
        if entry.file_name().to_string_lossy().starts_with('.') {
            continue;
        }
        let inside = inside.join(entry.file_name());
        if entry.path().is_dir() {
            copy_folder(root, to, &inside, depth + 1)?;
        } else {
            copy_file(root, to, &inside)?;
        }
    }
    Ok(())
}

fn copy_file(root: &Path, to: &Path, inside: &Path) -> Result<(), WriteError> {
    let from = root.join(inside);
    if from.is_file() {
        let bytes = fs::read(&from).map_err(write_io(&from))?;
        replace(&to.join(inside), &bytes)?;
    }
    Ok(())
}

/// A table over people with one person's row alone.
fn copy_rows(root: &Path, subject: &str, to: &Path, inside: &Path) -> Result<(), WriteError> {
    let word = format!("sub-{subject}");
    let Some(table) = existing_table(&root.join(inside))? else {
        return Ok(());
    };
    let mut own = Table {
        columns: table.columns.clone(),
        rows: table.rows.clone(),
    };
    own.rows.retain(|row| row.cells.first() == Some(&word));
    replace(&to.join(inside), &own.to_bytes())
}
