//! Packets written in hex.

use sensor::HostTime;
use sensor::profile::{Profile, Uuid};

use super::ProfileFault;

/// One packet.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Line {
    /// Counted from 1, as given: on standard input it is the line.
    pub(super) number: usize,
    pub(super) arrival: Option<HostTime>,
    pub(super) from: Uuid,
    /// Whether it was read from the device, and is no notification.
    pub(super) is_read: bool,
    pub(super) bytes: Vec<u8>,
}

/// The arguments; single bytes are one packet whose quotes were forgotten.
pub(super) fn joined(words: &[String]) -> Vec<String> {
    let is_byte = |word: &String| word.len() == 2 && word.bytes().all(|b| b.is_ascii_hexdigit());
    if words.len() > 1 && words.iter().all(is_byte) {
        vec![words.join(" ")]
    } else {
        words.to_vec()
    }
}

/// All packets. Blank lines and comments are none.
pub(super) fn read(texts: &[String], profile: &Profile) -> Result<Vec<Line>, ProfileFault> {
    let mut lines = Vec::new();
    for (place, text) in texts.iter().enumerate() {
        let text = text.split('#').next().unwrap_or_default().trim();
        if !text.is_empty() {
            lines.push(line(place + 1, text, profile)?);
        }
    }
    Ok(lines)
}

fn line(number: usize, text: &str, profile: &Profile) -> Result<Line, ProfileFault> {
    let (arrival, text) = match text.strip_prefix('@') {
        None => (None, text),
        Some(timed) => {
            let (time, rest) = timed.split_once(char::is_whitespace).unwrap_or((timed, ""));
            let text = || format!("@{time}");
            let seconds = time.parse::<f64>().ok().filter(|s| s.abs() <= 1e9);
            let seconds = seconds.ok_or_else(|| ProfileFault::NotATime {
                number,
                text: text(),
            })?;
            #[expect(clippy::cast_possible_truncation, reason = "bounded just above")]
            (Some(HostTime((seconds * 1e9).round() as i64)), rest.trim())
        }
    };
    let (source, hex) = match text.split_once(':') {
        None => (None, text),
        Some((source, hex)) => (Some(source.trim()), hex),
    };
    let (from, is_read) = source_of(number, source, profile)?;
    Ok(Line {
        number,
        arrival,
        from,
        is_read,
        bytes: bytes(number, hex)?,
    })
}

/// The characteristic that is meant, and whether it is read.
fn source_of(
    number: usize,
    source: Option<&str>,
    profile: &Profile,
) -> Result<(Uuid, bool), ProfileFault> {
    let notifying = profile.notifying();
    let fault = || ProfileFault::Source {
        number,
        found: source.map(ToOwned::to_owned),
        known: known(profile),
    };
    let Some(source) = source else {
        return match notifying.as_slice() {
            [only] => Ok((*only, false)),
            _ => Err(fault()),
        };
    };
    if let Some(stream) = profile.streams.iter().find(|stream| stream.id == source) {
        return Ok((stream.from, false));
    }
    if let Some(read) = profile.reads.iter().find(|read| read.name == source) {
        return Ok((read.from, true));
    }
    let from: Uuid = source.parse().map_err(|()| fault())?;
    let is_read = !notifying.contains(&from) && profile.reads.iter().any(|read| read.from == from);
    Ok((from, is_read))
}

/// Names that may stand before a packet.
fn known(profile: &Profile) -> Vec<String> {
    let streams = profile.streams.iter().map(|stream| stream.id.clone());
    let reads = profile.reads.iter().map(|read| read.name.clone());
    streams.chain(reads).collect()
}

fn bytes(number: usize, hex: &str) -> Result<Vec<u8>, ProfileFault> {
    let mut bytes = Vec::new();
    let is_between = |c: char| c.is_whitespace() || ",-|".contains(c);
    for piece in hex.split(is_between).filter(|piece| !piece.is_empty()) {
        let digits = piece.strip_prefix("0x").unwrap_or(piece);
        let is_hex = digits.bytes().all(|b| b.is_ascii_hexdigit());
        if !is_hex || digits.is_empty() || digits.len() % 2 != 0 {
            let text = piece.chars().take(40).collect();
            return Err(ProfileFault::NotHex { number, text });
        }
        let digits = digits.as_bytes().chunks_exact(2);
        bytes.extend(digits.map(|pair| digit(pair[0]) << 4 | digit(pair[1])));
    }
    Ok(bytes)
}

/// The value of a hex digit.
fn digit(byte: u8) -> u8 {
    match byte {
        b'0'..=b'9' => byte - b'0',
        _ => (byte | 0x20) - b'a' + 10,
    }
}
