//! Frames cut out of a stream of bytes that may be cut anywhere.

use super::PacketFault;
use crate::profile::{Escape, Frame, FrameLength};

/// A frame, or what stood in its place.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Cut {
    /// Whole, without escapes.
    Frame(Vec<u8>),
    /// Damaged, or bytes outside of frames.
    Fault(PacketFault),
}

/// The bytes that are no whole frame yet.
#[derive(Clone, Debug, Default)]
pub(super) struct FrameReader {
    waiting: Vec<u8>,
    /// A piece that is too long for a frame, up to its end mark: how many bytes of it are gone.
    skipped: usize,
}

impl FrameReader {
    /// Takes the next bytes. The same bytes give the same frames, however they are cut.
    pub(super) fn push(&mut self, frame: &Frame, bytes: &[u8], cuts: &mut Vec<Cut>) {
        match frame.escape {
            Escape::None => {
                self.waiting.extend_from_slice(bytes);
                self.by_sync(frame, cuts);
            }
            Escape::Slip => self.by_mark(frame, bytes, 0xc0, unslip, cuts),
            Escape::Cobs => self.by_mark(frame, bytes, 0x00, uncobs, cuts),
        }
    }

    /// By sync and length. After damage it goes on one byte further, not one frame: a frame that
    /// begins within a damaged one isn't lost.
    fn by_sync(&mut self, frame: &Frame, cuts: &mut Vec<Cut>) {
        let mut at = 0;
        let mut discarded = 0;
        loop {
            let rest = &self.waiting[at..];
            let skip = sync_place(rest, &frame.sync);
            at += skip;
            discarded += skip;
            let rest = &self.waiting[at..];
            if rest.len() < frame.sync.len() {
                break;
            }
            let taken = match whole_length(frame, rest) {
                Span::Short => break,
                Span::Wrong => None,
                Span::Whole(length) => match rest.get(..length) {
                    None => break,
                    Some(whole) => match proven(frame, whole) {
                        Ok(()) => Some(whole.to_vec()),
                        Err(fault) => {
                            cuts.push(Cut::Fault(fault));
                            None
                        }
                    },
                },
            };
            match taken {
                None => {
                    at += 1;
                    discarded += 1;
                }
                Some(whole) => {
                    tell(&mut discarded, cuts);
                    at += whole.len();
                    cuts.push(Cut::Frame(whole));
                }
            }
        }
        tell(&mut discarded, cuts);
        self.waiting.drain(..at);
    }

    /// By a mark at each end.
    fn by_mark(
        &mut self,
        frame: &Frame,
        bytes: &[u8],
        mark: u8,
        unescape: fn(&[u8]) -> Option<Vec<u8>>,
        cuts: &mut Vec<Cut>,
    ) {
        for byte in bytes {
            if *byte != mark {
                // Escapes at most double a frame.
                if self.waiting.len() < 2 * Frame::BYTES_MAX + 2 {
                    self.waiting.push(*byte);
                } else {
                    self.skipped += 1;
                }
                continue;
            }
            let piece = std::mem::take(&mut self.waiting);
            let mut discarded = std::mem::take(&mut self.skipped);
            if piece.is_empty() {
                continue;
            }
            let whole = unescape(&piece).filter(|whole| discarded == 0 && is_shaped(frame, whole));
            match whole {
                None => discarded += piece.len(),
                Some(whole) => match proven(frame, &whole) {
                    Ok(()) => cuts.push(Cut::Frame(whole)),
                    Err(fault) => {
                        cuts.push(Cut::Fault(fault));
                        discarded += piece.len();
                    }
                },
            }
            tell(&mut discarded, cuts);
        }
    }
}

fn tell(discarded: &mut usize, cuts: &mut Vec<Cut>) {
    let bytes = std::mem::take(discarded);
    if bytes > 0 {
        cuts.push(Cut::Fault(PacketFault::Discarded { bytes }));
    }
}

/// Where the sync stands, or where it may yet begin.
fn sync_place(bytes: &[u8], sync: &[u8]) -> usize {
    let may_begin = |at: &usize| {
        let rest = &bytes[*at..];
        rest.starts_with(sync) || sync.starts_with(rest)
    };
    (0..bytes.len()).find(may_begin).unwrap_or(bytes.len())
}

enum Span {
    /// Not enough bytes to tell.
    Short,
    /// A length that can't be.
    Wrong,
    /// So many bytes.
    Whole(usize),
}

fn whole_length(frame: &Frame, bytes: &[u8]) -> Span {
    let (length, least) = match frame.length {
        None => return Span::Wrong, // only with marks, which tell the ends
        Some(FrameLength::Fixed(length)) => (Some(length), frame.sync.len()),
        Some(FrameLength::Field { at, number, add }) => {
            let Some(field) = number.read(bytes, at) else {
                return Span::Short;
            };
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "bounded on both sides just here"
            )]
            let length = (0.0..=Frame::BYTES_MAX as f64)
                .contains(&(field + add as f64))
                .then_some((field + add as f64) as usize);
            (length, frame.sync.len().max(at + number.size))
        }
    };
    match length {
        Some(length) if length >= least.max(1) => Span::Whole(length),
        _ => Span::Wrong,
    }
}

/// Whether a piece between marks has the sync and the length that the profile says.
fn is_shaped(frame: &Frame, whole: &[u8]) -> bool {
    let is_long = frame.length.is_none()
        || matches!(whole_length(frame, whole), Span::Whole(length) if length == whole.len());
    whole.starts_with(&frame.sync) && is_long && whole.len() <= Frame::BYTES_MAX
}

/// Whether the checksum is right, if there is one.
fn proven(frame: &Frame, whole: &[u8]) -> Result<(), PacketFault> {
    let Some(sum) = &frame.checksum else {
        return Ok(());
    };
    let covered = sum.to.of(whole.len());
    let covered = covered.and_then(|to| whole.get(sum.from..to));
    let stands = sum.at.of(whole.len());
    let stands = stands.and_then(|at| sum.number.read(whole, at));
    let (Some(covered), Some(stands)) = (covered, stands) else {
        let found = whole.len();
        let expected = super::LengthWanted::AtLeast(sum.from + sum.number.size);
        return Err(PacketFault::Length { found, expected });
    };
    let computed = sum.kind.of(covered);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a number of one or two bytes without sign"
    )]
    let found = stands as u16;
    if found == computed {
        Ok(())
    } else {
        Err(PacketFault::Checksum { found, computed })
    }
}

/// RFC 1055 without its marks; `None` where an escape means nothing.
fn unslip(piece: &[u8]) -> Option<Vec<u8>> {
    let mut whole = Vec::with_capacity(piece.len());
    let mut bytes = piece.iter();
    while let Some(byte) = bytes.next() {
        whole.push(match byte {
            0xdb => match bytes.next()? {
                0xdc => 0xc0,
                0xdd => 0xdb,
                _ => return None,
            },
            _ => *byte,
        });
    }
    Some(whole)
}

/// Consistent overhead byte stuffing without its marks; `None` where a stretch ends outside.
fn uncobs(piece: &[u8]) -> Option<Vec<u8>> {
    let mut whole = Vec::with_capacity(piece.len());
    let mut rest = piece;
    while let Some((code, after)) = rest.split_first() {
        let length = usize::from(*code).checked_sub(1)?;
        whole.extend_from_slice(after.get(..length)?);
        rest = &after[length..];
        if *code != 0xff && !rest.is_empty() {
            whole.push(0);
        }
    }
    Some(whole)
}
