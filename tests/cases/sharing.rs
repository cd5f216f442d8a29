//! A data set made for passing on: accepted by the standard's validator, analysed to the same angles, and without what
//! tells who and when.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use casebook::export::share::{Dates, Removed, Share, ShareError, Shared, share};
use fusion::{SessionContext, Settings, analyse_run};
use sensor::bids::{find_runs, read_run, session_of, write_run};
use sensor::{Mark, MarkKind, RunTime};

use super::kit::root;
use super::validator::assert_spotless_at;

fn demo() -> PathBuf {
    root().join("recordings-demo")
}

fn days(client: &str) -> u32 {
    client.bytes().map(u32::from).sum()
}

/// As if it had been drawn.
const SECRET: &dyn Fn(&str) -> io::Result<u32> = &|client| Ok(days(client));

fn shared(from: &Path, to: &Path, dates: Dates<'_>) -> Shared {
    share(
        from,
        to,
        &Share {
            clients: &[],
            dates,
        },
    )
    .expect("shares")
}

/// All text of a folder's files but samples, and their names.
fn all_text(folder: &Path) -> String {
    let mut text = String::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let entry = entry.expect("an entry");
        text.push_str(&entry.file_name().to_string_lossy());
        text.push('\n');
        if entry.file_type().expect("a type").is_dir() {
            text.push_str(&all_text(&entry.path()));
        } else if !entry.file_name().to_string_lossy().ends_with("_motion.tsv") {
            text.push_str(&fs::read_to_string(entry.path()).expect("text"));
        }
    }
    text
}

/// When each run of a client was recorded, as in the files.
fn times(set: &Path, client: &str) -> Vec<jiff::civil::DateTime> {
    let runs = find_runs(&set.join(format!("sub-{client}"))).expect("runs");
    let times = runs
        .iter()
        .filter_map(|run| read_run(run).expect("reads").run.acquired);
    times.map(|time| time.parse().expect("a time")).collect()
}

#[test]
fn the_shared_set_is_valid_and_days_between_visits_stay() {
    let folder = tempfile::tempdir().expect("a folder");
    let to = folder.path().join("set");
    let told = shared(&demo(), &to, Dates::Shifted(SECRET));
    assert_eq!((told.client_count, told.unread.len()), (4, 0));
    for removed in [
        Removed::DatesShifted,
        Removed::Serials,
        Removed::Raters,
        Removed::PeopleColumns,
    ] {
        assert!(told.removed.contains(&removed), "{removed:?}");
    }
    assert_spotless_at(&to);
    let text = all_text(&to);
    for telling in ["2026", "2025", "E0026", "\t181", "demo"] {
        assert!(!text.contains(telling), "{telling} is still there");
    }
    for client in ["marbul", "tessok", "olivan", "kerudo"] {
        let (before, after) = (times(&demo(), client), times(&to, client));
        assert_eq!(before.len(), after.len());
        let shifts: Vec<jiff::Span> = before
            .iter()
            .zip(&after)
            .map(|(before, after)| before.since((jiff::Unit::Day, *after)).expect("a span"))
            .collect();
        assert!(
            shifts.len() > 1
                && shifts
                    .iter()
                    .all(|shift| shift.fieldwise() == shifts[0].fieldwise())
        );
        assert!(after.iter().all(|time| time.year() <= 1925));
    }
    // Another client, another number of days.
    assert_ne!(days("marbul") % 3_653, days("kerudo") % 3_653);
}

#[test]
fn the_angles_of_the_shared_set_are_the_same() {
    let folder = tempfile::tempdir().expect("a folder");
    let to = folder.path().join("set");
    let client = ["kerudo".to_owned()];
    let wanted = Share {
        clients: &client,
        dates: Dates::Shifted(SECRET),
    };
    let told = share(&demo(), &to, &wanted).expect("shares");
    assert_eq!(told.client_count, 1);
    let raises = |set: &Path| -> Vec<fusion::Raise> {
        let runs = find_runs(&set.join("sub-kerudo")).expect("runs");
        let first = &runs[0];
        let run = read_run(first).expect("reads").run;
        let flats = session_of(first).flats;
        let context = SessionContext {
            flats: flats
                .iter()
                .map(|flat| read_run(flat).expect("reads").run)
                .collect(),
        };
        analyse_run(&run, &context, &Settings::default()).raises
    };
    let before = raises(&demo());
    assert!(!before.is_empty());
    assert_eq!(before, raises(&to));
}

#[test]
fn years_alone_or_no_dates_give_clients_new_labels() {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, dates, wanted) in [
        ("year", Dates::Year, Removed::DatesToYear),
        ("none", Dates::Left, Removed::DatesLeft),
    ] {
        let to = folder.path().join(name);
        let told = shared(&demo(), &to, dates);
        assert!(told.removed.contains(&wanted) && told.removed.contains(&Removed::ClientLabels));
        assert_spotless_at(&to);
        let text = all_text(&to);
        assert!(!text.contains("kerudo") && !text.contains("2026-05-05"));
        assert_eq!(text.contains("2026-01-01T00:00:00"), name == "year");
    }
}

/// A run of the demo with everything in it that tells something.
fn telling(folder: &Path) {
    let runs = find_runs(&demo().join("sub-marbul")).expect("runs");
    let mut run = read_run(&runs[0]).expect("reads").run;
    run.id.session = Some("20260304".to_owned());
    run.marks.push(Mark {
        at: RunTime::from_s(1.0).expect("a time"),
        duration_s: None,
        kind: MarkKind::Note,
        side: None,
        value: "Mrs Miller coughed".to_owned(),
    });
    run.conditions.ankle = Some("as Dr Miller wants it".to_owned());
    run.conditions.rater = Some("miller".to_owned());
    for track in &mut run.tracks {
        track.device.serial = "SN-MILLER-1".to_owned();
    }
    write_run(folder, &run).expect("writes");
    fs::write(
        folder.join("participants.tsv"),
        "participant_id\tage\tsex\tname\nsub-marbul\t97\tFemale\tMiller\n",
    )
    .expect("writes");
    fs::write(folder.join("participants.json"), "{}").expect("writes");
    fs::create_dir_all(folder.join("sourcedata")).expect("a folder");
    fs::write(folder.join("sourcedata/letter.txt"), "Miller").expect("writes");
}

#[test]
fn what_tells_who_somebody_is_does_not_come_along() {
    let folder = tempfile::tempdir().expect("a folder");
    let from = folder.path().join("data");
    telling(&from);
    let to = folder.path().join("set");
    let told = shared(&from, &to, Dates::Shifted(SECRET));
    for removed in [
        Removed::VisitLabels,
        Removed::Notes,
        Removed::Conditions,
        Removed::Raters,
        Removed::Serials,
        Removed::AgesCapped,
        Removed::PeopleColumns,
    ] {
        assert!(told.removed.contains(&removed), "{removed:?}");
    }
    let text = all_text(&to);
    assert!(
        !text.to_lowercase().contains("miller") && !text.contains("2026"),
        "{text:.2000}"
    );
    assert!(text.contains("sub-marbul\t89\tF\tn/a"), "the row of people");
    assert!(text.contains("unit01") && text.contains("r01"));
    assert_spotless_at(&to);
}

#[test]
fn nothing_is_left_where_it_can_not_be_made() {
    let folder = tempfile::tempdir().expect("a folder");
    let full = folder.path().join("full");
    fs::create_dir(&full).expect("a folder");
    fs::write(full.join("x"), "x").expect("writes");
    let dates = Dates::Shifted(SECRET);
    let all = Share {
        clients: &[],
        dates,
    };
    let error =
        |from: &Path, to: &Path, wanted: &Share<'_>| share(from, to, wanted).expect_err("refused");
    assert!(matches!(
        error(&demo(), &full, &all),
        ShareError::Occupied(_)
    ));
    let inside = full.join("set");
    assert!(matches!(error(&full, &inside, &all), ShareError::Inside(_)));
    let nobody = ["nobody".to_owned()];
    let wanted = Share {
        clients: &nobody,
        ..all.clone()
    };
    let to = folder.path().join("set");
    assert!(matches!(
        error(&demo(), &to, &wanted),
        ShareError::NoClient(_)
    ));
    let failing = |_: &str| Err(io::Error::other("none"));
    let wanted = Share {
        dates: Dates::Shifted(&failing),
        ..all
    };
    let refused = error(&demo(), &to, &wanted);
    assert!(matches!(refused, ShareError::Secret(_)) && refused.to_string().contains("; "));
    let left: Vec<_> = fs::read_dir(folder.path()).expect("a folder").collect();
    assert_eq!(left.len(), 1, "{left:?}");
}
