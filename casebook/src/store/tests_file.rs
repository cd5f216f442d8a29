//! The file itself: locked, encrypted, of a known version; and each thing that can be wrong with it in its own words.

use std::fs;
use std::path::Path;

use super::tests_kit::{Book, fill, passphrase, why};
use super::*;

fn refused(path: &Path, passphrase: &Passphrase) -> StoreErrorKind {
    match Store::open(path, passphrase) {
        Ok(_) => panic!("{}: opened", path.display()),
        Err(e) => {
            let text = e.to_string();
            let place = path.parent().unwrap().display().to_string();
            assert!(
                text.starts_with(&place) && text.contains("; ") && !text.ends_with('.'),
                "{text}"
            );
            e.kind
        }
    }
}

#[test]
fn one_program_at_a_time() {
    let book = Book::new();
    let held = refused(&book.path(), &passphrase());
    let StoreErrorKind::Held { who } = held else {
        panic!("{held}")
    };
    assert_eq!(who, format!("legraise, process {}", std::process::id()));
    let book = book.reopened();
    drop(book.store);
}

#[test]
fn only_the_passphrase_opens_it() {
    let book = Book::new();
    fill(&book.store, "aaaaaa", "Ana");
    let path = book.path();
    drop(book.store);
    let wrong = refused(&path, &Passphrase::new("three small Words"));
    assert!(matches!(wrong, StoreErrorKind::Passphrase), "{wrong}");
    let bytes = fs::read(&path).unwrap();
    for word in [&b"SQLite"[..], b"clients", b"aaaaaa", b"Ana@"] {
        assert!(!bytes.windows(word.len()).any(|window| window == word));
    }
    let mut store = Store::open(&path, &passphrase()).unwrap();
    assert!(store.set_passphrase(&Passphrase::new("short")).is_err());
    store
        .set_passphrase(&Passphrase::new("four other words"))
        .unwrap();
    drop(store);
    assert!(matches!(
        refused(&path, &passphrase()),
        StoreErrorKind::Passphrase
    ));
    let store = Store::open(&path, &Passphrase::new("four other words")).unwrap();
    assert_eq!(store.find("").unwrap().len(), 1);
    store.check().unwrap();
    // A backup is under the passphrase that holds now.
    let mut store = store;
    store.set_passphrase(&passphrase()).unwrap();
    let backup = book.folder.path().join("backup.db");
    store.back_up(&backup).unwrap();
    assert!(Store::open(&backup, &passphrase()).is_ok());
}

#[test]
fn what_is_no_casebook_is_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("casebook.db");
    assert!(matches!(
        refused(&path, &passphrase()),
        StoreErrorKind::Missing
    ));
    let write = |bytes: &[u8]| fs::write(&path, bytes).unwrap();
    write(&[]);
    assert!(matches!(
        refused(&path, &passphrase()),
        StoreErrorKind::CutShort { .. }
    ));
    drop(Store::create(&path, &passphrase()).expect("making it was broken off before"));
    write(b"participant_id\nsub-x\n".repeat(400).as_slice());
    assert!(matches!(
        refused(&path, &passphrase()),
        StoreErrorKind::NotACasebook { .. }
    ));
    let mut plain = b"SQLite format 3\0".to_vec();
    plain.resize(8192, 7);
    write(&plain);
    assert!(matches!(
        refused(&path, &passphrase()),
        StoreErrorKind::NotACasebook { .. }
    ));
    let noise: Vec<u8> = (0..8192_u32)
        .map(|n| (n.wrapping_mul(2_654_435_761) >> 13).to_le_bytes()[0])
        .collect();
    write(&noise);
    assert!(matches!(
        refused(&path, &passphrase()),
        StoreErrorKind::Passphrase
    ));
    let refused = Store::create(&path, &passphrase()).unwrap_err();
    assert!(matches!(refused.kind, StoreErrorKind::Exists));
    assert_eq!(fs::read(&path).unwrap(), noise, "it is left as it is");
}

#[test]
fn a_file_cut_short_anywhere_never_opens_as_if_whole() {
    let book = Book::new();
    fill(&book.store, "aaaaaa", "Ana");
    let path = book.path();
    drop(book.store);
    let whole = fs::read(&path).unwrap();
    let pages = whole.len() / 4096;
    assert!(pages > 15, "{pages} pages");
    let mut lengths: Vec<usize> = (0..pages)
        .flat_map(|n| [n * 4096, n * 4096 + 1, n * 4096 + 2048])
        .collect();
    lengths.push(whole.len() - 1);
    let cut = book.folder.path().join("cut.db");
    for length in lengths {
        fs::write(&cut, &whole[..length]).unwrap();
        let found = refused(&cut, &passphrase());
        assert!(
            matches!(found, StoreErrorKind::CutShort { .. }),
            "{length} bytes of {}: {found}",
            whole.len()
        );
        assert_eq!(fs::read(&cut).unwrap(), &whole[..length], "left as it is");
    }
}

#[test]
fn a_changed_byte_is_found_by_the_check_and_never_read() {
    let book = Book::new();
    fill(&book.store, "aaaaaa", "Ana");
    let path = book.path();
    drop(book.store);
    let whole = fs::read(&path).unwrap();
    let other = book.folder.path().join("other.db");
    for page in 1..whole.len() / 4096 {
        let mut bytes = whole.clone();
        bytes[page * 4096 + 100] ^= 1;
        fs::write(&other, &bytes).unwrap();
        // Where the page is needed to open it, opening says so.
        let found = Store::open(&other, &passphrase()).and_then(|store| store.check());
        let found = found.unwrap_err().kind;
        assert!(
            matches!(found, StoreErrorKind::Damaged { .. }),
            "page {page}: {found}"
        );
        if let Ok(store) = Store::open(&other, &passphrase()) {
            match account(&store, "aaaaaa") {
                Ok(read) => assert_eq!(read.visits[0].rounds[0].raises.len(), 6),
                Err(e) => assert!(matches!(e.kind, StoreErrorKind::Damaged { .. }), "{e}"),
            }
        }
    }
}

#[test]
fn every_earlier_version_is_brought_up() {
    const FILLED: [&str; 1] = [include_str!("schema/v1-filled.sql")];
    for (at, sql) in FILLED.into_iter().enumerate() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("casebook.db");
        open::new_file(&path).unwrap();
        let db = open::connect(&path, &passphrase()).unwrap();
        db.execute_batch(sql).unwrap();
        assert_eq!(
            schema::version(&db).unwrap(),
            i64::try_from(at).unwrap() + 1
        );
        drop(db);
        let store = Store::open(&path, &passphrase()).unwrap();
        store.check().unwrap();
        assert_eq!(schema::version(&store.db).unwrap(), VERSION);
        let kept = account(&store, "abcdef").unwrap();
        assert_eq!(kept.client.name, "Zoë Ångström");
        assert_eq!(kept.visits[0].rounds[0].raises.len(), 2);
        assert_eq!(store.find("ANGSTROM").unwrap().len(), 1, "names are folded");
        let ends: i64 = store
            .db
            .query_row("SELECT count(*) FROM ends", [], |row| row.get(0))
            .unwrap();
        assert_eq!(ends, 2);
        assert_eq!(store.history(Some("abcdef")).unwrap().len(), 1);
        // As if it had always been of this version.
        let shape = |db: &rusqlite::Connection| -> Vec<String> {
            let mut all = db
                .prepare("SELECT name || ' ' || sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name")
                .unwrap();
            let rows = all.query_map([], |row| row.get(0)).unwrap();
            rows.map(Result::unwrap).collect()
        };
        assert_eq!(shape(&store.db), shape(&Book::new().store.db));
    }
    assert_eq!(
        i64::try_from(FILLED.len()).unwrap() + 1,
        VERSION,
        "one of each earlier version"
    );
}

#[test]
fn a_later_version_is_left_alone() {
    let book = Book::new();
    book.store
        .db
        .pragma_update(None, "user_version", VERSION + 1)
        .unwrap();
    let path = book.path();
    drop(book.store);
    let before = fs::read(&path).unwrap();
    let found = refused(&path, &passphrase());
    assert!(
        matches!(found, StoreErrorKind::Newer { found: 3, known: 2 }),
        "{found}"
    );
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn a_full_disk_changes_nothing() {
    let book = Book::new();
    fill(&book.store, "aaaaaa", "Ana");
    let before = account(&book.store, "aaaaaa").unwrap();
    let pages: i64 = book
        .store
        .db
        .query_row("PRAGMA page_count", [], |row| row.get(0))
        .unwrap();
    book.store
        .db
        .query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(()))
        .unwrap();
    let mut big = before.client.clone();
    big.notes = "x".repeat(60_000);
    let full = book.store.edit_client(&big, why("")).unwrap_err();
    assert!(matches!(full.kind, StoreErrorKind::Full), "{full}");
    assert_eq!(account(&book.store, "aaaaaa").unwrap(), before);
    let book = book.reopened();
    assert_eq!(account(&book.store, "aaaaaa").unwrap(), before);
    book.store.check().unwrap();
}

#[test]
fn a_backup_is_whole_and_comes_back() {
    let book = Book::new();
    fill(&book.store, "aaaaaa", "Ana");
    let backup = book.folder.path().join("backup.db");
    book.store.back_up(&backup).unwrap();
    let again = book.store.back_up(&backup).unwrap_err();
    assert!(matches!(again.kind, StoreErrorKind::Exists));
    fill(&book.store, "bbbbbb", "Bo");
    let path = book.path();
    let held = restore(&backup, &path, &passphrase(), "x").unwrap_err();
    assert!(matches!(held.kind, StoreErrorKind::Held { .. }));
    drop(book.store);
    // A damaged backup replaces nothing.
    let bytes = fs::read(&backup).unwrap();
    let mut bad = bytes.clone();
    let middle = bad.len() / 2;
    bad[middle] ^= 1;
    let bad_path = book.folder.path().join("bad.db");
    fs::write(&bad_path, bad).unwrap();
    let before = fs::read(&path).unwrap();
    assert!(restore(&bad_path, &path, &passphrase(), "x").is_err());
    assert!(restore(&backup, &path, &Passphrase::new("some other words"), "x").is_err());
    assert_eq!(fs::read(&path).unwrap(), before);
    let aside = restore(&backup, &path, &passphrase(), "1")
        .unwrap()
        .unwrap();
    assert_eq!(fs::read(&aside).unwrap(), before, "the former one is kept");
    let store = Store::open(&path, &passphrase()).unwrap();
    assert_eq!(store.find("").unwrap().len(), 1);
    store.check().unwrap();
    drop(store);
    fs::remove_file(&path).unwrap();
    assert_eq!(restore(&backup, &path, &passphrase(), "2").unwrap(), None);
    assert!(Store::open(&path, &passphrase()).is_ok());
}

#[cfg(unix)]
#[test]
fn the_file_is_its_owners_alone() {
    use std::os::unix::fs::PermissionsExt as _;
    let book = Book::new();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&book.path()), 0o600);
    assert_eq!(mode(book.path().parent().unwrap()), 0o700);
    assert_eq!(mode(&lock::path_of(&book.path())), 0o600);
    let backup = book.folder.path().join("backup.db");
    book.store.back_up(&backup).unwrap();
    assert_eq!(mode(&backup), 0o600);
}
