//! What is kept comes back as it was, and every change leaves what was before.

use jiff::civil::date;
use sensor::Side;

use super::tests_kit::{Book, client, drill, fill, raise, round, visit, why};
use super::*;
use crate::bands::Bands;
use crate::caution::Caution;
use crate::course::Plan;
use crate::record::Purpose;
use crate::repeatability::Origin;
use crate::rules::Rules;

#[test]
fn an_account_is_what_was_kept() {
    let book = Book::new();
    fill(&book.store, "abcdef", "Zoë");
    let plan = Plan {
        band: 1,
        since: Some(date(2026, 1, 5)),
    };
    book.store
        .set_plan("abcdef", Side::Right, plan, why(""))
        .unwrap();
    let bands = Bands::from_edges_deg(&[50.0, 70.5]).unwrap();
    book.store.set_bands(&bands, why("")).unwrap();
    let mut rules = Rules::default();
    rules.set("raise_count", 2.0).unwrap();
    book.store.set_rules(&rules, why("")).unwrap();
    let before = account(&book.store, "abcdef").unwrap();
    assert_eq!(before.client, client("abcdef", "Zoë"));
    let mut expected = visit("01", date(2026, 1, 5));
    expected.rounds = vec![round(
        "abcdef",
        "01",
        "01",
        &[51.0, 55.5, 52.25, 56.0, 50.5, 57.125],
    )];
    expected.drill = Some(drill());
    assert_eq!(before.visits, [expected]);
    assert_eq!(before.plans, [(Side::Right, plan)]);
    assert_eq!((before.bands.clone(), before.rules), (bands, rules));
    let book = book.reopened();
    book.store.check().unwrap();
    assert_eq!(account(&book.store, "abcdef").unwrap(), before);
}

#[test]
fn a_new_code_is_random_letters() {
    let book = Book::new();
    let mut codes: Vec<String> = (0..20)
        .map(|_| book.store.add_client(&client("", "A"), why("")).unwrap())
        .collect();
    let is_code = |code: &String| code.len() == 6 && code.bytes().all(|b| b.is_ascii_lowercase());
    assert!(codes.iter().all(is_code), "{codes:?}");
    codes.sort();
    codes.dedup();
    assert_eq!(codes.len(), 20);
    let again = book.store.add_client(&client(&codes[0], "B"), why(""));
    assert!(matches!(
        again.unwrap_err().kind,
        StoreErrorKind::CodeTaken(_)
    ));
}

#[test]
fn clients_are_found_without_accents_and_capitals() {
    let book = Book::new();
    for (code, name) in [("aaaaaa", "Zoë Ångström"), ("bbbbbb", "Łukasz Groß")] {
        book.store.add_client(&client(code, name), why("")).unwrap();
    }
    for (words, code) in [
        ("angstrom zoe", "aaaaaa"),
        ("GROSS", "bbbbbb"),
        ("bbbbbb@EXAMPLE", "bbbbbb"),
        ("lukasz", "bbbbbb"),
    ] {
        let found = book.store.find(words).unwrap();
        assert_eq!(found.len(), 1, "{words}");
        assert_eq!(found[0].code, code);
        assert_eq!(book.store.code_of(words).unwrap(), code);
    }
    assert_eq!(book.store.find("").unwrap().len(), 2);
    assert!(book.store.find("100%").unwrap().is_empty());
    let many = book.store.code_of("example").unwrap_err().to_string();
    assert!(many.contains("bbbbbb or aaaaaa"), "{many}");
    assert!(matches!(
        book.store.code_of("nobody").unwrap_err().kind,
        StoreErrorKind::NoClient(_)
    ));
}

#[test]
fn a_change_keeps_what_was_and_wants_a_reason() {
    let book = Book::new();
    let store = &book.store;
    fill(store, "abcdef", "Ana");
    let mut edited = client("abcdef", "Anna");
    edited.notes = "left knee".to_owned();
    let refused = store.edit_client(&edited, why(" ")).unwrap_err();
    assert!(matches!(
        refused.kind,
        StoreErrorKind::NoReason { field: "name" }
    ));
    assert_eq!(
        store.client("abcdef").unwrap().name,
        "Ana",
        "nothing of it is done"
    );
    assert_eq!(store.client("abcdef").unwrap().notes, "");
    store.edit_client(&edited, why("a slip")).unwrap();
    let mut changed = visit("01", date(2026, 1, 5));
    changed.cautions = vec![Caution::Pressure, Caution::Spine];
    changed.pain = Some(3);
    store
        .edit_visit("abcdef", &changed, why("told later"))
        .unwrap();
    let kept = store.visit("abcdef", "01").unwrap();
    assert_eq!(kept.cautions, [Caution::Spine, Caution::Pressure]);
    let history = store.history(Some("abcdef")).unwrap();
    let found = |place: &str, field: &str| {
        let mut all = history.iter();
        all.find(|c| c.place == place && c.field == field)
            .unwrap_or_else(|| panic!("{place} {field} in {history:?}"))
    };
    assert_eq!(found("client", "name").former.as_deref(), Some("Ana"));
    assert_eq!(found("client", "name").reason, "a slip");
    assert_eq!(found("client", "notes").former, None);
    assert_eq!(found("ses-01", "pain").former.as_deref(), Some("2"));
    assert_eq!(found("ses-01/run-01", "added").former, None);
    assert_eq!(found("client", "name").at, why("").at);
    // Nothing in the program changes a kept change; the database wouldn't let it.
    let forged = store.db.execute("UPDATE changes SET former = 'Eve'", []);
    assert!(forged.unwrap_err().to_string().contains("never changed"));
}

#[test]
fn results_are_replaced_only_with_what_they_were() {
    let book = Book::new();
    let store = &book.store;
    fill(store, "abcdef", "Ana");
    let recording = "sub-abcdef/ses-01/run-01";
    let aside = |number, is_aside, reason: &str| {
        store.set_aside("abcdef", "01", recording, number, is_aside, why(reason))
    };
    assert!(matches!(
        aside(1, true, "").unwrap_err().kind,
        StoreErrorKind::NoReason { .. }
    ));
    assert!(matches!(
        aside(7, true, "x").unwrap_err().kind,
        StoreErrorKind::NoRaise { count: 6, .. }
    ));
    aside(0, true, "x").unwrap_err();
    aside(3, true, "coughed").unwrap();
    let kept = store.visit("abcdef", "01").unwrap().rounds.remove(0);
    assert_eq!(kept.set_aside, [(2, "coughed".to_owned())]);
    assert_eq!(kept.counted().len(), 5);
    let same = round(
        "abcdef",
        "01",
        "01",
        &[51.0, 55.5, 52.25, 56.0, 50.5, 57.125],
    );
    assert!(!store.keep_round("abcdef", "01", &same, why("")).unwrap());
    let mut other = same.clone();
    other.raises.insert(0, raise(Side::Left, 40.0));
    other.method.program = "legraise 0.2.0".to_owned();
    assert!(store.keep_round("abcdef", "01", &other, why("")).is_err());
    assert!(
        store
            .keep_round("abcdef", "01", &other, why("read again"))
            .unwrap()
    );
    let now = store.visit("abcdef", "01").unwrap().rounds.remove(0);
    assert_eq!(now.raises, other.raises);
    assert_eq!(
        now.set_aside,
        [(3, "coughed".to_owned())],
        "it stays with its raise"
    );
    let history = store.history(Some("abcdef")).unwrap();
    let former = history.iter().find(|c| c.field == "results").unwrap();
    let former: serde_json::Value =
        serde_json::from_str(former.former.as_deref().unwrap()).unwrap();
    assert_eq!(former["raises"].as_array().unwrap().len(), 6);
    aside(4, false, "no cough after all").unwrap();
    assert!(
        store.visit("abcdef", "01").unwrap().rounds[0]
            .set_aside
            .is_empty()
    );
    store
        .set_purpose("abcdef", "01", recording, Purpose::Recheck, why("it was"))
        .unwrap();
    assert_eq!(
        store.visit("abcdef", "01").unwrap().rounds[0].purpose,
        Purpose::Recheck
    );
    let stranger = round("qqqqqq", "01", "01", &[50.0]);
    assert!(
        store
            .keep_round("abcdef", "01", &stranger, why(""))
            .is_err()
    );
}

#[test]
fn own_raises_replace_the_literature_once_there_are_enough() {
    let book = Book::new();
    fill(&book.store, "aaaaaa", "A");
    // Three raises of each leg are two degrees of freedom a side.
    assert_eq!(
        account(&book.store, "aaaaaa").unwrap().repeatability.origin,
        Origin::Published
    );
    fill(&book.store, "bbbbbb", "B");
    fill(&book.store, "cccccc", "C");
    let known = account(&book.store, "aaaaaa").unwrap().repeatability;
    assert_eq!(
        known.origin,
        Origin::Own {
            round_count: 6,
            dof: 12
        }
    );
    // Raises done otherwise don't count for these.
    let mut other = round("cccccc", "01", "02", &[20.0, 30.0, 80.0, 40.0]);
    other.conditions.ankle = Some("pointed".to_owned());
    book.store
        .keep_round("cccccc", "01", &other, why(""))
        .unwrap();
    assert_eq!(account(&book.store, "aaaaaa").unwrap().repeatability, known);
    book.store
        .set_aside(
            "bbbbbb",
            "01",
            "sub-bbbbbb/ses-01/run-01",
            1,
            true,
            why("x"),
        )
        .unwrap();
    let fewer = account(&book.store, "aaaaaa").unwrap().repeatability;
    assert_eq!(
        fewer.origin,
        Origin::Own {
            round_count: 6,
            dof: 11
        }
    );
}

#[test]
fn what_cannot_be_is_refused_with_its_mend() {
    let book = Book::new();
    let store = &book.store;
    fill(store, "aaaaaa", "Ana");
    let mut odd = client("aaaaaa", "Ana");
    odd.birth_year = Some(198);
    let mut nameless = client("aaaaaa", " ");
    nameless.notes = "x".repeat(10);
    let mut long = client("aaaaaa", "Ana");
    long.notes = "x".repeat(70_000);
    for refused in [&odd, &nameless, &long] {
        let text = store
            .edit_client(refused, why("x"))
            .unwrap_err()
            .to_string();
        assert!(
            text.contains("expected") && text.contains("; correct it"),
            "{text}"
        );
    }
    let mut hurt = visit("02", date(2026, 1, 6));
    hurt.pain = Some(11);
    assert!(store.add_visit("aaaaaa", &hurt, why("")).is_err());
    assert!(
        store
            .add_visit("aaaaaa", &visit("0-2", date(2026, 1, 6)), why(""))
            .is_err()
    );
    assert!(matches!(
        store
            .add_visit("aaaaaa", &visit("01", date(2026, 1, 6)), why(""))
            .unwrap_err()
            .kind,
        StoreErrorKind::VisitTaken { .. }
    ));
    let plan = Plan {
        band: 4,
        since: None,
    };
    assert!(store.set_plan("aaaaaa", Side::Left, plan, why("")).is_err());
}

#[test]
fn changes_together_are_all_or_none() {
    let book = Book::new();
    let failed = book.store.together(|store| {
        fill(store, "aaaaaa", "Ana");
        store.visit("aaaaaa", "99")
    });
    assert!(failed.is_err());
    assert!(book.store.find("").unwrap().is_empty());
    book.store
        .together(|store| {
            fill(store, "aaaaaa", "Ana");
            // A part that fails by itself is undone alone.
            assert!(store.add_client(&client("aaaaaa", "B"), why("")).is_err());
            Ok(())
        })
        .unwrap();
    assert_eq!(book.store.find("").unwrap().len(), 1);
}
