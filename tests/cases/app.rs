//! The program called in the form of BIDS Apps (Gorgolewski et al., PLOS Comput Biol 2017, 13(3): e1005209): participants
//! side by side into one folder, then the group.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use super::kit::{program, root};
use super::validator::assert_spotless_at;

fn app(data: &Path, out: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(program());
    command.arg("app").arg(data).arg(out).args(words);
    command
}

fn ended(output: &Output) -> (Option<i32>, String) {
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code(), told)
}

/// All tables below a folder, by their way from it.
fn tables(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    fn look(folder: &Path, top: &Path, found: &mut Vec<(PathBuf, Vec<u8>)>) {
        for entry in fs::read_dir(folder).expect("a folder").flatten() {
            let path = entry.path();
            if path.is_dir() {
                look(&path, top, found);
            } else if path.extension().is_some_and(|e| e == "tsv") {
                let way = path.strip_prefix(top).expect("below").to_owned();
                found.push((way, fs::read(&path).expect("reads")));
            }
        }
    }
    let mut found = Vec::new();
    look(folder, folder, &mut found);
    found.sort();
    found
}

#[test]
fn participants_side_by_side_and_the_group_give_the_known_tables() {
    let data = root().join("recordings-demo");
    let known = tables(&data.join("derivatives/legraise"));
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("results");
    let mut people: Vec<String> = fs::read_dir(&data)
        .expect("a folder")
        .flatten()
        .filter_map(|e| Some(e.file_name().to_str()?.strip_prefix("sub-")?.to_owned()))
        .collect();
    people.sort();
    assert!(4 <= people.len(), "{people:?}");
    let (last, others) = people.split_last().expect("people");
    // Each by a call of its own, all at once, the first one twice; labels in both spellings.
    let with_sub = format!("sub-{}", others[0]);
    let calls = others.iter().map(String::as_str).chain([with_sub.as_str()]);
    let running: Vec<_> = calls
        .map(|label| {
            let words = ["participant", "--participant_label", label, "--n_cpus", "1"];
            app(&data, &out, &words).spawn().expect("it starts")
        })
        .collect();
    for mut one in running {
        assert!(one.wait().expect("it ends").success());
    }
    let output = app(&data, &out, &["group"]).output().expect("it starts");
    let (code, told) = ended(&output);
    assert_eq!(code, Some(1), "{told}");
    assert!(
        told.contains(&format!("no results of sub-{last}; run")),
        "{told}"
    );
    for words in [
        ["participant", "--skip_bids_validator"],
        ["group", "--n_cpus=2"],
    ] {
        let output = app(&data, &out, &words).output().expect("it starts");
        assert_eq!(ended(&output), (Some(0), String::new()), "{words:?}");
        assert!(output.stdout.is_empty());
    }
    assert_eq!(tables(&out), known);
    assert_spotless_at(&out);
}

#[test]
fn what_is_not_there_is_told() {
    let data = root().join("recordings-demo");
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("results");
    let words = ["participant", "--participant-label", "nobody"];
    let (code, told) = ended(&app(&data, &out, &words).output().expect("it starts"));
    assert_eq!(code, Some(1));
    assert!(told.contains("no participant sub-nobody; see"), "{told}");
    let missing = folder.path().join("missing");
    let (code, told) = ended(&app(&missing, &out, &["group"]).output().expect("it starts"));
    assert_eq!(code, Some(2));
    assert!(told.contains("missing"), "{told}");
    let (code, _) = ended(
        &app(&data, &out, &["everybody"])
            .output()
            .expect("it starts"),
    );
    assert_eq!(code, Some(2));
    assert!(!out.exists());
}
