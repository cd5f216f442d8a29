//! Results as files of a derivative data set: a table of raises a run, and one over all people.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use casebook::{SideSummary, summarise};
use fusion::{CompensationKind, Flag, Measured, Raise, Reason, Settings};
use sensor::Side;
use sensor::bids::{Column, RaiseTable, WriteError, write_phenotype, write_raises};

use crate::analyse::Outcome;
use crate::output::{program, rounded};

/// Writes all tables.
pub(crate) fn write_results(
    root: &Path,
    outcomes: &[Outcome],
    settings: &Settings,
) -> Result<(), WriteError> {
    write_raise_tables(root, outcomes, settings)?;
    write_people(root, outcomes, settings)
}

fn method(settings: &Settings) -> String {
    format!("{}, settings {}", program(), settings.fingerprint())
}

/// Writes a table of raises for each recording that was analysed.
pub(crate) fn write_raise_tables(
    root: &Path,
    outcomes: &[Outcome],
    settings: &Settings,
) -> Result<(), WriteError> {
    let method = method(settings);
    for outcome in outcomes.iter().filter(|outcome| outcome.error.is_none()) {
        let table = RaiseTable {
            id: outcome.id.clone(),
            description: format!("Straight leg raises found in the recording ({method})"),
            sources: outcome.motions.clone(),
            columns: raise_columns(),
            rows: outcome.raises.iter().map(raise_row).collect(),
        };
        write_raises(root, &table)?;
    }
    Ok(())
}

/// Writes the table over all people.
pub(crate) fn write_people(
    root: &Path,
    outcomes: &[Outcome],
    settings: &Settings,
) -> Result<(), WriteError> {
    let method = method(settings);
    let description = format!(
        "Mean end-point angles of straight leg raises, the first and the last of each leg; raises ended by stop are left out ({method})"
    );
    write_phenotype(
        root,
        "legraise",
        &description,
        &people_columns(),
        &people_rows(outcomes),
    )?;
    Ok(())
}

fn raise_columns() -> Vec<Column> {
    let angle = |name: &str, what: &str| Column::new(name, what).in_units("deg");
    let seconds = |name: &str, what: &str| Column::new(name, what).in_units("s");
    let expanded = "Expanded uncertainty, 95 % coverage, of";
    let reasons: Vec<(&str, &str)> = REASONS
        .iter()
        .map(|(reason, what)| (reason.as_str(), *what))
        .collect();
    vec![
        seconds("onset", "The leg leaves its rest"),
        seconds("duration", "Until it is back on the rest"),
        Column::new("trial_type", "What it is")
            .of_words(&[("raise", "one raise of one straight leg")]),
        Column::new("side", "Which leg").of_words(&SIDES),
        angle("peak_deg", "Greatest raise angle"),
        angle(
            "peak_uncertainty_deg",
            &format!("{expanded} the greatest angle"),
        ),
        angle("hold_deg", "Mean angle while the leg was held at the top"),
        angle(
            "hold_uncertainty_deg",
            &format!("{expanded} the held angle"),
        ),
        seconds(
            "end_point_s",
            "When the raise counts as over, from the start of the run",
        ),
        angle("end_point_deg", "Raise angle then"),
        angle(
            "end_point_uncertainty_deg",
            &format!("{expanded} the end-point angle"),
        ),
        Column::new("reason", "Why the raise counts as over").of_words(&reasons),
        Column::new(
            "compensations",
            "What gave way, with the raise angle at its onset in degrees; separated by commas",
        ),
        Column::new(
            "flags",
            "What a reader of the numbers must know; words separated by commas",
        ),
    ]
}

const SIDES: [(&str, &str); 2] = [
    ("left", "the person's left leg"),
    ("right", "the person's right leg"),
];

const REASONS: [(Reason, &str); 6] = [
    (Reason::Pull, "the first pull was marked"),
    (Reason::OppositeLeg, "the other leg bent or lifted"),
    (Reason::Knee, "the knee of the raised leg bent"),
    (
        Reason::Stop,
        "stopped for pain or any other reason, as marked",
    ),
    (
        Reason::Hold,
        "nothing ended it before the leg was held at the top",
    ),
    (Reason::Peak, "nothing ended it before the highest point"),
];

fn raise_row(raise: &Raise) -> Vec<String> {
    let [peak, peak_u] = pair(raise.peak.as_ref().map(|peak| &peak.angle));
    let [hold, hold_u] = pair(raise.hold.as_ref().map(|hold| &hold.angle));
    let end = raise.end_point.as_ref();
    let [end_deg, end_u] = pair(end.map(|end| &end.angle));
    let compensations: Vec<String> = raise
        .compensations
        .iter()
        .map(|found| {
            format!(
                "{} {}",
                CompensationKind::as_str(found.kind),
                rounded(found.angle.degrees())
            )
        })
        .collect();
    let flags: Vec<&str> = raise.flags.iter().copied().map(Flag::as_str).collect();
    vec![
        number(raise.start_s),
        number(raise.end_s - raise.start_s),
        "raise".to_owned(),
        raise.side.as_str().to_owned(),
        peak,
        peak_u,
        hold,
        hold_u,
        end.map_or_else(String::new, |end| number(end.time_s)),
        end_deg,
        end_u,
        end.map_or_else(String::new, |end| end.reason.as_str().to_owned()),
        compensations.join(", "),
        flags.join(", "),
    ]
}

/// A value and its expanded uncertainty; empty cells where there is none.
fn pair(angle: Option<&Measured>) -> [String; 2] {
    angle.map_or_else(Default::default, |angle| {
        [
            number(angle.value.degrees()),
            number(angle.expanded.degrees()),
        ]
    })
}

fn number(value: f64) -> String {
    if value.is_finite() {
        rounded(value).to_string()
    } else {
        String::new()
    }
}

/// The values of one side in the table over all people.
const WHEN: [(&str, &str); 2] = [
    ("first", "of the first run with raises of this leg"),
    ("last", "of the last one"),
];

fn people_columns() -> Vec<Column> {
    let mut columns = vec![
        Column::new("participant_id", "Pseudonym of the person"),
        Column::new("session_count", "Visits with recordings"),
        Column::new("run_count", "Recordings"),
        Column::new("raise_count", "Raises found in them"),
    ];
    for side in Side::ALL {
        for (when, which) in WHEN {
            let name = |what: &str| format!("{side}_{when}_{what}");
            let text = format!("Mean end-point angle {which} ({side})");
            let expanded = format!(
                "Its expanded uncertainty, 95 % coverage, scatter of the raises included ({side})"
            );
            columns.push(Column::new(
                &name("session"),
                &format!("The visit {which} ({side})"),
            ));
            columns.push(Column::new(&name("end_point_deg"), &text).in_units("deg"));
            columns
                .push(Column::new(&name("end_point_uncertainty_deg"), &expanded).in_units("deg"));
        }
    }
    columns
}

/// One row a person; the standard wants each person once.
fn people_rows(outcomes: &[Outcome]) -> Vec<Vec<String>> {
    let mut people: BTreeMap<&str, Vec<&Outcome>> = BTreeMap::new();
    for outcome in outcomes {
        if let Some(subject) = &outcome.id.subject {
            people.entry(subject).or_default().push(outcome);
        }
    }
    people
        .into_iter()
        .map(|(subject, runs)| person_row(subject, &runs))
        .collect()
}

fn person_row(subject: &str, runs: &[&Outcome]) -> Vec<String> {
    let sessions: BTreeSet<_> = runs.iter().map(|run| &run.id.session).collect();
    let raise_count: usize = runs.iter().map(|run| run.raises.len()).sum();
    let mut row = vec![
        format!("sub-{subject}"),
        sessions.len().to_string(),
        runs.len().to_string(),
        raise_count.to_string(),
    ];
    for side in Side::ALL {
        let means: Vec<(&Outcome, SideSummary)> = runs
            .iter()
            .filter_map(|run| Some((*run, summarise(&run.raises, side)?)))
            .collect();
        for mean in [means.first(), means.last()] {
            row.extend(mean.map_or_else(Default::default, |(run, mean)| {
                let session = run
                    .id
                    .session
                    .as_ref()
                    .map_or_else(String::new, |label| format!("ses-{label}"));
                [
                    session,
                    number(mean.mean.degrees()),
                    number(mean.expanded.degrees()),
                ]
            }));
        }
    }
    row
}
