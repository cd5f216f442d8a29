//! From the excursions of one shin to the corrected course of each raise.

use nalgebra::Vector3;

use crate::settings::Settings;
use crate::stream::Stream;

use super::alignment::{Alignment, Lift, learn};
use super::curve::Curve;
use super::estimate::{Correction, Episode, estimate};
use super::rest::{Rest, quiet_stretch};
use super::rolled::{Rolls, shown};
use super::segment::{Course, Excursion};
use super::trace::{Point, Span, trace};

/// One raise with its corrected course.
#[derive(Clone, Debug)]
pub(crate) struct Lifted {
    pub(crate) excursion: Excursion,
    pub(crate) t_s: Vec<f64>,
    /// Raise angle, rad, zero at rest.
    pub(crate) angle_rad: Vec<f64>,
    /// Index of the top within the course.
    pub(crate) top: usize,
    /// Leaving the rest by the edge and back on it, s.
    pub(crate) start_s: f64,
    pub(crate) end_s: f64,
    /// Indices of both within the course.
    pub(crate) start: usize,
    pub(crate) end: usize,
    /// Whether the quiet stretch before is long enough to count as a rest.
    pub(crate) own_rest: bool,
    /// Angle at the rest after the raise, rad.
    pub(crate) rest_shift_rad: Option<f64>,
    pub(crate) zero: Zero,
    points: Vec<Point>,
    correction: Correction,
    heading_sd_rad: f64,
}

/// The stretch a raise is measured from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Zero {
    /// First and last reading in the stream.
    pub(crate) first: usize,
    pub(crate) last: usize,
    /// Up there, sensor axes.
    pub(crate) up: Vector3<f64>,
    /// To the foot, level, sensor axes.
    pub(crate) distal: Vector3<f64>,
}

/// The zero is the mean over this much of the rest before, s: long enough for breath and flesh to average out.
const ZERO_S: f64 = 2.0;
/// The course is followed this far into the rests, s.
const INTO_REST_S: f64 = 2.0;
/// How fast a gyroscope's bias wanders, rad/s a second.
const BIAS_DRIFT_RAD_S2: f64 = 1.5e-5;
/// Spread of the tilt filter's bias where there is no rest in the whole run, rad/s.
const FILTER_BIAS_SD_RAD_S: f64 = 0.0035;
/// Above this share of its height the leg is at the top.
const TOP_SHARE: f64 = 0.85;
/// Orientations taken from each top for the alignment.
const TOP_COUNT: usize = 9;
/// A leg lies within this of its lowest point, rad, or within this share of the raise if that is less.
const LYING_RAD: f64 = 0.1;
const LYING_SHARE: f64 = 0.3;

/// Part of the shortest rest that must be quiet.
const QUIET_SHARE: f64 = 0.6;

/// Where an excursion begins and ends and what rests surround it.
struct Framed {
    excursion: Excursion,
    /// Last reading near the valley before, first near the valley after.
    begins: usize,
    ends: usize,
    before: Option<Rest>,
    after: Option<Rest>,
}

/// Corrected courses of all raises of a shin.
pub(crate) fn lifted(
    stream: &Stream,
    course: &Course,
    rolls: &[Rolls],
    settings: &Settings,
) -> Vec<Lifted> {
    let framed: Vec<Framed> = course
        .excursions
        .iter()
        .map(|e| frame(stream, course, e, quiet_min_s(settings)))
        .collect();
    let zeros: Vec<(usize, usize)> = framed.iter().map(|f| zero_stretch(stream, f)).collect();
    let lifts: Vec<Lift> = framed
        .iter()
        .zip(&zeros)
        .map(|(framed, zero)| lift(stream, course, framed, *zero))
        .collect();
    let Some(alignment) = learn(&lifts, course.axis, shown(stream, rolls)) else {
        return Vec::new();
    };
    let rests: Vec<&Rest> = framed
        .iter()
        .flat_map(|f| [&f.before, &f.after])
        .flatten()
        .collect();

    let mut traced = Vec::new();
    for ((framed, zero), lift) in framed.iter().zip(&zeros).zip(&lifts) {
        // A leg whose distal direction stands upright at rest is none that lies.
        let Some(distal) = alignment.distal_at(lift.up_at_rest) else {
            continue;
        };
        let zero = Zero {
            first: zero.0,
            last: zero.1,
            up: lift.up_at_rest,
            distal,
        };
        let middle_s = 0.5 * (stream.t_s(framed.begins) + stream.t_s(framed.ends));
        let (bias, bias_sd_rad_s) = bias_at(&rests, middle_s)
            .unwrap_or((stream.bias_rad_s(framed.begins), FILTER_BIAS_SD_RAD_S));
        let span = span(stream, framed, zero);
        traced.push((
            framed,
            zero,
            span,
            bias_sd_rad_s,
            trace(stream, span, distal, zero.up, bias),
        ));
    }
    let episodes: Vec<Episode<'_>> = traced
        .iter()
        .map(|(_, zero, span, bias_sd_rad_s, points)| Episode {
            points,
            first: span.first,
            bias_sd_rad_s: *bias_sd_rad_s,
            distal: zero.distal,
        })
        .collect();
    let corrections = estimate(stream, &episodes);
    traced
        .into_iter()
        .zip(corrections)
        .map(|((framed, zero, span, _, points), correction)| {
            finish(framed, zero, span, points, correction, &alignment, settings)
        })
        .collect()
}

/// A pause of the shortest rest keeps this much of it quiet: it takes a moment to settle and to start.
fn quiet_min_s(settings: &Settings) -> f64 {
    QUIET_SHARE * settings.rest_min_s
}

fn frame(stream: &Stream, course: &Course, excursion: &Excursion, quiet_min_s: f64) -> Framed {
    let elevation = &course.elevation_rad;
    let &Excursion {
        valley_before,
        top,
        valley_after,
        ..
    } = excursion;
    // The last quiet stretch before the leg goes up for good is its rest, even if it lay lower a while before.
    let lying_rad = (LYING_SHARE * excursion.height_rad).min(LYING_RAD);
    let low = |valley: usize, k: usize| (elevation[k] - elevation[valley]).abs() <= lying_rad;
    let begins = (valley_before..=top)
        .rev()
        .find(|&k| low(valley_before, k))
        .unwrap_or(valley_before);
    let ends = (top..=valley_after)
        .find(|&k| low(valley_after, k))
        .unwrap_or(valley_after);
    let back = (0..=begins)
        .rev()
        .take_while(|&k| low(valley_before, k))
        .last()
        .unwrap_or(begins);
    let on = (ends..elevation.len())
        .take_while(|&k| low(valley_after, k))
        .last()
        .unwrap_or(ends);
    Framed {
        excursion: excursion.clone(),
        begins,
        ends,
        before: quiet_stretch(stream, elevation, begins, back, quiet_min_s),
        after: quiet_stretch(stream, elevation, ends, on, quiet_min_s),
    }
}

/// The end of the rest before; without one, the few readings about the lowest point.
fn zero_stretch(stream: &Stream, framed: &Framed) -> (usize, usize) {
    if let Some(rest) = &framed.before {
        let from = stream.index_at(stream.t_s(rest.last) - ZERO_S);
        return (rest.first.max(from), rest.last);
    }
    let (valley, near) = (framed.excursion.valley_before, stream.count_in(0.05));
    (
        valley.saturating_sub(near),
        (valley + near).min(stream.imus.len() - 1),
    )
}

fn lift(stream: &Stream, course: &Course, framed: &Framed, zero: (usize, usize)) -> Lift {
    let ups = (zero.0..=zero.1)
        .map(|k| stream.up(k))
        .sum::<Vector3<f64>>();
    let elevation = &course.elevation_rad;
    let Excursion {
        valley_before,
        top,
        valley_after,
        ..
    } = framed.excursion;
    let level = elevation[valley_before] + TOP_SHARE * (elevation[top] - elevation[valley_before]);
    let high: Vec<usize> = (framed.begins..=valley_after)
        .filter(|&k| elevation[k] >= level)
        .collect();
    let stride = (high.len() / TOP_COUNT).max(1);
    Lift {
        up_at_rest: ups.try_normalize(1e-6).unwrap_or_else(Vector3::z),
        earth_from_rest: stream.tilt[usize::midpoint(zero.0, zero.1)].earth_from_sensor,
        earth_from_top: high
            .iter()
            .step_by(stride)
            .map(|&k| stream.tilt[k].earth_from_sensor)
            .collect(),
    }
}

fn span(stream: &Stream, framed: &Framed, zero: Zero) -> Span {
    let before = framed.before.as_ref().map_or(zero.first, |rest| rest.first);
    let after = framed.after.as_ref().map_or(framed.ends, |rest| rest.last);
    Span {
        first: before
            .max(stream.index_at(stream.t_s(zero.last) - INTO_REST_S))
            .min(zero.first),
        last: after
            .min(stream.index_at(stream.t_s(framed.ends) + INTO_REST_S))
            .max(framed.ends),
        zero: (zero.first, zero.last),
    }
}

/// Bias at a time from all rests, the nearer the better.
fn bias_at(rests: &[&Rest], t_s: f64) -> Option<(Vector3<f64>, f64)> {
    let (mut weights, mut sum) = (0.0, Vector3::zeros());
    for rest in rests {
        let weight =
            (rest.rate_sd_rad_s.powi(2) + (BIAS_DRIFT_RAD_S2 * (rest.mid_s - t_s)).powi(2)).recip();
        weights += weight;
        sum += rest.rate_rad_s * weight;
    }
    (weights > 0.0).then(|| (sum / weights, weights.recip().sqrt()))
}

fn finish(
    framed: &Framed,
    zero: Zero,
    span: Span,
    points: Vec<Point>,
    correction: Correction,
    alignment: &Alignment,
    settings: &Settings,
) -> Lifted {
    let mut angle_rad: Vec<f64> = points
        .iter()
        .map(|point| correction.angle_rad(point))
        .collect();
    let t_s: Vec<f64> = points.iter().map(|point| point.t_s).collect();
    let mean = |a: usize, b: usize, angles: &[f64]| {
        let slice = &angles[a - span.first..=b - span.first];
        slice.iter().sum::<f64>() / slice.len() as f64
    };
    let zero_angle_rad = mean(zero.first, zero.last, &angle_rad);
    for angle in &mut angle_rad {
        *angle -= zero_angle_rad;
    }
    let inside = |k: usize| k.clamp(span.first, span.last) - span.first;
    let after = framed.after.as_ref().filter(|rest| rest.first <= span.last);
    let rest_shift_rad = after.map(|rest| mean(rest.first, rest.last.min(span.last), &angle_rad));
    let curve = Curve {
        t_s: &t_s,
        angle_rad: &angle_rad,
    };
    let top = inside(framed.excursion.top);
    let edge = settings.edge.radians();
    let start = curve
        .below_before(top, inside(zero.first), edge)
        .unwrap_or(inside(framed.begins));
    let level_after = rest_shift_rad.unwrap_or(0.0) + edge;
    let end = curve
        .below_after(top, points.len() - 1, level_after)
        .unwrap_or(points.len() - 1);
    let start_s = curve.crossing_s(start, edge);
    let end_s = if end > 0 {
        curve.crossing_s(end - 1, level_after)
    } else {
        t_s[end]
    };
    Lifted {
        excursion: framed.excursion.clone(),
        top,
        start_s,
        end_s,
        start,
        end,
        own_rest: framed
            .before
            .as_ref()
            .is_some_and(|rest| rest.lasted_s >= quiet_min_s(settings)),
        rest_shift_rad,
        zero,
        heading_sd_rad: alignment.heading_sd_rad,
        correction,
        t_s,
        angle_rad,
        points,
    }
}

impl Lifted {
    /// The course to read numbers off.
    pub(crate) fn curve(&self) -> Curve<'_> {
        Curve {
            t_s: &self.t_s,
            angle_rad: &self.angle_rad,
        }
    }

    /// Index of the last point not after `t_s`.
    pub(crate) fn index_at(&self, t_s: f64) -> usize {
        self.t_s.partition_point(|&t| t <= t_s).saturating_sub(1)
    }

    /// What gyroscope and accelerometer leave open of the angle at a point, rad.
    pub(crate) fn sensor_sd_rad(&self, index: usize) -> f64 {
        self.correction.sd_rad(&self.points[index])
    }

    /// What the heading of the direction to the foot leaves open of the angle at a point, rad. The angle bends with the
    /// heading: where it happens not to change at first, a heading further off changes it all the same. So the variance
    /// over a normal heading has the slope in it and twice the square of the bend (JCGM 100:2008, 5.1.2, note).
    pub(crate) fn heading_sd_rad(&self, index: usize) -> f64 {
        let read = |heading_rad: f64| {
            let distal = crate::imu::rotation(self.zero.up * heading_rad) * self.zero.distal;
            let foot = self.points[index].raise_from_sensor * distal;
            let (sin, cos) = heading_rad.sin_cos();
            foot.z.atan2(foot.x * cos + foot.y * sin)
        };
        let here = read(0.0);
        let (left, right) = (
            read(self.heading_sd_rad) - here,
            read(-self.heading_sd_rad) - here,
        );
        (0.5 * (left - right)).hypot(std::f64::consts::SQRT_2 * 0.5 * (left + right))
    }
}
