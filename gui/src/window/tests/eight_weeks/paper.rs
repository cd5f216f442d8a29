//! The paper for the file, read as a reader of it would: each number in its tables against the recording that it names.

use casebook::record::Account;
use casebook::{Repeatability, SideSummary, summarise_with};
use fusion::{Angle, Measured};
use sensor::Side;

use super::{Fresh, RAISES, TOPS_DEG, weighted_slope};

/// A table: what stands above it, and its rows without the head.
struct Table {
    caption: String,
    rows: Vec<Vec<String>>,
}

/// Traces every table of raises, means, re-checks and the course.
pub(super) fn trace(html: &str, fresh: &Fresh, account: &Account, between: &Repeatability) {
    let tables = tables(html);
    let of = |start: &str| -> Vec<&Table> {
        let found = tables
            .iter()
            .filter(|table| table.caption.starts_with(start));
        found.collect()
    };
    let mut raises = 0;
    for table in of("Round before the drill: ")
        .into_iter()
        .chain(of("Round after the drill: "))
    {
        raises += raise_rows(table, fresh);
    }
    assert_eq!(raises, TOPS_DEG.len() * 4 * RAISES);
    let mut means = 0;
    for table in of("Mean end points; from ") {
        means += mean_rows(table, fresh, account);
    }
    let mut changes = 0;
    for table in of("Means before and after the drill; after: ") {
        changes += table.rows.len();
    }
    recheck_rows(
        &of("Mean end points; from "),
        &of("Means before and"),
        fresh,
        account,
    );
    assert_eq!((means, changes), (TOPS_DEG.len() * 2, TOPS_DEG.len() * 2));
    let courses = of("Mean end point of the first round of each visit");
    assert_eq!(courses.len(), 2);
    let mut lines = html.split("First to latest: change ").skip(1);
    let mut slopes = html.split("Line through the visits: ").skip(1);
    for (table, side) in courses.into_iter().zip(Side::ALL) {
        let points = course_rows(table, side, fresh, between);
        let gain = points[points.len() - 1].1 - points[0].1;
        says(lines.next().expect("a change"), &[gain]);
        let text = slopes.next().expect("a line");
        let (_, text) = text.split_once(": ").expect("how it goes");
        says(text, &[weighted_slope(&points)]);
    }
}

fn raise_rows(table: &Table, fresh: &Fresh) -> usize {
    let (_, named) = table.caption.split_once("drill: ").expect("a recording");
    let (recording, _) = named.split_once(". ").expect("how it was done");
    let raises = &fresh[recording];
    assert_eq!(table.rows.len(), raises.len(), "{recording}");
    for (row, raise) in table.rows.iter().zip(raises) {
        let both = |angle: &Measured| [angle.value.degrees(), angle.expanded.degrees()];
        let end = raise.end_point.as_ref().expect("an end point");
        assert_eq!(row[1], raise.side.as_str());
        says(&row[2], &both(&end.angle));
        says(&row[3], &[end.time_s]);
        says(&row[5], &both(&raise.peak.as_ref().expect("a peak").angle));
        says(&row[6], &both(&raise.hold.as_ref().expect("a hold").angle));
    }
    raises.len()
}

/// The recording that a caption names for a side, as `left: sub-a/ses-01/run-01`.
fn named(caption: &str, side: Side) -> &str {
    let start = format!("{side}: ");
    let (_, rest) = caption.rsplit_once(&start).expect("the side");
    rest.split(", ").next().expect("a recording")
}

fn summary(fresh: &Fresh, caption: &str, side: Side, known: &Repeatability) -> SideSummary {
    summarise_with(&fresh[named(caption, side)], side, known).expect("a mean")
}

fn mean_rows(table: &Table, fresh: &Fresh, account: &Account) -> usize {
    for (row, side) in table.rows.iter().zip(Side::ALL) {
        let own = summary(fresh, &table.caption, side, &account.repeatability);
        assert_eq!(row[0], side.as_str());
        says(&row[1], &[own.mean.degrees(), own.expanded.degrees()]);
        assert_eq!(row[2], own.count.to_string());
        says(&row[3], &[own.scatter.expect("three raises").degrees()]);
        says(&row[4], &[own.person.degrees()]);
        says(&row[5], &[own.instrument.degrees()]);
    }
    table.rows.len()
}

/// Of each visit the means before and after, and the change between them.
fn recheck_rows(before: &[&Table], after: &[&Table], fresh: &Fresh, account: &Account) {
    assert_eq!(before.len(), after.len());
    for (first, again) in before.iter().zip(after) {
        for (row, side) in again.rows.iter().zip(Side::ALL) {
            let of = |table: &Table| summary(fresh, &table.caption, side, &account.repeatability);
            let (first, now) = (of(first), of(again));
            let both = |one: &SideSummary| [one.mean.degrees(), one.expanded.degrees()];
            says(&row[1], &both(&first));
            says(&row[2], &both(&now));
            says(&row[3], &[(now.mean - first.mean).degrees()]);
        }
    }
}

/// The visits of a leg: weeks, means, standard uncertainties.
fn course_rows(
    table: &Table,
    side: Side,
    fresh: &Fresh,
    between: &Repeatability,
) -> Vec<(f64, f64, f64)> {
    assert_eq!(table.rows.len(), TOPS_DEG.len());
    let mut points = Vec::new();
    for (week, row) in table.rows.iter().enumerate() {
        let own = summarise_with(&fresh[&row[3]], side, between).expect("a mean");
        says(&row[1], &[own.mean.degrees(), own.expanded.degrees()]);
        assert_eq!(row[2], own.count.to_string());
        let degrees = |angle: Angle| angle.degrees();
        points.push((week as f64, degrees(own.mean), degrees(own.standard)));
    }
    points
}

/// Numbers at the beginning of a text are these, as far as they are printed: `53° ± 1°`.
fn says(text: &str, expected: &[f64]) {
    let clean = text.replace('\u{2212}', "-");
    let words = clean.split(|c: char| !(c.is_ascii_digit() || "+-.".contains(c)));
    let printed: Vec<&str> = words.filter(|word| word.parse::<f64>().is_ok()).collect();
    for (place, value) in expected.iter().enumerate() {
        let word = printed
            .get(place)
            .unwrap_or_else(|| panic!("{text:.60}: no number {place}"));
        let decimals = word.split_once('.').map_or(0, |(_, after)| after.len());
        let half = 0.5 * 10_f64.powi(-i32::try_from(decimals).expect("few"));
        let number: f64 = word.parse().expect("a number");
        assert!(
            (number - value).abs() <= half + 1e-9,
            "{text:.60}: {number} is {value}"
        );
    }
}

fn tables(html: &str) -> Vec<Table> {
    let inner = |text: &str| {
        text.split('>')
            .nth(1)
            .map(|t| t.split('<').next().unwrap_or("").to_owned())
    };
    html.split("<table>")
        .skip(1)
        .map(|text| {
            let text = text.split("</table>").next().expect("an end");
            let (head, body) = text.split_once("<tbody>").expect("rows");
            let caption = head
                .split("<caption")
                .nth(1)
                .and_then(inner)
                .expect("a caption");
            let rows = body.split("<tr>").skip(1).map(|row| {
                let cells = row.split("<t").skip(1);
                cells.filter_map(inner).collect()
            });
            Table {
                caption,
                rows: rows.collect(),
            }
        })
        .collect()
}
