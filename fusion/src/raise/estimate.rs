//! One least-squares estimate over all raises of a shin: what the gyroscope and the accelerometer together say of
//! their errors, and so how each raise's course has to be corrected and how well it is then known.
//!
//! The gyroscope's course of a raise is exact but for its bias and scale. The accelerometer sees the same tilt, plus
//! its own offset and scale, plus the swing of a leg that is a rigid arm about the hip. All of these are small, so
//! everything is linear: unknown to the whole run are offset and scale of the accelerometer, scale of the gyroscope,
//! the arm and gravity; unknown to each raise are the tilt of its zero and the bias. What is known beforehand (limits,
//! flat recording, rests) enters as prior. Rests, holds and slow stretches weigh themselves: over a long stretch the
//! mean acceleration is the change of a small velocity by a long time.

use nalgebra::{SMatrix, SVector, Vector3};

use crate::stream::Stream;

use super::trace::Point;

/// Unknown to the run: accelerometer offset, accelerometer scale, gyroscope scale (3 each), arm (3), gravity (1).
const RUN: usize = 13;
const ACCEL_SCALE: usize = 3;
const GYRO_SCALE: usize = 6;
const ARM: usize = 9;
const GRAVITY: usize = 12;
/// Unknown to one raise: tilt of the zero (1), bias (3).
const ONE: usize = 4;

type RunVec = SVector<f64, RUN>;
type RunMat = SMatrix<f64, RUN, RUN>;
type OneVec = SVector<f64, ONE>;
type OneMat = SMatrix<f64, ONE, ONE>;
type Cross = SMatrix<f64, RUN, ONE>;

/// Time over which the specific force is averaged, s.
const BLOCK_S: f64 = 0.4;
/// Normal gravity, m/s², and how far it may be off anywhere on earth.
const G: f64 = 9.806;
const G_SD: f64 = 0.015;
/// Length of the arm from the hip to a shin sensor, m, and its spread; across the leg it is near zero.
const ARM_M: f64 = 0.6;
const ARM_SD_M: f64 = 0.15;
const ARM_ACROSS_SD_M: f64 = 0.08;
/// Velocity that no rigid arm explains, m/s: hips and flesh move. First guess; the residuals correct it.
const LOOSE_M_S: f64 = 0.02;
const LOOSE_M_S_MIN: f64 = 0.004;
/// What a mean of the accelerometer may be off for reasons not named, m/s².
const FLOOR_M_S2: f64 = 0.01;
/// Tilt of a zero, rad.
const ZERO_SD_RAD: f64 = 0.05;
/// A block whose specific force leaves gravity's length by more is a blow, not a swing, m/s².
const BLOW_M_S2: f64 = 12.0;
/// Residuals beyond this many standard deviations weigh less and less (Huber).
const HUBER: f64 = 2.0;

/// Neighbouring blocks of one swing miss in the same direction, so together they tell less than as many strangers: the
/// variance of what they tell is larger by this.
const ALIKE: f64 = 1.25;

/// One raise as the estimate takes it.
pub(crate) struct Episode<'a> {
    /// Its course by the gyroscope.
    pub(crate) points: &'a [Point],
    /// Index of the first point in the stream.
    pub(crate) first: usize,
    /// Spread of the bias that was taken off.
    pub(crate) bias_sd_rad_s: f64,
    /// Direction to the foot, sensor axes.
    pub(crate) distal: Vector3<f64>,
}

/// What came out for one raise.
#[derive(Clone, Debug)]
pub(crate) struct Correction {
    bias_rad_s: Vector3<f64>,
    scale: Vector3<f64>,
    /// Joint covariance of bias (first three) and gyroscope scale.
    cov: SMatrix<f64, 6, 6>,
}

impl Correction {
    /// The angle with what was learned, rad.
    pub(crate) fn angle_rad(&self, point: &Point) -> f64 {
        point.angle_rad
            + point.by_bias_s.dot(&self.bias_rad_s)
            + point.by_scale_rad.dot(&self.scale)
    }

    /// Standard uncertainty of the angle's gain from `zero` to `point`, rad.
    pub(crate) fn sd_rad(&self, point: &Point) -> f64 {
        let mut by = SVector::<f64, 6>::zeros();
        by.fixed_rows_mut::<3>(0).copy_from(&point.by_bias_s);
        by.fixed_rows_mut::<3>(3).copy_from(&point.by_scale_rad);
        by.dot(&(self.cov * by)).max(0.0).sqrt()
    }
}

/// One averaged stretch: what is seen along x and z, and what each unknown would add.
struct Row {
    seen: f64,
    by_run: RunVec,
    by_one: OneVec,
    /// 2 / T²: multiplies the loose velocity's variance.
    inverse_time_square: f64,
    floor_var: f64,
}

/// Solves for all raises of a shin together. One correction an episode.
pub(crate) fn estimate(stream: &Stream, episodes: &[Episode<'_>]) -> Vec<Correction> {
    let rows: Vec<Vec<Row>> = episodes
        .iter()
        .map(|episode| rows(stream, episode))
        .collect();
    let mut loose_m_s = LOOSE_M_S;
    let mut solution = solve(stream, episodes, &rows, loose_m_s, None);
    for _ in 0..3 {
        loose_m_s = refit_loose(&rows, &solution).unwrap_or(loose_m_s);
        solution = solve(stream, episodes, &rows, loose_m_s, Some(&solution));
    }
    solution
        .ones
        .into_iter()
        .map(|one| correction(&one, &solution.run_cov, &solution.run))
        .collect()
}

struct OneSolution {
    x: OneVec,
    inverse: OneMat,
    cross: Cross,
}

struct Solution {
    run: RunVec,
    run_cov: RunMat,
    ones: Vec<OneSolution>,
}

impl Solution {
    fn residual(&self, row: &Row, one: usize) -> f64 {
        row.seen - row.by_run.dot(&self.run) - row.by_one.dot(&self.ones[one].x)
    }
}

/// Normal equations with each raise's own unknowns eliminated (Schur complement): cost grows with the number of
/// raises, not with its cube.
fn solve(
    stream: &Stream,
    episodes: &[Episode<'_>],
    rows: &[Vec<Row>],
    loose_m_s: f64,
    before: Option<&Solution>,
) -> Solution {
    let (mut normal, mut right) = run_prior(stream, episodes);
    let mut parts: Vec<(OneMat, Cross, OneVec)> = Vec::with_capacity(rows.len());
    for (k, (episode, rows)) in episodes.iter().zip(rows).enumerate() {
        let mut own = OneMat::from_diagonal(&OneVec::new(
            ZERO_SD_RAD.powi(-2),
            episode.bias_sd_rad_s.powi(-2),
            episode.bias_sd_rad_s.powi(-2),
            episode.bias_sd_rad_s.powi(-2),
        ));
        let mut cross = Cross::zeros();
        let mut own_right = OneVec::zeros();
        for row in rows {
            let var = loose_m_s.powi(2) * row.inverse_time_square + row.floor_var;
            let weight = before.map_or(1.0, |b| {
                let off = b.residual(row, k).abs() / var.sqrt();
                if off > HUBER { HUBER / off } else { 1.0 }
            }) / var;
            normal.ger(weight, &row.by_run, &row.by_run, 1.0);
            cross.ger(weight, &row.by_run, &row.by_one, 1.0);
            own.ger(weight, &row.by_one, &row.by_one, 1.0);
            right += row.by_run * (weight * row.seen);
            own_right += row.by_one * (weight * row.seen);
        }
        // The prior makes every own block invertible.
        let inverse = own
            .cholesky()
            .map_or_else(OneMat::zeros, |factor| factor.inverse());
        normal -= cross * inverse * cross.transpose();
        right -= cross * inverse * own_right;
        parts.push((inverse, cross, own_right));
    }
    let run_cov = normal
        .cholesky()
        .map_or_else(RunMat::zeros, |factor| factor.inverse());
    let run = run_cov * right;
    let ones = parts
        .into_iter()
        .map(|(inverse, cross, own_right)| OneSolution {
            x: inverse * (own_right - cross.transpose() * run),
            inverse,
            cross,
        })
        .collect();
    Solution { run, run_cov, ones }
}

fn run_prior(stream: &Stream, episodes: &[Episode<'_>]) -> (RunMat, RunVec) {
    let mut normal = RunMat::zeros();
    let mut right = RunVec::zeros();
    let calibration = &stream.calibration;
    if let Some(factor) = calibration.cov.cholesky() {
        normal
            .fixed_view_mut::<6, 6>(0, 0)
            .copy_from(&factor.inverse());
    }
    for k in 0..3 {
        normal[(GYRO_SCALE + k, GYRO_SCALE + k)] = calibration.gyro_scale_sd.powi(-2);
    }
    let along = episodes.iter().map(|e| e.distal).sum::<Vector3<f64>>();
    let along = along.try_normalize(1e-3).unwrap_or_else(Vector3::x);
    let weight = nalgebra::Matrix3::identity() * ARM_ACROSS_SD_M.powi(-2)
        + along * along.transpose() * (ARM_SD_M.powi(-2) - ARM_ACROSS_SD_M.powi(-2));
    normal.fixed_view_mut::<3, 3>(ARM, ARM).copy_from(&weight);
    right
        .fixed_rows_mut::<3>(ARM)
        .copy_from(&(weight * along * ARM_M));
    normal[(GRAVITY, GRAVITY)] = G_SD.powi(-2);
    (normal, right)
}

/// Velocity that is left over, m/s, from the residuals (median, so that blows don't count).
fn refit_loose(rows: &[Vec<Row>], solution: &Solution) -> Option<f64> {
    let mut sizes: Vec<f64> = rows
        .iter()
        .enumerate()
        .flat_map(|(k, rows)| {
            rows.iter()
                .map(move |row| solution.residual(row, k).abs() / row.inverse_time_square.sqrt())
        })
        .collect();
    if sizes.len() < 10 {
        return None;
    }
    let middle = sizes.len() / 2;
    let median = *sizes.select_nth_unstable_by(middle, f64::total_cmp).1;
    Some((median / 0.6745).clamp(LOOSE_M_S_MIN, 0.3))
}

fn rows(stream: &Stream, episode: &Episode<'_>) -> Vec<Row> {
    let mut out = Vec::new();
    let points = episode.points;
    let mut begin = 0;
    while begin + 1 < points.len() {
        let end = begin + points[begin..].partition_point(|p| p.t_s < points[begin].t_s + BLOCK_S);
        if end >= points.len() {
            break;
        }
        let imus = &stream.imus[episode.first + begin..=episode.first + end];
        let blow = imus
            .iter()
            .any(|i| (i.accel_m_s2.norm() - G).abs() > BLOW_M_S2);
        let gap = imus
            .windows(2)
            .any(|w| w[1].t_s - w[0].t_s > 3.5 * stream.step_s);
        if !blow && !gap {
            out.extend(block(imus, &points[begin..=end]));
        }
        begin = end;
    }
    out
}

/// Averages one block by the trapezoid rule in time.
fn block(imus: &[crate::Imu], points: &[Point]) -> [Row; 2] {
    let span_s = points[points.len() - 1].t_s - points[0].t_s;
    let mut force = Vector3::zeros();
    let mut by_offset = [Vector3::zeros(); 2];
    let mut by_scale = [Vector3::zeros(); 2];
    let (mut by_bias, mut by_gyro_scale) = (Vector3::zeros(), Vector3::zeros());
    for k in 0..points.len() {
        let before = if k > 0 {
            points[k].t_s - points[k - 1].t_s
        } else {
            0.0
        };
        let after = points.get(k + 1).map_or(0.0, |p| p.t_s - points[k].t_s);
        let weight = 0.5 * (before + after) / span_s;
        let (imu, point) = (&imus[k], &points[k]);
        let matrix = point.raise_from_sensor.to_rotation_matrix();
        force += matrix * imu.accel_m_s2 * weight;
        for (n, axis) in [0, 2].into_iter().enumerate() {
            let row = Vector3::from(matrix.matrix().row(axis).transpose());
            by_offset[n] += row * weight;
            by_scale[n] += row.component_mul(&imu.accel_m_s2) * weight;
        }
        by_bias += point.by_bias_s * weight;
        by_gyro_scale += point.by_scale_rad * weight;
    }
    let arm = arm_by(&points[points.len() - 1], imus[imus.len() - 1].gyro_rad_s)
        - arm_by(&points[0], imus[0].gyro_rad_s);
    let mut rows = [0, 1].map(|n| {
        let mut by_run = RunVec::zeros();
        by_run.fixed_rows_mut::<3>(0).copy_from(&by_offset[n]);
        by_run
            .fixed_rows_mut::<3>(ACCEL_SCALE)
            .copy_from(&by_scale[n]);
        by_run
            .fixed_rows_mut::<3>(ARM)
            .copy_from(&(arm.row([0, 2][n]).transpose() / span_s));
        Row {
            seen: 0.0,
            by_run,
            by_one: OneVec::zeros(),
            inverse_time_square: 2.0 / span_s.powi(2),
            floor_var: FLOOR_M_S2.powi(2),
        }
    });
    // A leg that is higher than the gyroscope says feels gravity further along x.
    rows[0].seen = force.x;
    rows[0].by_one[0] = G;
    rows[0]
        .by_one
        .fixed_rows_mut::<3>(1)
        .copy_from(&(by_bias * G));
    rows[0]
        .by_run
        .fixed_rows_mut::<3>(GYRO_SCALE)
        .copy_from(&(by_gyro_scale * G));
    rows[1].seen = force.z - G;
    rows[1].by_run[GRAVITY] = 1.0;
    rows
}

/// Velocity of the arm's end for each unit of arm, raise frame.
fn arm_by(point: &Point, rate_rad_s: Vector3<f64>) -> nalgebra::Matrix3<f64> {
    point.raise_from_sensor.to_rotation_matrix().matrix() * rate_rad_s.cross_matrix()
}

fn correction(one: &OneSolution, run_cov: &RunMat, run: &RunVec) -> Correction {
    let lever = one.inverse * one.cross.transpose();
    let own_cov = one.inverse + lever * run_cov * lever.transpose();
    let shared = -(lever * run_cov);
    let mut cov = SMatrix::<f64, 6, 6>::zeros();
    cov.fixed_view_mut::<3, 3>(0, 0)
        .copy_from(&own_cov.fixed_view::<3, 3>(1, 1));
    cov.fixed_view_mut::<3, 3>(3, 3)
        .copy_from(&run_cov.fixed_view::<3, 3>(GYRO_SCALE, GYRO_SCALE));
    let corner = shared.fixed_view::<3, 3>(1, GYRO_SCALE).into_owned();
    cov.fixed_view_mut::<3, 3>(0, 3).copy_from(&corner);
    cov.fixed_view_mut::<3, 3>(3, 0)
        .copy_from(&corner.transpose());
    Correction {
        bias_rad_s: one.x.fixed_rows::<3>(1).into(),
        scale: run.fixed_rows::<3>(GYRO_SCALE).into(),
        cov: cov * ALIKE,
    }
}
