//! Reports of one client: for the client, for the file, for whoever sent or will see the client next.
//!
//! A [`Page`] is made once from the [`Account`]; renderers draw it ([`html`], and `pdf` with the feature `pdf`), so
//! nothing is said twice. No files, no clock: the same account, day and version give the same bytes.

mod blocks;
mod chart;
mod client;
mod curve;
mod file;
mod gather;
pub mod html;
mod language;
mod page;
#[cfg(feature = "pdf")]
pub mod pdf;
mod referrer;
mod words;

#[cfg(test)]
mod tests;

use jiff::civil::Date;

use crate::record::Account;

pub use curve::Curve;
pub use gather::{JudgedVisit, Judgement};
pub use language::{Language, filled};
pub use page::{Anchor, Block, Column, Dash, Figure, Ink, Line, Page, Shape, Table, Tone};
pub use words::INTENDED_USE;

/// What the casebook judged, as sentences in every language: for screens that say the same as a report.
pub mod said {
    pub use super::words::{
        advice_steps, band, bands, bands_are_policy, cautious, change, condition, count,
        difference, drills_are_unproven, flag, left_out, note, paced_out, phase, place, reason,
        recheck_note, repeatability, sentence, side, source, stop, trend, warm_up,
    };
}

pub(crate) use blocks::tidy;
pub(crate) use client::raises;
pub(crate) use words::{Text, condition_word, reason, side};

/// For whom a report is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Audience {
    /// The client: plain words, one sheet.
    Client,
    /// The practitioner's own file: all of it.
    File,
    /// Whoever sent the client, or will see them next: what was measured and how.
    Referrer,
}

/// What is wanted of a report.
#[derive(Clone, Debug)]
pub struct Ask<'a> {
    /// For whom.
    pub audience: Audience,
    /// In which language.
    pub language: Language,
    /// The day it is made.
    pub day: Date,
    /// Name and version of the program that makes it.
    pub program: &'a str,
    /// One visit by its label: the file has only that one, the others look at it as the latest. All if `None`.
    pub session: Option<&'a str>,
    /// Courses of single raises, for the file; may be empty.
    pub curves: &'a [Curve],
}

/// Makes a report.
pub fn page(account: &Account, ask: &Ask<'_>) -> Page {
    let judgement = Judgement::of(account, ask.session);
    match ask.audience {
        Audience::Client => client::page(&judgement, ask),
        Audience::File => file::page(&judgement, ask),
        Audience::Referrer => referrer::page(&judgement, ask),
    }
}
