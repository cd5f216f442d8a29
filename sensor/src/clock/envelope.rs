//! The line below all points: `host = slope · device + offset`, without the delay.

use std::collections::VecDeque;

use super::timing::Timing;

/// A moment on both clocks: the sensor's and this computer's, s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    pub(super) device_s: f64,
    pub(super) host_s: f64,
}

/// Host time as a function of device time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    /// Host seconds in a second of the sensor.
    pub(super) slope: f64,
    /// A point on it: the numbers stay small.
    pub(super) through: Point,
}

impl Line {
    pub(super) fn host_s(&self, device_s: f64) -> f64 {
        self.through.host_s + self.slope * (device_s - self.through.device_s)
    }

    /// How late a point is.
    pub(super) fn delay_s(&self, point: &Point) -> f64 {
        point.host_s - self.host_s(point.device_s)
    }

    /// The line of a slope that touches the points from below; `None` without points.
    pub(super) fn below(points: &[Point], slope: f64) -> Option<Self> {
        let least = |p: &Point| p.host_s - slope * p.device_s;
        let through = points
            .iter()
            .copied()
            .min_by(|a, b| least(a).total_cmp(&least(b)))?;
        Some(Self { slope, through })
    }
}

/// The line below the points with the least sum of delays: the edge of their lower convex hull at the mean
/// abscissa. Slopes beyond 1 ± `skew_max` are drawn back to it. Points are sorted by the sensor's clock.
pub(super) fn lower_line(points: &[Point], skew_max: f64) -> Option<Line> {
    let slope = hull_slope(points).unwrap_or(1.0);
    Line::below(points, slope.clamp(1.0 - skew_max, 1.0 + skew_max))
}

/// Slope of the hull's edge at the mean abscissa; `None` where all points lie at one.
fn hull_slope(points: &[Point]) -> Option<f64> {
    let mut hull: Vec<Point> = Vec::new();
    for &point in points {
        // Of points at one abscissa the lowest counts.
        if let Some(end) = hull.last()
            && end.device_s >= point.device_s
        {
            if end.host_s <= point.host_s {
                continue;
            }
            hull.pop();
        }
        while let [.., a, b] = hull[..]
            && turn(&a, &b, &point) <= 0.0
        {
            hull.pop();
        }
        hull.push(point);
    }
    let mean_s = points.iter().map(|p| p.device_s).sum::<f64>() / points.len().max(1) as f64;
    let at = hull.partition_point(|p| p.device_s <= mean_s);
    let at = at.clamp(1, hull.len().checked_sub(1).filter(|&end| end > 0)?);
    let (a, b) = (hull[at - 1], hull[at]);
    Some((b.host_s - a.host_s) / (b.device_s - a.device_s))
}

/// Positive where the way from `a` over `b` to `c` turns up.
fn turn(a: &Point, b: &Point, c: &Point) -> f64 {
    (b.device_s - a.device_s) * (c.host_s - a.host_s)
        - (b.host_s - a.host_s) * (c.device_s - a.device_s)
}

/// The line as it is known by now, from the last minute at most.
#[derive(Clone, Debug)]
pub(super) struct Envelope {
    line: Line,
    skew_max: f64,
    slope_s_min: f64,
    window_s: f64,
    /// One point for each quarter of a second, the lowest.
    lowest: VecDeque<(i64, Point)>,
    refitted_s: f64,
}

impl Envelope {
    /// Longest look back, s: a crystal keeps its rate longer than a chip without one.
    const WINDOW_S: f64 = 60.0;
    const WINDOW_COUNT_S: f64 = 30.0;
    const BINS_A_SECOND: f64 = 4.0;

    /// From the first point of a segment, with the slope known so far.
    pub(super) fn new(timing: &Timing, slope: f64, first: Point) -> Self {
        Self {
            line: Line {
                slope,
                through: first,
            },
            skew_max: timing.skew_max(),
            slope_s_min: timing.slope_s_min(),
            window_s: if timing.ticks.is_some() {
                Self::WINDOW_S
            } else {
                Self::WINDOW_COUNT_S
            },
            lowest: VecDeque::new(),
            refitted_s: first.device_s,
        }
    }

    pub(super) const fn line(&self) -> &Line {
        &self.line
    }

    /// Takes in the newest sample of a packet.
    pub(super) fn add(&mut self, point: Point) {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "seconds of a run, times four"
        )]
        let bin = (point.device_s * Self::BINS_A_SECOND).floor() as i64;
        let delay_s = self.line.delay_s(&point);
        match self.lowest.back_mut() {
            Some((last, lowest)) if *last >= bin => {
                if delay_s < self.line.delay_s(lowest) {
                    *lowest = point;
                }
            }
            _ => self.lowest.push_back((bin, point)),
        }
        while let Some((_, oldest)) = self.lowest.front()
            && oldest.device_s < point.device_s - self.window_s
        {
            self.lowest.pop_front();
        }
        if delay_s < 0.0 {
            self.line.through = point;
        }
        if 1.0 <= point.device_s - self.refitted_s {
            self.refitted_s = point.device_s;
            self.refit();
        }
    }

    fn refit(&mut self) {
        let mut points: Vec<Point> = self.lowest.iter().map(|(_, point)| *point).collect();
        points.sort_by(|a, b| a.device_s.total_cmp(&b.device_s));
        let (Some(first), Some(last)) = (points.first(), points.last()) else {
            return;
        };
        let line = if self.slope_s_min <= last.device_s - first.device_s {
            lower_line(&points, self.skew_max)
        } else {
            Line::below(&points, self.line.slope)
        };
        self.line = line.unwrap_or(self.line);
    }
}
