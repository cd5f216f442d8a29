//! The same raise by somebody else's filter: the `ahrs` crate's gradient filter, which shares nothing with ours.

use ahrs::{Ahrs as _, Madgwick};
use nalgebra::{UnitQuaternion, Vector3};

use crate::imu::Imu;

/// Gain: the best of a grid on open recordings (`docs/validation.md`).
const BETA: f64 = 0.033;
/// Its own expanded uncertainty, rad: 1.6° RMS on the same recordings, twice.
pub(crate) const EXPANDED_RAD: f64 = 0.056;

/// Angle by which `distal` has risen at the last reading, rad, starting level with the given up direction.
pub(crate) fn rise_rad(
    imus: &[Imu],
    step_s: f64,
    bias_rad_s: Vector3<f64>,
    up: Vector3<f64>,
    distal: Vector3<f64>,
) -> Option<f64> {
    let start = UnitQuaternion::rotation_between(&up, &Vector3::z())?;
    let mut filter = Madgwick::new_with_quat(step_s, BETA, start);
    let forward = start * distal;
    let mut before_s = imus.first()?.t_s - step_s;
    for imu in imus {
        // The crate has a fixed step: a longer one is a proportionally faster turn.
        let stretch = (imu.t_s - before_s) / step_s;
        before_s = imu.t_s;
        filter
            .update_imu(&((imu.gyro_rad_s - bias_rad_s) * stretch), &imu.accel_m_s2)
            .ok()?;
    }
    let foot = filter.quat * distal;
    let ahead = foot.dot(&Vector3::new(forward.x, forward.y, 0.0).try_normalize(1e-6)?);
    Some(foot.z.atan2(ahead))
}
