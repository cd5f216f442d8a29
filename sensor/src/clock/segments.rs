//! The final course of one segment: host time of each moment of the sensor's clock, from all its packets.

use super::envelope::{Line, Point, lower_line};
use super::timing::Timing;

/// A line that hugs its points has one this close above it in nearly every stretch, s. The beat of packets
/// against the radio's interval moves the least delay by up to 20 ms within minutes, and is no drift.
const MISFIT_S: f64 = 0.025;
/// So many points below all others are taken for damage, at most.
const OUTLIERS_MAX: usize = 8;
/// Windows of a clock whose rate changes, and the way from one to the next, s.
const WINDOW_S: f64 = 20.0;
const HOP_S: f64 = 10.0;
/// A segment shorter than this, s, takes the slope of the stream's longest.
const OWN_SLOPE_S: f64 = 30.0;

/// Host time as a function of device time: straight lines from knot to knot, and on beyond the last.
#[derive(Clone, Debug)]
pub(super) struct Course {
    /// Two at least, both coordinates rising.
    knots: Vec<Point>,
}

impl Course {
    fn of_line(line: &Line) -> Self {
        let at = |device_s: f64| Point {
            device_s,
            host_s: line.host_s(device_s),
        };
        let from_s = line.through.device_s;
        Self {
            knots: vec![at(from_s), at(from_s + 1.0)],
        }
    }

    pub(super) fn host_s(&self, device_s: f64) -> f64 {
        let end = self.knots.len() - 1;
        let at = self.knots.partition_point(|k| k.device_s <= device_s);
        let at = at.clamp(1, end);
        let (a, b) = (&self.knots[at - 1], &self.knots[at]);
        let slope = (b.host_s - a.host_s) / (b.device_s - a.device_s);
        a.host_s + slope * (device_s - a.device_s)
    }

    /// Mean slope between two moments.
    pub(super) fn slope(&self, from_s: f64, to_s: f64) -> f64 {
        let to_s = to_s.max(from_s + 1e-3);
        (self.host_s(to_s) - self.host_s(from_s)) / (to_s - from_s)
    }
}

/// The course of each segment; `None` for one without points. Points of a segment are sorted by device time.
pub(super) fn courses(segments: &[Vec<Point>], timing: &Timing) -> Vec<Option<Course>> {
    let longest = (0..segments.len()).max_by(|&a, &b| {
        let span = |at: usize| span_s(&segments[at]);
        span(a).total_cmp(&span(b))
    });
    let own = longest.map(|at| course(&segments[at], timing, 1.0));
    let shared = longest
        .zip(own.as_ref())
        .and_then(|(at, own)| {
            let points = &segments[at];
            Some(
                own.as_ref()?
                    .slope(points.first()?.device_s, points.last()?.device_s),
            )
        })
        .unwrap_or(1.0);
    let of_segment = |(at, points): (usize, &Vec<Point>)| {
        if longest == Some(at) {
            own.clone().flatten()
        } else if span_s(points) < OWN_SLOPE_S {
            Line::below(points, shared).map(|line| Course::of_line(&line))
        } else {
            course(points, timing, shared)
        }
    };
    segments.iter().enumerate().map(of_segment).collect()
}

fn span_s(points: &[Point]) -> f64 {
    match points {
        [first, .., last] => last.device_s - first.device_s,
        _ => 0.0,
    }
}

fn course(points: &[Point], timing: &Timing, slope: f64) -> Option<Course> {
    if span_s(points) < timing.slope_s_min() {
        return Line::below(points, slope).map(|line| Course::of_line(&line));
    }
    let (line, kept) = robust_line(points, timing.skew_max())?;
    let gaps = least_delays(&kept, &line);
    let misfit_s = gaps.iter().copied().fold(0.0, f64::max);
    if misfit_s <= MISFIT_S {
        return Some(Course::of_line(&line));
    }
    bent(&kept, timing).or(Some(Course::of_line(&line)))
}

/// The lower line, without points so far below all others that they hold it down alone; and what is left.
fn robust_line(points: &[Point], skew_max: f64) -> Option<(Line, Vec<Point>)> {
    let all = lower_line(points, skew_max)?;
    let (mut line, mut kept) = (all, points.to_vec());
    for _ in 0..OUTLIERS_MAX {
        let mut gaps = least_delays(&kept, &line);
        let middle = gaps.len() / 2;
        if *gaps.select_nth_unstable_by(middle, f64::total_cmp).1 <= MISFIT_S {
            return Some((line, kept));
        }
        kept.retain(|point| 1e-9 < line.delay_s(point));
        line = lower_line(&kept, skew_max)?;
    }
    // Not a few points: the clock's own course is bent.
    Some((all, points.to_vec()))
}

/// The least delay over a line in each of some stretches, s; at least one.
fn least_delays(points: &[Point], line: &Line) -> Vec<f64> {
    let stretch_s = (span_s(points) / 20.0).clamp(0.5, 10.0);
    let mut least: Vec<f64> = Vec::new();
    let mut end_s = f64::NEG_INFINITY;
    for point in points {
        let delay_s = line.delay_s(point);
        match least.last_mut() {
            Some(last) if point.device_s < end_s => *last = last.min(delay_s),
            _ => {
                least.push(delay_s);
                end_s = point.device_s + stretch_s;
            }
        }
    }
    // The last stretch may hold a point or two only, which say nothing.
    if least.len() > 1 {
        least.pop();
    }
    if least.is_empty() {
        least.push(0.0);
    }
    least
}

/// Knots from lines over windows that overlap.
fn bent(points: &[Point], timing: &Timing) -> Option<Course> {
    let (first_s, last_s) = (points.first()?.device_s, points.last()?.device_s);
    let mut knots: Vec<Point> = Vec::new();
    let mut push = |line: &Line, device_s: f64| {
        let knot = Point {
            device_s,
            host_s: line.host_s(device_s),
        };
        if knots
            .last()
            .is_none_or(|k| k.device_s < knot.device_s && k.host_s < knot.host_s)
        {
            knots.push(knot);
        }
    };
    let mut from_s = first_s;
    loop {
        let to_s = from_s + WINDOW_S;
        let start = points.partition_point(|p| p.device_s < from_s);
        let end = points.partition_point(|p| p.device_s <= to_s);
        let is_last = last_s <= to_s;
        if let Some(line) = lower_line(&points[start..end], timing.skew_max()) {
            if start == 0 {
                push(&line, first_s);
            }
            push(&line, (from_s + 0.5 * WINDOW_S).min(last_s));
            if is_last {
                push(&line, last_s);
            }
        }
        if is_last {
            break;
        }
        // The last window is a whole one, too.
        from_s = (from_s + HOP_S).min((last_s - WINDOW_S).max(from_s + 1.0));
    }
    (1 < knots.len()).then_some(Course { knots })
}
