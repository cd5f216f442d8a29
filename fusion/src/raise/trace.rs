//! The course of one raise by the gyroscope alone, from its rest, with what each unknown would change.
//!
//! Frame of a raise: x is where the foot pointed at rest, z is up. Raising turns x towards z.

use nalgebra::{UnitQuaternion, Vector3};

use crate::imu::{Imu, MISSING_STEPS, turned};
use crate::stream::Stream;

/// One reading of the course.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Point {
    /// Seconds on the run's clock.
    pub(crate) t_s: f64,
    /// Orientation in the raise's frame.
    pub(crate) raise_from_sensor: UnitQuaternion<f64>,
    /// The raise angle, rad, beyond 90° without a jump.
    pub(crate) angle_rad: f64,
    /// What the angle gains for each rad/s of bias taken off too much, s.
    pub(crate) by_bias_s: Vector3<f64>,
    /// What the angle gains for each unit of scale taken off too much, rad.
    pub(crate) by_scale_rad: Vector3<f64>,
}

/// Where a raise's course begins and how far it is followed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Span {
    /// First and last reading.
    pub(crate) first: usize,
    pub(crate) last: usize,
    /// The zero is the mean over these readings.
    pub(crate) zero: (usize, usize),
}

/// Integrates the gyroscope over the span. `distal` is level at the zero, sensor axes.
pub(crate) fn trace(
    stream: &Stream,
    span: Span,
    distal: Vector3<f64>,
    up_at_zero: Vector3<f64>,
    bias_rad_s: Vector3<f64>,
) -> Vec<Point> {
    let imus = &stream.imus;
    let anchor = usize::midpoint(span.zero.0, span.zero.1);
    let raise_from_sensor = frame(distal, up_at_zero);
    let start = Point {
        t_s: imus[anchor].t_s,
        raise_from_sensor,
        angle_rad: 0.0,
        by_bias_s: Vector3::zeros(),
        by_scale_rad: Vector3::zeros(),
    };
    let mut points = vec![start; span.last - span.first + 1];
    let mut now = start;
    for k in anchor + 1..=span.last {
        let rate = rate_between(imus, k - 1, stream.step_s) - bias_rad_s;
        now = next(&now, rate, imus[k].t_s, distal);
        points[k - span.first] = now;
    }
    now = start;
    for k in (span.first..anchor).rev() {
        let rate = rate_between(imus, k, stream.step_s) - bias_rad_s;
        now = next(&now, rate, imus[k].t_s, distal);
        points[k - span.first] = now;
    }
    points
}

/// Rotation that brings `distal` to x and `up` to z.
fn frame(distal: Vector3<f64>, up: Vector3<f64>) -> UnitQuaternion<f64> {
    let left = up.cross(&distal);
    let columns =
        nalgebra::Matrix3::from_rows(&[distal.transpose(), left.transpose(), up.transpose()]);
    UnitQuaternion::from_rotation_matrix(&nalgebra::Rotation3::from_matrix_unchecked(columns))
}

/// Mean rate between a reading and the next. Where readings are missing between them, a cubic through both that keeps
/// the slopes at either side (Hermite) knows the bend that a straight line leaves out.
fn rate_between(imus: &[Imu], early: usize, step_s: f64) -> Vector3<f64> {
    let late = early + 1;
    let mean = 0.5 * (imus[early].gyro_rad_s + imus[late].gyro_rad_s);
    let dt_s = imus[late].t_s - imus[early].t_s;
    let slope = |k: usize| {
        let (a, b) = (imus.get(k)?, imus.get(k + 1)?);
        let usual = b.t_s - a.t_s < MISSING_STEPS * step_s;
        usual.then(|| (b.gyro_rad_s - a.gyro_rad_s) / (b.t_s - a.t_s))
    };
    if dt_s < MISSING_STEPS * step_s {
        return mean;
    }
    match (early.checked_sub(1).and_then(slope), slope(late)) {
        (Some(before), Some(after)) => mean + (before - after) * (dt_s / 12.0),
        _ => mean,
    }
}

/// One step forward or backward in time with the rate between.
fn next(from: &Point, rate: Vector3<f64>, t_s: f64, distal: Vector3<f64>) -> Point {
    let dt_s = t_s - from.t_s;
    let raise_from_sensor = turned(&from.raise_from_sensor, rate, dt_s);
    // Row y of the rotation: an error of rate about it lowers the leg.
    let row = raise_from_sensor.inverse() * Vector3::y();
    let foot = raise_from_sensor * distal;
    let mut angle_rad = foot.z.atan2(foot.x);
    // Past 180° there is no leg raise; below −90° there is none either. Keep the branch continuous.
    if angle_rad < -std::f64::consts::FRAC_PI_2 && from.angle_rad > std::f64::consts::FRAC_PI_2 {
        angle_rad += std::f64::consts::TAU;
    }
    Point {
        t_s,
        raise_from_sensor,
        angle_rad,
        by_bias_s: from.by_bias_s + row * dt_s,
        by_scale_rad: from.by_scale_rad + row.component_mul(&rate) * dt_s,
    }
}
