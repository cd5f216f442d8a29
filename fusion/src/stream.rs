//! One sensor's part of a run, ready for the kernels: calibrated readings and smoothed tilt.

use nalgebra::Vector3;
use sensor::{Sample, Track};

use crate::calibrate::Calibration;
use crate::imu::Imu;
use crate::tilt::{TiltOutput, TiltParams, smooth};

/// One sensor over one run.
#[derive(Clone, Debug)]
pub(crate) struct Stream {
    /// Accelerometer corrected by the calibration.
    pub(crate) imus: Vec<Imu>,
    /// Smoothed tilt, one a reading.
    pub(crate) tilt: Vec<TiltOutput>,
    /// Usual time from one reading to the next, s.
    pub(crate) step_s: f64,
    /// What is known of the unit's errors.
    pub(crate) calibration: Calibration,
    /// Readings at which an accelerometer channel stands at its range, and a gyroscope channel.
    pub(crate) accel_saturated: Vec<usize>,
    pub(crate) gyro_saturated: Vec<usize>,
}

impl Stream {
    /// `None` if there is too little to work with.
    pub(crate) fn new(
        track: &Track,
        calibration: Calibration,
        params: &TiltParams,
    ) -> Option<Self> {
        const SAMPLES_MIN: usize = 20;
        if track.samples.len() < SAMPLES_MIN {
            return None;
        }
        let step_s = track.step_s();
        let imus: Vec<Imu> = track
            .samples
            .iter()
            .map(|sample| {
                let raw = Imu::from(sample);
                Imu {
                    accel_m_s2: calibration.corrected(raw.accel_m_s2),
                    ..raw
                }
            })
            .collect();
        let tilt = smooth(&params.coeffs(1.0 / step_s), &imus);
        Some(Self {
            accel_saturated: saturated(&track.samples, |s| s.accel_m_s2, ACCEL_RANGE_M_S2_MIN),
            gyro_saturated: saturated(&track.samples, |s| s.gyro_rad_s, GYRO_RANGE_RAD_S_MIN),
            imus,
            tilt,
            step_s,
            calibration,
        })
    }

    /// Up in sensor axes.
    pub(crate) fn up(&self, index: usize) -> Vector3<f64> {
        self.tilt[index].earth_from_sensor.inverse() * Vector3::z()
    }

    /// The gyroscope's bias as smoothed, rad/s.
    pub(crate) fn bias_rad_s(&self, index: usize) -> Vector3<f64> {
        self.tilt[index].bias_rad_s
    }

    /// Index of the first reading not before `t_s`; the last one if there is none.
    pub(crate) fn index_at(&self, t_s: f64) -> usize {
        self.imus
            .partition_point(|imu| imu.t_s < t_s)
            .min(self.imus.len() - 1)
    }

    /// How many readings make up a time, at least one.
    pub(crate) fn count_in(&self, time_s: f64) -> usize {
        count_in(time_s, self.step_s)
    }

    /// Scatter of single gyroscope readings, rad/s: from how much neighbours differ, in the quietest fifth of the run.
    pub(crate) fn rate_noise_rad_s(&self) -> f64 {
        let mut steps: Vec<f64> = self
            .imus
            .windows(3)
            .step_by(3)
            .map(|w| (w[0].gyro_rad_s - 2.0 * w[1].gyro_rad_s + w[2].gyro_rad_s).norm_squared())
            .collect();
        if steps.is_empty() {
            return 0.0;
        }
        let fifth = steps.len() / 5;
        let (quiet, _, _) = steps.select_nth_unstable_by(fifth, f64::total_cmp);
        if quiet.is_empty() {
            return 0.0;
        }
        // Second differences of white noise have six times its variance; three axes. The quietest fifth of a chi-square
        // with three degrees of freedom has a mean of 0.56 of 3.
        (quiet.iter().sum::<f64>() / quiet.len() as f64 / 6.0 / 0.56).sqrt()
    }

    /// The time of a reading.
    pub(crate) fn t_s(&self, index: usize) -> f64 {
        self.imus[index].t_s
    }

    /// Longest step between neighbouring readings from `from_s` to `to_s`, s.
    pub(crate) fn longest_step_s(&self, from_s: f64, to_s: f64) -> f64 {
        let first = self.index_at(from_s).saturating_sub(1);
        let last = self.index_at(to_s);
        self.imus[first..=last]
            .windows(2)
            .map(|w| w[1].t_s - w[0].t_s)
            .fold(0.0, f64::max)
    }
}

/// How many steps make up a time, at least one.
pub(crate) fn count_in(time_s: f64, step_s: f64) -> usize {
    let count = (time_s / step_s).round().clamp(1.0, 1e9);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 1 and 1e9"
    )]
    return count as usize;
}

/// Fewest repeats of the largest value that are no chance.
const REPEATS_MIN: usize = 3;
/// Slow sensors repeat values at rest; only readings this large can be a range, m/s² and rad/s.
const ACCEL_RANGE_M_S2_MIN: f32 = 18.0;
const GYRO_RANGE_RAD_S_MIN: f32 = 2.0;

/// Where a channel repeats its own largest value several times in a row: it stands at its range.
fn saturated(
    samples: &[Sample],
    channels: impl Fn(&Sample) -> [f32; 3],
    range_min: f32,
) -> Vec<usize> {
    let mut found = Vec::new();
    for axis in 0..3 {
        let value = |k: usize| channels(&samples[k])[axis].abs();
        let top = (0..samples.len()).map(value).fold(0.0, f32::max);
        if top < range_min {
            continue;
        }
        let mut begin = 0;
        for k in 0..=samples.len() {
            if k < samples.len() && value(k) >= top * (1.0 - 1e-4) {
                continue;
            }
            if k - begin >= REPEATS_MIN {
                found.extend(begin..k);
            }
            begin = k + 1;
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}
