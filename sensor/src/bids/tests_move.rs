//! Recordings that are given another name, taken out, or erased.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use super::*;
use crate::synthetic::{Scenario, simulate};
use crate::{Conditions, RecordingId, Run};

fn id(subject: &str, session: &str, task: &str, run: &str) -> RecordingId {
    RecordingId {
        subject: Some(subject.to_owned()),
        session: Some(session.to_owned()),
        task: task.to_owned(),
        acquisition: None,
        run: Some(run.to_owned()),
    }
}

/// A small run under a name.
fn run(id: &RecordingId) -> Run {
    let mut run = simulate(&Scenario::slow(5)).run;
    for track in &mut run.tracks {
        track.samples.truncate(80);
        track.stamps.clear();
    }
    run.marks.clear();
    run.id = id.clone();
    run.acquired = Some("2026-03-02T09:30:00".to_owned());
    run.conditions = Conditions {
        movement: Some("active".to_owned()),
        rater: Some("R1".to_owned()),
        ..Conditions::default()
    };
    run
}

/// Every file below a folder, with what it holds.
fn files(root: &Path) -> BTreeMap<String, Vec<u8>> {
    fn walk(root: &Path, folder: &Path, found: &mut BTreeMap<String, Vec<u8>>) {
        for entry in fs::read_dir(folder).expect("a folder").flatten() {
            let path = entry.path();
            if path.is_dir() {
                walk(root, &path, found);
            } else {
                let inside = path.strip_prefix(root).expect("inside");
                let inside = inside.to_string_lossy().into_owned();
                found.insert(inside, fs::read(&path).expect("reads"));
            }
        }
    }
    let mut found = BTreeMap::new();
    walk(root, root, &mut found);
    found.remove(".legraise.lock");
    found
}

fn text(root: &Path, inside: &str) -> String {
    fs::read_to_string(root.join(inside)).unwrap_or_else(|e| panic!("{inside}: {e}"))
}

#[test]
fn a_moved_run_is_as_if_recorded_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let (root, other) = (folder.path().join("a"), folder.path().join("b"));
    let (from, to) = (
        id("aa", "01", "legraise", "01"),
        id("bb", "07", "legraise", "03"),
    );
    let stays = id("bb", "07", "legraise", "01");
    write_run(&root, &run(&stays)).expect("written");
    write_run(&root, &run(&from)).expect("written");
    move_run(&root, &from, &to, false).expect("moved");
    write_run(&other, &run(&stays)).expect("written");
    write_run(&other, &run(&to)).expect("written");
    assert_eq!(files(&root), files(&other));
    assert!(!root.join("sub-aa").exists(), "nothing is left");
    let scans = text(&root, "sub-bb/ses-07/sub-bb_ses-07_scans.tsv");
    assert!(scans.contains("run-03") && scans.contains("active") && scans.contains("R1"));
}

#[test]
fn what_else_the_person_has_stays() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let (from, to) = (
        id("aa", "01", "legraise", "01"),
        id("bb", "01", "legraise", "01"),
    );
    for one in [
        &from,
        &id("aa", "01", "legraise", "02"),
        &id("aa", "02", "legraise", "01"),
    ] {
        write_run(root, &run(one)).expect("written");
    }
    move_run(root, &from, &to, false).expect("moved");
    assert_eq!(recordings_of(root, "aa").len(), 2);
    assert_eq!(recordings_of(root, "bb"), std::slice::from_ref(&to));
    assert!(!text(root, "sub-aa/ses-01/sub-aa_ses-01_scans.tsv").contains("run-01"));
    assert!(text(root, "participants.tsv").contains("sub-aa\nsub-bb"));
    // The last of a visit takes the visit with it, not the person.
    move_run(
        root,
        &id("aa", "02", "legraise", "01"),
        &id("bb", "02", "legraise", "01"),
        false,
    )
    .expect("moved");
    assert_eq!(
        text(root, "sub-aa/sub-aa_sessions.tsv"),
        "session_id\nses-01\n"
    );
}

#[test]
fn nothing_is_written_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let (from, to) = (
        id("aa", "01", "legraise", "01"),
        id("bb", "01", "legraise", "01"),
    );
    write_run(root, &run(&from)).expect("written");
    let mut other = run(&to);
    other.tracks[0].samples.truncate(40);
    write_run(root, &other).expect("written");
    let before = files(root);
    for is_copy in [false, true] {
        let refused = move_run(root, &from, &to, is_copy).expect_err("refused");
        assert!(matches!(refused.kind, WriteErrorKind::Exists), "{refused}");
        assert_eq!(files(root), before);
    }
}

#[test]
fn a_move_broken_off_anywhere_is_finished_by_another() {
    let folder = tempfile::tempdir().expect("a folder");
    let whole = folder.path().join("whole");
    let (from, to) = (
        id("aa", "01", "legraise", "01"),
        id("bb", "02", "legraise", "01"),
    );
    write_run(&whole, &run(&from)).expect("written");
    let start = files(&whole);
    move_run(&whole, &from, &to, false).expect("moved");
    let end = files(&whole);
    let motion = "sub-aa/ses-01/motion/";
    let moved: Vec<&String> = start
        .keys()
        .filter(|name| name.starts_with(motion))
        .collect();
    assert!(moved.len() > 4, "{moved:?}");
    for count in 0..=moved.len() {
        let root = folder.path().join(format!("cut-{count}"));
        for (name, bytes) in &start {
            let is_moved = moved.iter().take(count).any(|m| *m == name);
            let name = if is_moved {
                name.replace("sub-aa", "sub-bb").replace("ses-01", "ses-02")
            } else {
                name.clone()
            };
            let path = root.join(name);
            fs::create_dir_all(path.parent().expect("a folder")).expect("made");
            fs::write(path, bytes).expect("written");
        }
        move_run(&root, &from, &to, false).expect("finished");
        assert_eq!(files(&root), end, "after {count} files");
        move_run(&root, &from, &to, false).expect("and once more");
        assert_eq!(files(&root), end, "after {count} files, twice");
    }
}

#[test]
fn a_copied_flat_recording_calibrates_both_visits() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let (from, to) = (id("aa", "01", "flat", "01"), id("bb", "01", "flat", "01"));
    write_run(root, &run(&from)).expect("written");
    move_run(root, &from, &to, true).expect("copied");
    move_run(root, &from, &to, true).expect("again");
    let read = |id: &RecordingId| {
        read_run(&RunFiles::in_set(root, id).expect("there"))
            .expect("reads")
            .run
            .tracks
    };
    assert_eq!(read(&from), read(&to));
    assert_eq!(recordings_of(root, "bb"), [to]);
}

#[test]
fn a_person_is_taken_out_whole_and_alone_and_erased() {
    let folder = tempfile::tempdir().expect("a folder");
    let (root, out) = (folder.path().join("set"), folder.path().join("out"));
    let ids = [
        id("aa", "01", "legraise", "01"),
        id("aab", "01", "legraise", "01"),
    ];
    for one in &ids {
        write_run(&root, &run(one)).expect("written");
    }
    copy_person(&root, "aa", &out).expect("copied");
    let taken = files(&out);
    assert!(taken.keys().all(|name| !name.contains("aab")), "{taken:?}");
    assert_eq!(text(&out, "participants.tsv"), "participant_id\nsub-aa\n");
    let find = |root: &Path| find_runs(root).expect("runs").len();
    assert_eq!(find(&out), 1);
    fs::create_dir_all(root.join("derivatives/other/sub-aa")).expect("made");
    let left = erase_person(&root, "aa").expect("erased");
    assert_eq!(left, [root.join("derivatives/other/sub-aa")]);
    assert_eq!(text(&root, "participants.tsv"), "participant_id\nsub-aab\n");
    assert_eq!(find(&root), 1);
    assert_eq!(erase_person(&root, "aa").expect("again").len(), 1);
    assert!(erase_person(&root, "../x").is_err());
}
