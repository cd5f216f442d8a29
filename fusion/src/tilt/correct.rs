//! The end of a block: errors predicted over it, then compared with no velocity and, at rest, with no rate.

use super::{
    Added, BIAS, Block, Correction, FIRST_VELOCITY_SD_M_S, MOVING, Matrix, OBSERVED_MAX, Observed,
    RESPONSE, TILT, TiltParams, TiltState, VELOCITY, Vector,
};

/// Largest velocity the filter learns, m/s: a limb is not faster for seconds on end, and a wrong tilt must not
/// teach the filter to accept the velocity it fakes.
const VELOCITY_MAX_M_S: f64 = 1.0;
/// Ends the block: predicts the errors over it, then compares with no velocity and, at rest, no rate.
pub(super) fn correct(params: &TiltParams, state: &mut TiltState) -> Correction {
    let block = std::mem::take(&mut state.block);
    let added = added(&block);
    let predicted_cov = carried(&state.cov, &added) + process_noise(params, &block);
    state.estimate.velocity_m_s += block.velocity_m_s;
    let predicted = state.estimate;

    let mean_rate = block.gyro_sum_rad_s / block.samples;
    let mean_accel = block.accel_sum_m_s2 / block.samples;
    // An even turn is as steady as a rest; what tells them apart is that a gyroscope's bias is small.
    let bias_sd = state
        .cov
        .fixed_view::<3, 3>(BIAS, BIAS)
        .diagonal()
        .max()
        .sqrt();
    let unlike_bias = (mean_rate - predicted.bias_rad_s).norm();
    if block.gap_s > 0.0 || unlike_bias > params.rest_rate_rad_s + BIAS_SDS_MAX * bias_sd {
        state.rest.interrupt();
    } else {
        state
            .rest
            .push(params, block.duration_s, mean_rate, mean_accel);
    }
    let at_rest = state.rest.lasted_s() >= params.rest_min_s;

    let mut update = Update {
        by: Vector::zeros(),
        cov: predicted_cov,
        observed: [None; OBSERVED_MAX],
    };
    let speed_square = if at_rest {
        params.velocity_rest_m_s.powi(2)
    } else {
        state
            .velocity_square
            .clamp(params.velocity_min_m_s.powi(2), VELOCITY_MAX_M_S.powi(2))
    };
    // A velocity that lasts repeats itself in neighbouring blocks: together they tell as little as one in `2 lasts`.
    let velocity_var = speed_square * (2.0 * params.velocity_lasts_s / block.duration_s).max(1.0);
    for axis in 0..2 {
        update.observe(VELOCITY + axis, -predicted.velocity_m_s[axis], velocity_var);
    }
    if at_rest {
        let rate_var = state.rest.rate_var() + params.rest_rate_sd_rad_s.powi(2);
        for axis in 0..3 {
            update.observe(
                BIAS + axis,
                mean_rate[axis] - predicted.bias_rad_s[axis],
                rate_var,
            );
        }
    }
    state.cov = (update.cov + update.cov.transpose()) * 0.5;
    state.estimate = predicted.corrected(&update.by);
    let share = (block.duration_s / params.velocity_learn_s).min(1.0);
    state.velocity_square +=
        share * (0.5 * state.estimate.velocity_m_s.norm_squared() - state.velocity_square);
    Correction {
        added,
        observed: update.observed,
        updated: state.estimate,
        updated_cov: state.cov,
        at_rest,
    }
}

/// What errors at the block's start add to tilt and velocity at its end.
fn added(block: &Block) -> Added {
    let lift = block.vertical_m_s; // a tilt error turns the vertical force into horizontal velocity
    let mut added = Added::zeros();
    added
        .fixed_view_mut::<2, 3>(TILT, BIAS)
        .copy_from(&-block.turn_s);
    for (row, turn_rate_rad) in block.turn_rate_rad.iter().enumerate() {
        for (k, turned) in turn_rate_rad.iter().enumerate() {
            added[(TILT + row, RESPONSE + k)] = -turned;
        }
    }
    added[(VELOCITY, TILT + 1)] = lift;
    added[(VELOCITY + 1, TILT)] = -lift;
    for axis in 0..3 {
        added[(VELOCITY, BIAS + axis)] = -0.5 * lift * block.turn_s[(1, axis)];
        added[(VELOCITY + 1, BIAS + axis)] = 0.5 * lift * block.turn_s[(0, axis)];
    }
    added
}

/// The covariance at the block's end, before its noise: with F the identity plus `added` in its first rows, F C Fᵀ.
fn carried(cov: &Matrix, added: &Added) -> Matrix {
    let mut out = *cov;
    let rows = added * cov;
    let mut top = out.fixed_rows_mut::<MOVING>(0);
    top += rows;
    let columns = out * added.transpose();
    let mut left = out.fixed_columns_mut::<MOVING>(0);
    left += columns;
    out
}

/// What a block adds to the errors.
fn process_noise(params: &TiltParams, block: &Block) -> Matrix {
    let tilt_var = params.walk_rad_sqrt_s.powi(2) * block.duration_s
        + 0.5 * params.rate_error.powi(2) * block.rate_square_rad2_s
        + block.gap_angle_rad.powi(2).min(1.0);
    let velocity_var = ACCEL_WALK_M_S.powi(2) * block.duration_s
        + tilt_var * block.vertical_m_s.powi(2) / 3.0
        + (FIRST_VELOCITY_SD_M_S * (block.gap_s / params.velocity_lasts_s).min(1.0)).powi(2);
    let mut q = Vector::zeros();
    q.fixed_rows_mut::<2>(TILT).fill(tilt_var);
    q.fixed_rows_mut::<2>(VELOCITY).fill(velocity_var);
    q.fixed_rows_mut::<3>(BIAS)
        .fill(params.bias_walk_rad_s.powi(2) * block.duration_s.min(BIAS_WALK_S_MAX));
    Matrix::from_diagonal(&q)
}

/// A rate further from the bias than this many of its standard deviations, and the scatter of a rest, is a turn.
const BIAS_SDS_MAX: f64 = 4.0;
/// Random walk of the velocity from the accelerometer's noise, m/s/√s.
const ACCEL_WALK_M_S: f64 = 0.01;
/// A bias does not wander without end: longer gaps add no more than this many seconds, s.
const BIAS_WALK_S_MAX: f64 = 1000.0;

/// One-at-a-time measurement update of single components.
struct Update {
    by: Vector,
    cov: Matrix,
    observed: [Option<Observed>; OBSERVED_MAX],
}

impl Update {
    fn observe(&mut self, index: usize, seen: f64, var: f64) {
        let weight = (self.cov[(index, index)] + var).recip();
        let gain = self.cov.column(index) * weight;
        let row = self.cov.row(index).into_owned();
        let off = seen - self.by[index];
        self.by += gain * off;
        self.cov -= gain * row;
        if let Some(free) = self.observed.iter_mut().find(|one| one.is_none()) {
            *free = Some(Observed {
                index,
                gain,
                surprise: off * weight,
                weight,
            });
        }
    }
}
