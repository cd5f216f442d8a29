//! The sensor: what it makes of a true motion, and how far its make may be off.

use super::body::Pose;
use super::random::{Random, Wander};
use super::vector::Vector;
use crate::{Placement, RunTime, Sample, UnitLimits};

/// How good a make is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitGrade {
    /// No offset, no scale error.
    Perfect,
    /// ±4 mg, ±0.4 % on the accelerometer, ±0.4 % on the gyroscope, and it says so.
    Good,
    /// ±10 mg, ±1 %, ±1 %.
    Plain,
}

impl UnitGrade {
    /// Errors stay inside these.
    pub const fn limits(self) -> UnitLimits {
        match self {
            Self::Perfect => UnitLimits {
                accel_offset_m_s2: 0.0,
                accel_scale: 0.0,
                gyro_scale: 0.0,
            },
            Self::Good => UnitLimits {
                accel_offset_m_s2: 0.0392,
                accel_scale: 0.004,
                gyro_scale: 0.004,
            },
            Self::Plain => UnitLimits::PLAIN,
        }
    }
}

/// The sensors of a run: one make, one piece a placement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// The make.
    pub grade: UnitGrade,
    /// Which pieces: the same number and placement have the same offsets and scales in every run.
    pub seed: u64,
    /// Whether the track states the limits.
    pub states_limits: bool,
    /// White noise of an accelerometer sample, standard deviation, m/s².
    pub accel_noise_m_s2: f64,
    /// White noise of a gyroscope sample, standard deviation, deg/s.
    pub gyro_noise_deg_s: f64,
    /// Largest gyroscope bias when switched on, deg/s; drawn anew for each run.
    pub gyro_bias_deg_s: f64,
    /// How far the bias creeps while warming up, deg/s.
    pub gyro_drift_deg_s: f64,
}

impl Unit {
    /// Reads the truth.
    pub const PERFECT: Self = Self {
        grade: UnitGrade::Perfect,
        seed: 0,
        states_limits: false,
        accel_noise_m_s2: 0.0,
        gyro_noise_deg_s: 0.0,
        gyro_bias_deg_s: 0.0,
        gyro_drift_deg_s: 0.0,
    };

    /// A piece of this make with everyday noise.
    pub const fn of_grade(grade: UnitGrade, seed: u64) -> Self {
        Self {
            grade,
            seed,
            states_limits: true,
            accel_noise_m_s2: 0.01,
            gyro_noise_deg_s: 0.05,
            gyro_bias_deg_s: 1.0,
            gyro_drift_deg_s: 0.08,
        }
    }

    /// The fixed errors of the piece at a placement.
    pub fn errors(&self, placement: Placement) -> UnitErrors {
        let mut random = Random::new(self.seed, 0x0100 + placement as u64);
        let limits = self.grade.limits();
        UnitErrors {
            accel_offset_m_s2: random.within_each(limits.accel_offset_m_s2),
            accel_scale: random.within_each(limits.accel_scale),
            gyro_scale: random.within_each(limits.gyro_scale),
        }
    }
}

/// What a calibration could find out about one piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnitErrors {
    /// Added to each axis, m/s².
    pub accel_offset_m_s2: [f64; 3],
    /// Relative error of each axis.
    pub accel_scale: [f64; 3],
    /// Relative error of each gyroscope axis.
    pub gyro_scale: [f64; 3],
}

/// One piece in one run.
pub(super) struct Reader {
    errors: UnitErrors,
    unit: Unit,
    bias_rad_s: Vector,
    warming_rad_s: Vector,
    bias_wander: [Wander; 3],
    random: Random,
}

impl Reader {
    pub(super) fn new(unit: Unit, placement: Placement, run_seed: u64) -> Self {
        let mut random = Random::new(run_seed, 0x0200 + placement as u64);
        let limit = unit.gyro_bias_deg_s.to_radians();
        let [x, y, z] = random.within_each(limit);
        let drift = unit.gyro_drift_deg_s.to_radians();
        let [dx, dy, dz] = random.within_each(drift);
        let mut slow = || Wander::drawn(&mut random, 0.05 * drift, 0.01, 0.05);
        let bias_wander = [slow(), slow(), slow()];
        Self {
            errors: unit.errors(placement),
            unit,
            bias_rad_s: Vector::new(x, y, z),
            warming_rad_s: Vector::new(dx, dy, dz),
            bias_wander,
            random,
        }
    }

    fn bias_at(&self, t_s: f64) -> Vector {
        // Warming up takes minutes.
        let warmed = 1.0 - (-t_s / 120.0).exp();
        let [x, y, z] = &self.bias_wander;
        let wander = Vector::new(x.at(t_s), y.at(t_s), z.at(t_s));
        self.bias_rad_s + self.warming_rad_s * warmed + wander
    }

    /// One sample of a motion.
    pub(super) fn read(
        &mut self,
        motion: &dyn Fn(f64) -> Pose,
        gravity_m_s2: f64,
        t_s: f64,
    ) -> Option<Sample> {
        let (force, rate) = truth_in_sensor(motion, gravity_m_s2, t_s);
        let bias = self.bias_at(t_s).array();
        let (force, rate) = (force.array(), rate.array());
        let mut sample = Sample {
            at: RunTime::from_s(t_s)?,
            accel_m_s2: [0.0; 3],
            gyro_rad_s: [0.0; 3],
        };
        let gyro_noise = self.unit.gyro_noise_deg_s.to_radians();
        for axis in 0..3 {
            let accel = force[axis] * (1.0 + self.errors.accel_scale[axis])
                + self.errors.accel_offset_m_s2[axis]
                + self.random.normal(self.unit.accel_noise_m_s2);
            let gyro = rate[axis] * (1.0 + self.errors.gyro_scale[axis])
                + bias[axis]
                + self.random.normal(gyro_noise);
            sample.accel_m_s2[axis] = stored(accel);
            sample.gyro_rad_s[axis] = stored(gyro);
        }
        Some(sample)
    }
}

/// As samples keep it.
#[expect(
    clippy::cast_possible_truncation,
    reason = "samples are single precision, values far inside its range"
)]
pub(super) fn stored(value: f64) -> f32 {
    value as f32
}

/// Specific force (m/s²) and angular rate (rad/s) along the sensor's axes: from differences of the true
/// place and orientation over ± 0.2 ms, short against a heel's stop and long against rounding.
pub(super) fn truth_in_sensor(
    motion: &dyn Fn(f64) -> Pose,
    gravity_m_s2: f64,
    t_s: f64,
) -> (Vector, Vector) {
    let h = 2e-4;
    let (before, now, after) = (motion(t_s - h), motion(t_s), motion(t_s + h));
    let bend_m = after.position_m + before.position_m - now.position_m * 2.0;
    let force_in_earth = bend_m * (1.0 / (h * h)) + Vector::Z * gravity_m_s2;
    let force = now.earth_from_it.back().rotate(force_in_earth);
    let turned = before.earth_from_it.back() * after.earth_from_it;
    (force, turned.rotation_rad() * (0.5 / h))
}
