//! Clients that are merged, forgotten, or due; rounds that go to the right one.

use jiff::civil::date;
use sensor::RecordingId;

use super::tests_kit::{Book, client, fill, why};
use super::*;

#[test]
fn two_entries_of_one_person_become_one() {
    let book = Book::new();
    let store = &book.store;
    fill(store, "aaaaaa", "Ana");
    fill(store, "bbbbbb", "Anna");
    let on_disk: Vec<RecordingId> = [("aaaaaa", "01"), ("bbbbbb", "01"), ("bbbbbb", "02")]
        .map(|(code, session)| RecordingId {
            subject: Some(code.to_owned()),
            session: Some(session.to_owned()),
            task: "legraise".to_owned(),
            acquisition: None,
            run: Some("01".to_owned()),
        })
        .to_vec();
    let root = book.folder.path().join("data");
    let merge = |reason| store.merge("aaaaaa", "bbbbbb", &root, &on_disk, why(reason));
    assert!(merge("").is_err());
    let moves = merge("entered twice").unwrap();
    let names: Vec<String> = moves
        .iter()
        .map(|m| format!("{} {}", m.from, m.to))
        .collect();
    assert_eq!(
        names,
        [
            "sub-bbbbbb/ses-01/run-01 sub-aaaaaa/ses-03/run-01",
            "sub-bbbbbb/ses-02/run-01 sub-aaaaaa/ses-02/run-01"
        ]
    );
    assert!(store.client("bbbbbb").is_err());
    let kept = account(store, "aaaaaa").unwrap();
    assert_eq!(kept.visits.len(), 2);
    assert_eq!(
        kept.visits[1].rounds[0].recording,
        "sub-aaaaaa/ses-03/run-01"
    );
    let history = store.history(Some("aaaaaa")).unwrap();
    let tells = |former: &str| history.iter().any(|c| c.former.as_deref() == Some(former));
    assert!(
        tells("Anna") && tells("bbbbbb") && tells("ses-01"),
        "{history:?}"
    );
    // What is to be done on disk outlasts the program.
    let book = book.reopened();
    let pending = book.store.pending_moves().unwrap();
    assert_eq!(
        pending.iter().map(|p| p.what.clone()).collect::<Vec<_>>(),
        moves
    );
    assert!(pending.iter().all(|p| p.root == root));
    for one in pending {
        book.store.finish_move(one.id).unwrap();
    }
    assert!(book.store.pending_moves().unwrap().is_empty());
}

#[test]
fn a_round_goes_to_the_right_client() {
    let book = Book::new();
    let store = &book.store;
    fill(store, "aaaaaa", "Ana");
    store.add_client(&client("bbbbbb", "Bo"), why("")).unwrap();
    let id = |code: &str, session: &str, run: &str| RecordingId {
        subject: Some(code.to_owned()),
        session: Some(session.to_owned()),
        task: "legraise".to_owned(),
        acquisition: None,
        run: Some(run.to_owned()),
    };
    let one = Move {
        from: id("aaaaaa", "01", "01"),
        to: id("bbbbbb", "04", "02"),
        is_copy: false,
    };
    let root = book.folder.path();
    let moves = std::slice::from_ref(&one);
    assert!(store.move_round(root, moves, why("")).is_err());
    store.move_round(root, moves, why("wrong client")).unwrap();
    assert!(store.visit("aaaaaa", "01").unwrap().rounds.is_empty());
    let there = store.visit("bbbbbb", "04").unwrap();
    assert_eq!(there.date, date(2026, 1, 5));
    assert_eq!(there.rounds[0].recording, "sub-bbbbbb/ses-04/run-02");
    assert!(!there.has_asked_cautions, "nobody asked this client");
    let history = store.history(Some("bbbbbb")).unwrap();
    assert!(
        history
            .iter()
            .any(|c| c.field == "moved from another client")
    );
    assert_eq!(store.pending_moves().unwrap().len(), 1);
}

#[test]
fn a_forgotten_client_leaves_no_trace_in_the_file() {
    let book = Book::new();
    fill(&book.store, "aaaaaa", "Ana");
    let clean = Book::new();
    fill(&clean.store, "aaaaaa", "Ana");
    fill(&book.store, "bbbbbb", "Bo");
    book.store.forget("bbbbbb").unwrap();
    assert!(book.store.client("bbbbbb").is_err());
    book.store.check().unwrap();
    // In plain text nothing of the client is in any page: the whole database, page by page, without encryption.
    let plain = book.folder.path().join("plain.db");
    std::fs::write(&plain, []).unwrap();
    let sql = format!(
        "ATTACH '{}' AS plain KEY ''; SELECT sqlcipher_export('plain'); DETACH plain",
        plain.display()
    );
    book.store.db.execute_batch(&sql).unwrap();
    let bytes = std::fs::read(&plain).unwrap();
    let has = |word: &[u8]| bytes.windows(word.len()).any(|window| window == word);
    assert!(has(b"aaaaaa@example.org"), "the test sees text");
    assert!(!has(b"bbbbbb") && !has(b"Bo"));
    let size = |book: &Book| std::fs::metadata(book.path()).unwrap().len();
    assert_eq!(size(&book), size(&clean));
    for table in ["visits", "rounds", "raises", "ends", "drills", "changes"] {
        let count = |book: &Book| -> i64 {
            let sql = format!("SELECT count(*) FROM {table}");
            book.store.db.query_row(&sql, [], |row| row.get(0)).unwrap()
        };
        assert_eq!(count(&book), count(&clean), "{table}");
    }
}

#[test]
fn who_has_not_come_for_long_is_due_and_stays() {
    let book = Book::new();
    let store = &book.store;
    fill(store, "aaaaaa", "Ana");
    let today = date(2031, 1, 6);
    assert!(store.due(today).unwrap().is_empty(), "no setting, no list");
    store
        .set_setting(Setting::RetentionMonths, "60", why(""))
        .unwrap();
    let due = store.due(today).unwrap();
    assert_eq!(
        (due[0].code.as_str(), due[0].latest),
        ("aaaaaa", date(2026, 1, 5))
    );
    assert!(store.due(date(2031, 1, 5)).unwrap().is_empty());
    assert!(store.client("aaaaaa").is_ok());
    for wrong in ["0", "1.5", "-3", "many"] {
        assert!(
            store
                .set_setting(Setting::RetentionMonths, wrong, why("x"))
                .is_err()
        );
    }
    let mut gone = client("aaaaaa", "Ana");
    if let Some(consent) = &mut gone.consent {
        consent.withdrawn = Some(date(2026, 2, 1));
    }
    store.edit_client(&gone, why("took it back")).unwrap();
    let due = store.due(date(2026, 2, 2)).unwrap();
    assert!(due.len() == 1 && due[0].is_withdrawn);
    assert!(may_record(&gone, today).is_err());
}
