//! `legraise live` from its arguments to what replay makes of its record.

use super::*;

const TWO_SHINS: [&str; 2] = [
    "shinright=synthetic:slow,seed=1,fast",
    "shinleft=synthetic:slow,seed=1,fast",
];

#[test]
fn live_streams_readings_and_records_what_replay_analyses() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("new");
    let [right, left] = TWO_SHINS;
    let words = ["live", right, left, "--json", "--seconds", "20", "--data"];
    for run in ["01", "02"] {
        let ran = command(&[words.as_slice(), &[text(&data)]].concat());
        assert_eq!(ran.exit, Exit::Done, "{}", ran.err);
        assert!(
            ran.err.contains(&format!("sub-trial/ses-01/run-{run}")),
            "{}",
            ran.err
        );
        let lines: Vec<Value> = ran
            .out
            .lines()
            .map(|line| serde_json::from_str(line).unwrap())
            .collect();
        let of = |line: &Value, key: &str| line[key].as_f64().unwrap();
        assert!(lines.len() > 300, "{} lines", lines.len());
        assert!(lines.is_sorted_by(|a, b| of(a, "t_s") < of(b, "t_s")));
        assert!(lines.iter().all(|l| (-0.1..20.0).contains(&of(l, "t_s"))));
        assert!(lines.iter().all(|l| of(l, "uncertainty_deg") > 0.0));
        let is_up = |l: &&Value| l["side"] == "right" && of(l, "angle_deg") > 20.0;
        assert!(
            lines
                .iter()
                .find(is_up)
                .is_some_and(|l| l["flags"].is_array())
        );
        assert!(lines.iter().any(|l| l["state"] == "rising"));
    }
    let replayed = command(&["replay", text(&data), "--json"]);
    assert_eq!(replayed.exit, Exit::Done, "{}", replayed.err);
    let recordings = replayed.json()["recordings"].clone();
    assert_eq!(recordings.as_array().unwrap().len(), 2);
    let raises = recordings[0]["raises"].as_array().unwrap();
    assert!(!raises.is_empty() && raises.iter().all(|raise| raise["side"] == "right"));
    let motion = data.join("sub-trial/ses-01/motion");
    let names = fs::read_dir(motion).unwrap().flatten();
    assert!(
        names
            .map(|entry| entry.file_name())
            .all(|name| !name.to_string_lossy().contains("journal"))
    );
}

#[test]
fn live_words_are_few_where_nobody_watches_and_a_board_where_somebody_does() {
    let words = ["legraise", "live", TWO_SHINS[0], "--seconds", "10"];
    let plain = command(&words[1..]);
    assert_eq!(plain.exit, Exit::Done, "{}", plain.err);
    assert!(
        (15..=21).contains(&plain.out.lines().count()),
        "{}",
        plain.out
    );
    assert!(
        plain.out.contains("RIGHT") && plain.out.contains(" ± "),
        "{}",
        plain.out
    );
    let cli = Cli::try_parse_from(words).unwrap();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let watched = Watched {
        out: true,
        err: true,
    };
    assert_eq!(run(&cli, &mut out, &mut err, watched), Exit::Done);
    let out = String::from_utf8(out).unwrap();
    // The last board stands: the angle large, what the leg does, and the sensor.
    assert!(
        ["█", "RIGHT", "shinright", " Hz ", " lost"]
            .iter()
            .all(|w| out.contains(w)),
        "{out}"
    );
    assert!(out.ends_with('\n') && out.contains("\x1b[K"));
}

#[test]
fn live_tells_wrong_sources_with_the_mend() {
    let cases: [(&[&str], &str); 7] = [
        (&["shinright"], "expected PLACEMENT=SELECTOR"),
        (&["elbow=synthetic:slow"], "shinleft, shinright"),
        (&["shinright=radio:x"], "synthetic:KIND"),
        (&["shinright=synthetic:wild"], "slow, brisk, compensating"),
        (&["shinright=synthetic:slow,seed=x"], "seed=1"),
        (&["pelvis=synthetic:slow"], "shin"),
        (
            &[
                "shinright=synthetic:slow,seed=1",
                "shinleft=synthetic:slow,seed=2",
            ],
            "same",
        ),
    ];
    for (words, mend) in cases {
        let ran = command(&[&["live"], words].concat());
        assert_eq!((ran.exit, ran.out.as_str()), (Exit::Usage, ""), "{words:?}");
        assert!(
            ran.err.contains(mend) && ran.err.contains("; "),
            "{}",
            ran.err
        );
    }
}

#[test]
fn a_closed_pipe_ends_a_live_run_and_it_is_recorded() {
    let folder = tempfile::tempdir().unwrap();
    let words = ["legraise", "live", TWO_SHINS[0], "--json", "--data"];
    let cli = Cli::try_parse_from([words.as_slice(), &[text(folder.path())]].concat()).unwrap();
    let mut err = Vec::new();
    assert_eq!(
        run(&cli, &mut Closed, &mut err, Watched::default()),
        Exit::Done
    );
    let err = String::from_utf8(err).unwrap();
    assert!(err.contains("sub-trial/ses-01/run-01"), "{err}");
    assert!(
        folder
            .path()
            .join("sub-trial/ses-01/motion")
            .read_dir()
            .unwrap()
            .flatten()
            .any(|entry| entry.file_name().to_string_lossy().ends_with("_motion.tsv"))
    );
}

#[test]
fn a_run_that_was_killed_is_brought_back_at_the_next_start() {
    let folder = tempfile::tempdir().unwrap();
    let data = text(folder.path());
    let first = command(&["live", TWO_SHINS[0], "--seconds", "20", "--data", data]);
    assert_eq!(first.exit, Exit::Done, "{}", first.err);
    // What a kill leaves: a journal, and no recording.
    let motion = folder.path().join("sub-trial/ses-01/motion");
    let files = sensor::bids::find_runs(folder.path()).unwrap();
    let run = sensor::bids::read_run(&files[0]).unwrap().run;
    let sent = sensor::synthetic::live_events(&run, &sensor::synthetic::Sending::plain());
    let (heading, events) = sent;
    fs::remove_dir_all(&motion).unwrap();
    let mut journal = sensor::journal::Journal::create(folder.path(), &heading).unwrap();
    for event in events.iter().take(events.len() / 2) {
        journal.append(event, event.at()).unwrap();
    }
    drop(journal);
    let next = command(&["live", TWO_SHINS[0], "--seconds", "5", "--data", data]);
    assert_eq!(next.exit, Exit::Done, "{}", next.err);
    assert!(
        next.err.contains("run-01 had been broken off, rebuilt") && next.err.contains("run-02"),
        "{}",
        next.err
    );
    let replayed = command(&["replay", data, "--json"]);
    assert_eq!(replayed.json()["recordings"].as_array().unwrap().len(), 2);
    assert!(
        fs::read_to_string(motion.join("sub-trial_ses-01_task-legraise_run-01_events.tsv"))
            .unwrap()
            .contains("rebuilt from its journal")
    );
}

#[test]
fn faults_on_the_way_are_told_and_the_raises_are_found_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let data = text(folder.path());
    let right = "shinright=synthetic:slow,seed=2,fast,drop=1..1.6,lost=2%";
    let left = "shinleft=synthetic:slow,seed=2,fast,restart=9";
    let ran = command(&["live", right, left, "--seconds", "30", "--data", data]);
    assert_eq!(ran.exit, Exit::Done, "{}", ran.err);
    assert!(
        ran.err.contains("shinright: ") && ran.err.contains("samples lost"),
        "{}",
        ran.err
    );
    assert!(
        ran.err.contains("shinleft: its clock began anew 1 times"),
        "{}",
        ran.err
    );
    // The table at the end is what replay prints.
    let replayed = command(&["replay", data]);
    let table = |out: &str| {
        out.lines()
            .filter(|l| l.contains("right ") && l.contains(" ± "))
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    let last = table(&ran.out);
    for line in table(&replayed.out) {
        assert!(last.contains(&line), "{line}\n{}", ran.out);
    }
}

#[test]
fn calibration_guides_through_the_faces_and_serves_the_visit() {
    let folder = tempfile::tempdir().unwrap();
    let data = text(folder.path());
    let ran = command(&["calibrate", TWO_SHINS[0], "--data", data]);
    assert_eq!(ran.exit, Exit::Done, "{}", ran.err);
    for face in [
        "+x done", "-x done", "+y done", "-y done", "+z done", "-z done",
    ] {
        assert_eq!(ran.out.matches(face).count(), 1, "{}", ran.out);
    }
    assert!(
        ran.out.contains("all six faces") && ran.out.contains("m/s²"),
        "{}",
        ran.out
    );
    assert!(ran.err.contains("recorded sub-trial/ses-01"), "{}", ran.err);
    let live = command(&["live", TWO_SHINS[0], "--seconds", "20", "--data", data]);
    assert!(live.out.contains("right"), "{}", live.out);
    let replayed = command(&["replay", data, "--json"]).json();
    let flags = replayed["recordings"][0]["raises"][0]["flags"].to_string();
    assert!(!flags.contains("uncalibrated"), "{flags}");
    let two = command(&["calibrate", TWO_SHINS[0], "--faces", "2", "--data", data]);
    assert!(
        two.out.contains("opposite faces") && two.out.matches(" done").count() == 2,
        "{}",
        two.out
    );
    let nowhere = command(&["calibrate", TWO_SHINS[0]]);
    assert_eq!(nowhere.exit, Exit::Usage);
    assert!(nowhere.err.contains("--data"), "{}", nowhere.err);
}

#[test]
fn a_recording_is_played_again() {
    let folder = tempfile::tempdir().unwrap();
    let (first, second) = (folder.path().join("a"), folder.path().join("b"));
    let ran = command(&[
        "live",
        TWO_SHINS[0],
        "--seconds",
        "12",
        "--data",
        text(&first),
    ]);
    assert_eq!(ran.exit, Exit::Done, "{}", ran.err);
    let selector = format!("shinright=file:{},fast", first.display());
    let again = command(&["live", &selector, "--data", text(&second)]);
    assert_eq!(again.exit, Exit::Done, "{}", again.err);
    let raises = |folder: &Path| {
        let replayed = command(&["replay", text(folder), "--json"]).json();
        replayed["recordings"][0]["raises"]
            .as_array()
            .unwrap()
            .len()
    };
    assert_eq!(raises(&first), raises(&second));
    let missing = command(&["live", &selector.replace("right", "left"), "--json"]);
    assert_eq!(missing.exit, Exit::Usage);
    assert!(missing.err.contains("shinleft: not in"), "{}", missing.err);
}
