//! Writing a run into a data set.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Map, Value};

use super::dataset::{DataSet, ensure, json_bytes, set_row, set_rows, write_absent};
use super::file::{lock, make_folder, replace, sync_folder, write_io};
use super::find::RunFiles;
use super::name::Name;
use super::read::scans_name;
use super::write_check::check;
use super::write_error::{WriteError, WriteErrorKind};
use super::write_side::{
    channels_tsv, events_json, events_tsv, frame_json, motion_json, motion_tsv, scans_json,
};
use crate::{RecordingId, Run};

/// The folder of a run's files.
pub(crate) fn motion_folder(root: &Path, id: &RecordingId) -> PathBuf {
    session_folder(root, id).join("motion")
}

pub(super) fn session_folder(root: &Path, id: &RecordingId) -> PathBuf {
    let subject = root.join(format!("sub-{}", id.subject.as_deref().unwrap_or_default()));
    id.session.as_ref().map_or(subject.clone(), |session| {
        subject.join(format!("ses-{session}"))
    })
}

/// Writes a run into a data set, which is created where there is none; all or nothing is to be seen of
/// each file. The same samples may be written again (with other marks, say); another recording of the
/// same name is refused. Times of marks are sorted; line breaks and tabs in remarks become blanks.
pub fn write_run(root: &Path, run: &Run) -> Result<(), WriteError> {
    check(run).map_err(|kind| WriteError {
        path: root.to_owned(),
        kind,
    })?;
    make_folder(root)?;
    let _held = lock(root)?;
    let folder = motion_folder(root, &run.id);
    let samples: Vec<(PathBuf, Vec<u8>)> = run
        .tracks
        .iter()
        .map(|track| {
            let name = Name::of(&run.id, Some(&track.name), "motion", "tsv");
            (folder.join(name.to_string()), motion_tsv(track))
        })
        .collect();
    refuse_other(&folder, &run.id, &samples)?;

    ensure(root, &DataSet::default())?;
    make_folder(&folder)?;
    let file = |tracksys: Option<&str>, suffix: &str, extension: &str| {
        folder.join(Name::of(&run.id, tracksys, suffix, extension).to_string())
    };
    for track in &run.tracks {
        let name = Some(track.name.as_str());
        replace(&file(name, "channels", "tsv"), &channels_tsv(track))?;
        replace(
            &file(name, "motion", "json"),
            &json_bytes(&motion_json(&run.id.task, track)),
        )?;
    }
    replace(&file(None, "events", "tsv"), &events_tsv(&run.marks))?;
    replace(&file(None, "events", "json"), &json_bytes(&events_json()))?;
    // The samples come last: a run that was broken off while being written isn't found.
    for (path, bytes) in &samples {
        replace(path, bytes)?;
    }
    sync_folder(&folder)?;
    describe_frame(&root.join(format!("task-{}_channels.json", run.id.task)))?;
    list_run(root, run, &samples)
}

/// A recording that is there may only be written over by itself.
fn refuse_other(
    folder: &Path,
    id: &RecordingId,
    samples: &[(PathBuf, Vec<u8>)],
) -> Result<(), WriteError> {
    for there in RunFiles::of(folder, id)
        .map(|run| run.motions)
        .unwrap_or_default()
    {
        let mine = samples.iter().find(|(path, _)| *path == there);
        let is_same = match mine {
            Some((_, bytes)) => fs::read(&there).map_err(write_io(&there))? == *bytes,
            None => false,
        };
        if !is_same {
            return Err(WriteError {
                path: there,
                kind: WriteErrorKind::Exists,
            });
        }
    }
    Ok(())
}

/// Explains the frame once for all runs of a task, keeping what else is said there.
fn describe_frame(path: &Path) -> Result<(), WriteError> {
    if !path.exists() {
        return write_absent(
            path,
            &json_bytes(&serde_json::json!({"reference_frame": frame_json()})),
        );
    }
    let refuse = |what: String| WriteError {
        path: path.to_owned(),
        kind: WriteErrorKind::Existing { what },
    };
    let bytes = fs::read(path).map_err(write_io(path))?;
    let mut there: Map<String, Value> =
        serde_json::from_slice(&bytes).map_err(|e| refuse(e.to_string()))?;
    let before = there.clone();
    let ours = frame_json();
    let frame = there
        .entry("reference_frame")
        .or_insert_with(|| ours.clone());
    if let (Some(levels), Some(Value::Object(our_levels))) = (
        frame.get_mut("Levels").and_then(Value::as_object_mut),
        ours.get("Levels"),
    ) {
        for (word, meaning) in our_levels {
            levels
                .entry(word.clone())
                .or_insert_with(|| meaning.clone());
        }
    }
    if there == before {
        Ok(())
    } else {
        replace(path, &json_bytes(&Value::Object(there)))
    }
}

/// Enters a run in the tables of its session, its subject and the data set.
fn list_run(root: &Path, run: &Run, samples: &[(PathBuf, Vec<u8>)]) -> Result<(), WriteError> {
    let subject = run.id.subject.as_deref().unwrap_or_default();
    let session = run.id.session.as_deref();
    let session_folder = session_folder(root, &run.id);
    let names: Vec<String> = samples
        .iter()
        .filter_map(|(path, _)| Some(format!("motion/{}", path.file_name()?.to_string_lossy())))
        .collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let of = |text: &Option<String>| text.clone().unwrap_or_default();
    let done = &run.conditions;
    let (movement, ankle, asked_for, rater) = (
        of(&done.movement),
        of(&done.ankle),
        of(&done.asked_for),
        of(&done.rater),
    );
    let acquired = of(&run.acquired);
    let cells = [
        ("acq_time", acquired.as_str()),
        ("movement", movement.as_str()),
        ("ankle", ankle.as_str()),
        ("asked_for", asked_for.as_str()),
        ("rater", rater.as_str()),
    ];
    let scans = session_folder.join(scans_name(subject, session));
    set_rows(&scans, "filename", &names, &cells)?;
    write_absent(&scans.with_extension("json"), &json_bytes(&scans_json()))?;
    sync_folder(&session_folder)?;
    if let Some(session) = session {
        let folder = root.join(format!("sub-{subject}"));
        let table = folder.join(format!("sub-{subject}_sessions.tsv"));
        set_row(&table, "session_id", &format!("ses-{session}"), &[])?;
        sync_folder(&folder)?;
    }
    set_row(
        &root.join("participants.tsv"),
        "participant_id",
        &format!("sub-{subject}"),
        &[],
    )?;
    sync_folder(root)
}
