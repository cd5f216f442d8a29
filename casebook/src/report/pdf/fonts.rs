//! Fonts, and how wide their letters are. One font comes with the program; others are the caller's, tried in order.

use std::collections::{BTreeMap, BTreeSet};

use epaint_default_fonts::UBUNTU_LIGHT;
use krilla::text::Font;

use super::super::page::Page;
use super::PdfError;

/// A font's bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FontFile {
    /// What messages call it.
    pub name: String,
    /// All of the file.
    pub bytes: Vec<u8>,
    /// Which font of a collection.
    pub index: u32,
}

impl FontFile {
    /// The font of a file or collection that draws most of these characters, with those it draws; `None` if it is no
    /// font, or draws none.
    pub fn best_of(name: &str, bytes: Vec<u8>, wanted: &[char]) -> Option<(Self, Vec<char>)> {
        /// Collections have a dozen or two.
        const FONTS_MAX: u32 = 64;
        let count = ttf_parser::fonts_in_collection(&bytes).unwrap_or(1);
        let mut best: Option<(u32, Vec<char>)> = None;
        for index in 0..count.min(FONTS_MAX) {
            let Ok(face) = ttf_parser::Face::parse(&bytes, index) else {
                continue;
            };
            let draws = |c: &char| face.glyph_index(*c).is_some();
            let drawn: Vec<char> = wanted.iter().copied().filter(draws).collect();
            if drawn.len() > best.as_ref().map_or(0, |(_, best)| best.len()) {
                best = Some((index, drawn));
            }
        }
        let (index, drawn) = best?;
        let name = name.to_owned();
        Some((Self { name, bytes, index }, drawn))
    }
}

/// Fonts in the order in which they are asked for a character: Latin, Greek and Cyrillic come with the program.
#[derive(Clone, Debug)]
pub struct Fonts {
    fonts: Vec<(Font, FontFile)>,
}

impl Fonts {
    /// The program's own, then these.
    pub fn with(more: Vec<FontFile>) -> Result<Self, PdfError> {
        let own = FontFile {
            name: "Ubuntu Light".to_owned(),
            bytes: UBUNTU_LIGHT.to_vec(),
            index: 0,
        };
        let fonts = std::iter::once(own).chain(more).map(|file| {
            let font = Font::new(file.bytes.clone().into(), file.index);
            match font {
                Some(font) => Ok((font, file)),
                None => Err(PdfError::Font {
                    name: file.name,
                    why: "not a font that can be read".to_owned(),
                }),
            }
        });
        Ok(Self {
            fonts: fonts.collect::<Result<_, _>>()?,
        })
    }

    /// Characters of a page that none of the fonts has: the caller may look for one that does.
    pub fn lacking(&self, page: &Page) -> Result<Vec<char>, PdfError> {
        Ok(self.measured(page)?.1)
    }

    /// The letters of a page, measured.
    pub(super) fn letters(&self, page: &Page) -> Result<Letters, PdfError> {
        let (letters, lacking) = self.measured(page)?;
        if lacking.is_empty() {
            Ok(letters)
        } else {
            Err(PdfError::NoGlyph(lacking))
        }
    }

    fn measured(&self, page: &Page) -> Result<(Letters, Vec<char>), PdfError> {
        let faces: Vec<ttf_parser::Face<'_>> = self
            .fonts
            .iter()
            .map(|(_, file)| {
                ttf_parser::Face::parse(&file.bytes, file.index).map_err(|e| PdfError::Font {
                    name: file.name.clone(),
                    why: e.to_string(),
                })
            })
            .collect::<Result<_, _>>()?;
        // What the renderer adds of its own.
        let own = ['/', '•', ' '].into_iter().chain('0'..='9');
        let texts = page.texts();
        let used = texts.iter().flat_map(|text| text.chars()).chain(own);
        let (mut widths, mut lacking) = (BTreeMap::new(), Vec::new());
        for c in used.collect::<BTreeSet<char>>() {
            let found = faces.iter().enumerate().find_map(|(at, face)| {
                let glyph = face.glyph_index(c)?;
                let width = f64::from(face.glyph_hor_advance(glyph)?);
                Some((at, width / f64::from(face.units_per_em())))
            });
            match found {
                Some(found) => {
                    widths.insert(c, found);
                }
                // An accent joins the letter before it; the writer says if it can't.
                None if is_accent(c) => {
                    widths.insert(c, (JOINED, 0.0));
                }
                None => lacking.push(c),
            }
        }
        let fonts = self.fonts.iter().map(|(font, _)| font.clone()).collect();
        Ok((Letters { fonts, widths }, lacking))
    }
}

/// Stands for "the font of the letter before".
const JOINED: usize = usize::MAX;

fn is_accent(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36F}' | '\u{1AB0}'..='\u{1AFF}' | '\u{20D0}'..='\u{20FF}')
}

/// The letters of one page: font and width of each.
#[derive(Clone, Debug)]
pub(super) struct Letters {
    pub(super) fonts: Vec<Font>,
    widths: BTreeMap<char, (usize, f64)>,
}

impl Letters {
    /// Width of a text, points.
    pub(super) fn width(&self, text: &str, size: f64) -> f64 {
        text.chars().map(|c| self.width_of(c)).sum::<f64>() * size
    }

    fn width_of(&self, c: char) -> f64 {
        self.widths.get(&c).map_or(0.0, |(_, width)| *width)
    }

    /// The pieces of a text that one font draws, each with that font's place.
    pub(super) fn runs<'a>(&self, text: &'a str) -> Vec<(usize, &'a str)> {
        let mut runs: Vec<(usize, &str)> = Vec::new();
        let (mut from, mut font) = (0, None);
        for (at, c) in text.char_indices() {
            let own = self.widths.get(&c).map_or(0, |(font, _)| *font);
            // A blank goes with what stands before it.
            let own = match font {
                Some(before) if own == JOINED || c == ' ' => before,
                _ if own == JOINED => 0,
                _ => own,
            };
            if font.is_some_and(|before| before != own) {
                runs.push((font.unwrap_or(0), &text[from..at]));
                from = at;
            }
            font = Some(own);
        }
        if from < text.len() {
            runs.push((font.unwrap_or(0), &text[from..]));
        }
        runs
    }

    /// A text in lines no wider than `width` points. Each but the last ends with a blank, so that words stay apart
    /// for whoever reads them out.
    pub(super) fn wrap(&self, text: &str, size: f64, width: f64) -> Vec<String> {
        let (mut lines, mut line, mut used) = (Vec::new(), String::new(), 0.0);
        for piece in pieces(text) {
            let whole = self.width(piece.trim_end(), size);
            if used + whole > width && !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                used = 0.0;
            }
            if whole <= width {
                line.push_str(piece);
                used += self.width(piece, size);
                continue;
            }
            // A word wider than the line is broken where it has to be.
            for c in piece.chars() {
                let own = self.width_of(c) * size;
                if used + own > width && !line.is_empty() && c != ' ' {
                    lines.push(std::mem::take(&mut line));
                    used = 0.0;
                }
                line.push(c);
                used += own;
            }
        }
        lines.push(line.trim_end().to_owned());
        lines
    }
}

/// Where a line may be broken: after a blank, after the slashes of a recording's name, between signs of writing
/// without blanks.
fn pieces(text: &str) -> Vec<&str> {
    let (mut pieces, mut from) = (Vec::new(), 0);
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let end = at + c.len_utf8();
        let Some((_, next)) = chars.peek() else {
            break;
        };
        let is_after_blank = c == ' ' && *next != ' ';
        let is_slash = c == '/' && next.is_alphabetic();
        let is_unspaced = is_ideograph(c) && is_ideograph(*next);
        if is_after_blank || is_slash || is_unspaced {
            pieces.push(&text[from..end]);
            from = end;
        }
    }
    pieces.push(&text[from..]);
    pieces
}

fn is_ideograph(c: char) -> bool {
    matches!(c, '\u{3040}'..='\u{30FF}' | '\u{3400}'..='\u{9FFF}' | '\u{F900}'..='\u{FAFF}' | '\u{20000}'..='\u{3FFFF}')
}
