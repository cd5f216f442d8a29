//! What goes out to people and other programs, before judges that know nothing of us: two validators of health records,
//! Python's reader of tables, a parser of pages.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use casebook::export::csv::{Separator, raises};
use casebook::export::fhir::{Codes, bundle};
use casebook::invented;
use casebook::record::Account;
use casebook::report::{Ask, Audience, Language, html, page};
use serde_json::{Value, json};

use super::kit::root;

fn rig(name: &str) -> PathBuf {
    root().join("tests/rigs/records").join(name)
}

/// Python with what `tests/ci.sh` has installed.
fn python() -> Command {
    let packages = root().join(".venv");
    let own = packages.join("bin/python");
    if own.is_file() {
        return Command::new(own);
    }
    let mut command = Command::new("python3");
    command.env("PYTHONPATH", packages);
    command
}

fn ran(mut command: Command) -> Output {
    command
        .output()
        .unwrap_or_else(|e| panic!("{command:?}: {e}; run `bash tests/ci.sh`, which installs it"))
}

fn assert_passes(command: Command) {
    let output = ran(command);
    assert!(
        output.status.success(),
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
}

/// Both judges, by name.
fn judges(bundle: &Path) -> [(&'static str, Command); 2] {
    let mut first = python();
    first.arg(rig("bundle.py")).arg(bundle);
    let mut second = Command::new("node");
    second.arg(rig("bundle.cjs")).arg(bundle);
    [("python", first), ("node", second)]
}

fn written(folder: &Path, value: &Value) -> PathBuf {
    let path = folder.join("bundle.json");
    fs::write(&path, value.to_string()).expect("writes");
    path
}

fn hostile() -> Account {
    let mut account = invented::account();
    account.client.name = "=HYPERLINK(\"x\")\n<script>alert(1)</script>".to_owned();
    account.visits.truncate(3);
    for visit in &mut account.visits {
        visit.notes = "<img src=x onerror=alert(1)>".to_owned();
        for round in &mut visit.rounds {
            round.conditions.rater = Some("@r\"1\"".to_owned());
            round.set_aside = vec![(1, "-1+1".to_owned())];
        }
    }
    account
}

#[test]
fn two_judges_of_health_records_accept_the_bundle() {
    let folder = tempfile::tempdir().expect("a folder");
    for (account, codes) in [
        (invented::account(), Codes::default()),
        (hostile(), Codes::NONE),
    ] {
        let path = written(folder.path(), &bundle(&account, None, &codes));
        for (_, judge) in judges(&path) {
            assert_passes(judge);
        }
    }
}

type Break = fn(&mut Value);

#[test]
fn each_judge_refuses_a_broken_bundle() {
    let folder = tempfile::tempdir().expect("a folder");
    let whole = bundle(&invented::account(), Some("01"), &Codes::default());
    let breaks: [(&str, Break); 3] = [
        ("no code", |one| {
            one.as_object_mut().expect("an object").remove("code");
        }),
        ("an unknown field", |one| one["angle"] = json!(1)),
        ("a text for a number", |one| {
            one["valueQuantity"]["value"] = json!("far");
        }),
    ];
    for (what, damage) in breaks {
        let mut broken = whole.clone();
        damage(&mut broken["entry"][3]["resource"]);
        let path = written(folder.path(), &broken);
        for (judge, command) in judges(&path) {
            let output = ran(command);
            assert_eq!(output.status.code(), Some(1), "{judge} lets {what} pass");
        }
    }
}

#[test]
fn a_table_comes_back_unharmed_and_runs_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut account = hostile();
    for name in ["=1+1", "Zoë \"Ł\", 山田", "-", "a\nb", "plain"] {
        account.client.name = name.to_owned();
        for (separator, sign) in [(Separator::Comma, ","), (Separator::Semicolon, ";")] {
            let path = folder.path().join("raises.csv");
            fs::write(&path, raises(&account, None, separator).expect("a table")).expect("writes");
            let mut reader = python();
            reader.arg(rig("table.py")).arg(&path).args([sign, name]);
            assert_passes(reader);
        }
    }
}

#[test]
fn a_page_is_sound_and_fetches_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    for account in [invented::account(), hostile()] {
        for (audience, language) in [
            (Audience::Client, Language::English),
            (Audience::File, Language::German),
            (Audience::Referrer, Language::English),
        ] {
            let ask = Ask {
                audience,
                language,
                day: jiff::civil::date(2026, 4, 22),
                program: "legraise 0.1.0",
                session: None,
                curves: &invented::curves(&account),
            };
            let path = folder.path().join("page.html");
            fs::write(&path, html::render(&page(&account, &ask))).expect("writes");
            let mut reader = python();
            reader.arg(rig("page.py")).arg(&path).arg(language.code());
            assert_passes(reader);
        }
    }
}
