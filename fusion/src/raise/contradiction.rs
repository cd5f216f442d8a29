//! Does a unit's accelerometer agree with its own gyroscope? Told from two quiet moments: the turn between them,
//! integrated, must carry gravity from where it was to where it is.

use nalgebra::{UnitQuaternion, Vector3};

use crate::imu::turned;
use crate::stream::Stream;

/// A moment is quiet if the specific force scatters less than this about its mean, m/s².
const QUIET_M_S2: f64 = 0.8;
/// And its mean has nearly the length of gravity, m/s².
const LENGTH_M_S2: f64 = 1.0;

/// Angle between gravity as carried by the gyroscope and as felt, rad; `None` if either moment isn't quiet.
pub(crate) fn contradiction_rad(
    stream: &Stream,
    from: (usize, usize),
    to: (usize, usize),
    bias_rad_s: Vector3<f64>,
) -> Option<f64> {
    let before = quiet_mean(stream, from)?;
    let after = quiet_mean(stream, to)?;
    let (a, b) = (usize::midpoint(from.0, from.1), usize::midpoint(to.0, to.1));
    let mut q = UnitQuaternion::identity();
    for k in a + 1..=b {
        let rate = stream.imus[k].gyro_rad_s - bias_rad_s;
        q = turned(&q, rate, stream.t_s(k) - stream.t_s(k - 1));
    }
    let carried = q.inverse() * before;
    Some(carried.cross(&after).norm().atan2(carried.dot(&after)))
}

fn quiet_mean(stream: &Stream, (first, last): (usize, usize)) -> Option<Vector3<f64>> {
    let slice = stream.imus.get(first..=last)?;
    let mean = slice.iter().map(|i| i.accel_m_s2).sum::<Vector3<f64>>() / slice.len() as f64;
    let scatter = slice
        .iter()
        .map(|i| (i.accel_m_s2 - mean).norm_squared())
        .sum::<f64>()
        / slice.len() as f64;
    let quiet = scatter.sqrt() < QUIET_M_S2 && (mean.norm() - 9.81).abs() < LENGTH_M_S2;
    quiet.then_some(mean)
}
