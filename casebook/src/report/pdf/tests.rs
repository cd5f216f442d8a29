use epaint_default_fonts::HACK_REGULAR;

use super::super::tests::{AUDIENCES, made};
use super::super::{Audience, Language};
use super::*;
use crate::invented;

fn own() -> Fonts {
    Fonts::with(Vec::new()).unwrap()
}

#[test]
fn every_report_is_accepted_and_the_same_twice() {
    let mut account = invented::account();
    account.visits.truncate(4);
    account.client.name = "Zoë Łukasiewicz-Müller Ελένη Юлия".to_owned();
    for language in Language::ALL {
        for audience in AUDIENCES {
            let page = made(&account, audience, language);
            let first = render(&page, &own()).unwrap();
            assert!(first.starts_with(b"%PDF-"), "{audience:?}");
            assert_eq!(first, render(&page, &own()).unwrap());
        }
    }
}

#[test]
fn the_client_gets_one_sheet() {
    let letters = |page: &Page| own().letters(page).unwrap();
    let account = invented::account();
    for language in Language::ALL {
        let page = made(&account, Audience::Client, language);
        assert_eq!(laid_out(&page, &letters(&page)).sheets.len(), 1);
    }
    let file = made(&account, Audience::File, Language::English);
    let laid = laid_out(&file, &letters(&file));
    assert!(laid.sheets.len() > 5);
}

#[test]
fn nothing_is_drawn_off_the_sheet() {
    let mut account = invented::account();
    account.client.notes = "w ".repeat(3_000);
    account.client.contact = "x".repeat(10_000);
    account.visits[0].notes = "y".repeat(10_000);
    account.visits.truncate(2);
    for audience in AUDIENCES {
        let page = made(&account, audience, Language::German);
        let letters = own().letters(&page).unwrap();
        let laid = lay::lay_out(&page, &letters, 1.0);
        for item in laid.sheets.iter().flat_map(|sheet| &sheet.items) {
            for mark in &item.marks {
                if let sheet::Mark::Text {
                    x, y, size, text, ..
                } = mark
                {
                    let right = x + letters.width(text.trim_end(), *size);
                    assert!(
                        *x >= sheet::MARGIN && right <= sheet::SHEET_WIDTH - 40.0,
                        "{text}"
                    );
                    assert!(*y > 40.0 && *y < sheet::SHEET_HEIGHT - 10.0, "{text}");
                    let is_foot = item.leaf.is_none();
                    assert!(is_foot || *y < sheet::FOOT, "{text}");
                }
            }
        }
        render(&page, &own()).unwrap();
    }
}

#[test]
fn a_character_without_a_font_is_named_with_the_mend() {
    let mut account = invented::account();
    account.client.name = "山田 ═".to_owned();
    let page = made(&account, Audience::Client, Language::English);
    let error = render(&page, &own()).unwrap_err();
    assert_eq!(error, PdfError::NoGlyph(vec!['═', '山', '田']));
    let text = error.to_string();
    assert!(
        text.contains("'山' (U+5C71)") && text.contains("; install a font"),
        "{text}"
    );
    assert_eq!(own().lacking(&page).unwrap(), ['═', '山', '田']);
}

#[test]
fn another_font_is_asked_for_what_the_first_lacks() {
    let mut account = invented::account();
    account.client.name = "A ═ B".to_owned();
    let page = made(&account, Audience::Client, Language::English);
    let hack = FontFile {
        name: "Hack".to_owned(),
        bytes: HACK_REGULAR.to_vec(),
        index: 0,
    };
    let fonts = Fonts::with(vec![hack]).unwrap();
    assert_eq!(fonts.lacking(&page).unwrap(), []);
    let letters = fonts.letters(&page).unwrap();
    assert_eq!(letters.runs("A ═ B"), [(0, "A "), (1, "═ "), (0, "B")]);
    render(&page, &fonts).unwrap();
    let broken = FontFile {
        name: "broken".to_owned(),
        bytes: b"no font".to_vec(),
        index: 0,
    };
    let error = Fonts::with(vec![broken]).unwrap_err().to_string();
    assert!(
        error.starts_with("font broken: ") && error.contains("; "),
        "{error}"
    );
}

#[test]
fn lines_break_at_words_names_and_ideographs() {
    let page = made(&invented::account(), Audience::Client, Language::English);
    let letters = own().letters(&page).unwrap();
    let wide = letters.width("You felt the ", 10.0);
    assert_eq!(
        letters.wrap("You felt the first pull", 10.0, wide),
        ["You felt the ", "first pull"]
    );
    let narrow = letters.width("sub-kelumo/ses-0", 10.0);
    assert_eq!(
        letters.wrap("sub-kelumo/ses-08/run-01", 10.0, narrow),
        ["sub-kelumo/", "ses-08/run-01"]
    );
    let joined: String = letters.wrap(&"x".repeat(500), 10.0, 100.0).concat();
    assert_eq!(joined.len(), 500);
    assert_eq!(letters.wrap("", 10.0, 100.0), [""]);
}
