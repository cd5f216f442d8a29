//! What goes wrong around a casebook: each in its own words, nothing lost, nothing shown that isn't true.

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use sensor::Side;
use serde_json::Value;

use super::super::kit::program;
use super::kit::{Desk, Done, PASSPHRASE, run_id};

#[test]
fn a_wrong_passphrase_opens_nothing_and_nobody_is_asked() {
    let desk = Desk::new();
    desk.does(&["client", "add", "Ana Ruiz"]);
    let with = |words: Option<&str>| {
        let mut command = desk.command(&["client", "find"]);
        match words {
            Some(words) => command.env("LEGRAISE_PASSPHRASE", words),
            None => command.env_remove("LEGRAISE_PASSPHRASE"),
        };
        Done::of(&command.output().expect("it starts"))
    };
    for wrong in ["three small word", "THREE SMALL WORDS", "x"] {
        let done = with(Some(wrong));
        assert_eq!((done.code, done.out.as_str()), (Some(1), ""));
        assert!(
            done.err.contains("the passphrase doesn't open it; "),
            "{}",
            done.err
        );
        assert!(
            !done.err.contains(wrong) && done.err.lines().count() == 1,
            "{}",
            done.err
        );
    }
    let done = with(None);
    assert_eq!(done.code, Some(2));
    assert!(done.err.contains("no terminal to ask at; "), "{}", done.err);
    let file = desk.path("words");
    fs::write(&file, format!("{PASSPHRASE}\n")).expect("written");
    let mut command = desk.command(&["client", "find", "--passphrase-file"]);
    command.arg(&file).env_remove("LEGRAISE_PASSPHRASE");
    let done = Done::of(&command.output().expect("it starts"));
    assert!(done.out.contains("Ana Ruiz"), "{}", done.err);
}

#[test]
fn the_passphrase_is_changed() {
    let desk = Desk::new();
    desk.does(&["client", "add", "Ana Ruiz"]);
    let mut command = desk.command(&["book", "passphrase"]);
    command.env("LEGRAISE_NEW_PASSPHRASE", "four other small words");
    assert!(command.output().expect("it starts").status.success());
    desk.refuses(&["client", "find"], "the passphrase doesn't open it");
    let mut command = desk.command(&["client", "find"]);
    command.env("LEGRAISE_PASSPHRASE", "four other small words");
    assert!(
        Done::of(&command.output().expect("it starts"))
            .out
            .contains("Ana Ruiz")
    );
}

#[test]
fn two_programs_at_once_never_mix() {
    const PROGRAMS: usize = 6;
    let desk = Desk::new();
    let children: Vec<_> = (0..PROGRAMS)
        .map(|n| {
            let name = format!("Client {n}");
            let mut command = desk.command(&["client", "add", &name]);
            command.stdout(Stdio::piped()).stderr(Stdio::piped());
            command.spawn().expect("it starts")
        })
        .collect();
    let mut added = 0;
    for child in children {
        let done = Done::of(&child.wait_with_output().expect("it ends"));
        if done.code == Some(0) {
            added += 1;
        } else {
            assert_eq!(done.code, Some(1));
            assert!(
                done.err.contains("open in another program (")
                    && done.err.contains("; close that one"),
                "{}",
                done.err
            );
        }
    }
    assert!(added > 0);
    let found = desk.shows(&["client", "find"]);
    assert_eq!(found["clients"].as_array().map(Vec::len), Some(added));
    // Held for certain: every command is refused, and says who has it.
    let lock = desk.path("book/.casebook.db.lock");
    let held = fs::File::options()
        .write(true)
        .open(lock)
        .expect("the lock");
    held.lock().expect("held");
    for words in [
        &["client", "find"][..],
        &["book", "check"],
        &["client", "add", "X"],
    ] {
        assert_eq!(desk.refuses(words, "open in another program"), 1);
    }
    drop(held);
    desk.does(&["book", "check"]);
}

#[test]
fn a_casebook_cut_short_is_told_and_left_alone() {
    let desk = Desk::new();
    desk.does(&[
        "client",
        "add",
        "Ana Ruiz",
        "--notes",
        &"words ".repeat(3000),
    ]);
    let backup = desk.path("backup.db").display().to_string();
    desk.does(&["book", "backup", &backup]);
    let whole = fs::read(desk.book()).expect("reads");
    for share in [0, 1, 2, 5, 9] {
        let length = whole.len() * share / 10;
        fs::write(desk.book(), &whole[..length]).expect("written");
        assert_eq!(desk.refuses(&["client", "find"], "cut short"), 1);
        assert_eq!(fs::read(desk.book()).expect("reads"), &whole[..length]);
    }
    desk.refuses(&["book", "restore", &backup], "would take its place");
    let told = desk.does(&["book", "restore", &backup, "--yes"]);
    let aside = told.trim().rsplit_once("casebook is ").expect("a place").1;
    assert_eq!(
        fs::metadata(aside).expect("kept").len(),
        whole.len() as u64 * 9 / 10
    );
    assert!(desk.does(&["client", "find"]).contains("Ana Ruiz"));
    desk.does(&["book", "check"]);
}

/// Long notes under a name: two states that can be told apart.
fn edit(desk: &Desk, text: &str, limit: &str) -> Command {
    let mut command = Command::new("sh");
    command.args(["-c", &format!("ulimit -c 0; {limit} exec \"$@\""), "sh"]);
    command.arg(program());
    command.args([
        "client",
        "edit",
        "ruiz",
        "--notes",
        text,
        "--because",
        "more to say",
    ]);
    desk.prepare(&mut command);
    command
}

fn notes(desk: &Desk) -> Value {
    desk.shows(&["client", "show", "ruiz"])["client"]["notes"].clone()
}

fn journal(desk: &Desk) -> PathBuf {
    desk.path("book/casebook.db-journal")
}

#[cfg(unix)]
#[test]
fn the_program_ended_in_the_middle_of_a_save_loses_nothing() {
    let desk = Desk::new();
    let (before, after) = ("first ".repeat(5000), "other ".repeat(6000));
    desk.does(&["client", "add", "Ana Ruiz", "--notes", &before]);
    let start = fs::read(desk.book()).expect("reads");
    let (mut cut, mut journals) = (0, 0);
    // In blocks of 512 bytes: each fifth page, to the end of the file and beyond.
    for blocks in (0..start.len() / 512 + 200).step_by(40) {
        fs::write(desk.book(), &start).expect("written");
        drop(fs::remove_file(journal(&desk)));
        let done = edit(&desk, &after, &format!("ulimit -f {blocks};"));
        let done = { done }.output().expect("a shell");
        journals += usize::from(journal(&desk).exists());
        let expected = if done.status.success() {
            &after
        } else {
            &before
        };
        cut += usize::from(!done.status.success());
        desk.does(&["book", "check"]);
        assert_eq!(notes(&desk), **expected, "cut at {blocks} blocks");
    }
    assert!(
        cut > 3 && journals > 1,
        "{cut} cuts, {journals} with a journal left"
    );
}

#[cfg(unix)]
#[test]
fn a_disk_that_takes_no_more_is_told_and_changes_nothing() {
    let desk = Desk::new();
    let (before, after) = ("first ".repeat(5000), "other ".repeat(9000));
    desk.does(&["client", "add", "Ana Ruiz", "--notes", &before]);
    let blocks = fs::metadata(desk.book()).expect("there").len() / 512;
    // The system refuses writes past the file's present end, as a full disk does.
    let limit = format!("trap '' XFSZ; ulimit -f {blocks};");
    let done = Done::of(&edit(&desk, &after, &limit).output().expect("a shell"));
    assert_eq!(done.code, Some(1), "{}", done.err);
    assert!(
        done.err.contains("; ") && done.err.contains("disk"),
        "{}",
        done.err
    );
    assert_eq!(notes(&desk), before);
    desk.does(&["book", "check"]);
}

#[test]
fn what_is_not_there_is_wrong_usage() {
    let desk = Desk::new();
    assert_eq!(desk.refuses(&["book", "make"], "there is one already"), 2);
    assert_eq!(desk.refuses(&["client", "show", "nobody"], "no client"), 2);
    let missing = desk.path("none.db").display().to_string();
    assert_eq!(
        desk.refuses(&["client", "find", "--book", &missing], "no casebook there"),
        2
    );
    assert_eq!(desk.refuses(&["bands", "60", "45"], "bands: "), 2);
    assert_eq!(desk.refuses(&["rules", "raise_count", "0"], "rules: "), 2);
    desk.does(&["bands", "50", "70"]);
    desk.refuses(&["bands", "50", "75"], "without a reason");
    desk.does(&["bands", "50", "75", "--because", "tried out"]);
    assert_eq!(desk.shows(&["bands"])["edges_deg"][1], 75.0);
    desk.does(&["rules", "raise_count", "2"]);
    let text = desk.does(&["rules"]);
    assert!(
        text.contains("raise_count = 2 raises (as shipped 3)"),
        "{text}"
    );
}

#[test]
fn own_drills_are_used_and_a_broken_one_stops_nothing() {
    let (desk, code) = Desk::with_visit();
    let code = code.as_str();
    let folder = desk.path("drills");
    fs::create_dir_all(&folder).expect("made");
    let shipped = casebook::drill::shipped_text("heel-dug-bridge-hold").expect("one of them");
    fs::write(folder.join("own-bridge.toml"), shipped).expect("written");
    fs::write(folder.join("broken.toml"), "name = 3\n").expect("written");
    desk.does(&[
        "book",
        "settings",
        "--drills",
        &folder.display().to_string(),
    ]);
    desk.records(
        &run_id(code, "01", "01"),
        Side::Left,
        52.0,
        "2026-01-05T09:30:00",
    );
    desk.does(&["visit", "take", code]);
    let done = desk.tries(&["decide", code, "--json"]);
    assert!(
        done.err.contains("broken.toml: ") && done.err.contains("; "),
        "{}",
        done.err
    );
    let decision: Value = serde_json::from_str(&done.out).expect("an object");
    let proposed = decision["sides"][0]["proposed"].as_array().expect("drills");
    assert!(
        proposed.iter().any(|drill| drill["drill"] == "own-bridge"),
        "{proposed:?}"
    );
    desk.refuses(&["visit", "drill", code, "own-brdge"], "own-bridge");
    desk.does(&["visit", "drill", code, "own-bridge"]);
    let shown = desk.shows(&["visit", "show", code]);
    assert_eq!(shown["drill"]["drill"], "own-bridge");
    // At a visit of another day nobody knows when it ended.
    assert_eq!(shown["drill"]["ended"], Value::Null);
    // Cautions stop every drill, and so does not having asked.
    desk.does(&[
        "visit",
        "note",
        code,
        "--cautions",
        "spine",
        "--because",
        "told later",
    ]);
    let decision = desk.shows(&["decide", code]);
    let side = &decision["sides"][0];
    assert_eq!(
        (
            side["proposed"].as_array().map(Vec::len),
            &side["stopped_by"][0]
        ),
        (Some(0), &Value::from("spine"))
    );
}

#[test]
fn a_recording_that_cannot_be_analysed_stops_no_other() {
    let (desk, code) = Desk::with_visit();
    let code = code.as_str();
    for (run, side) in [("01", Side::Right), ("02", Side::Left)] {
        desk.records(&run_id(code, "01", run), side, 60.0, "2026-01-05T09:30:00");
    }
    let motion = desk.data().join(format!("sub-{code}/ses-01/motion"));
    let samples = |run: &str, place: &str| {
        motion.join(format!(
            "sub-{code}_ses-01_task-legraise_tracksys-{place}_run-{run}_motion.tsv"
        ))
    };
    let whole = fs::read(samples("01", "shinright")).expect("reads");
    fs::write(samples("01", "shinright"), b"\0\0\0").expect("written");
    let done = desk.tries(&["visit", "take", code]);
    assert_eq!(done.code, Some(1), "{}", done.err);
    assert!(done.err.contains("run-01_motion.tsv"), "{}", done.err);
    let kept = |desk: &Desk| {
        desk.shows(&["visit", "show", code])["rounds"]
            .as_array()
            .map(Vec::len)
    };
    assert_eq!(kept(&desk), Some(1));
    fs::write(samples("01", "shinright"), whole).expect("written");
    desk.does(&["visit", "take", code]);
    assert_eq!(kept(&desk), Some(2));
    desk.refuses(&["visit", "take", code], "no new recording");
    let elsewhere = super::super::kit::root().join("recordings-demo/sub-marbul/ses-01");
    let elsewhere = elsewhere.display().to_string();
    desk.refuses(
        &["visit", "take", code, &elsewhere],
        "not a recording of client",
    );
    // What was kept stays when its recording is gone, and that is told.
    fs::remove_file(samples("02", "shinleft")).expect("removed");
    fs::remove_file(samples("02", "shinright")).expect("removed");
    let done = desk.tries(&["visit", "refresh", code]);
    assert_eq!(done.code, Some(1));
    assert!(
        done.out.contains("run-02: the recording isn't there"),
        "{}",
        done.out
    );
    assert_eq!(kept(&desk), Some(2));
}

#[test]
fn a_result_that_changes_is_told_and_kept() {
    let (desk, code) = Desk::with_visit();
    let code = code.as_str();
    desk.records(
        &run_id(code, "01", "01"),
        Side::Right,
        60.0,
        "2026-01-05T09:30:00",
    );
    desk.does(&["visit", "take", code]);
    desk.refuses(&["visit", "aside", code, "01", "2"], "without a reason");
    desk.does(&["visit", "aside", code, "01", "2", "--because", "coughed"]);
    let raise =
        |desk: &Desk| desk.shows(&["visit", "show", code])["rounds"][0]["raises"][1].clone();
    let before = raise(&desk);
    assert_eq!(before["set_aside"], "coughed");
    let decision = desk.shows(&["decide", code]);
    assert_eq!(decision["sides"][0]["raises"], 2, "it is in no mean");
    // A mark that somebody added to the recording later ends a raise earlier.
    let events = desk.data().join(format!(
        "sub-{code}/ses-01/motion/sub-{code}_ses-01_task-legraise_run-01_events.tsv"
    ));
    let pressed_s = before["start_s"].as_f64().expect("a time") + 3.0;
    let header = "onset\tduration\ttrial_type\tside\tvalue\n";
    fs::write(
        &events,
        format!("{header}{pressed_s}\tn/a\tpull\tright\tn/a\n"),
    )
    .expect("written");
    let told = desk.shows(&["visit", "refresh", code]);
    assert_eq!(told["rounds"][0]["state"], "changed");
    let differing = told["rounds"][0]["differing"].as_array().expect("raises");
    assert_eq!(differing.len(), 1);
    assert_eq!(differing[0]["former"]["end_point"], before["end_point"]);
    let now = raise(&desk);
    assert_eq!(now["end_point"]["reason"], "pull");
    assert_eq!(now["set_aside"], "coughed", "it stays set aside");
    let history = desk.shows(&["client", "history", code]);
    let changes = history["changes"].as_array().expect("changes");
    let kept = changes
        .iter()
        .find(|change| change["field"] == "results")
        .expect("kept");
    let former: Value = serde_json::from_str(kept["former"].as_str().expect("text")).expect("JSON");
    assert_eq!(former["raises"][1]["end_point"]["reason"], "hold");
}
