//! Values as they stand in columns of text, and what to say of one that makes no sense.

use std::str::FromStr;

use jiff::civil::{Date, DateTime};
use sensor::Side;

use super::error::{Inner, StoreErrorKind};
use crate::caution::Caution;
use crate::record::Purpose;

/// A value that nothing here has written.
pub(super) fn odd(what: &str, value: &str) -> StoreErrorKind {
    StoreErrorKind::Damaged {
        what: format!("{what} {value:?}"),
    }
}

pub(super) fn parsed<T: FromStr>(what: &str, text: &str) -> Inner<T> {
    text.parse().ok().ok_or_else(|| odd(what, text))
}

pub(super) fn date(text: &str) -> Inner<Date> {
    parsed("date", text)
}

pub(super) fn moment(text: Option<String>) -> Inner<Option<DateTime>> {
    text.map(|text| parsed("time", &text)).transpose()
}

pub(super) fn side(text: &str) -> Inner<Side> {
    let mut sides = Side::ALL.into_iter();
    sides
        .find(|side| side.as_str() == text)
        .ok_or_else(|| odd("side", text))
}

pub(super) fn cautions_text(cautions: &[Caution]) -> String {
    let mut words: Vec<&str> = cautions.iter().map(|caution| caution.as_str()).collect();
    words.sort_unstable();
    words.dedup();
    words.join(" ")
}

pub(super) fn cautions(text: &str) -> Inner<Vec<Caution>> {
    let words: Vec<&str> = text.split_whitespace().collect();
    if let Some(word) = words
        .iter()
        .find(|word| Caution::ALL.iter().all(|c| c.as_str() != **word))
    {
        return Err(odd("caution", word));
    }
    // In the order of the list, the gravest first.
    let known = Caution::ALL.into_iter();
    Ok(known.filter(|c| words.contains(&c.as_str())).collect())
}

const PURPOSES: [(Purpose, &str); 3] = [
    (Purpose::First, "first"),
    (Purpose::Recheck, "recheck"),
    (Purpose::Further, "further"),
];

impl Purpose {
    /// The word used in files and commands.
    pub fn as_str(self) -> &'static str {
        let mut all = PURPOSES.iter();
        all.find(|(purpose, _)| *purpose == self)
            .map_or("further", |(_, word)| word)
    }
}

pub(super) fn purpose(text: &str) -> Inner<Purpose> {
    let mut all = PURPOSES.iter();
    all.find(|(_, word)| *word == text)
        .map(|(purpose, _)| *purpose)
        .ok_or_else(|| odd("purpose", text))
}

/// Yes, no or nothing, as text for the history.
pub(super) fn yes_no(value: Option<bool>) -> Option<String> {
    value.map(|is| if is { "yes" } else { "no" }.to_owned())
}
