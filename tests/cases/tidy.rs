//! The shape of the source tree: which part sees which, what the analysis may not touch, lengths, and closed lists.

use std::fs;
use std::path::{Path, PathBuf};

use fusion::{CompensationKind, Flag, Reason};

use super::kit::root;

/// In the order in which a sample walks; each sees only those before it.
const CHAIN: [&str; 4] = ["sensor", "fusion", "casebook", "gui"];

fn read(inside: &str) -> String {
    let path = root().join(inside);
    fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Names of the dependencies of every kind that a manifest lists.
fn dependencies(manifest: &str) -> Vec<String> {
    let mut inside = false;
    let mut names = Vec::new();
    for line in manifest.lines().map(str::trim) {
        if let Some(section) = line.strip_prefix('[') {
            let section = section.trim_matches(['[', ']']);
            inside = section.ends_with("dependencies");
            // [dependencies.name]
            if let Some((before, name)) = section.rsplit_once('.')
                && before.ends_with("dependencies")
            {
                names.push(name.to_owned());
            }
        } else if inside && !line.is_empty() && !line.starts_with('#') {
            let name: String = line
                .chars()
                .take_while(|c| c.is_ascii_alphanumeric() || "-_".contains(*c))
                .collect();
            // A crate may be renamed.
            names.push(
                line.split("package = \"")
                    .nth(1)
                    .and_then(|p| p.split('"').next())
                    .unwrap_or(&name)
                    .to_owned(),
            );
        }
    }
    names
}

#[test]
fn each_part_sees_only_those_before_it() {
    let manifest = "[dependencies]\nserde = \"1\" # x\n[dev-dependencies]\nmy-gui = { package = \"gui\" }\n[target.x.dependencies.sensor]\n";
    assert_eq!(
        dependencies(manifest),
        ["serde", "gui", "sensor"],
        "the manifests are read right"
    );
    for (place, name) in CHAIN.iter().enumerate() {
        let seen = dependencies(&read(&format!("{name}/Cargo.toml")));
        assert!(!seen.is_empty(), "{name}: no dependencies found");
        for other in &CHAIN[place..] {
            assert!(
                !seen.iter().any(|d| d == other),
                "{name} must not see {other}"
            );
        }
        assert!(
            !seen.iter().any(|d| d == "suite"),
            "{name} must not see the suite"
        );
    }
    assert!(
        dependencies(&read("fusion/Cargo.toml"))
            .iter()
            .any(|d| d == "sensor")
    );
    // The analysis builds without what sources need.
    let workspace = read("Cargo.toml");
    let line = workspace
        .lines()
        .find(|line| line.starts_with("sensor = "))
        .expect("sensor in the workspace");
    assert!(line.contains("default-features = false"), "{line}");
}

/// Files below a folder whose name ends so, without what is built or installed.
fn files(folder: &Path, is_wanted: &dyn Fn(&str) -> bool, found: &mut Vec<PathBuf>) {
    let entries = fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    let mut entries: Vec<_> = entries.map(|entry| entry.expect("an entry")).collect();
    entries.sort_by_key(fs::DirEntry::file_name);
    for entry in entries {
        let name = entry.file_name().to_string_lossy().into_owned();
        let is_dir = entry.file_type().expect("a type").is_dir();
        if is_dir
            && !["target", ".git", ".venv", "__pycache__", "node_modules"].contains(&name.as_str())
        {
            files(&entry.path(), is_wanted, found);
        } else if !is_dir && is_wanted(&name) {
            found.push(entry.path());
        }
    }
}

fn files_ending(inside: &str, ends: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    files(
        &root().join(inside),
        &|name| ends.iter().any(|end| name.ends_with(end)),
        &mut found,
    );
    assert!(!found.is_empty(), "{inside}: no files {ends:?}");
    found
}

#[test]
fn the_analysis_reads_no_clock_and_no_files() {
    let rules = read("fusion/.clippy.toml");
    for method in [
        "f64::asin",
        "f64::acos",
        "std::time::Instant::now",
        "std::time::SystemTime::now",
        "std::fs::File::open",
        "std::fs::File::create",
        "std::fs::read",
        "std::fs::read_to_string",
        "std::fs::write",
    ] {
        assert!(
            rules.contains(&format!("\"{method}\"")),
            "fusion/.clippy.toml no longer forbids {method}"
        );
    }
    for path in files_ending("fusion/src", &[".rs"]) {
        let text = fs::read_to_string(&path).expect("reads");
        for word in [
            "Instant::now",
            "SystemTime",
            "std::fs",
            "std::net",
            "std::process",
            ".asin(",
            ".acos(",
        ] {
            wants_without(&path, &text, word);
        }
    }
}

/// Fails with the first line that holds the word.
fn wants_without(path: &Path, text: &str, word: &str) {
    let line = text.lines().position(|line| line.contains(word));
    assert!(
        line.is_none(),
        "{}:{}: {word}",
        path.display(),
        line.unwrap_or(0) + 1
    );
}

#[test]
fn no_source_file_is_longer_than_600_lines() {
    let long: Vec<String> = files_ending("", &[".rs"])
        .into_iter()
        .map(|path| {
            (
                fs::read_to_string(&path).expect("reads").lines().count(),
                path,
            )
        })
        .filter(|(count, _)| *count > 600)
        .map(|(count, path)| format!("{}: {count}", path.display()))
        .collect();
    assert!(long.is_empty(), "{long:?}");
}

#[test]
fn no_file_speaks_of_the_place_it_was_written_at() {
    // In two halves, so that this file doesn't.
    let words = [
        concat!("/wo", "rk/"),
        concat!("/sha", "red/"),
        concat!("`sha", "red/"),
        concat!("\"sha", "red/"),
    ];
    let ends = [
        ".rs", ".md", ".toml", ".sh", ".py", ".json", ".yml", ".yaml", ".txt", "README",
    ];
    for path in files_ending("", &ends) {
        // Python's packages and the like are not UTF-8 throughout; ours are.
        let text = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        for word in words {
            wants_without(&path, &text, word);
        }
    }
}

#[test]
fn nothing_is_ignored_or_slept_over() {
    let words = [
        concat!("#[ig", "nore"),
        concat!("should_", "panic"),
        concat!("thread::", "sleep"),
        concat!("Instant::", "now"),
    ];
    for path in files_ending("tests/cases", &[".rs"]) {
        let text = fs::read_to_string(&path).expect("reads");
        // The rule itself names the clock, and a program is killed after some real time.
        let is_rule = path.ends_with("tidy.rs");
        let waits = path.ends_with("killed.rs");
        let allowed = |word: &&&str| is_rule || waits && word.ends_with("sleep");
        for word in words.iter().filter(|word| !allowed(word)) {
            assert!(!text.contains(word), "{}: {word}", path.display());
        }
    }
}

#[test]
fn every_word_of_the_output_is_documented() {
    // A new reason or kind must be added here, too: the match says so.
    const REASONS: [Reason; 6] = [
        Reason::Pull,
        Reason::OppositeLeg,
        Reason::Knee,
        Reason::Stop,
        Reason::Hold,
        Reason::Peak,
    ];
    const KINDS: [CompensationKind; 2] = [CompensationKind::OppositeLeg, CompensationKind::Knee];
    const fn place(reason: Reason) -> usize {
        match reason {
            Reason::Pull => 0,
            Reason::OppositeLeg => 1,
            Reason::Knee => 2,
            Reason::Stop => 3,
            Reason::Hold => 4,
            Reason::Peak => 5,
        }
    }
    const fn place_of_kind(kind: CompensationKind) -> usize {
        match kind {
            CompensationKind::OppositeLeg => 0,
            CompensationKind::Knee => 1,
        }
    }
    assert!(
        REASONS
            .iter()
            .enumerate()
            .all(|(n, reason)| place(*reason) == n)
    );
    assert!(
        KINDS
            .iter()
            .enumerate()
            .all(|(n, kind)| place_of_kind(*kind) == n)
    );
    let document = read("docs/formats.md");
    let words = Flag::ALL
        .iter()
        .map(|flag| flag.as_str())
        .chain(REASONS.iter().map(|reason| reason.as_str()))
        .chain(KINDS.iter().map(|kind| kind.as_str()));
    let missing: Vec<&str> = words
        .filter(|word| !document.contains(&format!("`{word}`")))
        .collect();
    assert!(missing.is_empty(), "docs/formats.md lacks {missing:?}");
}
