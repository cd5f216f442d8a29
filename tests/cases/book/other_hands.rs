//! Clients that are merged, moved, handed over and forgotten: in the casebook and on disk alike.

use std::fs;

use sensor::Side;
use sensor::bids::{find_runs, recordings_of};
use serde_json::Value;

use super::kit::{Desk, replayed, run_id};

/// A client with one visit of two runs; the code.
fn client(desk: &Desk, name: &str, top_deg: f64) -> String {
    let code = desk.does(&[
        "client",
        "add",
        name,
        "--consent",
        "2026-1",
        "--date",
        "2026-01-02",
    ]);
    let code = code.trim().to_owned();
    let begin = [
        "visit",
        "begin",
        &code,
        "--date",
        "2026-01-05",
        "--cautions",
        "none",
    ];
    desk.does(&begin);
    desk.records(
        &run_id(&code, "01", "01"),
        Side::Right,
        top_deg,
        "2026-01-05T09:30:00",
    );
    desk.records(
        &run_id(&code, "01", "02"),
        Side::Left,
        top_deg + 3.0,
        "2026-01-05T09:34:00",
    );
    desk.does(&["visit", "take", &code]);
    code
}

/// The raises of every recording of a client, whatever the recordings are called now.
fn raises(desk: &Desk, code: &str) -> Vec<Value> {
    let of = desk.data().join(format!("sub-{code}"));
    replayed(desk, &of)
        .into_iter()
        .map(|one| one["raises"].clone())
        .collect()
}

fn assert_nothing_changed(desk: &Desk, code: &str) {
    let again = desk.shows(&["visit", "refresh", code]);
    let rounds = again["rounds"].as_array().expect("rounds");
    assert!(!rounds.is_empty());
    assert!(
        rounds.iter().all(|round| round["state"] == "same"),
        "{again}"
    );
}

/// No file or table of the data set bears the code.
fn assert_gone(desk: &Desk, code: &str) {
    fn walk(folder: &std::path::Path, code: &str) {
        for entry in fs::read_dir(folder).expect("a folder").flatten() {
            let path = entry.path();
            assert!(!path.to_string_lossy().contains(code), "{}", path.display());
            if path.is_dir() {
                walk(&path, code);
            } else {
                let text = String::from_utf8_lossy(&fs::read(&path).expect("reads")).into_owned();
                assert!(!text.contains(code), "{}", path.display());
            }
        }
    }
    walk(&desk.data(), code);
}

#[test]
fn two_entries_become_one_with_all_recordings() {
    let desk = Desk::new();
    let (kept, former) = (
        client(&desk, "Ana Ruiz", 60.0),
        client(&desk, "Anna Ruiz", 64.0),
    );
    let mut expected = raises(&desk, &kept);
    expected.extend(raises(&desk, &former));
    let merge = [
        "client",
        "merge",
        &kept,
        &former,
        "--because",
        "entered twice",
    ];
    desk.refuses(&merge, "would become part of");
    assert_eq!(recordings_of(&desk.data(), &former).len(), 3);
    desk.does(&[&merge[..], &["--yes"]].concat());
    assert_eq!(raises(&desk, &kept), expected);
    assert_gone(&desk, &former);
    assert_nothing_changed(&desk, &kept);
    let shown = desk.shows(&["client", "show", &kept]);
    assert_eq!(shown["visits"].as_array().expect("visits").len(), 2);
    desk.refuses(&["client", "show", &former], "no client");
    let history = desk.does(&["client", "history", &kept]);
    assert!(
        history.contains("Anna Ruiz") && history.contains("entered twice"),
        "{history}"
    );
}

#[test]
fn a_recording_goes_to_the_right_client_and_keeps_its_numbers() {
    let desk = Desk::new();
    let (wrong, right) = (
        client(&desk, "Ana Ruiz", 60.0),
        client(&desk, "Bo Lind", 64.0),
    );
    let before = raises(&desk, &wrong);
    desk.refuses(
        &[
            "visit",
            "move",
            &wrong,
            "01",
            "07",
            &right,
            "--because",
            "x",
        ],
        "isn't on disk",
    );
    desk.refuses(
        &["visit", "move", &wrong, "01", "02", &right],
        "without a reason",
    );
    desk.does(&[
        "visit",
        "move",
        &wrong,
        "01",
        "02",
        &right,
        "--because",
        "wrong client",
    ]);
    assert_eq!(raises(&desk, &wrong), before[..1]);
    let shown = desk.shows(&["visit", "show", &right]);
    let rounds = shown["rounds"].as_array().expect("rounds");
    assert_eq!(rounds.len(), 3);
    assert_eq!(rounds[2]["recording"], format!("sub-{right}/ses-01/run-03"));
    let kept = rounds[2]["raises"].as_array().expect("raises");
    let moved = before[1].as_array().expect("raises");
    assert_eq!(kept.len(), moved.len());
    for (kept, moved) in kept.iter().zip(moved) {
        assert_eq!(kept["end_point"], moved["end_point"]);
    }
    desk.does(&["visit", "show", &wrong]);
}

#[test]
fn a_move_that_was_broken_off_is_finished_by_the_next_command() {
    let desk = Desk::new();
    let (kept, former) = (
        client(&desk, "Ana Ruiz", 60.0),
        client(&desk, "Anna Ruiz", 64.0),
    );
    let expected = [raises(&desk, &kept), raises(&desk, &former)].concat();
    let merge = [
        "client",
        "merge",
        &kept,
        &former,
        "--because",
        "entered twice",
        "--yes",
    ];
    // Something is in the way of the folder that a visit is to get.
    let blocked = desk.data().join(format!("sub-{kept}/ses-02"));
    fs::write(&blocked, "no folder").expect("written");
    desk.refuses(&merge, "ses-02");
    // The casebook can be used meanwhile, and says what is open.
    let meanwhile = desk.tries(&["client", "find"]);
    assert_eq!(meanwhile.code, Some(0));
    assert!(meanwhile.err.contains("ses-02"), "{}", meanwhile.err);
    fs::remove_file(&blocked).expect("removed");
    let told = desk.tries(&["client", "find"]);
    assert!(told.err.contains("moved"), "{}", told.err);
    assert_eq!(raises(&desk, &kept), expected);
    assert_gone(&desk, &former);
    assert_eq!(desk.tries(&["client", "find"]).err, "");
}

#[test]
fn everything_about_one_client_is_handed_over_in_one_step() {
    let desk = Desk::new();
    let (code, other) = (
        client(&desk, "Ana Ruiz", 60.0),
        client(&desk, "Bo Lind", 64.0),
    );
    let out = desk.path("out");
    desk.does(&["client", "give", &code, &out.display().to_string()]);
    assert_eq!(find_runs(&out.join("recordings")).expect("runs").len(), 2);
    let record = fs::read_to_string(out.join("record.json")).expect("a record");
    let record: Value = serde_json::from_str(&record).expect("JSON");
    assert_eq!(record["client"]["name"], "Ana Ruiz");
    assert!(
        record["changes"]
            .as_array()
            .is_some_and(|all| !all.is_empty())
    );
    let csv = fs::read_to_string(out.join("raises.csv")).expect("a table");
    assert_eq!(csv.lines().count(), 1 + 6, "{csv}");
    let path = out.display().to_string();
    desk.refuses(&["client", "give", &code, &path], "not empty");
    for entry in [
        "record.json",
        "raises.csv",
        "report.html",
        "recordings/participants.tsv",
    ] {
        let text = fs::read_to_string(out.join(entry)).expect("reads");
        assert!(text.contains(&code) && !text.contains(&other), "{entry}");
    }
}

#[test]
fn a_forgotten_client_is_gone_and_the_others_are_not() {
    let desk = Desk::new();
    let (code, other) = (
        client(&desk, "Ana Ruiz", 60.0),
        client(&desk, "Bo Lind", 64.0),
    );
    let others = raises(&desk, &other);
    let backup = desk.path("backup.db").display().to_string();
    desk.does(&["book", "backup", &backup]);
    desk.refuses(&["client", "forget", &code], "say --yes");
    desk.refuses(&["client", "forget", "ruiz", "--yes"], "no client");
    let told = desk.does(&["client", "forget", &code, "--yes"]);
    assert!(
        told.contains("backups") && told.contains("handed over"),
        "{told}"
    );
    assert_gone(&desk, &code);
    assert_eq!(raises(&desk, &other), others);
    desk.refuses(&["client", "show", &code], "no client");
    assert_eq!(
        desk.shows(&["client", "find"])["clients"]
            .as_array()
            .map(Vec::len),
        Some(1)
    );
    desk.does(&["book", "check"]);
    // The backup still knows the client, as it was said.
    desk.does(&["book", "restore", &backup, "--yes"]);
    assert_eq!(
        desk.shows(&["client", "find"])["clients"]
            .as_array()
            .map(Vec::len),
        Some(2)
    );
}

#[test]
fn nobody_is_recorded_without_consent() {
    let desk = Desk::new();
    let code = desk.does(&["client", "add", "Ana Ruiz"]);
    let code = code.trim();
    let data = desk.data().display().to_string();
    let live = [
        "live",
        "shinright=synthetic:slow,fast",
        "--seconds",
        "1",
        "--json",
        "--data",
        &data,
        "--client",
        code,
    ];
    assert_eq!(desk.refuses(&live, "has given no consent"), 1);
    assert!(!desk.data().exists());
    desk.does(&["client", "consent", code, "--text", "2026-1"]);
    desk.refuses(&live, "has no visit");
    desk.does(&["visit", "begin", code, "--cautions", "pressure,tear"]);
    desk.refuses(&live, "acute hamstring tear");
    desk.does(&[
        "visit",
        "note",
        code,
        "--cautions",
        "pressure",
        "--because",
        "cleared by the doctor",
    ]);
    desk.does(&live);
    assert_eq!(recordings_of(&desk.data(), code).len(), 1);
    desk.does(&[
        "client",
        "consent",
        code,
        "--withdraw",
        "--because",
        "asked for it",
    ]);
    desk.refuses(&live, "took consent back");
    assert_eq!(recordings_of(&desk.data(), code).len(), 1);
    let due = desk.shows(&["book", "due"]);
    assert_eq!(due["clients"][0]["is_withdrawn"], true);
}
