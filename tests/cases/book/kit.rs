//! A casebook of its own with its data set, and the program that works on it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use sensor::bids::write_run;
use sensor::synthetic::{FlatPlan, RaisePlan, Scenario, simulate, simulate_flat};
use sensor::{Conditions, Face, RecordingId, Side};
use serde_json::Value;
use tempfile::TempDir;

use super::super::kit::program;

pub(super) const PASSPHRASE: &str = "three small words";

/// A folder with a casebook and recordings.
pub(super) struct Desk {
    folder: TempDir,
}

/// What a command did.
pub(super) struct Done {
    pub(super) out: String,
    pub(super) err: String,
    pub(super) code: Option<i32>,
}

impl Desk {
    /// With a casebook, still empty.
    pub(super) fn new() -> Self {
        let desk = Self {
            folder: tempfile::tempdir().expect("a folder"),
        };
        let data = desk.data().display().to_string();
        desk.does(&["book", "make", "--data", &data]);
        desk
    }

    /// With a client who has given consent, and a visit at which the cautions were asked; the code.
    pub(super) fn with_visit() -> (Self, String) {
        let desk = Self::new();
        let consent = ["--consent", "1", "--date", "2026-01-02"];
        let code = desk.does(&[&["client", "add", "Ana Ruiz"], &consent[..]].concat());
        let code = code.trim().to_owned();
        let asked = ["--date", "2026-01-05", "--cautions", "none"];
        desk.does(&[&["visit", "begin", &code], &asked[..]].concat());
        (desk, code)
    }

    pub(super) fn path(&self, inside: &str) -> PathBuf {
        self.folder.path().join(inside)
    }

    pub(super) fn data(&self) -> PathBuf {
        self.path("data")
    }

    pub(super) fn book(&self) -> PathBuf {
        self.path("book/casebook.db")
    }

    /// The program with words, nobody at its terminal.
    pub(super) fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(program());
        self.prepare(&mut command);
        command.args(words);
        command
    }

    pub(super) fn prepare(&self, command: &mut Command) {
        command
            .env("LEGRAISE_BOOK", self.book())
            .env("LEGRAISE_PASSPHRASE", PASSPHRASE)
            .stdin(Stdio::null());
    }

    /// Runs it, whatever comes.
    pub(super) fn tries(&self, words: &[&str]) -> Done {
        Done::of(&self.command(words).output().expect("the program starts"))
    }

    /// Runs it; it must be done.
    pub(super) fn does(&self, words: &[&str]) -> String {
        let done = self.tries(words);
        assert_eq!(done.code, Some(0), "{words:?}\n{}", done.err);
        done.out
    }

    /// Runs it; one object must come.
    pub(super) fn shows(&self, words: &[&str]) -> Value {
        let mut words = words.to_vec();
        words.push("--json");
        let out = self.does(&words);
        serde_json::from_str(&out).unwrap_or_else(|e| panic!("{words:?}: {e} in {out}"))
    }

    /// Runs it; it must be refused with these words, in one line that says what to do.
    pub(super) fn refuses(&self, words: &[&str], because: &str) -> i32 {
        let done = self.tries(words);
        let code = done.code.expect("it ended by itself");
        assert_ne!(code, 0, "{words:?} was done");
        let text = done.err.trim();
        assert!(
            text.contains(because) && text.contains("; ") && text.contains(": "),
            "{words:?}: {text}"
        );
        code
    }

    /// Records a run of three raises, as if by the program.
    pub(super) fn records(&self, id: &RecordingId, side: Side, top_deg: f64, at: &str) {
        let seed = (top_deg * 16.0).to_bits() ^ u64::from(side == Side::Left);
        let mut scenario = Scenario::slow(seed);
        scenario.side = side;
        scenario.raises = [-1.0, 0.5, 0.5]
            .map(|off| RaisePlan::smooth(top_deg + off))
            .to_vec();
        scenario.id = id.clone();
        scenario.acquired = Some(at.to_owned());
        scenario.sensors = Scenario::quiet(side, Vec::new()).sensors;
        scenario.conditions = Conditions {
            movement: Some("active".to_owned()),
            ankle: Some("relaxed".to_owned()),
            asked_for: Some("first pull".to_owned()),
            rater: Some("R1".to_owned()),
        };
        write_run(&self.data(), &simulate(&scenario).run).expect("written");
        let flat_id = RecordingId {
            task: "flat".to_owned(),
            run: Some("01".to_owned()),
            ..id.clone()
        };
        if sensor::bids::RunFiles::in_set(&self.data(), &flat_id).is_none() {
            let mut flat = simulate_flat(&scenario, &FlatPlan::of(Face::ALL.to_vec()));
            flat.id = flat_id;
            write_run(&self.data(), &flat).expect("written");
        }
    }
}

impl Done {
    pub(super) fn of(output: &Output) -> Self {
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        Self {
            out: text(&output.stdout),
            err: text(&output.stderr),
            code: output.status.code(),
        }
    }
}

/// A leg-raise run's name.
pub(super) fn run_id(code: &str, session: &str, run: &str) -> RecordingId {
    RecordingId {
        subject: Some(code.to_owned()),
        session: Some(session.to_owned()),
        task: "legraise".to_owned(),
        acquisition: None,
        run: Some(run.to_owned()),
    }
}

/// What `replay --json` says of every recording of a data set.
pub(super) fn replayed(desk: &Desk, data: &Path) -> Vec<Value> {
    let path = data.display().to_string();
    let object = desk.shows(&["replay", &path, "--quiet"]);
    object["recordings"].as_array().expect("a list").clone()
}
