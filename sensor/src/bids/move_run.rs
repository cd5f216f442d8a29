//! Giving a recording another name within its data set: to another person, another visit, another number.
//!
//! A name stands in many places: in the names of the run's files, and in the tables of the visit, the person and the data
//! set. Each step is whole or not done, and may be done again: a move that was broken off is finished by calling it once
//! more. Samples move last, so that a run half moved is still found where it was.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::dataset::{existing_table, set_row, write_absent};
use super::file::{lock, make_folder, replace, sync_folder, write_io};
use super::find::runs_in;
use super::name::Name;
use super::read::scans_name;
use super::table::{Row, Table};
use super::write::{motion_folder, session_folder};
use super::write_check::check_id;
use super::write_error::{WriteError, WriteErrorKind};
use crate::RecordingId;

/// Where results lie within a data set.
pub(super) const RESULTS: &str = "derivatives/legraise";

/// All recordings of one person, of every task, in order.
pub fn recordings_of(root: &Path, subject: &str) -> Vec<RecordingId> {
    let person = root.join(format!("sub-{subject}"));
    let mut folders = vec![person.join("motion")];
    let visits = fs::read_dir(&person).into_iter().flatten().flatten();
    folders.extend(visits.map(|visit| visit.path().join("motion")));
    let runs = folders.iter().flat_map(|folder| runs_in(folder));
    let mut ids: Vec<RecordingId> = runs
        .map(|run| run.id)
        .filter(|id| id.subject.as_deref() == Some(subject))
        .collect();
    ids.sort();
    ids.dedup();
    ids
}

/// Moves a recording to another name, or copies it. What was worked out from it is removed: it can be had again.
pub fn move_run(
    root: &Path,
    from: &RecordingId,
    to: &RecordingId,
    is_copy: bool,
) -> Result<(), WriteError> {
    for id in [from, to] {
        check_id(id).map_err(|kind| WriteError {
            path: root.to_owned(),
            kind,
        })?;
    }
    if from == to {
        return Ok(());
    }
    let _held = lock(root)?;
    let (old, new) = (motion_folder(root, from), motion_folder(root, to));
    let files = files_of(&old, from)?;
    let renamed = |name: &Name| {
        let name = Name {
            subject: to.subject.clone(),
            session: to.session.clone(),
            task: Some(to.task.clone()),
            acquisition: to.acquisition.clone(),
            run: to.run.clone(),
            ..name.clone()
        };
        name.to_string()
    };
    for (path, name) in &files {
        refuse_other(path, &new.join(renamed(name)), is_copy)?;
    }
    make_folder(&new)?;
    for (path, name) in &files {
        let target = new.join(renamed(name));
        if is_copy {
            replace(&target, &fs::read(path).map_err(write_io(path))?)?;
        } else {
            fs::rename(path, &target).map_err(write_io(path))?;
        }
    }
    sync_folder(&new)?;
    list(root, from, to, &renamed)?;
    if !is_copy {
        unlist(root, from)?;
    }
    for id in [from, to] {
        drop_results(root, id)?;
    }
    sync_folder(root)
}

/// Files of a run in a folder, samples last.
fn files_of(folder: &Path, id: &RecordingId) -> Result<Vec<(PathBuf, Name)>, WriteError> {
    let mut files = Vec::new();
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(files),
        Err(e) => return Err(write_io(folder)(e)),
    };
    for entry in entries {
        let path = entry.map_err(write_io(folder))?.path();
        let text = path.file_name().unwrap_or_default().to_string_lossy();
        let name = Name::parse(&text).filter(|name| name.recording().as_ref() == Some(id));
        if let Some(name) = name {
            files.push((path, name));
        }
    }
    files.sort_by_key(|(path, name)| {
        let is_samples = name.suffix == "motion" && name.extension != "json";
        (is_samples, path.clone())
    });
    Ok(files)
}

/// Nothing is ever written over but the same bytes.
fn refuse_other(path: &Path, target: &Path, is_copy: bool) -> Result<(), WriteError> {
    let is_same = || -> io::Result<bool> { Ok(is_copy && fs::read(path)? == fs::read(target)?) };
    if target.exists() && !is_same().map_err(write_io(target))? {
        return Err(WriteError {
            path: target.to_owned(),
            kind: WriteErrorKind::Exists,
        });
    }
    Ok(())
}

/// Whose a row of a table of scans is.
fn row_run(row: &Row) -> Option<(Name, RecordingId)> {
    let file = row.cells.first()?.rsplit('/').next()?;
    let name = Name::parse(file)?;
    let id = name.recording()?;
    Some((name, id))
}

fn scans(root: &Path, id: &RecordingId) -> PathBuf {
    let subject = id.subject.as_deref().unwrap_or_default();
    session_folder(root, id).join(scans_name(subject, id.session.as_deref()))
}

/// Enters the run under its new name, with all that the former table said.
fn list(
    root: &Path,
    from: &RecordingId,
    to: &RecordingId,
    renamed: &dyn Fn(&Name) -> String,
) -> Result<(), WriteError> {
    let (old, new) = (scans(root, from), scans(root, to));
    if let Some(table) = existing_table(&old)? {
        let mut changed = existing_table(&new)?.unwrap_or_else(|| Table::new(&["filename"]));
        for row in &table.rows {
            let Some((name, _)) = row_run(row).filter(|(_, id)| id == from) else {
                continue;
            };
            let cells: Vec<(&str, &str)> = table
                .columns
                .iter()
                .skip(1)
                .map(|column| (column.as_str(), table.get(row, column)))
                .collect();
            changed.set(&format!("motion/{}", renamed(&name)), &cells);
        }
        replace(&new, &changed.to_bytes())?;
        let described = old.with_extension("json");
        if described.is_file() {
            let bytes = fs::read(&described).map_err(write_io(&described))?;
            write_absent(&new.with_extension("json"), &bytes)?;
        }
        sync_folder(&session_folder(root, to))?;
    }
    let subject = to.subject.as_deref().unwrap_or_default();
    if let Some(session) = &to.session {
        let table = sessions(root, subject);
        set_row(&table, "session_id", &format!("ses-{session}"), &[])?;
    }
    set_row(
        &root.join("participants.tsv"),
        "participant_id",
        &format!("sub-{subject}"),
        &[],
    )
}

fn sessions(root: &Path, subject: &str) -> PathBuf {
    root.join(format!("sub-{subject}"))
        .join(format!("sub-{subject}_sessions.tsv"))
}

/// Takes the run out of the tables; a visit or a person without any recording goes with its folder.
fn unlist(root: &Path, id: &RecordingId) -> Result<(), WriteError> {
    let table = scans(root, id);
    drop_rows(&table, |row| {
        row_run(row).is_some_and(|(_, its)| its == *id)
    })?;
    remove_empty(&motion_folder(root, id))?;
    let visit = session_folder(root, id);
    if !visit.join("motion").exists() {
        remove_file(&table)?;
        remove_file(&table.with_extension("json"))?;
        remove_empty(&visit)?;
    }
    let subject = id.subject.as_deref().unwrap_or_default();
    if let Some(session) = id.session.as_deref().filter(|_| !visit.exists()) {
        let word = format!("ses-{session}");
        drop_rows(&sessions(root, subject), |row| {
            row.cells.first() == Some(&word)
        })?;
    }
    if recordings_of(root, subject).is_empty() {
        let table = sessions(root, subject);
        if existing_table(&table)?.is_some_and(|table| table.rows.is_empty()) {
            remove_file(&table)?;
            remove_file(&table.with_extension("json"))?;
        }
        let person = root.join(format!("sub-{subject}"));
        remove_empty(&person)?;
        // Somebody's own files stay, and so does the person then.
        if !person.exists() {
            drop_person(&root.join("participants.tsv"), subject)?;
        }
    }
    Ok(())
}

/// Removes a person's row from a table over people.
pub(super) fn drop_person(table: &Path, subject: &str) -> Result<(), WriteError> {
    let word = format!("sub-{subject}");
    drop_rows(table, |row| row.cells.first() == Some(&word))
}

/// Removes rows from a table, if it is there.
pub(super) fn drop_rows(path: &Path, is_gone: impl Fn(&Row) -> bool) -> Result<(), WriteError> {
    let Some(mut table) = existing_table(path)? else {
        return Ok(());
    };
    let count = table.rows.len();
    table.rows.retain(|row| !is_gone(row));
    if table.rows.len() == count {
        Ok(())
    } else {
        replace(path, &table.to_bytes())
    }
}

/// Removes what was worked out from a run, and the rows of its person in the table over people.
fn drop_results(root: &Path, id: &RecordingId) -> Result<(), WriteError> {
    let results = root.join(RESULTS);
    let folder = session_folder(&results, id).join("beh");
    let entries = fs::read_dir(&folder).into_iter().flatten().flatten();
    for path in entries.map(|entry| entry.path()) {
        let text = path.file_name().unwrap_or_default().to_string_lossy();
        let of = Name::parse(&text).and_then(|name| Name { desc: None, ..name }.recording());
        if of.as_ref() == Some(id) {
            remove_file(&path)?;
        }
    }
    for empty in folder.ancestors().take(3) {
        if empty != results {
            remove_empty(empty)?;
        }
    }
    let subject = id.subject.as_deref().unwrap_or_default();
    drop_person(&results.join("phenotype/legraise.tsv"), subject)
}

/// Removes a file, which may be gone already.
pub(super) fn remove_file(path: &Path) -> Result<(), WriteError> {
    match fs::remove_file(path) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => Err(write_io(path)(e)),
        _ => Ok(()),
    }
}

/// Removes a folder if nothing is in it.
fn remove_empty(folder: &Path) -> Result<(), WriteError> {
    match fs::remove_dir(folder) {
        Err(e)
            if !matches!(
                e.kind(),
                io::ErrorKind::NotFound | io::ErrorKind::DirectoryNotEmpty
            ) =>
        {
            Err(write_io(folder)(e))
        }
        _ => Ok(()),
    }
}
