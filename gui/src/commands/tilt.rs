//! `legraise tilt`: one sensor's orientation as CSV. It knows nothing of legs.

use std::io::{self, BufWriter, Write};

use fusion::Imu;
use fusion::tilt::{TiltOutput, TiltParams, TiltState, smooth, step};
use sensor::bids::{FindError, Problem, ProblemKind, read_motion};
use sensor::{RunTime, Sample, Track};

use super::tell;
use crate::args::TiltArgs;
use crate::error::{CommandError, Exit};

/// Prints a row for each sample of the chosen sensor.
pub(crate) fn run(
    args: &TiltArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    if args.file.is_dir() {
        return Err(CommandError::NotAFile(args.file.clone()));
    }
    if matches!(args.file.try_exists(), Ok(false)) {
        return Err(FindError::Missing {
            path: args.file.clone(),
        }
        .into());
    }
    let (tracks, problems) = read_motion(&args.file)?;
    tell(
        err,
        &problems.iter().map(ToString::to_string).collect::<Vec<_>>(),
    );
    let track = chosen(args, &tracks)?;
    let mut out = BufWriter::with_capacity(1 << 16, out);
    let written = if args.live {
        write_live(&mut out, track, stated_rate_hz(track, &problems))
    } else {
        write_smooth(&mut out, track)
    };
    written
        .and_then(|()| out.flush())
        .map_err(CommandError::Output)?;
    Ok(Exit::Done)
}

/// The only tracked point, or the one that was asked for.
fn chosen<'a>(args: &TiltArgs, tracks: &'a [Track]) -> Result<&'a Track, CommandError> {
    let names = || tracks.iter().map(|track| track.name.clone()).collect();
    match (&args.point, tracks) {
        (None, [track]) => Ok(track),
        (None, _) => Err(CommandError::ManyPoints {
            file: args.file.clone(),
            names: names(),
        }),
        (Some(asked), _) => {
            let exact = tracks.iter().find(|track| track.name == *asked);
            exact
                .or_else(|| tracks.iter().find(|track| is_called(track, asked)))
                .ok_or_else(|| CommandError::NoPoint {
                    file: args.file.clone(),
                    asked: asked.clone(),
                    names: names(),
                })
        }
    }
}

/// Whether a name means this track, in any case and spelling of a placement.
fn is_called(track: &Track, asked: &str) -> bool {
    track.name.eq_ignore_ascii_case(asked)
        || track
            .placement
            .is_some_and(|place| asked.parse() == Ok(place))
}

/// The rate that was known before the first sample. Where only the times of the samples tell it, the first step
/// does: a rate taken from all of them would let the future in.
fn stated_rate_hz(track: &Track, problems: &[Problem]) -> f64 {
    let is_from_times = problems
        .iter()
        .any(|p| matches!(p.kind, ProblemKind::RateFromTimes { .. }));
    match track.samples.as_slice() {
        [first, second, ..] if is_from_times => 1.0 / (second.at - first.at),
        _ => track.rate_hz,
    }
}

fn write_live(out: &mut dyn Write, track: &Track, rate_hz: f64) -> io::Result<()> {
    write_header(out)?;
    let coeffs = TiltParams::default().coeffs(rate_hz);
    let Some((first, rest)) = track.samples.split_first() else {
        return Ok(());
    };
    let mut state = TiltState::new(&coeffs, &Imu::from(first));
    write_row(out, first, &state.output(&coeffs))?;
    for sample in rest {
        let output = step(&coeffs, &mut state, &Imu::from(sample));
        write_row(out, sample, &output)?;
    }
    Ok(())
}

fn write_smooth(out: &mut dyn Write, track: &Track) -> io::Result<()> {
    write_header(out)?;
    let coeffs = TiltParams::default().coeffs(1.0 / track.step_s());
    let imus: Vec<Imu> = track.samples.iter().map(Imu::from).collect();
    track
        .samples
        .iter()
        .zip(smooth(&coeffs, &imus))
        .try_for_each(|(sample, output)| write_row(out, sample, &output))
}

fn write_header(out: &mut dyn Write) -> io::Result<()> {
    out.write_all(b"t_s,w,x,y,z\n")
}

fn write_row(out: &mut dyn Write, sample: &Sample, output: &TiltOutput) -> io::Result<()> {
    let q = output.earth_from_sensor;
    let mut row = Row::default();
    row.push_time(sample.at);
    for part in [q.w, q.i, q.j, q.k] {
        row.push(b',');
        row.push_part(part);
    }
    row.push(b'\n');
    out.write_all(row.text())
}

/// One line, put together without allocating: there are as many as samples.
struct Row {
    bytes: [u8; 96],
    length: usize,
}

impl Default for Row {
    fn default() -> Self {
        Self {
            bytes: [0; 96],
            length: 0,
        }
    }
}

impl Row {
    /// A time as seconds with all its nine decimals, so that no two become the same.
    fn push_time(&mut self, at: RunTime) {
        self.push_billionths(at.ns());
    }

    /// A part of a unit quaternion, nine decimals.
    fn push_part(&mut self, part: f64) {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "parts of a unit quaternion lie within 1"
        )]
        self.push_billionths((part * 1e9).round() as i64);
    }

    fn push_billionths(&mut self, count: i64) {
        const BILLION: u64 = 1_000_000_000;
        if count < 0 {
            self.push(b'-');
        }
        let size = count.unsigned_abs();
        let mut digits = [b'0'; 20];
        let mut first = digits.len();
        let mut whole = size / BILLION;
        while whole > 0 || first == digits.len() {
            first -= 1;
            digits[first] += (whole % 10) as u8;
            whole /= 10;
        }
        for &digit in &digits[first..] {
            self.push(digit);
        }
        self.push(b'.');
        let mut fraction = size % BILLION;
        let mut decimals = [b'0'; 9];
        for decimal in decimals.iter_mut().rev() {
            *decimal += (fraction % 10) as u8;
            fraction /= 10;
        }
        for digit in decimals {
            self.push(digit);
        }
    }

    fn push(&mut self, byte: u8) {
        self.bytes[self.length] = byte;
        self.length += 1;
    }

    fn text(&self) -> &[u8] {
        &self.bytes[..self.length]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_nine_decimals() {
        let rows = [
            (0, "0.000000000"),
            (1, "0.000000001"),
            (-1, "-0.000000001"),
            (1_500_000_000, "1.500000000"),
            (-12_000_000_034, "-12.000000034"),
            (1_000_000_000_000_000, "1000000.000000000"),
        ];
        for (count, text) in rows {
            let mut row = Row::default();
            row.push_billionths(count);
            assert_eq!(std::str::from_utf8(row.text()), Ok(text));
        }
        let mut row = Row::default();
        row.push_part(-std::f64::consts::FRAC_1_SQRT_2);
        assert_eq!(row.text(), b"-0.707106781");
    }

    #[test]
    fn the_longest_row_fits() {
        let mut row = Row::default();
        row.push_time(RunTime::from_ns(-999_999_999_999_999));
        for _ in 0..4 {
            row.push(b',');
            row.push_part(-1.0);
        }
        row.push(b'\n');
        assert!(row.text().len() < 96);
    }
}
