//! The final clock of a stream, from all of it; made once, at the end of a run.

use super::axis::{Arrived, Axis, Placed};
use super::envelope::Point;
use super::map::{NUDGE_NS, missing};
use super::report::ClockReport;
use super::segments::{Course, courses};
use super::timing::Timing;
use crate::event::{Loss, Packet};
use crate::{HostTime, RawStamp};

/// What came of one stream, in the order it came.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Part<'a> {
    /// Samples.
    Packet(&'a Packet),
    /// Something was lost here.
    Lost(Loss),
}

/// A sample with its final time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedSample {
    /// When it was taken, on this computer's clock; late by the least delay of its stream.
    pub at: HostTime,
    /// What came with it: the counter unwrapped, the rest untouched.
    pub stamp: RawStamp,
    /// Specific force, m/s².
    pub accel_m_s2: [f32; 3],
    /// Angular rate, rad/s.
    pub gyro_rad_s: [f32; 3],
}

/// A stream on its final clock.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fitted {
    /// In strictly increasing time.
    pub samples: Vec<FittedSample>,
    /// How the clock did.
    pub report: ClockReport,
}

/// One sample on the sensor's axis.
#[derive(Clone, Copy, Debug)]
struct Row {
    segment: usize,
    start: usize,
    packet: usize,
    sample: usize,
    place: Placed,
}

/// All of a stream on the sensor's axis.
struct Laid<'a> {
    axis: Axis,
    packets: Vec<&'a Packet>,
    rows: Vec<Row>,
    /// The newest sample of each packet, by segment.
    points: Vec<Vec<Point>>,
}

/// Fits the clock of one stream over a whole run, and gives its samples their times.
///
/// A line below all points for each stretch in which the sensor's clock ran through; where no line does,
/// because the rate changes, straight pieces of ten seconds. Stragglers get the place that their number
/// says; what came twice is left out.
pub fn fit(timing: &Timing, parts: &[Part<'_>]) -> Fitted {
    let mut laid = lay(timing, parts);
    let courses = courses(&laid.points, timing);
    let mut report = ClockReport {
        rate_hz: timing.nominal_hz,
        segment_count: laid.points.iter().filter(|p| !p.is_empty()).count() as u64,
        ..ClockReport::default()
    };
    order(&mut laid, &mut report);
    report.lost_count = lost_count(&laid);
    let samples = time(&laid, &courses, &mut report);
    report.sample_count = samples.len() as u64;
    judge(&laid, &courses, timing, &mut report);
    Fitted { samples, report }
}

/// Places every sample.
fn lay<'a>(timing: &Timing, parts: &[Part<'a>]) -> Laid<'a> {
    let mut laid = Laid {
        axis: Axis::new(timing),
        packets: Vec::new(),
        rows: Vec::new(),
        points: Vec::new(),
    };
    let mut anchors: Vec<(usize, usize, Point)> = Vec::new();
    let mut placed = Vec::new();
    for part in parts {
        let packet = match part {
            Part::Packet(packet) => *packet,
            Part::Lost(cause) if cause.breaks_clock() => {
                laid.axis.break_here();
                continue;
            }
            Part::Lost(_) => {
                laid.axis.lost_here();
                continue;
            }
        };
        let number = laid.packets.len();
        let Arrived {
            segment,
            start,
            newest_s,
            began,
        } = laid.axis.place(packet, &mut placed);
        laid.packets.push(packet);
        if let Some(began) = began {
            let tail = laid.rows.iter_mut().rev();
            tail.take_while(|row| began <= row.packet)
                .for_each(|row| row.segment = segment);
            let tail = anchors.iter_mut().rev();
            tail.take_while(|anchor| began <= anchor.1)
                .for_each(|anchor| anchor.0 = segment);
        }
        laid.rows
            .extend(placed.iter().enumerate().map(|(sample, place)| Row {
                segment,
                start,
                packet: number,
                sample,
                place: *place,
            }));
        if let Some(device_s) = newest_s {
            let host_s = packet.arrival.s();
            anchors.push((segment, number, Point { device_s, host_s }));
        }
    }
    let count = anchors.iter().map(|a| a.0 + 1).max().unwrap_or(0);
    laid.points.resize(count, Vec::new());
    for (segment, _, point) in anchors {
        laid.points[segment].push(point);
    }
    for points in &mut laid.points {
        points.sort_by(|a, b| a.device_s.total_cmp(&b.device_s));
    }
    laid
}

/// Sorts the samples by their numbers and leaves out what came again.
fn order(laid: &mut Laid<'_>, report: &mut ClockReport) {
    let before = laid.rows.len();
    let not_fresh = laid.rows.iter().filter(|row| !row.place.is_fresh).count();
    if laid.axis.counts() {
        laid.rows.sort_by_key(|row| (row.segment, row.place.index));
        laid.rows.dedup_by_key(|row| (row.segment, row.place.index));
    } else {
        laid.rows.retain(|row| row.place.is_fresh);
    }
    let repeated = before - laid.rows.len();
    report.repeated_count = repeated as u64;
    report.late_count = not_fresh.saturating_sub(repeated) as u64;
}

/// How many samples are missing between those that came; `None` where gaps can't be seen.
fn lost_count(laid: &Laid<'_>) -> Option<u64> {
    let pairs = laid.rows.windows(2).filter(|w| w[0].start == w[1].start);
    let missing = pairs.map(|w| missing(&w[0].place, &w[1].place, &laid.axis));
    laid.axis
        .sees_gaps()
        .then(|| u64::try_from(missing.sum::<i64>()).unwrap_or(0))
}

/// Gives each sample its time.
fn time(
    laid: &Laid<'_>,
    courses: &[Option<Course>],
    report: &mut ClockReport,
) -> Vec<FittedSample> {
    let mut samples: Vec<FittedSample> = Vec::with_capacity(laid.rows.len());
    for row in &laid.rows {
        let packet = laid.packets[row.packet];
        let raw = &packet.samples[row.sample];
        let host_s = courses
            .get(row.segment)
            .and_then(Option::as_ref)
            .map_or(packet.arrival.s(), |course| {
                course.host_s(row.place.device_s)
            });
        let Some(mut at) = HostTime::from_s(host_s) else {
            continue;
        };
        if let Some(last) = samples.last().map(|s| s.at)
            && at.0 < last.0 + NUDGE_NS
        {
            at = HostTime(last.0 + NUDGE_NS);
            report.nudged_count += 1;
        }
        let counted = u64::try_from(row.place.index)
            .ok()
            .filter(|_| laid.axis.counts());
        samples.push(FittedSample {
            at,
            stamp: RawStamp {
                sequence: counted.or(raw.sequence),
                device: raw.device,
                arrival: Some(packet.arrival),
            },
            accel_m_s2: raw.accel_m_s2,
            gyro_rad_s: raw.gyro_rad_s,
        });
    }
    samples
}

/// Rate, skew and jitter.
fn judge(laid: &Laid<'_>, courses: &[Option<Course>], timing: &Timing, report: &mut ClockReport) {
    let mut delays: Vec<f64> = Vec::new();
    let (mut longest_s, mut slope, mut longest) = (0.0, 1.0, None);
    for (at, (points, course)) in laid.points.iter().zip(courses).enumerate() {
        let Some(course) = course else { continue };
        delays.extend(points.iter().map(|p| p.host_s - course.host_s(p.device_s)));
        if let [first, .., last] = points[..]
            && longest_s < last.device_s - first.device_s
        {
            longest_s = last.device_s - first.device_s;
            slope = course.slope(first.device_s, last.device_s);
            longest = Some(at);
        }
    }
    if !delays.is_empty() {
        let at = (delays.len() - 1) * 95 / 100;
        report.jitter_s = Some(*delays.select_nth_unstable_by(at, f64::total_cmp).1);
    }
    let mut rows = laid.rows.iter().filter(|row| longest == Some(row.segment));
    let ends = rows.next().zip(rows.next_back());
    let period_s = match (timing.ticks, ends) {
        (None, _) => 1.0 / timing.nominal_hz,
        (Some(_), Some((first, last))) if laid.axis.counts() => {
            let count = last.place.index.saturating_sub(first.place.index).max(1) as f64;
            (last.place.device_s - first.place.device_s) / count
        }
        (Some(_), _) => laid.axis.period_s(),
    };
    if 0.0 < slope && 0.0 < period_s {
        report.rate_hz = 1.0 / (slope * period_s);
        report.skew = 1.0 / slope - 1.0;
    }
}
