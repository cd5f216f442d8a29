//! What is written, and what is refused.
#![allow(clippy::too_many_lines, reason = "tables of cases")]

use std::fs;

use super::*;
use crate::{
    Conditions, Device, Mark, MarkKind, Placement, RawStamp, RecordingId, Run, RunTime, Sample,
    Track, UnitLimits,
};

/// Words of the error, and what is made wrong.
type Case = (&'static str, fn(&mut Run));

fn sample(ns: i64) -> Sample {
    Sample {
        at: RunTime::from_ns(ns),
        accel_m_s2: [0.1, -0.2, 9.81],
        gyro_rad_s: [1e-7, -0.0, 3.25],
    }
}

fn track(placement: Placement) -> Track {
    Track {
        name: placement.to_string(),
        placement: Some(placement),
        rate_hz: 100.0,
        limits: None,
        device: Device::default(),
        samples: (0..50).map(|i| sample(i * 10_000_000)).collect(),
        stamps: Vec::new(),
    }
}

fn run() -> Run {
    Run {
        id: RecordingId {
            subject: Some("abc".to_owned()),
            session: Some("01".to_owned()),
            task: "legraise".to_owned(),
            acquisition: None,
            run: Some("01".to_owned()),
        },
        acquired: Some("2026-03-02T09:30:00".to_owned()),
        conditions: Conditions::default(),
        tracks: vec![track(Placement::ShinLeft), track(Placement::ShinRight)],
        marks: Vec::new(),
    }
}

#[test]
fn what_can_not_be_written() {
    let dir = tempfile::tempdir().expect("tempdir");
    let root = dir.path().join("set");
    let table: [Case; 17] = [
        ("subject is \"\"", |r| r.id.subject = None),
        ("subject is \"a-b\"", |r| {
            r.id.subject = Some("a-b".to_owned());
        }),
        ("session is \"ä\"", |r| r.id.session = Some("ä".to_owned())),
        ("task is \"../x\"", |r| r.id.task = "../x".to_owned()),
        ("run is \"x\"", |r| r.id.run = Some("x".to_owned())),
        ("no track", |r| r.tracks.clear()),
        ("two tracks are named", |r| {
            r.tracks[1] = r.tracks[0].clone();
        }),
        ("no samples", |r| r.tracks[0].samples.clear()),
        ("sample 1 is not later", |r| {
            r.tracks[0].samples[1].at = RunTime::ZERO;
        }),
        ("sample 2 is impossible", |r| {
            r.tracks[0].samples[2].gyro_rad_s[0] = f32::NAN;
        }),
        ("first sample is at", |r| {
            r.tracks
                .iter_mut()
                .for_each(|t| t.samples = vec![sample(5)]);
        }),
        ("rate is NaN", |r| r.tracks[0].rate_hz = f64::NAN),
        ("stamps of 50 samples", |r| {
            r.tracks[0].stamps.push(RawStamp::default());
        }),
        ("name says shinleft", |r| r.tracks[0].placement = None),
        ("acceleration is about 1", |r| {
            r.tracks[0]
                .samples
                .iter_mut()
                .for_each(|s| s.accel_m_s2 = [0.0, 0.0, 1.0]);
        }),
        ("a limit of its unit is -1", |r| {
            r.tracks[0].limits = Some(UnitLimits {
                gyro_scale: -1.0,
                ..UnitLimits::PLAIN
            });
        }),
        ("acquired is \"today\"", |r| {
            r.acquired = Some("today".to_owned());
        }),
    ];
    for (words, break_it) in table {
        let mut broken = run();
        break_it(&mut broken);
        let error = write_run(&root, &broken).expect_err(words).to_string();
        assert!(error.contains(words), "{words}: {error}");
        assert!(!root.exists(), "{words}: the disk was touched");
    }
}

#[test]
fn a_recording_is_never_written_over_by_another() {
    let dir = tempfile::tempdir().expect("tempdir");
    let mut run = run();
    write_run(dir.path(), &run).expect("writes");
    run.marks.push(Mark {
        at: RunTime::ZERO,
        duration_s: None,
        kind: MarkKind::Note,
        side: None,
        value: "a\tb\n".to_owned(),
    });
    write_run(dir.path(), &run).expect("the same samples");
    let read = read_run(&find_runs(dir.path()).expect("is there")[0]).expect("reads");
    assert_eq!(read.run.marks[0].value, "a b ");
    run.tracks.pop();
    assert!(matches!(
        write_run(dir.path(), &run),
        Err(WriteError {
            kind: WriteErrorKind::Exists,
            ..
        })
    ));
    run.id.run = Some("02".to_owned());
    run.tracks[0].samples[5].accel_m_s2[0] = 0.5;
    write_run(dir.path(), &run).expect("another number");
    assert_eq!(find_runs(dir.path()).expect("is there").len(), 2);
}

#[test]
fn writers_at_the_same_time_lose_no_row() {
    let dir = tempfile::tempdir().expect("tempdir");
    std::thread::scope(|scope| {
        for who in 0..4 {
            let root = dir.path();
            scope.spawn(move || {
                for nth in 0..3 {
                    let mut run = run();
                    run.id.subject = Some(format!("s{who}{nth}"));
                    write_run(root, &run).expect("writes");
                }
            });
        }
    });
    let text = fs::read_to_string(dir.path().join("participants.tsv")).expect("table");
    assert_eq!(text.lines().count(), 13);
    assert_eq!(find_runs(dir.path()).expect("is there").len(), 12);
}

#[test]
fn what_is_there_stays() {
    let dir = tempfile::tempdir().expect("tempdir");
    let put = |name: &str, text: &str| fs::write(dir.path().join(name), text).expect("file");
    put("dataset_description.json", "{\"Name\": \"theirs\"}");
    put("README.md", "theirs");
    put(
        "participants.tsv",
        "participant_id\tage\tshoe\nsub-zz\t30\t44\n",
    );
    put(
        "task-legraise_channels.json",
        r#"{"reference_frame": {"Levels": {"global": {"Description": "x"}}}, "own": 1}"#,
    );
    write_run(dir.path(), &run()).expect("writes");
    set_participant(dir.path(), "abc", &[("age", "93")]).expect("has the column");
    assert!(set_participant(dir.path(), "abc", &[("hand", "left")]).is_err());
    let text = |name: &str| fs::read_to_string(dir.path().join(name)).expect("file");
    assert_eq!(text("dataset_description.json"), "{\"Name\": \"theirs\"}");
    assert!(!dir.path().join("README").exists());
    assert_eq!(
        text("participants.tsv"),
        "participant_id\tage\tshoe\nsub-zz\t30\t44\nsub-abc\t89\tn/a\n"
    );
    let frame = text("task-legraise_channels.json");
    assert!(
        frame.contains("global") && frame.contains("\"sensor\"") && frame.contains("own"),
        "{frame}"
    );
    put("participants.tsv", "participant_id\nsub-\u{e4}\n");
    fs::write(
        dir.path().join("participants.tsv"),
        b"participant_id\nsub-\xE4\n",
    )
    .expect("file");
    let error = set_participant(dir.path(), "abc", &[])
        .expect_err("not UTF-8")
        .to_string();
    assert!(error.contains("not UTF-8"), "{error}");
}

#[test]
fn results_are_tables_of_the_right_shape() {
    let dir = tempfile::tempdir().expect("tempdir");
    create_derivative(dir.path(), &Derivative::default()).expect("creates");
    let columns = vec![
        Column::new("onset", "Start"),
        Column::new("duration", "Length"),
        Column::new("side", "Leg").of_words(&[("left", "left leg")]),
        Column::new("peak_deg", "Peak").in_units("deg"),
    ];
    let row = |cells: [&str; 4]| cells.map(str::to_owned).to_vec();
    let mut raises = RaiseTable {
        id: run().id,
        description: "Raises".to_owned(),
        sources: vec!["sub-abc/x_motion.tsv".to_owned()],
        columns,
        rows: vec![row(["1.5", "2", "left", "62.3"]), row(["4", "2", "", ""])],
    };
    let path = write_raises(dir.path(), &raises).expect("writes");
    assert!(path.ends_with(
        "sub-abc/ses-01/beh/sub-abc_ses-01_task-legraise_run-01_desc-raises_events.tsv"
    ));
    let text = fs::read_to_string(&path).expect("file");
    assert_eq!(
        text,
        "onset\tduration\tside\tpeak_deg\n1.5\t2\tleft\t62.3\n4\t2\tn/a\tn/a\n"
    );
    let json = fs::read_to_string(path.with_extension("json")).expect("file");
    assert!(
        json.contains("bids:raw:sub-abc/x_motion.tsv") && json.contains("\"Units\": \"deg\""),
        "{json}"
    );
    raises.rows.swap(0, 1);
    assert!(write_raises(dir.path(), &raises).is_err(), "not in order");
    raises.rows = vec![row(["1", "1", "up", "1"])];
    assert!(
        write_raises(dir.path(), &raises).is_err(),
        "not a word of the list"
    );
    raises.rows = vec![vec!["1".to_owned()]];
    assert!(write_raises(dir.path(), &raises).is_err(), "a cell too few");
    assert!(
        write_phenotype(dir.path(), "legraise", "x", &raises.columns, &[]).is_err(),
        "no participant_id"
    );
}
