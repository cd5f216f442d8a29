//! What the files beside the samples say, and what happens where they don't.
#![allow(
    clippy::too_many_lines,
    clippy::format_collect,
    clippy::format_push_string,
    reason = "tables of cases, made as text"
)]

use std::fs;

use super::tests_read::{CHANNELS, JSON, ROW, STEM, put, read, read_text, rows};
use super::*;
use crate::{MarkKind, Placement, Side, UnitLimits};

#[test]
fn units_of_all_kinds() {
    let value = |tracks: &[crate::Track]| {
        (
            tracks[0].samples[0].accel_m_s2[2],
            tracks[0].samples[0].gyro_rad_s[0],
        )
    };
    // accelerometer's unit, value in the file; gyroscope's unit, value; problem
    let table = [
        ("m/s^2", "9.8", "rad/s", "0.5", ""),
        ("m s-2", "9.8", "rad/s", "0.5", ""),
        ("g", "0.99932", "deg/s", "28.6479", ""),
        ("g", "0.99932", "°/s", "28.6479", ""),
        ("m/s2", "9.8", "dps", "28.6479", ""),
        ("m/s^2", "0.99932", "rad/s", "0.5", "says g; converted"),
        ("m/s^2", "999.32", "rad/s", "0.5", "says mg; converted"),
        ("g", "9.8", "rad/s", "0.5", "says m/s^2; converted"),
        (
            "n/a",
            "9.8",
            "rad/s",
            "0.5",
            "has no units, taken for m/s^2",
        ),
    ];
    for (accel, a, gyro, g, words) in table {
        let channels = CHANNELS.replace("m/s^2", accel).replace("rad/s", gyro);
        let text = rows(20)
            .replace("9.8", a)
            .replace("\t0.1\t", &format!("\t{g}\t"));
        let (tracks, problems) = read(text.as_bytes(), &channels, JSON).expect("reads");
        let (read_a, read_g) = value(&tracks);
        assert!(
            (read_a - 9.8).abs() < 1e-4 && (read_g - 0.5).abs() < 1e-5,
            "{accel} {gyro}: {read_a} {read_g}"
        );
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        assert_eq!(told.is_empty(), words.is_empty(), "{told:?}");
        assert!(told.iter().all(|t| t.contains(words)), "{told:?}");
    }
    let (_, problems) = read_text(&rows(5).replace("9.8", "3")).expect("reads");
    assert!(matches!(
        problems[0].kind,
        ProblemKind::AccelImplausible { .. }
    ));
    let error = read(
        rows(5).as_bytes(),
        &CHANNELS.replace("rad/s", "counts"),
        JSON,
    )
    .expect_err("unknown");
    assert!(
        error
            .to_string()
            .contains("is in \"counts\", expected rad/s or deg/s"),
        "{error}"
    );
}

#[test]
fn channels_in_any_order_and_more() {
    let channels = "name\ttype\tcomponent\ttracked_point\tunits\nm\tMAGN\tx\tq\tuT\ngz\tGYRO\tz\tq\trad/s\n\
        gx\tgyro\tX\tq\trad/s\ngy\tGYRO\ty\tq\trad/s\naz\tACCEL\tz\tq\tm/s^2\nax\tACCEL\tx\tq\tm/s^2\n\
        ay\tACCEL\ty\tq\tm/s^2\nlat\tLATENCY\tn/a\tn/a\tms\nsequence\tMISC\tn/a\tq\tn/a\narrival_s\tMISC\tn/a\tq\ts\n";
    let text = "1\t3\t1\t2\t9.8\t0.1\t0.2\t0\t7\t0.5\n1\t3\t1\t2\t9.8\t0.1\t0.2\t12.5\tn/a\t0.51\n";
    let (tracks, problems) = read(text.as_bytes(), channels, JSON).expect("reads");
    let track = &tracks[0];
    assert_eq!(
        (track.samples[1].accel_m_s2, track.samples[1].gyro_rad_s),
        ([0.1, 0.2, 9.8], [1.0, 2.0, 3.0])
    );
    assert_eq!(track.samples[1].at.ns(), 12_500_000);
    assert_eq!(
        (track.stamps[0].sequence, track.stamps[1].sequence),
        (Some(7), None)
    );
    assert_eq!(track.stamps[1].arrival.map(|a| a.0), Some(510_000_000));
    assert!(
        problems.iter().all(Problem::is_mild) && problems.len() == 2,
        "{problems:?}"
    );
    // The point's name is no placement, so the file's label tells.
    assert_eq!(
        (track.name.as_str(), track.placement),
        ("shinright", Some(Placement::ShinRight))
    );
}

#[test]
fn several_points_in_one_file() {
    let mut channels = "name\tcomponent\ttype\ttracked_point\tunits\n".to_owned();
    for point in ["Left_Shin", "Head"] {
        for (kind, units) in [("ACCEL", "g"), ("GYRO", "deg/s"), ("MAGN", "uT")] {
            for axis in ["x", "y", "z"] {
                channels += &format!("{point}{kind}{axis}\t{axis}\t{kind}\t{point}\t{units}\n");
            }
        }
    }
    channels += "extra\tx\tACCEL\tHand\tg\n";
    let row = |z: &str| format!("0\t0\t{z}\t0\t0\t0\t1\t1\t1\t0\t0\t1\t0\t0\t90\t1\t1\t1\t0\n");
    let text = row("1") + &row("n/a") + &row("1.1");
    let (tracks, problems) = read(text.as_bytes(), &channels, JSON).expect("reads");
    let names: Vec<_> = tracks
        .iter()
        .map(|t| (t.name.as_str(), t.placement, t.samples.len()))
        .collect();
    assert_eq!(
        names,
        [
            ("Left_Shin", Some(Placement::ShinLeft), 2),
            ("Head", None, 3)
        ]
    );
    // Without LATENCY time comes from the rate, and a row left out keeps its time.
    assert_eq!(tracks[0].samples[1].at.ns(), 20_000_000);
    assert!((tracks[1].samples[0].gyro_rad_s[2] - 1.570_796_4).abs() < 1e-6);
    let kinds: Vec<String> = problems.iter().map(|p| p.kind.to_string()).collect();
    assert!(
        kinds.iter().any(|k| k.contains("\"Hand\" has no ACCEL y")),
        "{kinds:?}"
    );
    assert!(
        kinds
            .iter()
            .any(|k| k.contains("7 channels that are not needed")),
        "{kinds:?}"
    );
}

#[test]
fn without_side_files() {
    let dir = tempfile::tempdir().expect("tempdir");
    let (tracks, problems) =
        read_motion(&put(dir.path(), "shin_motion.tsv", rows(30))).expect("reads");
    assert_eq!(
        (tracks[0].name.as_str(), tracks[0].rate_hz),
        ("shin", 100.0)
    );
    let kinds: Vec<&ProblemKind> = problems.iter().map(|p| &p.kind).collect();
    let expected = [
        &ProblemKind::NoSidecar,
        &ProblemKind::NoChannels { columns: 7 },
        &ProblemKind::RateFromTimes { rate_hz: 100.0 },
    ];
    assert_eq!(kinds, expected);
    let six = put(dir.path(), "six_motion.tsv", format!("{ROW}\n{ROW}\n"));
    assert!(matches!(
        read_motion(&six),
        Err(ReadError {
            kind: ReadErrorKind::NoTime,
            ..
        })
    ));
    put(
        dir.path(),
        "six_motion.json",
        r#"{"SamplingFrequency": "50"}"#,
    );
    assert_eq!(
        read_motion(&six).expect("has a rate").0[0].samples[1]
            .at
            .ns(),
        20_000_000
    );
    let five = put(dir.path(), "five_motion.tsv", "1\t2\t3\t4\t5\n");
    assert!(matches!(
        read_motion(&five),
        Err(ReadError {
            kind: ReadErrorKind::NoChannels { columns: 5 },
            ..
        })
    ));
}

#[test]
fn limits_device_and_inheritance() {
    let dir = tempfile::tempdir().expect("tempdir");
    let root = dir.path();
    let folder = root.join("sub-a/ses-01/motion");
    put(root, "dataset_description.json", "{}");
    put(root, "task-legraise_channels.tsv", CHANNELS);
    put(
        root,
        "task-legraise_motion.json",
        r#"{"SamplingFrequency": 50, "Manufacturer": "far", "AccelScaleLimit": 0.5}"#,
    );
    put(root, "task-flat_motion.json", r#"{"SamplingFrequency": 1}"#);
    put(
        root,
        "sub-a/sub-a_tracksys-shinright_motion.json",
        r#"{"Manufacturer": "near", "GyroScaleLimit": -1}"#,
    );
    put(
        &folder,
        &format!("{STEM}_motion.json"),
        "\u{feff}{\"DeviceSerialNumber\": \"n/a\", \"AccelOffsetLimit\": 0.02}",
    );
    let path = put(&folder, &format!("{STEM}_motion.tsv"), rows(3));
    let (tracks, problems) = read_motion(&path).expect("reads");
    assert_eq!(
        (tracks[0].rate_hz, tracks[0].device.manufacturer.as_str()),
        (50.0, "near")
    );
    assert_eq!(tracks[0].device.serial, "");
    let limits = UnitLimits {
        accel_offset_m_s2: 0.02,
        accel_scale: 0.5,
        ..UnitLimits::PLAIN
    };
    assert_eq!(tracks[0].limits, Some(limits));
    assert!(matches!(
        &problems[..],
        [Problem {
            kind: ProblemKind::BadKey {
                key: "GyroScaleLimit",
                ..
            },
            ..
        }]
    ));
    put(&folder, &format!("{STEM}_motion.json"), "{\n\"a\": 1,\n");
    let problems = read_motion(&path).expect("reads").1;
    assert!(
        problems
            .iter()
            .any(|p| matches!(p.kind, ProblemKind::BadJson { .. }) && p.place.line == Some(3))
    );
}

#[test]
fn events_of_all_kinds() {
    let dir = tempfile::tempdir().expect("tempdir");
    put(dir.path(), &format!("{STEM}_channels.tsv"), CHANNELS);
    put(dir.path(), &format!("{STEM}_motion.json"), JSON);
    let motion = put(dir.path(), &format!("{STEM}_motion.tsv"), rows(500));
    let events = "onset\tduration\ttrial_type\tside\tvalue\r\n2.5\t0.5\tpull\tright\tn/a\r\nn/a\t0\tpull\tleft\t\r\n\
        1\tn/a\tdance\tmiddle\twaltz \r\n0.000000001\t-1\tRAISE\tL\r\n";
    put(
        dir.path(),
        "sub-a_ses-01_task-legraise_run-01_events.tsv",
        events,
    );
    let files = &find_runs(&motion).expect("is there")[0];
    let read = read_run(files).expect("reads");
    let marks: Vec<_> = read
        .run
        .marks
        .iter()
        .map(|m| (m.at.ns(), m.duration_s, m.kind, m.side, m.value.as_str()))
        .collect();
    let expected = [
        (1, None, MarkKind::Raise, Some(Side::Left), ""),
        (1_000_000_000, None, MarkKind::Note, None, "waltz "),
        (
            2_500_000_000,
            Some(0.5),
            MarkKind::Pull,
            Some(Side::Right),
            "",
        ),
    ];
    assert_eq!(marks, expected);
    assert_eq!(read.problems.len(), 5, "{:?}", read.problems);
}

#[test]
fn times_count_from_the_first_sample() {
    let dir = tempfile::tempdir().expect("tempdir");
    for (label, start) in [
        ("shinright", 1_700_000_000.25),
        ("shinleft", 1_700_000_000.5),
    ] {
        let stem = STEM.replace("shinright", label);
        put(
            dir.path(),
            &format!("{stem}_channels.tsv"),
            CHANNELS.replace("shinright", label),
        );
        put(dir.path(), &format!("{stem}_motion.json"), JSON);
        let text: String = (0..500)
            .map(|i| format!("{:.2}\t{ROW}\n", start + f64::from(i) * 0.01))
            .collect();
        put(dir.path(), &format!("{stem}_motion.tsv"), text);
    }
    for (onset, is_told) in [("1700000001.25", false), ("1.0", true)] {
        put(
            dir.path(),
            "sub-a_ses-01_task-legraise_run-01_events.tsv",
            format!("onset\tduration\ttrial_type\n{onset}\t0\tpull\n"),
        );
        let found = find_runs(dir.path()).expect("is there");
        let read = read_run(&found[0]).expect("reads");
        let starts: Vec<i64> = read
            .run
            .tracks
            .iter()
            .map(|t| t.samples[0].at.ns())
            .collect();
        assert_eq!(starts, [250_000_000, 0]);
        assert_eq!(read.run.marks[0].at.ns(), 1_000_000_000);
        assert_eq!(
            read.problems
                .iter()
                .any(|p| p.kind == ProblemKind::EventClock),
            is_told
        );
    }
    let broken = dir.path().join(format!("{STEM}_motion.tsv"));
    fs::write(&broken, "").expect("file");
    let read = read_run(&find_runs(&broken).expect("is there")[0]).expect("the other can be read");
    assert_eq!((read.run.tracks.len(), read.unreadable.len()), (1, 1));
    fs::write(
        dir.path()
            .join(format!("{}_motion.tsv", STEM.replace("right", "left"))),
        "",
    )
    .expect("file");
    assert!(read_run(&find_runs(&broken).expect("is there")[0]).is_err());
}
