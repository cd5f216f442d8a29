//! The practitioner's passphrase.

use std::fmt;

use super::error::{Inner, StoreErrorKind};

/// The fewest characters of a new one.
const CHARS_MIN: usize = 10;
/// The most bytes.
const BYTES_MAX: usize = 1024;

/// A passphrase. It is never shown.
#[derive(Clone)]
pub struct Passphrase(String);

impl Passphrase {
    /// As typed.
    pub fn new(text: &str) -> Self {
        Self(text.to_owned())
    }

    pub(super) fn text(&self) -> &str {
        &self.0
    }

    /// Whether it may lock a new casebook. What it is worth depends on who chose it; this only stops slips.
    pub(super) fn check(&self) -> Inner<()> {
        let what = if self.0.chars().count() < CHARS_MIN {
            "the passphrase has fewer than 10 characters, expected several words"
        } else if self.0.len() > BYTES_MAX {
            "the passphrase has more than 1024 bytes, expected several words"
        } else if self.0.contains('\0') {
            "the passphrase holds a sign that can't be typed"
        } else {
            return Ok(());
        };
        Err(StoreErrorKind::WeakPassphrase(what))
    }
}

impl fmt::Debug for Passphrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Passphrase(…)")
    }
}
