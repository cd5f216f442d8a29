//! Commands from arguments to exit status, on small simulated data sets.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use sensor::bids::write_run;
use sensor::synthetic::{FlatPlan, RaisePlan, Scenario, Unit, UnitGrade, simulate, simulate_flat};
use sensor::{Face, RecordingId, Side};
use serde_json::Value;

use super::*;

mod live;

/// What a command left behind.
struct Ran {
    exit: Exit,
    out: String,
    err: String,
}

fn command(words: &[&str]) -> Ran {
    let cli = Cli::try_parse_from(["legraise"].iter().chain(words)).unwrap();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let exit = run(&cli, &mut out, &mut err, Watched::default());
    Ran {
        exit,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

impl Ran {
    fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {}", self.out))
    }
}

/// A data set of one client, one visit, a flat recording and two runs.
fn data_set() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let mut scenario = Scenario::quiet(Side::Right, vec![RaisePlan::smooth(50.0)]);
    scenario.unit = Unit::of_grade(UnitGrade::Good, 1);
    scenario.id = RecordingId {
        subject: Some("X".into()),
        session: Some("01".into()),
        task: "legraise".into(),
        acquisition: None,
        run: Some("01".into()),
    };
    write_run(folder.path(), &simulate(&scenario).run).unwrap();
    let flat = FlatPlan {
        run: Some("01".into()),
        ..FlatPlan::of(Face::ALL.to_vec())
    };
    write_run(folder.path(), &simulate_flat(&scenario, &flat)).unwrap();
    scenario.id.run = Some("02".into());
    scenario.side = Side::Left;
    write_run(folder.path(), &simulate(&scenario).run).unwrap();
    folder
}

fn motion(root: &Path, placement: &str, run: &str) -> PathBuf {
    root.join(format!(
        "sub-X/ses-01/motion/sub-X_ses-01_task-legraise_tracksys-{placement}_run-{run}_motion.tsv"
    ))
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn a_data_set_is_analysed_in_order() {
    let set = data_set();
    let ran = command(&["replay", text(set.path()), "--json"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Done, ""));
    let found = ran.json();
    let names: Vec<&str> = found["recordings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["recording"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["sub-X/ses-01/run-01", "sub-X/ses-01/run-02"]);
    let raise = &found["recordings"][0]["raises"][0];
    assert_eq!(raise["side"], "right");
    assert!(
        (raise["peak"]["angle_deg"].as_f64().unwrap() - 50.0).abs() < 0.5,
        "{raise}"
    );
    assert_eq!(found["recordings"][1]["raises"][0]["side"], "left");
}

#[test]
fn the_same_whatever_the_path_the_number_of_jobs_and_the_repetition() {
    let set = data_set();
    let whole = command(&["replay", text(set.path()), "--json"]);
    let file = motion(set.path(), "shinleft", "01");
    let one = command(&["replay", text(&file), "--json"]).json();
    assert_eq!(one["recordings"].as_array().unwrap().len(), 1);
    assert_eq!(one["recordings"][0], whole.json()["recordings"][0]);
    let again = command(&[
        "replay",
        text(&file),
        text(set.path()),
        text(&file),
        "--json",
        "--jobs",
        "1",
    ]);
    assert_eq!(again.out, whole.out);
}

#[test]
fn a_sensor_that_cannot_be_read_is_an_error_and_the_rest_is_given() {
    let set = data_set();
    fs::write(motion(set.path(), "shinleft", "01"), "").unwrap();
    let ran = command(&["replay", text(set.path()), "--json"]);
    assert_eq!(ran.exit, Exit::Incomplete);
    let first = &ran.json()["recordings"][0];
    assert!(
        first["error"]
            .as_str()
            .unwrap()
            .contains("_tracksys-shinleft_run-01_motion.tsv: empty recording; ")
    );
    assert_eq!(first["raises"].as_array().unwrap().len(), 1);
    assert_eq!(ran.err.lines().count(), 1, "{}", ran.err);
    assert_eq!(ran.json()["recordings"][1]["error"], Value::Null);
}

#[test]
fn a_run_without_a_shin_cannot_be_analysed() {
    let set = data_set();
    let folder = set.path().join("sub-X/ses-01/motion");
    fs::remove_file(motion(set.path(), "shinleft", "02")).unwrap();
    let pelvis = motion(set.path(), "pelvis", "02");
    fs::rename(motion(set.path(), "shinright", "02"), &pelvis).unwrap();
    for entry in fs::read_dir(folder).unwrap().flatten() {
        let name = entry.file_name().into_string().unwrap();
        if name.contains("tracksys-shinright_run-02_channels") {
            let channels = fs::read_to_string(entry.path())
                .unwrap()
                .replace("shinright", "pelvis");
            fs::write(
                pelvis.with_file_name(name.replace("shinright", "pelvis")),
                channels,
            )
            .unwrap();
        }
    }
    let ran = command(&["replay", text(set.path()), "--json", "-q"]);
    assert_eq!(ran.exit, Exit::Incomplete);
    let error = ran.json()["recordings"][1]["error"].to_string();
    assert!(
        error.contains("no shin sensor among pelvis; name it tracksys-shinleft"),
        "{error}"
    );
}

#[test]
fn damage_that_can_be_read_is_a_problem_told_unless_quiet() {
    let set = data_set();
    let file = motion(set.path(), "shinleft", "01");
    fs::write(
        &file,
        fs::read_to_string(&file).unwrap().replace('\n', "\r\n"),
    )
    .unwrap();
    let ran = command(&["replay", text(set.path()), "--json"]);
    assert_eq!(ran.exit, Exit::Done);
    let problem = ran.json()["recordings"][0]["problems"][0]
        .as_str()
        .unwrap()
        .to_owned();
    assert_eq!(ran.err, format!("{problem}\n"));
    assert_eq!(command(&["replay", text(set.path()), "-q"]).err, "");
}

#[test]
fn a_damaged_flat_recording_is_a_problem_of_each_run_told_once() {
    let set = data_set();
    let name = "sub-X_ses-01_task-flat_tracksys-shinleft_run-01_motion.tsv";
    fs::write(set.path().join("sub-X/ses-01/motion").join(name), "").unwrap();
    let ran = command(&["replay", text(set.path()), "--json"]);
    assert_eq!(ran.exit, Exit::Done);
    for n in 0..2 {
        assert!(
            ran.json()["recordings"][n]["problems"][0]
                .as_str()
                .unwrap()
                .starts_with(name)
        );
    }
    assert_eq!(ran.err.lines().count(), 1, "{}", ran.err);
}

#[test]
fn nothing_there_and_nothing_found_are_two_things() {
    let empty = tempfile::tempdir().unwrap();
    let found = command(&["replay", text(empty.path()), "--json"]);
    assert_eq!(found.exit, Exit::Incomplete);
    assert_eq!(found.json()["recordings"], serde_json::json!([]));
    let missing = command(&["replay", text(&empty.path().join("no")), "--json"]);
    assert_eq!((missing.exit, missing.out.as_str()), (Exit::Usage, ""));
    assert!(
        missing
            .err
            .contains("no: no such file or folder; check the spelling"),
        "{}",
        missing.err
    );
}

#[test]
fn tilt_gives_a_row_a_sample_and_live_knows_no_future() {
    let set = data_set();
    let file = motion(set.path(), "shinright", "01");
    let samples = fs::read_to_string(&file).unwrap();
    let smooth = command(&["tilt", text(&file)]);
    assert_eq!(smooth.exit, Exit::Done, "{}", smooth.err);
    assert_eq!(smooth.out.lines().next(), Some("t_s,w,x,y,z"));
    assert_eq!(smooth.out.lines().count(), samples.lines().count() + 1);
    let live = command(&["tilt", text(&file), "--live"]).out;
    let first: String = samples.split_inclusive('\n').take(300).collect();
    fs::write(&file, first).unwrap();
    let short = command(&["tilt", text(&file), "--live"]).out;
    assert_eq!(short.lines().count(), 301);
    assert!(live.starts_with(&short));
}

#[test]
fn tilt_tells_what_it_needs() {
    let set = data_set();
    let file = motion(set.path(), "shinright", "01");
    assert_eq!(command(&["tilt", text(set.path())]).exit, Exit::Usage);
    assert_eq!(command(&["tilt", "nowhere_motion.tsv"]).exit, Exit::Usage);
    let wrong = command(&["tilt", text(&file), "--point", "foot"]);
    assert_eq!(wrong.exit, Exit::Usage);
    assert!(
        wrong
            .err
            .contains("no tracked point \"foot\", there is shinright; "),
        "{}",
        wrong.err
    );
    assert_eq!(
        command(&["tilt", text(&file), "--point", "Right_Shin"]).exit,
        Exit::Done
    );
    fs::write(&file, "").unwrap();
    assert_eq!(command(&["tilt", text(&file)]).exit, Exit::Incomplete);
}

#[test]
fn no_command_names_the_commands() {
    let ran = command(&[]);
    assert_eq!((ran.exit, ran.out.as_str()), (Exit::Usage, ""));
    assert!(ran.err.contains("legraise replay PATH"), "{}", ran.err);
}

#[test]
fn cautions_defer_to_licensed_practice() {
    let ran = command(&["cautions"]);
    assert_eq!(ran.exit, Exit::Done);
    assert!(
        ran.out
            .starts_with("This is a measuring and exercise aid. It does not diagnose.")
    );
    assert!(ran.out.lines().all(|line| line.chars().count() <= 100));
}

/// A reader that has gone away.
struct Closed;

impl Write for Closed {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::BrokenPipe.into())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_closed_pipe_is_no_error() {
    let set = data_set();
    let file = motion(set.path(), "shinright", "01");
    let lines: [&[&str]; 4] = [
        &["replay", text(set.path())],
        &["replay", text(set.path()), "--json"],
        &["tilt", text(&file)],
        &["cautions"],
    ];
    for words in lines {
        let cli = Cli::try_parse_from(["legraise"].iter().chain(words)).unwrap();
        let mut err = Vec::new();
        assert_eq!(
            run(&cli, &mut Closed, &mut err, Watched::default()),
            Exit::Done,
            "{words:?}"
        );
        assert!(err.is_empty(), "{words:?}");
    }
}
