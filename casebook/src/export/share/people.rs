//! What the table of people may say: age up to 89, sex, the preferred hand.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::Path;

use sensor::bids::{Column, set_participant};

use super::{Removed, ShareError, io_at};

const AGE_MAX: f64 = 89.0;
/// No table of people is larger, bytes.
const BYTES_MAX: u64 = 16 << 20;

/// The columns of the new table.
pub(super) fn columns() -> Vec<Column> {
    vec![
        Column::new("age", "Age; 89 stands for 89 and above").in_units("year"),
        Column::new("sex", "Sex").of_words(&[("F", "female"), ("M", "male"), ("O", "other")]),
        Column::new("handedness", "Preferred hand").of_words(&[
            ("left", "left"),
            ("right", "right"),
            ("ambidextrous", "both"),
        ]),
    ]
}

/// Brings rows over. `clients` has labels before and after.
pub(super) fn carry(
    root: &Path,
    to: &Path,
    clients: &BTreeMap<String, String>,
    removed: &mut BTreeSet<Removed>,
) -> Result<(), ShareError> {
    let path = root.join("participants.tsv");
    match fs::metadata(&path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(io_at(&path)(e)),
        Ok(meta) if meta.len() > BYTES_MAX => {
            return Err(io_at(&path)(io::Error::other(
                "larger than any table of people",
            )));
        }
        Ok(_) => {}
    }
    let bytes = fs::read(&path).map_err(io_at(&path))?;
    let text = String::from_utf8_lossy(&bytes);
    let mut lines = text.trim_start_matches('\u{FEFF}').lines();
    let Some(header) = lines.next() else {
        return Ok(());
    };
    let titles: Vec<String> = header
        .split('\t')
        .map(|title| title.trim().to_lowercase())
        .collect();
    let known = ["participant_id", "age", "sex", "handedness"];
    if titles.iter().any(|title| !known.contains(&title.as_str())) {
        removed.insert(Removed::PeopleColumns);
    }
    let place = |wanted: &str| titles.iter().position(|title| title == wanted);
    for line in lines {
        let cells: Vec<&str> = line.split('\t').map(str::trim).collect();
        let cell = |wanted: &str| {
            place(wanted)
                .and_then(|at| cells.get(at))
                .copied()
                .unwrap_or("")
        };
        let label = cell("participant_id");
        let label = label.strip_prefix("sub-").unwrap_or(label);
        let Some(own) = clients.get(label) else {
            continue;
        };
        let age = age(cell("age"), removed);
        let (sex, hand) = (sex(cell("sex")), hand(cell("handedness")));
        set_participant(
            to,
            own,
            &[("age", &age), ("sex", sex), ("handedness", hand)],
        )?;
    }
    Ok(())
}

/// A number up to 89; nothing else.
fn age(text: &str, removed: &mut BTreeSet<Removed>) -> String {
    // `89+` is an old way to say it.
    let number = text.trim_end_matches('+').parse::<f64>();
    match number.ok().filter(|age| (0.0..=200.0).contains(age)) {
        Some(age) if age > AGE_MAX => {
            removed.insert(Removed::AgesCapped);
            "89".to_owned()
        }
        Some(age) => age.to_string(),
        None => "n/a".to_owned(),
    }
}

fn sex(text: &str) -> &'static str {
    match text.to_lowercase().as_str() {
        "f" | "female" => "F",
        "m" | "male" => "M",
        "o" | "other" => "O",
        _ => "n/a",
    }
}

fn hand(text: &str) -> &'static str {
    match text.to_lowercase().as_str() {
        "l" | "left" => "left",
        "r" | "right" => "right",
        "a" | "ambidextrous" => "ambidextrous",
        _ => "n/a",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ages_are_capped_and_anything_else_is_no_age() {
        let mut removed = BTreeSet::new();
        for (text, wanted) in [
            ("52", "52"),
            ("89", "89"),
            ("n/a", "n/a"),
            ("old", "n/a"),
            ("NaN", "n/a"),
        ] {
            assert_eq!(age(text, &mut removed), wanted);
        }
        assert!(removed.is_empty());
        assert_eq!(age("97", &mut removed), "89");
        assert!(removed.contains(&Removed::AgesCapped));
    }
}
