//! Marks, from `_events.tsv`.

use std::path::Path;

use super::error::Place;
use super::number::ns_of;
use super::problem::{Problem, ProblemKind};
use super::rows::Tally;
use super::sidecar::{read_table, shortened};
use super::table::{Row, Table};
use crate::{Mark, MarkKind, RunTime};

/// How often one thing was odd, and the first text that was.
#[derive(Default)]
struct Odd {
    tally: Tally,
    first: String,
}

impl Odd {
    fn add(&mut self, line: u64, text: &str) {
        if self.tally.count == 0 {
            self.first = shortened(text);
        }
        self.tally.add(line);
    }
}

#[derive(Default)]
struct Oddities {
    words: Odd,
    onsets: Odd,
    sides: Odd,
    durations: Odd,
}

/// Reads the marks, in order of time on the file's clock.
pub(crate) fn read_events(path: &Path, problems: &mut Vec<Problem>) -> Vec<Mark> {
    let Some(table) = read_table(path, &["onset"], problems) else {
        return Vec::new();
    };
    let mut odd = Oddities::default();
    let mut marks: Vec<Mark> = table
        .rows
        .iter()
        .filter_map(|row| mark_of(&table, row, &mut odd))
        .collect();
    let mut note = |odd: Odd, kind: fn(u64, String) -> ProblemKind| {
        if odd.tally.count > 0 {
            let place = Place::line(path, odd.tally.first_line);
            problems.push(Problem {
                place,
                kind: kind(odd.tally.count, odd.first),
            });
        }
    };
    note(odd.words, |count, word| ProblemKind::UnknownEvent {
        count,
        word,
    });
    note(odd.onsets, |count, text| ProblemKind::NoOnset {
        count,
        text,
    });
    note(odd.sides, |count, text| ProblemKind::BadSide {
        count,
        text,
    });
    note(odd.durations, |count, text| ProblemKind::BadDuration {
        count,
        text,
    });
    if !marks.is_sorted_by_key(|mark| mark.at) {
        problems.push(Problem::of(path, ProblemKind::EventsUnsorted));
        marks.sort_by_key(|mark| mark.at);
    }
    marks
}

fn mark_of(table: &Table, row: &Row, odd: &mut Oddities) -> Option<Mark> {
    let onset = table.get(row, "onset");
    let Some(ns) = ns_of(onset) else {
        odd.onsets.add(row.line, onset);
        return None;
    };
    let word = table.get(row, "trial_type");
    let mut value = raw_value(table, row);
    let kind = word.to_ascii_lowercase().parse().unwrap_or_else(|()| {
        odd.words.add(row.line, word);
        if value.is_empty() {
            word.clone_into(&mut value);
        }
        MarkKind::Note
    });
    let duration = table.get(row, "duration");
    let duration_s = duration
        .parse::<f64>()
        .ok()
        .filter(|s| s.is_finite() && *s >= 0.0);
    if duration_s.is_none() && !duration.is_empty() {
        odd.durations.add(row.line, duration);
    }
    let side = table.get(row, "side");
    let read_side = side.parse().ok();
    if read_side.is_none() && !side.is_empty() {
        odd.sides.add(row.line, side);
    }
    Some(Mark {
        at: RunTime::from_ns(ns),
        duration_s,
        kind,
        side: read_side,
        value,
    })
}

/// The remark, with its blanks: it is a person's text.
fn raw_value(table: &Table, row: &Row) -> String {
    let cell = table
        .column("value")
        .and_then(|i| row.cells.get(i))
        .map_or("", String::as_str);
    if cell.trim().is_empty() || cell == "n/a" {
        String::new()
    } else {
        cell.to_owned()
    }
}
