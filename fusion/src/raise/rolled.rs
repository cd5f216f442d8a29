//! The bone's own axis, where the foot was rolled in and out while lying: the sensor then turns about nothing else.
//!
//! Raises alone leave the direction to the foot open where legs turn about themselves on the way up, and most where they
//! don't rise far. A few rolls of the foot show it. What is shown is checked: something must have turned, about one axis,
//! and that axis must lie as level as a leg does.

use nalgebra::{Matrix3, SymmetricEigen, Vector3};

use crate::stream::Stream;

/// A stretch of readings in which the foot was rolled: first and last.
pub(crate) type Rolls = (usize, usize);

/// The axis as it was shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Shown {
    /// Sensor axes, unit length, its sign open.
    pub(crate) axis: Vector3<f64>,
    /// Standard deviation of its heading, rad.
    pub(crate) sd_rad: f64,
}

/// The foot must have rolled this far from one side to the other, rad.
const ROLL_RAD_MIN: f64 = 0.17;
/// Part of the turning that may be about other axes, as a ratio of mean square rates.
const ASIDE_SHARE_MAX: f64 = 0.1;
/// The axis of a lying leg is no steeper than this, as a sine.
const STEEP_MAX: f64 = 0.35;
/// How far the axis a foot rolls about lies from the direction whose angle is measured, rad (this project's policy).
const AXIS_SD_RAD: f64 = 0.026;
/// Rolls in and out that turning about other axes is averaged over.
const ROLLS: f64 = 3.0;

/// The axis of all rolls of a run together; `None` where they don't show one.
pub(crate) fn shown(stream: &Stream, rolls: &[Rolls]) -> Option<Shown> {
    let mut turning = Matrix3::zeros();
    let mut up = Vector3::zeros();
    for &(first, last) in rolls {
        for k in first + 1..=last {
            let rate = stream.imus[k].gyro_rad_s - stream.bias_rad_s(k);
            turning += rate * rate.transpose() * (stream.t_s(k) - stream.t_s(k - 1));
            up += stream.up(k);
        }
    }
    let up = up.try_normalize(1e-6)?;
    let eigen = SymmetricEigen::new(turning);
    let most = eigen.eigenvalues.imax();
    let axis: Vector3<f64> = eigen.eigenvectors.column(most).into();
    let aside = eigen.eigenvalues.sum() - eigen.eigenvalues[most];
    let share = (aside / eigen.eigenvalues[most]).max(0.0);
    let level = axis.dot(&up).abs() <= STEEP_MAX;
    let far = rolls
        .iter()
        .any(|&rolls| rolled_rad(stream, rolls, axis) >= ROLL_RAD_MIN);
    (share <= ASIDE_SHARE_MAX && level && far).then(|| Shown {
        axis,
        sd_rad: AXIS_SD_RAD.hypot((share / ROLLS).sqrt()),
    })
}

/// From the furthest on one side to the furthest on the other, about an axis, rad.
fn rolled_rad(stream: &Stream, (first, last): Rolls, axis: Vector3<f64>) -> f64 {
    let (mut angle, mut low, mut high) = (0.0_f64, 0.0_f64, 0.0_f64);
    for k in first + 1..=last {
        let rate = stream.imus[k].gyro_rad_s - stream.bias_rad_s(k);
        angle += axis.dot(&rate) * (stream.t_s(k) - stream.t_s(k - 1));
        low = low.min(angle);
        high = high.max(angle);
    }
    high - low
}
