//! Tilt of a whole recording: the causal filter forward, then every surprise carried back, so that each moment also knows
//! what came after it. This is the fixed-interval smoother of Bryson and Frazier in its form for single comparisons
//! (Bierman, Int. J. Control 18(1):65–75, 1973): it inverts nothing.

use nalgebra::{UnitQuaternion, Vector3};

use crate::imu::{Imu, rotation, turned};

use super::{
    Added, Correction, Estimate, MOVING, Matrix, Observed, TILT, TiltCoeffs, TiltOutput, TiltState,
    Trust, Vector, advance,
};

/// A moment at which the filter corrected itself, after smoothing.
struct Knot {
    index: usize,
    estimate: Estimate,
    tilt_sd_rad: f64,
    trust: Trust,
}

/// One answer a sample. Empty in, empty out.
pub fn smooth(coeffs: &TiltCoeffs, imus: &[Imu]) -> Vec<TiltOutput> {
    let Some((first, rest)) = imus.split_first() else {
        return Vec::new();
    };
    let mut state = TiltState::new(coeffs, first);
    let mut knots: Vec<(usize, Correction, Trust)> = Vec::new();
    for (index, imu) in (1..).zip(rest) {
        if let Some(correction) = advance(coeffs, &mut state, imu) {
            knots.push((index, correction, state.output(coeffs).trust));
        }
    }
    if knots.is_empty() {
        // Too short for a single correction: nothing to smooth.
        return vec![state.output(coeffs); imus.len()];
    }
    let knots = carry_back(&knots);
    between(imus, &knots)
}

/// What all later corrections say of the errors at a moment: their pull, and its covariance.
struct Later {
    pull: Vector,
    spread: Matrix,
}

impl Later {
    /// One comparison more.
    fn before(&mut self, one: &Observed) {
        let (index, gain) = (one.index, &one.gain);
        self.pull[index] -= one.surprise + gain.dot(&self.pull);
        let along = self.spread * gain;
        let whole = gain.dot(&along);
        let mut row = self.spread.row_mut(index);
        row -= along.transpose();
        let mut column = self.spread.column_mut(index);
        column -= along;
        self.spread[(index, index)] += whole + one.weight;
    }

    /// From a block's end to its start.
    fn through(&mut self, added: &Added) {
        self.pull += added.tr_mul(&self.pull.fixed_rows::<MOVING>(0));
        let rows = added.tr_mul(&self.spread.fixed_rows::<MOVING>(0));
        self.spread += rows;
        let columns = self.spread.fixed_columns::<MOVING>(0) * added;
        self.spread += columns;
    }
}

/// The backward pass.
fn carry_back(knots: &[(usize, Correction, Trust)]) -> Vec<Knot> {
    let mut smoothed: Vec<Knot> = Vec::with_capacity(knots.len());
    let mut later = Later {
        pull: Vector::zeros(),
        spread: Matrix::zeros(),
    };
    for (index, now, trust) in knots.iter().rev() {
        let tilt_var = |axis: usize| {
            let row = now.updated_cov.column(axis);
            now.updated_cov[(axis, axis)] - row.dot(&(later.spread * row))
        };
        smoothed.push(Knot {
            index: *index,
            estimate: now.updated.corrected(&-(now.updated_cov * later.pull)),
            tilt_sd_rad: (0.5 * (tilt_var(TILT) + tilt_var(TILT + 1)))
                .max(0.0)
                .sqrt(),
            trust: Trust {
                at_rest: now.at_rest,
                settling: false,
                after_gap: trust.after_gap,
            },
        });
        for one in now.observed.iter().rev().flatten() {
            later.before(one);
        }
        later.through(&now.added);
    }
    smoothed.reverse();
    smoothed
}

/// Integrates the gyroscope anew between knots and spreads what is left over evenly in time.
fn between(imus: &[Imu], knots: &[Knot]) -> Vec<TiltOutput> {
    let first = &knots[0];
    let answer = |knot: &Knot, earth_from_sensor| TiltOutput {
        earth_from_sensor,
        tilt_sd_rad: knot.tilt_sd_rad,
        bias_rad_s: knot.estimate.bias_rad_s,
        trust: knot.trust,
    };
    let mut out = vec![answer(first, first.estimate.earth_from_sensor); imus.len()];
    let mut q = first.estimate.earth_from_sensor;
    for k in (1..=first.index).rev() {
        q = turned(
            &q,
            first.estimate.rate(imus[k].gyro_rad_s),
            imus[k - 1].t_s - imus[k].t_s,
        );
        out[k - 1] = answer(first, q);
    }
    for (n, knot) in knots.iter().enumerate() {
        let next = knots.get(n + 1);
        let end = next.map_or(imus.len() - 1, |next| next.index);
        let bias = next.map_or(knot.estimate.bias_rad_s, |next| {
            0.5 * (knot.estimate.bias_rad_s + next.estimate.bias_rad_s)
        });
        let errors = Estimate {
            bias_rad_s: bias,
            ..knot.estimate
        };
        let mut q: UnitQuaternion<f64> = knot.estimate.earth_from_sensor;
        for k in knot.index + 1..=end {
            q = turned(
                &q,
                errors.rate(imus[k].gyro_rad_s),
                imus[k].t_s - imus[k - 1].t_s,
            );
            out[k] = answer(knot, q);
        }
        if let Some(next) = next {
            let left: Vector3<f64> = (next.estimate.earth_from_sensor * q.inverse()).scaled_axis();
            let span_s = imus[end].t_s - imus[knot.index].t_s;
            for k in knot.index + 1..=end {
                let share = (imus[k].t_s - imus[knot.index].t_s) / span_s;
                out[k].earth_from_sensor = rotation(left * share) * out[k].earth_from_sensor;
            }
        }
    }
    out
}
