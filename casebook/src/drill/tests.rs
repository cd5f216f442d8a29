use std::collections::BTreeSet;
use std::path::Path;

use super::*;
use crate::pacer::{Choice, length_s};

const GOOD: &str = r#"schema = "legraise/drill/1"
name = "Own drill"
kind = "control"
from_deg = 40
to_deg = 70.5
aim = "Something."
set_up = ["Lie down."]
steps = ["Breathe.", "Go on."]
faults = ["Hurrying."]
sources = ["Own."]

[dose]
sets = [2, 3]
reps = 5
of = "breaths"
a_side = true
rest_s = 30
times_a_day = 1
days_a_week = 7
effort = [3, 4]

[[beat]]
kind = "out"
s = [4, 5.5]
say = "out"

[[beat]]
kind = "in"
s = 4
say = "in"

[[caution]]
for = "sit-bone-pain"
do = "leave-out"
why = "It presses."
"#;

pub(super) fn good(id: &str) -> Drill {
    Drill::parse(GOOD, id).unwrap()
}

fn mistake(before: &str, after: &str) -> DrillError {
    assert!(GOOD.contains(before), "{before}");
    Drill::parse(&GOOD.replacen(before, after, 1), "own").unwrap_err()
}

#[test]
fn a_practitioners_own_drill_is_read() {
    let drill = good("own-drill");
    assert_eq!(drill.id, "own-drill");
    assert_eq!(drill.dose.sets, Amount { least: 2, most: 3 });
    assert_eq!(drill.dose.reps, Amount { least: 5, most: 5 });
    assert_eq!(drill.beats[0].s.most.to_bits(), 5.5_f64.to_bits());
    assert_eq!(drill.to_deg.to_bits(), 70.5_f64.to_bits());
    assert!(drill.stop.is_empty() && drill.dose.is_each_side);
    assert_eq!(drill.cautions[0].caution, Caution::SitBonePain);
    assert_eq!(drill.cautions[0].action, Action::LeaveOut);
}

/// What is written, what stands there instead, the line, and words of the message.
const MISTAKES: [(&str, &str, Option<usize>, &str); 19] = [
    ("rest_s = 30", "rest = 30", Some(17), "unknown field `rest`"),
    (
        "aim = \"Something.\"",
        "aims = \"Something.\"",
        Some(6),
        "unknown field `aims`",
    ),
    ("effort = [3, 4]\n", "", Some(12), "missing field `effort`"),
    (
        "kind = \"control\"",
        "kind = \"magic\"",
        Some(3),
        "unknown variant `magic`",
    ),
    (
        "sets = [2, 3]",
        "sets = [3, 2]",
        Some(13),
        "sets from 3 to 2",
    ),
    (
        "sets = [2, 3]",
        "sets = [2, 3, 4]",
        Some(13),
        "the least and the most",
    ),
    (
        "sets = [2, 3]",
        "sets = 2.5",
        Some(13),
        "a number, or the least",
    ),
    (
        "sets = [2, 3]",
        "sets = 0",
        Some(13),
        "sets is 0, expected 1 to 20",
    ),
    (
        "sets = [2, 3]",
        "sets = 9223372036854775807",
        Some(13),
        "expected 1 to 20",
    ),
    ("rest_s = 30", "rest_s = nan", Some(17), "rest_s is NaN"),
    ("rest_s = 30", "rest_s = -1.0", Some(17), "rest_s is -1"),
    (
        "to_deg = 70.5",
        "to_deg = 40",
        Some(5),
        "to_deg is 40, expected 41 to 180",
    ),
    ("s = [4, 5.5]", "s = inf", Some(24), "s is inf"),
    (
        "say = \"out\"",
        "say = \" \"",
        Some(25),
        "say has 0 characters",
    ),
    (
        "for = \"sit-bone-pain\"",
        "for = \"cold\"",
        Some(33),
        "unknown variant `cold`",
    ),
    (
        "steps = [\"Breathe.\", \"Go on.\"]",
        "steps = []",
        Some(8),
        "0 of steps",
    ),
    (
        "legraise/drill/1",
        "legraise/drill/2",
        Some(1),
        "schema \"legraise/drill/2\"",
    ),
    (
        "aim = \"Something.\"",
        "aim = \"a\\u0007b\"",
        Some(6),
        "can't be shown",
    ),
    ("kind = \"in\"", "kind = \"in", Some(28), "invalid"),
];

#[test]
fn mistakes_are_told_with_line_and_mend() {
    for (before, after, line, words) in MISTAKES {
        let error = mistake(before, after);
        assert!(error.to_string().contains(words), "{after}: {error}");
        assert_eq!(error.place.line, line, "{after}: {error}");
        assert!(error.to_string().starts_with("own:"), "{error}");
    }
    assert!(
        mistake("rest_s = 30", "rest = 30")
            .to_string()
            .ends_with("; remove it or correct its spelling")
    );
}

#[test]
fn a_breath_is_never_held_long() {
    let error = mistake("kind = \"in\"\ns = 4", "kind = \"pause\"\ns = 5.1");
    assert!(error.to_string().contains("s is 5.1, expected 0.5 to 5"));
}

#[test]
fn a_drill_has_an_end() {
    let long = GOOD
        .replace("sets = [2, 3]", "sets = 20")
        .replace("reps = 5", "reps = 100");
    let error = Drill::parse(&long, "own").unwrap_err();
    assert!(
        matches!(error.kind, DrillErrorKind::TooLong { .. }),
        "{error}"
    );
    let large = format!("{GOOD}{}", " ".repeat(Drill::BYTES_MAX));
    let error = Drill::parse(&large, "own").unwrap_err();
    assert!(matches!(error.kind, DrillErrorKind::TooLarge { .. }));
    let many = format!(
        "{GOOD}{}",
        "\n[[beat]]\nkind = \"in\"\ns = 1\nsay = \"x\"\n".repeat(11)
    );
    let error = Drill::parse(&many, "own").unwrap_err();
    assert!(
        error.to_string().contains("13 of beat, expected 1 to 12"),
        "{error}"
    );
    let twice =
        format!("{GOOD}\n[[caution]]\nfor = \"sit-bone-pain\"\ndo = \"adapt\"\nwhy = \"x\"\n");
    let error = Drill::parse(&twice, "own").unwrap_err();
    assert_eq!(
        error.kind,
        DrillErrorKind::Twice {
            word: "sit-bone-pain"
        }
    );
}

#[test]
fn a_name_that_could_be_a_path_is_refused() {
    for id in ["", "../x", "A", "a b", "ä", &"a".repeat(61)] {
        let error = Drill::parse(GOOD, id).unwrap_err();
        assert!(matches!(error.kind, DrillErrorKind::Id { .. }), "{id}");
    }
}

/// Holds the folder and the list together.
#[test]
fn every_shipped_drill_is_read() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("drills");
    let on_disk: BTreeSet<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let listed: BTreeSet<String> = SHIPPED.iter().map(|(id, _)| format!("{id}.toml")).collect();
    assert_eq!(on_disk, listed);
    for (id, text) in SHIPPED {
        let drill = Drill::parse(text, id).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(shipped_text(id), Some(text));
        assert!(drill.dose.effort.most <= 7, "{id}: never all-out");
        let length_s = length_s(&drill, &Choice::most(&drill));
        assert!((60.0..1200.0).contains(&length_s), "{id}: {length_s} s");
    }
    assert_eq!(shipped().len(), 12);
    assert_eq!(shipped_text("none"), None);
}

#[test]
fn each_band_as_shipped_has_three_drills() {
    let rows = [(0.0, 45.0), (45.0, 60.0), (60.0, 90.0), (90.0, 180.0)];
    for (from, to) in rows {
        let count = shipped()
            .iter()
            .filter(|d| (d.from_deg, d.to_deg) == (from, to))
            .count();
        assert_eq!(count, 3, "{from} to {to}");
    }
    // Over 90 degrees: control and strength, not more length.
    assert!(shipped().iter().filter(|d| d.from_deg >= 60.0).all(|d| {
        !matches!(
            d.kind,
            DrillKind::Lengthen | DrillKind::Glide | DrillKind::Unload
        )
    }));
}

#[test]
fn the_words_of_cautions_are_those_of_files() {
    for caution in Caution::ALL {
        let text = GOOD.replace("sit-bone-pain", caution.as_str());
        let drill = Drill::parse(&text, "own").unwrap();
        assert_eq!(drill.cautions[0].caution, caution);
    }
    assert_eq!(Caution::ALL.iter().filter(|c| c.stops_all()).count(), 8);
}

/// A file cut anywhere, or with a byte gone, is read or refused at a line that it has; it never stops the program.
#[test]
fn a_damaged_file_is_refused_at_a_line_it_has() {
    for (id, text) in SHIPPED {
        for at in (0..text.len())
            .step_by(11)
            .filter(|at| text.is_char_boundary(*at))
        {
            let rest = text[at..].chars().as_str();
            let without = rest
                .char_indices()
                .nth(1)
                .map_or("", |(next, _)| &rest[next..]);
            for damaged in [text[..at].to_owned(), format!("{}{without}", &text[..at])] {
                if let Err(error) = Drill::parse(&damaged, id) {
                    let lines = damaged.lines().count() + 1;
                    assert!(error.place.line.is_none_or(|line| line <= lines), "{error}");
                }
            }
        }
    }
}

#[test]
fn a_drill_is_told_in_another_language_whole_or_not_at_all() {
    let words = r#"
[words.de]
name = "Eigene"
aim = "Etwas."
set_up = ["Hinlegen."]
steps = ["Atmen.", "Weiter."]
faults = ["Hast."]
say = ["aus", "ein"]
why = ["Es drückt."]
"#;
    let text = format!("{GOOD}{words}");
    let drill = Drill::parse(&text, "own").unwrap();
    assert!(drill.speaks("de") && !drill.speaks("fr"));
    assert_eq!(drill.told_in("fr"), drill);
    let told = drill.told_in("de");
    assert_eq!((told.name.as_str(), told.id.as_str()), ("Eigene", "own"));
    assert_eq!(told.beats[1].say, "ein");
    assert_eq!(told.cautions[0].why, "Es drückt.");
    // What is done and how much is the same.
    assert_eq!((told.dose, told.kind), (drill.dose, drill.kind));
    for (before, after, expected) in [
        (
            r#""Atmen.", "Weiter.""#,
            r#""Atmen.""#,
            "1 of steps in these words, expected 2",
        ),
        (
            r#"say = ["aus", "ein"]"#,
            r#"say = ["aus"]"#,
            "1 of say in these words",
        ),
        (
            r#"why = ["Es drückt."]"#,
            "",
            "0 of why in these words, expected 1",
        ),
        (
            "words.de",
            "words.german",
            "words.german, expected two small letters",
        ),
        (
            r#"name = "Eigene""#,
            r#"name = """#,
            "name has 0 characters",
        ),
    ] {
        assert!(text.contains(before), "{before}");
        let e = Drill::parse(&text.replacen(before, after, 1), "own").unwrap_err();
        assert!(e.to_string().contains(expected), "{e}");
        assert!(e.place.line > Some(36), "{e}");
    }
}

#[test]
fn every_drill_that_comes_with_the_program_speaks_the_languages_of_reports() {
    for drill in shipped() {
        for language in crate::report::Language::ALL {
            let code = language.code();
            let is_told = code == "en" || drill.speaks(code);
            assert!(is_told, "{}: no words in {code}", drill.id);
            let told = drill.told_in(code);
            assert_eq!(told.name == drill.name, code == "en", "{}", drill.id);
        }
    }
}
