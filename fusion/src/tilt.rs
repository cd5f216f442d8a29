//! Tilt of one sensor, causally: sample in, orientation out, using only the past.
//!
//! The gyroscope carries the orientation from sample to sample. Several times a second a small Kalman filter
//! compares it with the accelerometer: what that feels besides gravity is the derivative of a velocity, and a
//! strapped or hand-held sensor has no lasting velocity. So the filter integrates the horizontal specific force and
//! expects the integral to stay near zero. A tilt error makes it run away, a swing doesn't. How near zero is learned
//! from the motion; at rest it is zero. At rest the gyroscope also shows its bias.
//!
//! Heading is left to the gyroscope. *Earth* has z up and an arbitrary heading; *sensor* is the chip's own frame.
//! Split as in the design: [`TiltParams`] (the user's, free of the rate), [`TiltCoeffs`] (derived once),
//! [`TiltState`] (all that changes; clone it to save it) and [`TiltOutput`].

use nalgebra::{Matrix3, SMatrix, SVector, UnitQuaternion, Vector2, Vector3};

use crate::imu::{Imu, MISSING_STEPS, rotation, turned};

mod correct;
mod rest;
mod smooth;

use correct::correct;
use rest::RestWatch;
pub use smooth::smooth;

/// Errors the filter keeps: tilt about the two horizontal earth axes, horizontal velocity (2),
/// gyroscope bias (3) and response (9, column by column), the last two in sensor axes. The response is what its axes add
/// of a turn: their scale errors, and what one sees of a turn about another.
const DIM: usize = 16;
const TILT: usize = 0;
const VELOCITY: usize = 2;
const BIAS: usize = 4;
const RESPONSE: usize = 7;
/// Only tilt and velocity change from block to block; bias and response stay.
const MOVING: usize = 4;
type Vector = SVector<f64, DIM>;
type Matrix = SMatrix<f64, DIM, DIM>;
/// What each error at the start of a block adds to those of tilt and velocity at its end.
type Added = SMatrix<f64, MOVING, DIM>;

/// What a user may set. Defaults are this project's choice, tried on open recordings (`docs/validation.md`).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TiltParams {
    /// Time between corrections, s (0.02–0.3). Smaller costs time and gains nothing.
    pub block_s: f64,
    /// Random walk of the integrated angle, rad/√s. More trusts the accelerometer sooner.
    pub walk_rad_sqrt_s: f64,
    /// Part of the turning rate that is taken for error (timing, bending of the chip). More trusts the accelerometer in fast motion.
    pub rate_error: f64,
    /// Spread of the gyroscope's bias before the first rest, rad/s.
    pub bias_sd_rad_s: f64,
    /// Random walk of the bias, rad/s/√s. More forgets old rests sooner.
    pub bias_walk_rad_s: f64,
    /// Spread of the gyroscope's scale error, as a fraction.
    pub scale_sd: f64,
    /// Spread of the part of a turn about one axis that another axis sees: sensing axes are not quite square.
    pub cross_sd: f64,
    /// Smallest velocity a moving sensor is expected to have, m/s. Less trusts the accelerometer in slow motion.
    pub velocity_min_m_s: f64,
    /// For how long a velocity lasts, s.
    pub velocity_lasts_s: f64,
    /// Over how long the size of the velocity is learned, s.
    pub velocity_learn_s: f64,
    /// Velocity expected at rest, m/s.
    pub velocity_rest_m_s: f64,
    /// How far the mean rate of a block may lie from that of the rest so far, rad/s.
    pub rest_rate_rad_s: f64,
    /// How far the mean specific force of a block may lie from that of the rest so far and of its beginning, m/s².
    pub rest_accel_m_s2: f64,
    /// Shortest rest that counts, s.
    pub rest_min_s: f64,
    /// Spread of a resting body's rate over one block, rad/s, beside what is measured.
    pub rest_rate_sd_rad_s: f64,
}

impl Default for TiltParams {
    fn default() -> Self {
        Self {
            block_s: 0.15,
            walk_rad_sqrt_s: 0.1_f64.to_radians(),
            rate_error: 0.0005,
            bias_sd_rad_s: 1.0_f64.to_radians(),
            bias_walk_rad_s: 0.01_f64.to_radians(),
            scale_sd: 0.001,
            cross_sd: 0.002,
            velocity_min_m_s: 0.12,
            velocity_lasts_s: 0.5,
            velocity_learn_s: 5.0,
            velocity_rest_m_s: 0.05,
            rest_rate_rad_s: 1.0_f64.to_radians(),
            rest_accel_m_s2: 0.2,
            rest_min_s: 0.5,
            rest_rate_sd_rad_s: 0.1_f64.to_radians(),
        }
    }
}

/// Largest believable tilt error of the first sample, rad.
const FIRST_TILT_SD_RAD: f64 = 0.05;
/// Spread of the velocity at the first sample and after a gap, m/s.
const FIRST_VELOCITY_SD_M_S: f64 = 0.5;
/// The answer counts as settled below this, rad.
const SETTLED_SD_RAD: f64 = 0.0175;
/// A step of so many usual ones is a gap.
const GAP_STEPS: f64 = 3.0;
/// How long after a gap the answer says so, s.
const AFTER_GAP_S: f64 = 1.0;

/// Derived once from the parameters and the rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TiltCoeffs {
    params: TiltParams,
    /// A block ends with the sample nearest to its time: half a step early at most.
    block_end_s: f64,
    gap_s: f64,
    missing_s: f64,
}

impl TiltParams {
    /// For a nominal rate; the filter takes the true steps from the stamps.
    ///
    /// # Panics
    /// If the rate is not a positive number.
    pub fn coeffs(&self, rate_hz: f64) -> TiltCoeffs {
        assert!(rate_hz > 0.0 && rate_hz.is_finite(), "rate {rate_hz} Hz");
        let step_s = 1.0 / rate_hz;
        TiltCoeffs {
            params: *self,
            block_end_s: (self.block_s - 0.5 * step_s).max(0.0),
            missing_s: MISSING_STEPS * step_s,
            gap_s: (GAP_STEPS * step_s).max(self.block_s),
        }
    }
}

/// What the answer rests on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Trust {
    /// The sensor lies still; bias and tilt are being measured.
    pub at_rest: bool,
    /// Not yet known to a degree.
    pub settling: bool,
    /// Samples were missing less than a second ago.
    pub after_gap: bool,
}

/// Orientation and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TiltOutput {
    /// Turns sensor axes into earth axes, z up, heading arbitrary.
    pub earth_from_sensor: UnitQuaternion<f64>,
    /// Standard deviation of the tilt, rad, as the filter believes.
    pub tilt_sd_rad: f64,
    /// The gyroscope's bias, rad/s, sensor axes.
    pub bias_rad_s: Vector3<f64>,
    /// What it rests on.
    pub trust: Trust,
}

/// The filter's estimate besides the orientation.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Estimate {
    earth_from_sensor: UnitQuaternion<f64>,
    velocity_m_s: Vector2<f64>,
    bias_rad_s: Vector3<f64>,
    response: Matrix3<f64>,
}

impl Estimate {
    /// The rate with the known errors taken off.
    fn rate(&self, gyro_rad_s: Vector3<f64>) -> Vector3<f64> {
        let unbiased = gyro_rad_s - self.bias_rad_s;
        unbiased - self.response * unbiased
    }

    fn corrected(&self, by: &Vector) -> Self {
        Self {
            earth_from_sensor: rotation(Vector3::new(by[TILT], by[TILT + 1], 0.0))
                * self.earth_from_sensor,
            velocity_m_s: self.velocity_m_s + by.fixed_rows::<2>(VELOCITY),
            bias_rad_s: self.bias_rad_s + by.fixed_rows::<3>(BIAS),
            response: self.response + Matrix3::from_column_slice(&by.as_slice()[RESPONSE..]),
        }
    }
}

/// Sums over the samples since the last correction.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Block {
    duration_s: f64,
    samples: f64,
    gap_s: f64,
    /// ∫ of the two horizontal rows of `earth_from_sensor`, and of each of them times the rate.
    turn_s: SMatrix<f64, 2, 3>,
    turn_rate_rad: [Matrix3<f64>; 2],
    velocity_m_s: Vector2<f64>,
    vertical_m_s: f64,
    rate_square_rad2_s: f64,
    gap_angle_rad: f64,
    gyro_sum_rad_s: Vector3<f64>,
    accel_sum_m_s2: Vector3<f64>,
}

/// All that changes from sample to sample. A clone is a saved filter.
#[derive(Clone, Debug, PartialEq)]
pub struct TiltState {
    last: Imu,
    estimate: Estimate,
    cov: Matrix,
    block: Block,
    rest: RestWatch,
    velocity_square: f64,
    last_gap_s: f64,
    steps: u32,
}

/// One comparison of a correction with a single error.
#[derive(Clone, Copy, Debug)]
struct Observed {
    index: usize,
    gain: Vector,
    /// What was seen beyond what was expected, over its variance; and one over that variance.
    surprise: f64,
    weight: f64,
}

/// What one correction did; the smoother walks these backwards.
struct Correction {
    added: Added,
    observed: [Option<Observed>; OBSERVED_MAX],
    updated: Estimate,
    updated_cov: Matrix,
    at_rest: bool,
}

/// Two velocities and, at rest, three rates.
const OBSERVED_MAX: usize = 5;

impl TiltState {
    /// Starts from the direction of the first sample's specific force.
    pub fn new(coeffs: &TiltCoeffs, first: &Imu) -> Self {
        let params = &coeffs.params;
        let up = Vector3::z();
        let earth_from_sensor = UnitQuaternion::rotation_between(&first.accel_m_s2, &up)
            .unwrap_or_else(|| {
                UnitQuaternion::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI)
            });
        let mut sd = Vector::zeros();
        sd.fixed_rows_mut::<2>(TILT).fill(FIRST_TILT_SD_RAD);
        sd.fixed_rows_mut::<2>(VELOCITY).fill(FIRST_VELOCITY_SD_M_S);
        sd.fixed_rows_mut::<3>(BIAS).fill(params.bias_sd_rad_s);
        let cross = Matrix3::from_element(params.cross_sd);
        let response = cross + Matrix3::from_diagonal_element(params.scale_sd - params.cross_sd);
        sd.fixed_rows_mut::<9>(RESPONSE)
            .copy_from_slice(response.as_slice());
        Self {
            last: *first,
            estimate: Estimate {
                earth_from_sensor,
                ..Estimate::default()
            },
            cov: Matrix::from_diagonal(&sd.component_mul(&sd)),
            block: Block::default(),
            rest: RestWatch::new(params.rest_rate_sd_rad_s),
            velocity_square: FIRST_VELOCITY_SD_M_S.powi(2),
            last_gap_s: f64::NEG_INFINITY,
            steps: 0,
        }
    }

    /// Time of the last sample taken.
    pub const fn t_s(&self) -> f64 {
        self.last.t_s
    }

    /// The answer as it stands.
    pub fn output(&self, coeffs: &TiltCoeffs) -> TiltOutput {
        let tilt_sd_rad = (0.5 * (self.cov[(TILT, TILT)] + self.cov[(TILT + 1, TILT + 1)])).sqrt();
        TiltOutput {
            earth_from_sensor: self.estimate.earth_from_sensor,
            tilt_sd_rad,
            bias_rad_s: self.estimate.bias_rad_s,
            trust: Trust {
                at_rest: self.rest.lasted_s() >= coeffs.params.rest_min_s,
                settling: tilt_sd_rad > SETTLED_SD_RAD,
                after_gap: self.last.t_s - self.last_gap_s < AFTER_GAP_S,
            },
        }
    }
}

/// Takes one sample and answers for its time.
///
/// # Panics
/// If the sample is not later than the one before.
pub fn step(coeffs: &TiltCoeffs, state: &mut TiltState, imu: &Imu) -> TiltOutput {
    advance(coeffs, state, imu);
    state.output(coeffs)
}

/// Takes one sample; hands out the correction if the block ends with it.
fn advance(coeffs: &TiltCoeffs, state: &mut TiltState, imu: &Imu) -> Option<Correction> {
    let dt_s = imu.t_s - state.last.t_s;
    assert!(
        dt_s > 0.0,
        "time goes on: {} after {}",
        imu.t_s,
        state.last.t_s
    );
    let block = &mut state.block;
    let gap = dt_s > coeffs.gap_s;
    let missing = dt_s > coeffs.missing_s;
    // Where samples are missing the mean of both ends is the best guess of the rate between; it may be off by half their difference.
    let gyro = if missing {
        0.5 * (imu.gyro_rad_s + state.last.gyro_rad_s)
    } else {
        imu.gyro_rad_s
    };
    let rate = state.estimate.rate(gyro);
    state.estimate.earth_from_sensor = turned(&state.estimate.earth_from_sensor, rate, dt_s);
    state.steps += 1;
    if state.steps.is_multiple_of(64) {
        state.estimate.earth_from_sensor.renormalize_fast();
    }
    let matrix = state.estimate.earth_from_sensor.to_rotation_matrix();
    let rows = matrix.matrix().fixed_rows::<2>(0).into_owned();
    block.turn_s += rows * dt_s;
    let turn = (rate * dt_s).transpose();
    for (row, sum) in block.turn_rate_rad.iter_mut().enumerate() {
        *sum += rows.row(row).transpose() * turn;
    }
    let accel = matrix * imu.accel_m_s2;
    block.vertical_m_s += accel.z * dt_s;
    block.rate_square_rad2_s += rate.norm_squared() * dt_s;
    block.duration_s += dt_s;
    block.samples += 1.0;
    block.gyro_sum_rad_s += imu.gyro_rad_s;
    block.accel_sum_m_s2 += imu.accel_m_s2;
    if gap {
        block.gap_s += dt_s;
        block.gap_angle_rad +=
            0.5 * (imu.gyro_rad_s - state.last.gyro_rad_s).norm() * dt_s + 0.2 * rate.norm() * dt_s;
        state.last_gap_s = imu.t_s;
    } else {
        block.velocity_m_s += accel.xy() * dt_s;
    }
    state.last = *imu;
    (block.duration_s >= coeffs.block_end_s).then(|| correct(&coeffs.params, state))
}
