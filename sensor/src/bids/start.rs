//! The beginning of a file of samples: byte order mark, separator, header.

use std::path::Path;

use super::error::ReadErrorKind;
use super::file::without_bom;
use super::layout::{Role, Separator, is_decimal_comma, is_missing};
use super::problem::{Problem, ProblemKind};

/// The beginning of a file: what tells how to read the rest.
pub(crate) struct Start<'a> {
    /// From the first line that isn't blank.
    pub(crate) body: &'a [u8],
    pub(crate) first_line: &'a [u8],
    pub(crate) lines_before: u64,
    has_bom: bool,
}

impl<'a> Start<'a> {
    pub(crate) fn of(bytes: &'a [u8]) -> Result<Self, ReadErrorKind> {
        const LOOK: usize = 4096;
        // Text in two-byte characters has a zero in every other byte, or says so with its mark.
        let head = &bytes[..bytes.len().min(LOOK)];
        if head.contains(&0) || head.starts_with(b"\xFF\xFE") || head.starts_with(b"\xFE\xFF") {
            return Err(ReadErrorKind::NotText);
        }
        let text = without_bom(bytes);
        let Some(first) = text.iter().position(|b| !b.is_ascii_whitespace()) else {
            return Err(ReadErrorKind::Empty);
        };
        let blank = &text[..first];
        let line_start = blank.iter().rposition(|&b| b == b'\n').map_or(0, |i| i + 1);
        let body = &text[line_start..];
        let end = body.iter().position(|&b| b == b'\n').unwrap_or(body.len());
        Ok(Self {
            body,
            first_line: &body[..end],
            lines_before: blank.split(|&b| b == b'\n').count() as u64 - 1,
            has_bom: text.len() < bytes.len(),
        })
    }

    /// Tabs are the standard; other programs write semicolons, commas or blanks.
    pub(crate) fn separator(&self, column_count: Option<usize>) -> Separator {
        let line = self.first_line;
        let has = |byte: u8| line.contains(&byte);
        if has(b'\t') {
            return Separator::Byte(b'\t');
        }
        if has(b';') {
            return Separator::Byte(b';');
        }
        if has(b',') {
            // Blanks that give the right number of cells make the commas decimal ones, to be told as such.
            let words = Separator::Blanks.cells(line).count();
            let is_whole = column_count.map_or(words == 6 || words == 7, |count| words == count);
            let is_decimal = is_whole && Separator::Blanks.cells(line).any(is_decimal_comma);
            return if is_decimal && words > 1 {
                Separator::Blanks
            } else {
                Separator::Byte(b',')
            };
        }
        if line.trim_ascii().contains(&b' ') {
            Separator::Blanks
        } else {
            Separator::Byte(b'\t')
        }
    }

    /// Notes what is odd about the form; says whether the first line is a header.
    pub(crate) fn note(
        &self,
        separator: Separator,
        roles: &[Role],
        path: &Path,
        problems: &mut Vec<Problem>,
    ) -> bool {
        let mut push = |kind| problems.push(Problem::of(path, kind));
        if self.has_bom {
            push(ProblemKind::ByteOrderMark);
        }
        if separator != Separator::Byte(b'\t') {
            push(ProblemKind::NotTabs);
        }
        let is_number = |cell: &[u8]| {
            let digits = cell
                .strip_prefix(b"-")
                .or(cell.strip_prefix(b"+"))
                .unwrap_or(cell);
            is_missing(cell)
                || digits
                    .first()
                    .is_some_and(|b| b.is_ascii_digit() || *b == b'.')
        };
        let mut needed = separator
            .cells(self.first_line)
            .zip(roles)
            .filter(|(_, role)| **role != Role::Skip);
        let has_header = !needed.any(|(cell, _)| is_number(cell));
        if has_header {
            push(ProblemKind::HeaderLine);
        }
        has_header
    }

    pub(crate) fn after_first_line(&self) -> &'a [u8] {
        self.body
            .get(self.first_line.len() + 1..)
            .unwrap_or_default()
    }
}
