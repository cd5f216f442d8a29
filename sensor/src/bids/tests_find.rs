//! What lies under a path.

use std::fs;
use std::path::Path;

use super::name::{Name, run_order};
use super::*;

fn touch(root: &Path, path: &str) {
    let path = root.join(path);
    fs::create_dir_all(path.parent().expect("inside")).expect("folder");
    fs::write(path, "x").expect("file");
}

fn set() -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("tempdir");
    touch(dir.path(), "dataset_description.json");
    for path in [
        "sub-b/ses-01/motion/sub-b_ses-01_task-legraise_tracksys-shinright_run-01_motion.tsv",
        "sub-a/ses-02/motion/sub-a_ses-02_task-legraise_tracksys-shinright_run-10_motion.tsv",
        "sub-a/ses-02/motion/sub-a_ses-02_task-legraise_tracksys-shinright_run-2_motion.tsv",
        "sub-a/ses-02/motion/sub-a_ses-02_task-legraise_tracksys-shinleft_run-2_motion.tsv",
        "sub-a/ses-02/motion/sub-a_ses-02_task-legraise_tracksys-shinleft_run-2_motion.json",
        "sub-a/ses-02/motion/sub-a_ses-02_task-legraise_run-2_events.tsv",
        "sub-a/ses-02/motion/sub-a_ses-02_task-flat_tracksys-shinleft_run-01_motion.tsv",
        "sub-a/ses-02/motion/sub-a_ses-02_task-walk_tracksys-shinleft_run-01_motion.tsv",
        "sub-a/ses-02/motion/sub-ä_task-legraise_motion.tsv",
        "sub-a/ses-02/motion/sub-a_sub-a_task-legraise_motion.tsv",
        "sub-a/ses-02/motion/_motion.tsv",
        "sub-a/ses-02/motion/.sub-a_ses-02_task-legraise_tracksys-shinleft_run-03_motion.tsv.x.part",
        "derivatives/legraise/sub-a/motion/sub-a_task-legraise_tracksys-shinleft_motion.tsv",
        "sourcedata/sub-a_task-legraise_tracksys-shinleft_motion.tsv",
        ".hidden/sub-a_task-legraise_tracksys-shinleft_motion.tsv",
        "sub-c/motion/sub-c_task-walk_tracksys-shinleft_motion.tsv",
        "participants.tsv",
    ] {
        touch(dir.path(), path);
    }
    dir
}

fn names(path: &Path) -> Vec<String> {
    find_runs(path)
        .expect("finds")
        .iter()
        .map(|r| r.id.to_string())
        .collect()
}

#[test]
fn a_set_a_client_a_visit_a_file() {
    let dir = set();
    let root = dir.path();
    assert_eq!(
        names(root),
        [
            "sub-a/ses-02/run-2",
            "sub-a/ses-02/run-10",
            "sub-b/ses-01/run-01"
        ]
    );
    assert_eq!(
        names(&root.join("sub-a")),
        ["sub-a/ses-02/run-2", "sub-a/ses-02/run-10"]
    );
    let folder = root.join("sub-a/ses-02/motion");
    for file in [
        "tracksys-shinright_run-2_motion.tsv",
        "tracksys-shinleft_run-2_motion.json",
        "run-2_events.tsv",
    ] {
        let found =
            find_runs(&folder.join(format!("sub-a_ses-02_task-legraise_{file}"))).expect(file);
        assert_eq!(
            (
                found.len(),
                found[0].motions.len(),
                found[0].events.is_some()
            ),
            (1, 2, true),
            "{file}"
        );
        assert_eq!(
            (found[0].place().as_str(), found[0].root.as_deref()),
            ("sub-a/ses-02/motion", Some(root))
        );
    }
    let walk =
        find_runs(&folder.join("sub-a_ses-02_task-walk_tracksys-shinleft_run-01_motion.tsv"))
            .expect("named");
    assert_eq!(walk[0].id.task, "walk");
    // Inside a folder that isn't searched from above.
    assert_eq!(names(&root.join("derivatives/legraise")), ["sub-a"]);
    let lone = find_runs(&folder.join("_motion.tsv")).expect("a file alone");
    assert_eq!(
        (lone[0].motions.len(), lone[0].id.subject.as_deref()),
        (1, None)
    );
}

#[test]
fn nothing_is_told_apart() {
    let dir = set();
    let root = dir.path();
    assert!(matches!(
        find_runs(&root.join("nix")),
        Err(FindError::Missing { .. })
    ));
    assert!(matches!(
        find_runs(&root.join("participants.tsv/x")),
        Err(FindError::Missing { .. })
    ));
    for path in ["sub-c", "participants.tsv", "dataset_description.json"] {
        assert!(
            matches!(
                find_runs(&root.join(path)),
                Err(FindError::NothingHere { .. })
            ),
            "{path}"
        );
    }
}

#[test]
fn the_session_of_a_run() {
    let dir = set();
    let runs = find_runs(dir.path()).expect("finds");
    let session = session_of(&runs[1]);
    assert_eq!(
        session
            .flats
            .iter()
            .map(|r| r.id.to_string())
            .collect::<Vec<_>>(),
        ["sub-a/ses-02/run-01"]
    );
    assert_eq!(
        session
            .earlier
            .iter()
            .map(|r| r.id.to_string())
            .collect::<Vec<_>>(),
        ["sub-a/ses-02/run-2"]
    );
    assert_eq!(
        (session_of(&runs[0]).earlier.len(), session_of(&runs[2])),
        (0, SessionFiles::default())
    );
    assert_eq!(free_run_label(dir.path(), &runs[0].id), "11");
    assert_eq!(free_run_label(&dir.path().join("new"), &runs[0].id), "01");
}

#[cfg(unix)]
#[test]
fn links_lead_in_no_circle() {
    let dir = set();
    let root = dir.path();
    std::os::unix::fs::symlink(root, root.join("sub-b/again")).expect("link");
    std::os::unix::fs::symlink(root.join("sub-a"), root.join("sub-b/other")).expect("link");
    std::os::unix::fs::symlink("nowhere", root.join("sub-b/dead")).expect("link");
    assert_eq!(find_runs(root).expect("finds").len(), 3);
}

#[test]
fn paths_with_dots() {
    let dir = set();
    let found = find_runs(&dir.path().join("sub-b/../sub-b/./")).expect("finds");
    assert_eq!(
        (found.len(), found[0].place().as_str()),
        (1, "sub-b/ses-01/motion")
    );
}

#[test]
fn names_are_written_in_the_standard_order() {
    let text = "sub-a_ses-02_task-legraise_tracksys-shinleft_acq-x_run-02_motion.tsv.gz";
    let mixed = "run-02_sub-a_acq-x_ses-02_tracksys-shinleft_task-legraise_motion.tsv.gz";
    assert_eq!(
        Name::parse(mixed).map(|n| n.to_string()).as_deref(),
        Some(text)
    );
    for bad in [
        "motion",
        "sub-_motion.tsv",
        "sub-a.b_motion.tsv",
        "foo-a_motion.tsv",
        "sub_motion.tsv",
        "sub-a_.tsv",
        "",
    ] {
        assert_eq!(Name::parse(bad), None, "{bad}");
    }
    let mut labels = [
        Some("10"),
        Some("b"),
        None,
        Some("2"),
        Some("1a"),
        Some("02"),
    ];
    labels.sort_by(|a, b| run_order(*a, *b));
    assert_eq!(
        labels,
        [
            None,
            Some("02"),
            Some("2"),
            Some("10"),
            Some("1a"),
            Some("b")
        ]
    );
}
