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
use fonts::Letters;
use sheet::Laid;

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
        why: String,
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
    let letters = fonts.letters(page)?;
    draw::write(page, &letters, &laid_out(page, &letters))
}

/// On sheets; on one, if it is to be one and can be with smaller letters.
fn laid_out(page: &Page, letters: &Letters) -> Laid {
    const SMALLER: [f64; 4] = [0.95, 0.9, 0.85, 0.8];
    let mut laid = lay::lay_out(page, letters, 1.0);
    for scale in SMALLER {
        if !page.is_one_sheet || laid.sheets.len() <= 1 {
            break;
        }
        laid = lay::lay_out(page, letters, scale);
    }
    laid
}
