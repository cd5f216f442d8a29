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
