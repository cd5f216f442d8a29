//! The demo recordings before the standard's own validator: not one error, not one warning. The same once recordings have
//! been moved, a person been erased, another been taken out.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use sensor::RecordingId;
use sensor::bids::{copy_person, erase_person, move_run, recordings_of};
use serde_json::Value;

use super::kit::root;

/// `LEGRAISE_BIDS_VALIDATOR`, else what `tests/ci.sh` has installed, else the one on the path.
fn validator() -> PathBuf {
    const NAME: &str = "bids-validator-deno";
    if let Some(named) = env::var_os("LEGRAISE_BIDS_VALIDATOR").filter(|named| !named.is_empty()) {
        return PathBuf::from(named);
    }
    let installed = root().join(".venv/bin").join(NAME);
    if installed.is_file() {
        return installed;
    }
    let on_path = env::var_os("PATH").and_then(|path| {
        env::split_paths(&path)
            .map(|folder| folder.join(NAME))
            .find(|file| file.is_file())
    });
    on_path.unwrap_or_else(|| {
        panic!("no {NAME} found; run `bash tests/ci.sh`, which installs it in .venv")
    })
}

/// The validator's list of issues.
fn issues(data_set: &Path) -> Vec<Value> {
    assert!(
        data_set.join("dataset_description.json").is_file(),
        "{}: no data set there",
        data_set.display()
    );
    let program = validator();
    let mut command = Command::new(&program);
    command
        .args(["--max-rows", "-1", "--format", "json"])
        .arg(data_set);
    // Where Python has no venv, the packages lie in a plain folder.
    let packages = root().join(".venv");
    if program.starts_with(&packages) && !packages.join("pyvenv.cfg").is_file() {
        command.env("PYTHONPATH", &packages);
    }
    let output = command.output().unwrap_or_else(|e| {
        panic!(
            "{}: {e}; run `bash tests/ci.sh`, which installs it",
            program.display()
        )
    });
    let text = String::from_utf8_lossy(&output.stdout);
    let told: Value = serde_json::from_str(&text).unwrap_or_else(|e| {
        panic!(
            "{e} in {text:.500}\n{}",
            String::from_utf8_lossy(&output.stderr)
        )
    });
    let files = told["summary"]["totalFiles"].as_u64();
    assert!(
        files.is_some_and(|count| count > 5),
        "it looked at {files:?} files"
    );
    told["issues"]["issues"]
        .as_array()
        .expect("a list of issues")
        .clone()
}

fn assert_spotless(inside: &str) {
    assert_spotless_at(&root().join(inside));
}

/// Fails with the first issues of a data set.
pub(super) fn assert_spotless_at(data_set: &Path) {
    let issues = issues(data_set);
    let first: Vec<String> = issues.iter().take(5).map(ToString::to_string).collect();
    assert!(
        issues.is_empty(),
        "{}: {} issues\n{}",
        data_set.display(),
        issues.len(),
        first.join("\n")
    );
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder").flatten() {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).expect("copied");
        }
    }
}

#[test]
fn moved_taken_out_and_erased_recordings_leave_valid_sets() {
    let folder = tempfile::tempdir().expect("a folder");
    let (data, out) = (folder.path().join("data"), folder.path().join("out"));
    copy(&root().join("recordings-demo"), &data);
    let theirs = recordings_of(&data, "marbul");
    assert!(theirs.len() > 8, "{theirs:?}");
    for from in theirs {
        let to = RecordingId {
            subject: Some("tessok".to_owned()),
            session: from.session.as_ref().map(|label| format!("9{label}")),
            ..from.clone()
        };
        move_run(&data, &from, &to, false).expect("moved");
    }
    let left = erase_person(&data, "olivan").expect("erased");
    assert!(left.is_empty(), "{left:?}");
    copy_person(&data, "tessok", &out).expect("taken out");
    for set in [&data, &out] {
        assert_spotless_at(set);
        assert_spotless_at(&set.join("derivatives/legraise"));
    }
    for gone in ["marbul", "olivan"] {
        let table = fs::read_to_string(data.join("participants.tsv")).expect("reads");
        assert!(!data.join(format!("sub-{gone}")).exists() && !table.contains(gone));
    }
}

#[test]
fn the_demo_recordings_are_valid() {
    assert_spotless("recordings-demo");
}

#[test]
fn the_demo_results_are_a_valid_derivative() {
    assert_spotless("recordings-demo/derivatives/legraise");
}
