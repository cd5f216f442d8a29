//! One file of samples with its side files.

use std::path::Path;

use super::channels::{Channels, Point};
use super::error::{Place, ReadError, ReadErrorKind};
use super::file::{MOTION_BYTES_MAX, read_bytes};
use super::find::{absolute, lone_stem, root_of};
use super::layout::{Clock, Layout, Separator};
use super::name::Name;
use super::number::median;
use super::problem::{Problem, ProblemKind};
use super::rows::{PointRows, Rows, read_rows};
use super::sidecar::{Described, SideFiles, describe, read_json, read_table};
use super::start::Start;
use super::units::{G_M_S2, mistaken_accel_units};
use crate::{Placement, Sample, Track};

/// Reads one file of samples and what its side files say of it: a track for each tracked point. Times
/// are those of the file; [`read_run`](super::read_run) makes them count from the run's first sample.
pub fn read_motion(path: &Path) -> Result<(Vec<Track>, Vec<Problem>), ReadError> {
    let root = absolute(path).ok().and_then(|p| root_of(p.parent()?));
    read_motion_in(path, root.as_deref())
}

/// As [`read_motion`], where the data set is known.
pub(crate) fn read_motion_in(
    path: &Path,
    root: Option<&Path>,
) -> Result<(Vec<Track>, Vec<Problem>), ReadError> {
    let fail = |line: Option<u64>, kind| ReadError {
        place: Place {
            path: path.to_owned(),
            line,
        },
        kind,
    };
    let file = read_bytes(path, MOTION_BYTES_MAX)?;
    let start = Start::of(&file.bytes).map_err(|kind| fail(None, kind))?;
    let mut problems = Vec::new();
    let side = SideFiles::of(path, root);
    let described = read_description(path, &side, &mut problems);
    let (channels, separator) = read_channels(path, &side, &start, &mut problems)?;

    let has_header = start.note(separator, &channels.roles, path, &mut problems);
    let body = if has_header {
        start.after_first_line()
    } else {
        start.body
    };
    let stated_hz = described.rate_hz.or(channels.rate_hz);
    let clock = match (channels.time_divisor, stated_hz) {
        (Some(divisor), _) => Clock::Column { divisor },
        (None, Some(hz)) => Clock::Rate { hz },
        (None, None) => return Err(fail(None, ReadErrorKind::NoTime)),
    };
    let has_stamps: Vec<bool> = channels.points.iter().map(|p| p.has_stamps).collect();
    let layout = Layout {
        roles: &channels.roles,
        point_count: channels.points.len(),
        separator,
        clock,
        has_stamps: &has_stamps,
        lines_before: start.lines_before + u64::from(has_header),
    };
    let mut rows = read_rows(body, &layout).map_err(|(line, kind)| fail(Some(line), kind))?;
    if file.is_cut {
        problems.push(Problem::of(path, ProblemKind::CutGzip));
        rows.cut_line = None;
    }
    note_rows(&rows, path, &mut problems)?;
    let about = About {
        path,
        described: &described,
        stated_hz,
    };
    let tracks = tracks_of(rows, channels.points, &about, &mut problems);
    if tracks.is_empty() {
        Err(fail(None, ReadErrorKind::NoSamples))
    } else {
        Ok((tracks, problems))
    }
}

/// What the JSON files that apply say.
fn read_description(path: &Path, side: &SideFiles, problems: &mut Vec<Problem>) -> Described {
    if side.motion.is_empty() {
        problems.push(Problem::of(path, ProblemKind::NoSidecar));
    }
    let json = read_json(&side.motion, problems);
    let nearest = Place::of(side.motion.last().map_or(path, |p| p.as_path()));
    describe(&json, &nearest, problems)
}

/// What the columns are, and what stands between them.
fn read_channels(
    path: &Path,
    side: &SideFiles,
    start: &Start<'_>,
    problems: &mut Vec<Problem>,
) -> Result<(Channels, Separator), ReadError> {
    let described_in = side.channels.as_deref();
    let table = described_in
        .and_then(|p| read_table(p, &["name", "type", "component"], problems))
        .filter(|t| !t.rows.is_empty());
    let separator = start.separator(table.as_ref().map(|t| t.rows.len()));
    let (place, channels) = if let Some(table) = &table {
        let place = Place::of(described_in.unwrap_or(path));
        (place, Channels::from_table(table))
    } else {
        let place = Place::line(path, start.lines_before + 1);
        let count = separator.cells(start.first_line).count();
        (place, Channels::assumed(count))
    };
    let channels = channels.map_err(|kind| ReadError {
        place: place.clone(),
        kind,
    })?;
    problems.extend(channels.problems.iter().map(|kind| Problem {
        place: Place {
            line: None,
            ..place.clone()
        },
        kind: kind.clone(),
    }));
    Ok((channels, separator))
}

/// Turns the counts of odd rows into problems, or into an error where they are more than a tenth.
fn note_rows(rows: &Rows, path: &Path, problems: &mut Vec<Problem>) -> Result<(), ReadError> {
    if let Some(first) = &rows.first_fault {
        let place = Place::line(path, rows.bad.first_line);
        // One bad row is damage, however short the file; several in a short file are another format.
        let is_lost = rows.bad.count == rows.row_count
            || rows.bad.count > 1 && rows.bad.count * 10 > rows.row_count;
        if is_lost {
            let (bad_count, row_count) = (rows.bad.count, rows.row_count);
            let kind = ReadErrorKind::TooManyBadRows {
                bad_count,
                row_count,
                first: first.clone(),
            };
            return Err(ReadError { place, kind });
        }
        let kind = ProblemKind::BadRows {
            count: rows.bad.count,
            first: first.clone(),
        };
        problems.push(Problem { place, kind });
    }
    let mut push = |line: Option<u64>, kind| {
        let path = path.to_owned();
        problems.push(Problem {
            place: Place { path, line },
            kind,
        });
    };
    if rows.has_cr {
        push(None, ProblemKind::LineEnds);
    }
    if rows.missing.count > 0 {
        push(
            Some(rows.missing.first_line),
            ProblemKind::Missing {
                count: rows.missing.count,
            },
        );
    }
    if rows.not_later.count > 0 {
        push(
            Some(rows.not_later.first_line),
            ProblemKind::NotLater {
                count: rows.not_later.count,
            },
        );
    }
    if rows.cut_line.is_some() {
        push(rows.cut_line, ProblemKind::CutShort);
    }
    Ok(())
}

/// What holds for all tracks of one file.
struct About<'a> {
    path: &'a Path,
    described: &'a Described,
    stated_hz: Option<f64>,
}

/// Makes a track of each point that has samples.
fn tracks_of(
    rows: Rows,
    points: Vec<Point>,
    about: &About<'_>,
    problems: &mut Vec<Problem>,
) -> Vec<Track> {
    let file_name = about.path.file_name().unwrap_or_default().to_string_lossy();
    let tracksys = Name::parse(&file_name).and_then(|name| name.tracksys);
    let label = tracksys
        .as_deref()
        .or(lone_stem(&file_name))
        .unwrap_or_default();
    let is_alone = points.len() == 1;
    let mut tracks = Vec::new();
    for (mut rows, point) in rows.points.into_iter().zip(points) {
        let mut push = |kind| problems.push(Problem::of(about.path, kind));
        if rows.samples.is_empty() {
            push(ProblemKind::PointEmpty { point: point.name });
            continue;
        }
        convert(&mut rows, &point, &mut push);
        leave_out_impossible(&mut rows, &mut push);
        if rows.samples.is_empty() {
            push(ProblemKind::PointEmpty { point: point.name });
            continue;
        }
        let by_point: Option<Placement> = point.name.parse().ok();
        let by_label: Option<Placement> = label.parse().ok();
        if let (true, Some(point), Some(_)) = (is_alone && by_point != by_label, by_point, by_label)
        {
            push(ProblemKind::PlacementConflict {
                point,
                label: label.to_owned(),
            });
        }
        let is_by_label = is_alone && tracksys.is_some() || point.name.is_empty();
        let mut track = Track {
            name: if is_by_label {
                label.to_owned()
            } else {
                point.name
            },
            placement: by_point.or(by_label.filter(|_| is_alone)),
            rate_hz: about.stated_hz.unwrap_or(1.0),
            limits: about.described.limits,
            device: about.described.device.clone(),
            samples: rows.samples,
            stamps: rows.stamps,
        };
        if about.stated_hz.is_none() {
            let step_s = track.step_s();
            // Milliseconds are the finest that such clocks are good for; it is a nominal rate.
            track.rate_hz = (1e3 / step_s).round() / 1e3;
            track.rate_hz = track.rate_hz.max(1e-3);
            push(ProblemKind::RateFromTimes {
                rate_hz: track.rate_hz,
            });
        }
        tracks.push(track);
    }
    tracks
}

/// Brings a point's samples to m/s² and rad/s.
fn convert(rows: &mut PointRows, point: &Point, push: &mut impl FnMut(ProblemKind)) {
    let mut factors = point.factors;
    let Some(raw) = median_accel(rows) else {
        return;
    };
    if let Some((factor, found)) = mistaken_accel_units(raw, factors[0]) {
        let median = (raw * 1e3).round() / 1e3;
        push(ProblemKind::UnitsMistaken {
            said: point.accel_units.clone(),
            median,
            found,
        });
        factors[..3].fill(factor);
    }
    let median_m_s2 = raw * factors[0];
    if !(0.5 * G_M_S2..2.0 * G_M_S2).contains(&median_m_s2) {
        push(ProblemKind::AccelImplausible {
            median_m_s2: (median_m_s2 * 1e3).round() / 1e3,
        });
    }
    #[expect(
        clippy::float_cmp,
        reason = "1 is the exact factor of a unit that is SI already"
    )]
    if factors == [1.0; 6] {
        return;
    }
    for sample in &mut rows.samples {
        for (value, factor) in sample
            .accel_m_s2
            .iter_mut()
            .chain(&mut sample.gyro_rad_s)
            .zip(factors)
        {
            #[expect(clippy::cast_possible_truncation, reason = "a sample is kept as f32")]
            let converted = (f64::from(*value) * factor) as f32;
            *value = converted.clamp(f32::MIN, f32::MAX);
        }
    }
}

/// Leaves out samples that no sensor can have felt: a flipped bit must not end up as motion.
fn leave_out_impossible(rows: &mut PointRows, push: &mut impl FnMut(ProblemKind)) {
    let before = rows.samples.len();
    if rows.samples.iter().all(Sample::is_possible) {
        return;
    }
    let mut possible = rows.samples.iter().map(Sample::is_possible);
    rows.stamps.retain(|_| possible.next().unwrap_or(true));
    rows.samples.retain(Sample::is_possible);
    push(ProblemKind::Impossible {
        count: (before - rows.samples.len()) as u64,
    });
}

/// The median size of the acceleration, in the file's unit.
fn median_accel(rows: &PointRows) -> Option<f64> {
    median(rows.samples.iter().map(|s| {
        s.accel_m_s2
            .iter()
            .map(|&a| f64::from(a).powi(2))
            .sum::<f64>()
            .sqrt()
    }))
}
