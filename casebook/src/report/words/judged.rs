//! What the casebook judged, as sentences: its own words in English, ours in German.

use jiff::civil::Date;

use super::{Language, german};
use crate::bands::Bands;
use crate::change::Change;
use crate::course::{Advice, LeftOut, Trend};
use crate::decide::{BandChance, Note, SideDifference};
use crate::recheck::{RecheckNote, WarmUp};
use crate::repeatability::Repeatability;
use crate::way::Condition;
use crate::wording as english;

/// `said(english, german)` by language.
macro_rules! by_language {
    ($($(#[$about:meta])* $name:ident($($arg:ident: $kind:ty),+) -> $out:ty;)+) => {
        $($(#[$about])*
        pub fn $name(language: Language, $($arg: $kind),+) -> $out {
            match language {
                Language::English => english::$name($($arg),+).into(),
                Language::German => german::$name($($arg),+).into(),
            }
        })+
    };
}

by_language! {
    /// Something to know of a side.
    note(found: &Note) -> String;
    /// How the sides differ.
    difference(found: &SideDifference) -> String;
    /// A change, and whether it is more than measurement error.
    change(found: &Change) -> String;
    /// What was gained within a round.
    warm_up(found: &WarmUp) -> String;
    /// Something to know of a re-check.
    recheck_note(found: &RecheckNote) -> String;
    /// Why a visit isn't in the course.
    left_out(why: &LeftOut) -> String;
    /// A trend.
    trend(found: &Trend) -> String;
    /// How well people repeat, and from where that is known.
    repeatability(known: &Repeatability) -> String;
    /// The bands that may be meant, each with its chance.
    bands(named: &[BandChance], all: &Bands) -> String;
}

/// Something about how raises are done that nobody said.
pub fn condition(language: Language, condition: Condition) -> &'static str {
    super::facts::unsaid(language, condition)
}

/// One band.
pub fn band(language: Language, band: usize, all: &Bands) -> String {
    match language {
        Language::English => all.label(band),
        Language::German => german::band(all, band),
    }
}

/// A proposed step with its reasons and hints, and the next visit; a sentence each.
pub fn advice_steps(language: Language, found: &Advice, bands: &Bands, next: Date) -> Vec<String> {
    match language {
        Language::English => {
            let mut said = english::advice(found, bands);
            said.push(english::next_visit(next));
            said
        }
        Language::German => {
            let mut said = german::advice(found, bands);
            said.push(format!("nächster Termin {}", language.date(next)));
            said
        }
    }
}
