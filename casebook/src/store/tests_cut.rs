//! A cut at every write of a change: the casebook is then as before or as after, never in between.
//!
//! Why these cases are all there are. With a rollback journal a change is: the journal is written (former pages), synced,
//! its count of pages written, synced; the pages of the database are written, in order of their number; synced; the journal
//! is removed; the folder synced.
//!
//! *A program that dies* leaves every write before and none after. The system ends it here itself, in the very write that
//! would pass a limit of file size, for every limit in steps of a sector: so it ends once in each write to the journal, and
//! in each write to the database that lies beyond the journal's length, whole sectors of the page having been written.
//!
//! *A power cut* besides loses any of what was not synced yet, and may tear what was being written. Between two syncs that
//! is: the journal in part, the database untouched; the journal whole, any of the changed pages written, not written, or
//! half; all pages written, the journal there or gone. These are put together from the files themselves.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use jiff::civil::date;
use rusqlite::types::Value;

use super::tests_kit::{Book, fill, passphrase, round, visit, why};
use super::*;

const PAGE: usize = 4096;
const SECTOR: usize = 512;
/// Names the casebook that the program which is to die works on.
const BOOK: &str = "LEGRAISE_TEST_BOOK";

/// A change that touches every kind of table, and makes the file longer.
fn change(store: &Store) -> Result<(), StoreError> {
    store.together(|store| {
        let mut client = store.client("aaaaaa")?;
        client.name = "Another name".to_owned();
        client.notes = "words ".repeat(1500);
        store.edit_client(&client, why("a slip"))?;
        store.add_visit("cccccc", &visit("02", date(2026, 1, 12)), why(""))?;
        let degrees: Vec<f64> = (0..14).map(|n| 50.0 + f64::from(n)).collect();
        store.keep_round(
            "cccccc",
            "02",
            &round("cccccc", "02", "01", &degrees),
            why(""),
        )?;
        store.set_setting(Setting::RetentionMonths, "60", why(""))
    })?;
    Ok(())
}

/// All that is in a casebook.
fn everything(path: &Path) -> Result<Vec<String>, StoreError> {
    let store = Store::open(path, &passphrase())?;
    store.check()?;
    let tables = [
        "clients", "visits", "rounds", "raises", "ends", "drills", "plans", "settings", "changes",
        "moves",
    ];
    store.read(|db| {
        let mut all = Vec::new();
        for table in tables {
            let mut rows = db.prepare(&format!("SELECT * FROM {table} ORDER BY 1, 2"))?;
            let width = rows.column_count();
            let mut rows = rows.query([])?;
            while let Some(row) = rows.next()? {
                let cells: Vec<Value> =
                    (0..width).map(|at| row.get(at)).collect::<Result<_, _>>()?;
                all.push(format!("{table} {cells:?}"));
            }
        }
        Ok(all)
    })
}

fn journal_of(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push("-journal");
    PathBuf::from(name)
}

/// The files of a casebook, to be put anywhere.
struct Scene {
    folder: tempfile::TempDir,
    /// Before the change, and after it: the file, and all that is in it.
    before: (Vec<u8>, Vec<String>),
    after: (Vec<u8>, Vec<String>),
}

impl Scene {
    fn new() -> Self {
        let book = Book::new();
        for code in ["aaaaaa", "bbbbbb", "cccccc"] {
            fill(&book.store, code, "Invented");
        }
        let path = book.path();
        drop(book.store);
        let state = |path: &Path| {
            let inside = everything(path).expect("sound");
            (fs::read(path).expect("reads"), inside)
        };
        let before = state(&path);
        change(&Store::open(&path, &passphrase()).expect("opened")).expect("changed");
        let after = state(&path);
        assert!(before.0.len() + 2 * PAGE <= after.0.len(), "the file grows");
        assert_ne!(before.1, after.1);
        Self {
            folder: book.folder,
            before,
            after,
        }
    }

    /// Puts files in place and says whether the casebook is as before (`false`) or as after; anything else fails.
    fn is_after(&self, database: &[u8], journal: Option<&[u8]>, what: &str) -> bool {
        let path = self.folder.path().join("put.db");
        fs::write(&path, database).expect("written");
        match journal {
            Some(bytes) => fs::write(journal_of(&path), bytes).expect("written"),
            None => drop(fs::remove_file(journal_of(&path))),
        }
        self.state_of(&path, what)
    }

    fn state_of(&self, path: &Path, what: &str) -> bool {
        let found = everything(path).unwrap_or_else(|e| panic!("{what}: {e}"));
        let is_after = found == self.after.1;
        assert!(is_after || found == self.before.1, "{what}: in between");
        is_after
    }

    /// Runs the change in a program that the system ends once a file would grow past `sectors`. What it leaves.
    fn cut_at(&self, sectors: usize) -> (Vec<u8>, Option<Vec<u8>>, bool) {
        let path = self.folder.path().join("cut.db");
        fs::write(&path, &self.before.0).expect("written");
        drop(fs::remove_file(journal_of(&path)));
        let program = std::env::current_exe().expect("this program");
        let done = Command::new("sh")
            .args(["-c", "ulimit -c 0; ulimit -f \"$0\"; exec \"$@\""])
            .arg(sectors.to_string())
            .arg(program)
            .args([
                "--exact",
                "store::tests_cut::the_change_is_made",
                "--test-threads",
                "1",
            ])
            .env(BOOK, &path)
            .output()
            .expect("a shell");
        (
            fs::read(&path).expect("reads"),
            fs::read(journal_of(&path)).ok(),
            done.status.success(),
        )
    }
}

/// By itself a test like any other; with the name of a casebook, the program that is to die.
#[test]
fn the_change_is_made() {
    if let Some(path) = std::env::var_os(BOOK) {
        let store = Store::open(Path::new(&path), &passphrase()).expect("opened");
        change(&store).expect("changed");
        return;
    }
    let scene = Scene::new();
    assert!(scene.is_after(&scene.after.0, None, "whole"));
    assert!(!scene.is_after(&scene.before.0, None, "untouched"));
}

#[cfg(unix)]
#[test]
fn a_program_that_dies_in_any_write_leaves_before_or_after() {
    let scene = Scene::new();
    let last = scene.after.0.len() / SECTOR + 8;
    let (mut torn, mut began, mut done) = (0, 0, 0);
    for sectors in 0..=last {
        let (database, journal, is_done) = scene.cut_at(sectors);
        if journal.is_some() {
            began += 1;
        }
        if journal.is_some() && database != scene.before.0 {
            torn += 1;
        }
        let what = format!("cut at sector {sectors} of {last}");
        let is_after = scene.is_after(&database, journal.as_deref(), &what);
        assert_eq!(
            is_after, is_done,
            "{what}: what was said to be done is done"
        );
        done += usize::from(is_done);
    }
    // The cuts were where they were meant to be.
    let grown = (scene.after.0.len() - scene.before.0.len()) / SECTOR;
    assert!(torn >= grown, "{torn} cuts with pages half written");
    assert!(began > torn, "{began} cuts in the journal or after it");
    assert!((1..=16).contains(&done), "{done} of {last} were not cut");
}

#[cfg(unix)]
#[test]
fn a_wrong_passphrase_after_a_cut_spoils_nothing() {
    let scene = Scene::new();
    let mut limits = (0..=scene.after.0.len() / SECTOR).rev();
    let left = limits.find_map(|n| {
        let (database, journal, _) = scene.cut_at(n);
        Some((database, journal?))
    });
    let (database, journal) = left.expect("a cut with a journal");
    let path = scene.folder.path().join("put.db");
    fs::write(&path, &database).expect("written");
    fs::write(journal_of(&path), &journal).expect("written");
    for _ in 0..2 {
        let wrong = Store::open(&path, &Passphrase::new("three other words"));
        let wrong = wrong.expect_err("refused").kind;
        assert!(matches!(wrong, StoreErrorKind::Passphrase), "{wrong}");
    }
    assert!(!scene.state_of(&path, "with the right one"));
}

#[cfg(unix)]
#[test]
fn a_power_cut_in_any_order_of_writes_leaves_before_or_after() {
    let scene = Scene::new();
    let (before, after) = (&scene.before.0, &scene.after.0);
    // The last cut that still found the journal has it whole.
    let mut limits = (0..=after.len() / SECTOR).rev().map(|n| scene.cut_at(n));
    let whole = limits.find_map(|(database, journal, _)| journal.filter(|_| database != *before));
    let journal = whole.expect("a journal");
    assert!(!scene.is_after(after, Some(&journal), "all written, journal there"));
    assert!(scene.is_after(after, None, "all written, journal gone"));
    assert!(scene.is_after(after, Some(&[]), "all written, journal empty"));

    // The journal is not synced: the database is untouched.
    for at in (0..journal.len()).step_by(SECTOR) {
        let what = format!("journal cut at {at} of {}", journal.len());
        let head = &journal[..at];
        assert!(!scene.is_after(before, Some(head), &what));
        let mut holes = journal.clone();
        let end = holes.len().min(at + SECTOR);
        holes[at..end].fill(0);
        assert!(!scene.is_after(before, Some(&holes), &what));
        let mut noise = head.to_vec();
        noise.extend((at..journal.len()).map(|n| (n.wrapping_mul(167) >> 3).to_le_bytes()[0]));
        assert!(!scene.is_after(before, Some(&noise), &what));
    }

    // The journal is synced: any of the pages may have been written, and one be half written.
    let page = |bytes: &[u8], n: usize| bytes.get(n * PAGE..(n + 1) * PAGE).map(<[u8]>::to_vec);
    let changed: Vec<usize> = (0..after.len() / PAGE)
        .filter(|n| page(before, *n) != page(after, *n))
        .collect();
    assert!(changed.len() > 8, "{changed:?}");
    let mut subsets: BTreeSet<Vec<bool>> = BTreeSet::new();
    let count = changed.len();
    for k in 0..=count {
        subsets.insert((0..count).map(|n| n < k).collect());
        subsets.insert((0..count).map(|n| n >= k).collect());
        subsets.insert((0..count).map(|n| n == k).collect());
        subsets.insert((0..count).map(|n| n != k).collect());
    }
    for seed in 0_u64..40 {
        let bits = (seed + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        subsets.insert((0..count).map(|n| bits >> (n % 64) & 1 == 1).collect());
    }
    for subset in subsets {
        let mut database = before.clone();
        let mut last = None;
        for (n, _) in changed.iter().zip(&subset).filter(|(_, is)| **is) {
            // A later page written before an earlier one leaves a hole between.
            database.resize(database.len().max((n + 1) * PAGE), 0);
            database[n * PAGE..(n + 1) * PAGE].copy_from_slice(&after[n * PAGE..(n + 1) * PAGE]);
            last = Some(*n);
        }
        let what = format!("pages {changed:?} written: {subset:?}");
        assert!(!scene.is_after(&database, Some(&journal), &what));
        if let Some(n) = last {
            let half = n * PAGE + PAGE / 2..(n + 1) * PAGE;
            match page(before, n) {
                Some(old) => database[half].copy_from_slice(&old[PAGE / 2..]),
                None => database[half].fill(0),
            }
            assert!(!scene.is_after(&database, Some(&journal), &format!("{what}, {n} half")));
        }
    }
}
