//! `legraise profile`: sensor profiles listed, checked, and tried out on packets in hex.

mod dump;
mod print;

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use sensor::packet::{Decoded, Decoder};
use sensor::profile::{Profile, ReadFault, shipped, shipped_text};
use thiserror::Error;

use super::tell;
use crate::args::{DecodeArgs, ProfileArgs, ProfileCommand};
use crate::error::{CommandError, Exit};
use crate::profiles::{LoadError, limited, load};

use dump::Line;

/// What stops this command.
#[derive(Debug, Error)]
pub(crate) enum ProfileFault {
    /// The profile can't be had.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// The file can't be read.
    #[error("{}: {source}; check that it is a text file that may be read", path.display())]
    Io {
        /// As given, or `-`.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Not bytes.
    #[error(
        "packet {number}: {text:?}, expected bytes of two hex digits; write it like \"fe 00 08\""
    )]
    NotHex {
        /// Counted from 1.
        number: usize,
        /// The piece that isn't.
        text: String,
    },
    /// No time.
    #[error(
        "packet {number}: {text:?}, expected @ and seconds; write it like \"@12.345 fe 00 08\""
    )]
    NotATime {
        /// Counted from 1.
        number: usize,
        /// As written.
        text: String,
    },
    /// From where?
    #[error("packet {number}: {}, expected one of {}; write it like \"{}: fe 00 08\"",
        found.as_ref().map_or("no source".to_owned(), |found| format!("source {found:?}")),
        known.join(", "), known.first().map_or("UUID", String::as_str))]
    Source {
        /// Counted from 1.
        number: usize,
        /// As written.
        found: Option<String>,
        /// What the profile knows.
        known: Vec<String>,
    },
    /// No packet at all.
    #[error(
        "no packets, expected at least one; give them as arguments or on standard input with -"
    )]
    NoPackets,
    /// A rate that can't be.
    #[error("--rate: {0} Hz, expected 1 to 8000; give the rate that the sensor was told")]
    Rate(f64),
    /// A value that was read from the device is of no use.
    #[error("packet {number}: {fault}")]
    Value {
        /// Counted from 1.
        number: usize,
        /// What was wrong.
        fault: ReadFault,
    },
}

impl ProfileFault {
    /// The exit status that goes with it.
    pub(crate) fn exit(&self) -> Exit {
        match self {
            Self::Load(e) => e.exit(),
            Self::Io { .. } | Self::Value { .. } => Exit::Incomplete,
            Self::NotHex { .. }
            | Self::NotATime { .. }
            | Self::Source { .. }
            | Self::NoPackets
            | Self::Rate(_) => Exit::Usage,
        }
    }
}

/// Does what was asked.
pub(crate) fn run(
    args: &ProfileArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    match &args.command {
        ProfileCommand::List { json } => {
            let written = if *json {
                print::list_json(out, &shipped())
            } else {
                print::list(out, &shipped())
            };
            written.map_err(CommandError::Output)?;
        }
        ProfileCommand::Show { name } => {
            let text = shipped_text(name)
                .ok_or_else(|| ProfileFault::from(LoadError::Missing(name.into())))?;
            out.write_all(text.as_bytes())
                .map_err(CommandError::Output)?;
        }
        ProfileCommand::Check { profile } => {
            let profile = load_telling(profile, err)?;
            print::summary(out, &profile).map_err(CommandError::Output)?;
        }
        ProfileCommand::Decode(args) => return decode(args, &mut io::stdin(), out, err),
    }
    Ok(Exit::Done)
}

/// A profile; oddities are told.
fn load_telling(path: &Path, err: &mut dyn Write) -> Result<Profile, ProfileFault> {
    let profile = load(path)?;
    let warnings = profile.warnings.iter().map(ToString::to_string);
    tell(err, &warnings.collect::<Vec<_>>());
    Ok(profile)
}

/// The longest standard input, bytes: hours of a dump.
const DUMP_BYTES_MAX: usize = 64 << 20;

fn decode(
    args: &DecodeArgs,
    input: &mut dyn io::Read,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let profile = load_telling(&args.profile, err)?;
    let rate_hz = args.rate.unwrap_or(profile.rate.nominal_hz);
    if !(1.0..=8000.0).contains(&rate_hz) {
        return Err(ProfileFault::Rate(rate_hz).into());
    }
    let texts = if args.packets == ["-"] {
        let text = limited(input, DUMP_BYTES_MAX).map_err(|source| ProfileFault::Io {
            path: "-".into(),
            source,
        })?;
        text.lines().map(ToOwned::to_owned).collect()
    } else {
        dump::joined(&args.packets)
    };
    let lines = dump::read(&texts, &profile)?;
    if lines.is_empty() {
        return Err(ProfileFault::NoPackets.into());
    }
    let mut decoder = Decoder::new(profile, rate_hz);
    let found = push_all(&mut decoder, &lines)?;
    for (number, one) in &found {
        if let Some(text) = print::message(*number, one) {
            drop(writeln!(err, "{text}")); // a closed standard error stops no decoding
        }
    }
    let written = if args.json {
        print::decoded_json(out, &decoder, rate_hz, &found)
    } else {
        print::decoded(out, &decoder, &found)
    };
    written.map_err(CommandError::Output)?;
    Ok(if decoder.tally().faults() == 0 {
        Exit::Done
    } else {
        Exit::Incomplete
    })
}

/// What comes out, each with the number of its line.
fn push_all(decoder: &mut Decoder, lines: &[Line]) -> Result<Vec<(usize, Decoded)>, ProfileFault> {
    let mut found = Vec::new();
    let mut out = Vec::new();
    for line in lines {
        if line.is_read {
            let read = decoder.push_read(line.from, &line.bytes);
            read.map_err(|fault| ProfileFault::Value {
                number: line.number,
                fault,
            })?;
        } else {
            decoder.push(line.from, line.arrival, &line.bytes, &mut out);
        }
        found.extend(out.drain(..).map(|one| (line.number, one)));
    }
    decoder.finish(&mut out);
    let last = lines.last().map_or(0, |line| line.number);
    found.extend(out.into_iter().map(|one| (last, one)));
    Ok(found)
}

#[cfg(test)]
mod tests;
