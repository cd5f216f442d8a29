//! Is the sensor lying still? Told block by block, from the recording's own scatter.

use nalgebra::Vector3;

use super::TiltParams;

/// How many blocks the running mean of a rest remembers.
const MEMORY_BLOCKS: f64 = 30.0;
/// Weight of a new block in the scatter of the rate.
const SCATTER_WEIGHT: f64 = 0.1;

/// Follows one stretch of stillness until it breaks. Its fields are its diagnostics.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct RestWatch {
    lasted_s: f64,
    blocks: f64,
    rate_mean_rad_s: Vector3<f64>,
    accel_mean_m_s2: Vector3<f64>,
    /// The specific force when the rest began: a slow turning shows against it, however slow.
    accel_first_m_s2: Vector3<f64>,
    rate_var: f64,
}

impl RestWatch {
    pub(super) fn new(rate_sd_rad_s: f64) -> Self {
        Self {
            lasted_s: 0.0,
            blocks: 0.0,
            rate_mean_rad_s: Vector3::zeros(),
            accel_mean_m_s2: Vector3::zeros(),
            accel_first_m_s2: Vector3::zeros(),
            rate_var: rate_sd_rad_s.powi(2),
        }
    }

    pub(super) fn lasted_s(&self) -> f64 {
        self.lasted_s
    }

    /// Variance of the mean rate of one block about the rest's own, (rad/s)².
    pub(super) fn rate_var(&self) -> f64 {
        self.rate_var
    }

    /// No rest now: samples are missing, or the sensor turns.
    pub(super) fn interrupt(&mut self) {
        self.blocks = 0.0;
        self.lasted_s = 0.0;
    }

    pub(super) fn push(
        &mut self,
        params: &TiltParams,
        duration_s: f64,
        rate_rad_s: Vector3<f64>,
        accel_m_s2: Vector3<f64>,
    ) {
        let rate_off = rate_rad_s - self.rate_mean_rad_s;
        let still = self.blocks > 0.0
            && rate_off.norm() < params.rest_rate_rad_s
            && (accel_m_s2 - self.accel_mean_m_s2).norm() < params.rest_accel_m_s2
            && (accel_m_s2 - self.accel_first_m_s2).norm() < params.rest_accel_m_s2;
        if !still {
            let rate_var = self.rate_var;
            *self = Self {
                lasted_s: duration_s,
                blocks: 1.0,
                rate_mean_rad_s: rate_rad_s,
                accel_mean_m_s2: accel_m_s2,
                accel_first_m_s2: accel_m_s2,
                rate_var,
            };
            return;
        }
        self.rate_var += SCATTER_WEIGHT * (rate_off.norm_squared() / 3.0 - self.rate_var);
        self.lasted_s += duration_s;
        self.blocks = (self.blocks + 1.0).min(MEMORY_BLOCKS);
        self.rate_mean_rad_s += rate_off / self.blocks;
        self.accel_mean_m_s2 += (accel_m_s2 - self.accel_mean_m_s2) / self.blocks;
        // A sensor warms and people sink into the table: after some seconds the beginning is no longer the measure.
        if self.blocks >= MEMORY_BLOCKS {
            self.accel_first_m_s2 = self.accel_mean_m_s2;
        }
    }
}
