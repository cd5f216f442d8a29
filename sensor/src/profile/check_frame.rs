//! Checks of the frame around packets of a stream of bytes.

use toml::Spanned;

use super::check::{Check, Done, VALUE_BYTES_MAX};
use super::text::{ChecksumText, FrameText};
use super::{
    Checksum, Edge, Endian, Escape, Frame, FrameLength, Number, NumberKind, ProfileErrorKind as K,
};

/// A frame that can be cut out.
pub(super) fn frame(check: &Check<'_>, source: &Spanned<FrameText>, endian: Endian) -> Done<Frame> {
    let text = source.get_ref();
    let sync = text.sync.as_ref().map(|sync| check.hex("sync", sync));
    let frame = Frame {
        sync: sync.transpose()?.unwrap_or_default(),
        length: length(check, source, endian)?,
        checksum: text
            .checksum
            .as_ref()
            .map(|sum| checksum(check, sum, endian))
            .transpose()?,
        escape: text.escape,
    };
    if frame.escape == Escape::None {
        let because = "a frame without escape";
        if frame.sync.is_empty() {
            let key = "sync";
            return Err(check.at(source, K::Needed { key, because }));
        }
        if frame.length.is_none() {
            let key = "length or length_at";
            return Err(check.at(source, K::Needed { key, because }));
        }
    }
    Ok(frame)
}

fn length(
    check: &Check<'_>,
    source: &Spanned<FrameText>,
    endian: Endian,
) -> Done<Option<FrameLength>> {
    let text = source.get_ref();
    match (&text.length, &text.length_at, &text.length_type) {
        (None, None, None) => match &text.length_add {
            None => Ok(None),
            Some(add) => {
                let (key, because) = ("length_at", "length_add");
                Err(check.at(add, K::Needed { key, because }))
            }
        },
        (Some(length), None, None) => {
            let length = check.whole("length", length, 1..=Frame::BYTES_MAX)?;
            Ok(Some(FrameLength::Fixed(length)))
        }
        (None, Some(at), Some(word)) => {
            let field = check.field(at, word, None, endian)?;
            let add = text.length_add.as_ref();
            let is_near = |add: &&Spanned<i64>| add.get_ref().unsigned_abs() <= 64;
            if let Some(add) = add.filter(|add| !is_near(add)) {
                let (key, found) = ("length_add", *add.get_ref() as f64);
                let (least, most) = (-64.0, 64.0);
                return Err(check.at(
                    add,
                    K::Range {
                        key,
                        found,
                        least,
                        most,
                    },
                ));
            }
            Ok(Some(FrameLength::Field {
                at: field.at,
                number: field.number,
                add: add.map_or(0, |add| *add.get_ref()),
            }))
        }
        (Some(_), _, _) => {
            let (key, because) = ("length", "length_at or length_type");
            Err(check.at(source, K::Needless { key, because }))
        }
        (None, Some(_), None) => {
            let (key, because) = ("length_type", "length_at");
            Err(check.at(source, K::Needed { key, because }))
        }
        (None, None, Some(_)) => {
            let (key, because) = ("length_at", "length_type");
            Err(check.at(source, K::Needed { key, because }))
        }
    }
}

fn checksum(check: &Check<'_>, text: &ChecksumText, endian: Endian) -> Done<Checksum> {
    let size = text.kind.size();
    let usual = Number {
        kind: NumberKind::Unsigned,
        size,
        endian,
    };
    let number = match &text.number {
        None => usual,
        Some(word) => {
            let number = check.number(word, endian)?;
            if number.kind != NumberKind::Unsigned || number.size != size {
                let expected = if size == 1 {
                    "u8"
                } else {
                    "u16, u16le or u16be"
                };
                return Err(check.not_a_type(word, expected));
            }
            number
        }
    };
    let at = edge(check, "at", &text.at)?;
    if let Edge::FromEnd(before) = at
        && before < size
    {
        let (what, limit) = ("checksum", 0);
        let end = size - before;
        return Err(check.at(&text.at, K::Outside { what, end, limit }));
    }
    Ok(Checksum {
        kind: text.kind,
        from: check.whole("from", &text.from, 0..=VALUE_BYTES_MAX)?,
        to: edge(check, "to", &text.to)?,
        at,
        number,
    })
}

fn edge(check: &Check<'_>, key: &'static str, found: &Spanned<i64>) -> Done<Edge> {
    let most = VALUE_BYTES_MAX;
    let size = usize::try_from(found.get_ref().unsigned_abs()).unwrap_or(usize::MAX);
    if size > most {
        let found_number = *found.get_ref() as f64;
        return Err(check.at(
            found,
            K::Range {
                key,
                found: found_number,
                least: -(most as f64),
                most: most as f64,
            },
        ));
    }
    Ok(if *found.get_ref() < 0 {
        Edge::FromEnd(size)
    } else {
        Edge::FromStart(size)
    })
}
