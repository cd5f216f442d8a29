//! Tilt of a whole recording: the causal filter forward, then every correction carried back (Rauch, Tung, Striebel,
//! AIAA Journal 3(8):1445–1450, 1965), so that each moment also knows what came after it.

use nalgebra::{UnitQuaternion, Vector3};

use crate::imu::{Imu, rotation, turned};

use super::{Correction, Estimate, TILT, TiltCoeffs, TiltOutput, TiltState, Trust, advance};

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

/// The backward pass.
fn carry_back(knots: &[(usize, Correction, Trust)]) -> Vec<Knot> {
    let mut smoothed: Vec<Knot> = Vec::with_capacity(knots.len());
    let mut later: Option<(&Correction, Estimate, super::Matrix)> = None;
    for (index, now, trust) in knots.iter().rev() {
        let (mut estimate, mut cov) = (now.updated, now.updated_cov);
        if let Some((next, next_smoothed, next_cov)) = &later {
            // A covariance that can't be inverted says nothing about the past: the causal answer stands.
            if let Some(factor) = next.predicted_cov.cholesky() {
                let gain = factor
                    .solve(&(next.transition * now.updated_cov))
                    .transpose();
                estimate = now
                    .updated
                    .corrected(&(gain * next_smoothed.minus(&next.predicted)));
                cov += gain * (next_cov - next.predicted_cov) * gain.transpose();
            }
        }
        let tilt_sd_rad = (0.5 * (cov[(TILT, TILT)] + cov[(TILT + 1, TILT + 1)]))
            .max(0.0)
            .sqrt();
        smoothed.push(Knot {
            index: *index,
            estimate,
            tilt_sd_rad,
            trust: Trust {
                at_rest: now.at_rest,
                settling: false,
                after_gap: trust.after_gap,
            },
        });
        later = Some((now, estimate, cov));
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
