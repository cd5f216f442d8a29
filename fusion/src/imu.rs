//! What the kernels take: one reading in seconds, m/s² and rad/s, as `f64` vectors.

use nalgebra::{UnitQuaternion, Vector3};

/// A step of more than this many usual ones misses a reading.
pub(crate) const MISSING_STEPS: f64 = 1.6;

/// One reading, sensor axes, finite, in strictly increasing time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Imu {
    /// Seconds on the run's clock.
    pub t_s: f64,
    /// Specific force: +9.8 up at rest.
    pub accel_m_s2: Vector3<f64>,
    /// Angular rate.
    pub gyro_rad_s: Vector3<f64>,
}

impl From<&sensor::Sample> for Imu {
    fn from(sample: &sensor::Sample) -> Self {
        let wide = |v: [f32; 3]| Vector3::new(f64::from(v[0]), f64::from(v[1]), f64::from(v[2]));
        Self {
            t_s: sample.at.s(),
            accel_m_s2: wide(sample.accel_m_s2),
            gyro_rad_s: wide(sample.gyro_rad_s),
        }
    }
}

/// The rotation by a rotation vector, exact to rounding for the small steps between samples.
pub(crate) fn rotation(vector_rad: Vector3<f64>) -> UnitQuaternion<f64> {
    let square = vector_rad.norm_squared();
    if square > 1e-4 {
        return UnitQuaternion::from_scaled_axis(vector_rad);
    }
    let half_sinc = 0.5 - square / 48.0 + square * square / 3840.0;
    let cos = 1.0 - square / 8.0 + square * square / 384.0;
    UnitQuaternion::new_unchecked(nalgebra::Quaternion::from_parts(
        cos,
        vector_rad * half_sinc,
    ))
}

/// Turns the orientation by the rate held for `dt_s`.
pub(crate) fn turned(
    earth_from_sensor: &UnitQuaternion<f64>,
    rate_rad_s: Vector3<f64>,
    dt_s: f64,
) -> UnitQuaternion<f64> {
    earth_from_sensor * rotation(rate_rad_s * dt_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_and_large_rotations_agree_with_the_general_formula() {
        for angle in [0.0, 1e-9, 1e-4, 0.0099, 0.0101, 0.5, 3.0] {
            let vector = Vector3::new(1.0, -2.0, 0.5).normalize() * angle;
            let error = rotation(vector).angle_to(&UnitQuaternion::from_scaled_axis(vector));
            assert!(error < 1e-10, "{angle}: {error}");
        }
    }
}
