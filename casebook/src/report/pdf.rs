//! A report as PDF, checked against PDF/A-2a and PDF/UA-1 while it is written: tagged, with an outline, fonts within.
//!
//! The writer lays nothing out: text is measured, wrapped and put on sheets here. The same page and fonts give the
//! same bytes.

mod draw;
mod fonts;
mod lay;
mod sheet;
mod table;

#[cfg(test)]
mod tests;

use thiserror::Error;

use super::page::Page;

pub use fonts::{FontFile, Fonts};

/// Why there is no PDF.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PdfError {
    /// Characters that no font at hand draws.
    #[error("{}: no font draws this; install a font that has it (such as Noto Sans CJK), or take --as html",
        named(.0))]
    NoGlyph(Vec<char>),
    /// A font that can't be used.
    #[error("font {name}: {why}; leave it out or install it anew")]
    Font {
        /// As the caller named it.
        name: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// The document breaks a rule of its standards. A mistake of this program.
    #[error("document: {0}; take --as html and report this")]
    Refused(String),
}

fn named(characters: &[char]) -> String {
    let named: Vec<String> = characters
        .iter()
        .take(10)
        .map(|c| format!("{c:?} (U+{:04X})", u32::from(*c)))
        .collect();
    named.join(", ")
}

/// Draws a page.
pub fn render(page: &Page, fonts: &Fonts) -> Result<Vec<u8>, PdfError> {
    /// Letters no smaller than this share of their usual size.
    const SCALES: [f64; 5] = [1.0, 0.95, 0.9, 0.85, 0.8];
    let letters = fonts.letters(page)?;
    let mut laid = lay::lay_out(page, &letters, SCALES[0]);
    for scale in SCALES {
        if !page.is_one_sheet || laid.sheets.len() <= 1 {
            break;
        }
        laid = lay::lay_out(page, &letters, scale);
    }
    draw::write(page, &letters, &laid)
}
