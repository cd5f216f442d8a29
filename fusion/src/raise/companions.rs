//! The other segments during a raise: their tilt against their own rest, and what they follow by themselves.

use nalgebra::{Matrix3, Vector3};

use crate::stream::{Stream, count_in};

use super::compensation::Companion;
use super::lift::Lifted;
use super::segment::moving_mean;

/// Another sensor of the run with the course of its elevation.
#[derive(Clone, Copy)]
pub(crate) struct Other<'a> {
    pub(crate) stream: &'a Stream,
    pub(crate) elevation_rad: &'a [f64],
}

/// Healthy counter-rotation lags the raise by up to this, s; two signals span what lies between.
const SWAY_LAG_S: f64 = 0.2;
/// Usual share of the raise's rate that the other leg follows, s.
const SWAY_SHARE_S: f64 = 0.1;
/// Usual share of the thigh's own angle by which flesh shifts it against the shin.
const FLESH_SHARE: f64 = 0.08;
/// Usual share of the rate by which it does so, s.
const FLESH_SHARE_S: f64 = 0.02;

/// Sway smaller than this at the raises' usual rate says nothing about its axis, rad.
const SWAY_RAD_MIN: f64 = 0.004;
/// Time over which the other leg's acceleration is compared with its turning, s.
const BLOCK_S: f64 = 0.16;
/// A sensor above the ankle is at the end of a lever: a hand's breadth from the heel to a leg's length from the hip, m.
/// From the bone it rolls about, it is only the flesh's thickness away.
const LEVER_M: std::ops::Range<f64> = 0.1..1.5;
const ROLL_LEVER_M_MAX: f64 = 0.035;
/// A lever is believed from this many standard deviations on.
const LEVER_SIGMAS_MIN: f64 = 4.0;
/// Turning this many times the gyroscope's noise has a lever worth looking at.
const TURNING_NOISES_MIN: f64 = 3.0;

/// The axis about which turning lifts the other leg's foot, sensor axes. `principal` is the axis it mostly turned about.
///
/// A foot that rolls over turns the sensor about the bone, a leg that bends or lifts about an axis across it, and
/// gravity shows both as tilt. But bending moves the sensor up and down at the end of a lever, rolling doesn't: the
/// leg's own vertical acceleration tells them apart. Where it is too slow for that, healthy counter-rotation has to do.
pub(crate) fn lifting_axis(
    other: &Stream,
    raised: &Stream,
    raises: &[&Lifted],
    principal: Vector3<f64>,
) -> Vector3<f64> {
    let lever = lever(other, raises);
    if let Some(lever) = lever.as_ref().filter(|lever| lever.is_a_limb()) {
        return lever.level_m.normalize();
    }
    let sway = sway_axis(other, raised, raises).unwrap_or(principal);
    // What turns without a lever is the foot rolling over: the leg bends across.
    let rolls = lever.is_some_and(|lever| lever.is_a_roll_about(sway, other.rate_noise_rad_s()));
    if rolls {
        other.up(0).cross(&sway).normalize()
    } else {
        sway
    }
}

/// How far from its axis of turning a lying shin's sensor is, from its vertical acceleration.
struct Lever {
    /// Lever × up, m: along the axis that lifts, as long as the lever.
    level_m: Vector3<f64>,
    /// Standard deviation of that, m.
    sd_m: f64,
    /// Mean square of the angular acceleration, (rad/s²)².
    turning: Matrix3<f64>,
}

impl Lever {
    fn is_a_limb(&self) -> bool {
        LEVER_M.contains(&self.level_m.norm()) && self.level_m.norm() > LEVER_SIGMAS_MIN * self.sd_m
    }

    fn is_a_roll_about(&self, axis: Vector3<f64>, noise_rad_s: f64) -> bool {
        let noise_rad_s2 = std::f64::consts::SQRT_2 * noise_rad_s / BLOCK_S;
        let turning_rad_s2 = axis.dot(&(self.turning * axis)).sqrt();
        turning_rad_s2 > TURNING_NOISES_MIN * noise_rad_s2
            && self.level_m.dot(&axis).abs() < ROLL_LEVER_M_MAX
            && self.sd_m < 0.5 * ROLL_LEVER_M_MAX
    }
}

/// Least squares of vertical force on angular acceleration over all raises.
fn lever(other: &Stream, raises: &[&Lifted]) -> Option<Lever> {
    let block = other.count_in(BLOCK_S);
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    let (mut square, mut count, mut up) = (0.0, 0.0, Vector3::zeros());
    for lifted in raises {
        let (first, last) = (other.index_at(lifted.start_s), other.index_at(lifted.end_s));
        let rows: Vec<(Vector3<f64>, f64)> = (first..last.saturating_sub(block))
            .step_by(block)
            .map(|k| swing(other, k, k + block))
            .collect();
        let mean = rows.iter().map(|(_, force)| force).sum::<f64>() / rows.len().max(1) as f64;
        for (turning, force) in &rows {
            normal += turning * turning.transpose();
            right += turning * (force - mean);
            square += (force - mean).powi(2);
            count += 1.0;
        }
        up += other.up(first);
    }
    let up = up.try_normalize(1e-6)?;
    let turning = normal / count;
    // Turning about the vertical lifts nothing.
    normal += up * up.transpose() * normal.trace();
    let inverse = normal.try_inverse()?;
    let found = inverse * right;
    let scatter = (square - found.dot(&right)).max(0.0) / (count - 3.0_f64).max(1.0);
    let level_m = found - up * found.dot(&up);
    let direction = level_m.try_normalize(1e-9)?;
    let sd_m = (scatter * direction.dot(&(inverse * direction))).sqrt();
    Some(Lever {
        level_m,
        sd_m,
        turning,
    })
}

/// Angular acceleration and mean force along up between two readings.
fn swing(stream: &Stream, from: usize, to: usize) -> (Vector3<f64>, f64) {
    let span_s = stream.t_s(to) - stream.t_s(from);
    let turning = (stream.imus[to].gyro_rad_s - stream.imus[from].gyro_rad_s) / span_s;
    let force = (from..=to)
        .map(|k| stream.imus[k].accel_m_s2.dot(&stream.up(k)))
        .sum::<f64>();
    (turning, force / (to - from + 1) as f64)
}

/// From what follows the rate of the raise.
fn sway_axis(other: &Stream, raised: &Stream, raises: &[&Lifted]) -> Option<Vector3<f64>> {
    let mut follows = Vector3::zeros();
    let mut rates = 0.0;
    let mut count = 0.0;
    for lifted in raises {
        let (from, to) = (
            other.index_at(raised.t_s(lifted.zero.first)),
            other.index_at(raised.t_s(lifted.zero.last)),
        );
        let zero = (from..=to)
            .map(|k| other.up(k))
            .sum::<Vector3<f64>>()
            .normalize();
        let rate = lagged(&lifted.t_s, &rate(lifted), 0.5 * SWAY_LAG_S);
        for (t_s, rate) in lifted.t_s.iter().zip(&rate) {
            follows += other.up(other.index_at(*t_s)).cross(&zero) * *rate;
            rates += rate * rate;
            count += 1.0;
        }
    }
    let share = follows / rates;
    // The foot goes down while the raised leg goes up.
    (share.norm() * (rates / count).sqrt() > SWAY_RAD_MIN).then(|| -share.normalize())
}

/// Until this share of the height nothing is taken for a compensation at first.
const EARLY_SHARE: f64 = 0.4;

impl Other<'_> {
    /// Elevation at a time, straight between readings.
    fn at(&self, t_s: f64) -> f64 {
        let after = self
            .stream
            .imus
            .partition_point(|i| i.t_s < t_s)
            .clamp(1, self.stream.imus.len() - 1);
        let (t0, t1) = (self.stream.t_s(after - 1), self.stream.t_s(after));
        let share = ((t_s - t0) / (t1 - t0)).clamp(0.0, 1.0);
        self.elevation_rad[after - 1] * (1.0 - share) + self.elevation_rad[after] * share
    }

    /// Mean elevation over the raise's zero.
    fn zero_rad(&self, raised: &Stream, lifted: &Lifted) -> f64 {
        let (from_s, to_s) = (raised.t_s(lifted.zero.first), raised.t_s(lifted.zero.last));
        let count = 8;
        (0..=count)
            .map(|n| self.at(from_s + (to_s - from_s) * f64::from(n) / f64::from(count)))
            .sum::<f64>()
            / f64::from(count + 1)
    }

    /// Its change from the raise's zero to a time, rad.
    pub(crate) fn change_rad(&self, raised: &Stream, lifted: &Lifted, t_s: f64) -> f64 {
        self.at(t_s) - self.zero_rad(raised, lifted)
    }

    /// As the leg that should stay down.
    pub(crate) fn as_opposite(&self, raised: &Stream, lifted: &Lifted) -> Companion {
        let zero = self.zero_rad(raised, lifted);
        let tilt_rad = lifted.t_s.iter().map(|&t| self.at(t) - zero).collect();
        opposite(
            lifted.t_s.clone(),
            tilt_rad,
            &lifted.angle_rad,
            early(lifted),
        )
    }

    /// As the thigh of the raised leg: what it rises more than the shin is a bend of the knee.
    pub(crate) fn as_thigh(&self, raised: &Stream, lifted: &Lifted) -> Companion {
        let zero = self.zero_rad(raised, lifted);
        let thigh_rad = lifted.t_s.iter().map(|&t| self.at(t) - zero).collect();
        thigh(
            lifted.t_s.clone(),
            thigh_rad,
            &lifted.angle_rad,
            early(lifted),
        )
    }

    /// As the pelvis: its tilt for each rad of raise, over the first two thirds and the last third of the rise.
    pub(crate) fn as_pelvis(
        &self,
        raised: &Stream,
        lifted: &Lifted,
        top: usize,
    ) -> Option<(f64, f64)> {
        let zero = self.zero_rad(raised, lifted);
        let height = lifted.angle_rad[top];
        let share = |from: f64, to: f64| {
            let (mut xx, mut xy, mut x, mut y, mut n) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for k in lifted.start..=top {
                let angle = lifted.angle_rad[k];
                if angle >= from * height && angle <= to * height {
                    let tilt = self.at(lifted.t_s[k]) - zero;
                    xx += angle * angle;
                    xy += angle * tilt;
                    x += angle;
                    y += tilt;
                    n += 1.0;
                }
            }
            let spread = xx - x * x / n;
            (n > 4.0 && spread > 1e-4).then(|| (xy - x * y / n) / spread)
        };
        Some((share(0.1, 0.67)?.abs(), share(0.67, 1.0)?.abs()))
    }
}

/// The leg that should stay down, by its own tilt and the angle of the raised one: it follows the raise's rate.
pub(crate) fn opposite(
    t_s: Vec<f64>,
    tilt_rad: Vec<f64>,
    angle_rad: &[f64],
    early: usize,
) -> Companion {
    let rate = rate_of(&t_s, angle_rad);
    let lagged = lagged(&t_s, &rate, SWAY_LAG_S);
    Companion {
        t_s,
        tilt_rad,
        follows: vec![(rate, SWAY_SHARE_S), (lagged, SWAY_SHARE_S)],
        early,
    }
}

/// The thigh of the raised leg, by its elevation and the shin's angle: what it rises more is a bend of the knee.
pub(crate) fn thigh(
    t_s: Vec<f64>,
    thigh_rad: Vec<f64>,
    angle_rad: &[f64],
    early: usize,
) -> Companion {
    let bend = thigh_rad.iter().zip(angle_rad);
    let tilt_rad = bend.map(|(thigh, shin)| thigh - shin).collect();
    let rate = rate_of(&t_s, angle_rad);
    Companion {
        t_s,
        tilt_rad,
        follows: vec![(thigh_rad, FLESH_SHARE), (rate, FLESH_SHARE_S)],
        early,
    }
}

/// Readings before the raise has come to a good third of its height.
fn early(lifted: &Lifted) -> usize {
    lifted.start + low_part(&lifted.angle_rad[lifted.start..=lifted.top])
}

/// How many of the first angles lie in the lower part of the highest, which is the last.
pub(crate) fn low_part(angle_rad: &[f64]) -> usize {
    let Some((height, rising)) = angle_rad.split_last() else {
        return 0;
    };
    let is_high = |angle: &f64| *angle > EARLY_SHARE * height;
    rising.iter().position(is_high).unwrap_or(rising.len())
}

/// Rate of the raise angle, rad/s, over a tenth of a second.
pub(crate) fn rate(lifted: &Lifted) -> Vec<f64> {
    rate_of(&lifted.t_s, &lifted.angle_rad)
}

fn rate_of(t: &[f64], a: &[f64]) -> Vec<f64> {
    let count = t.len();
    if count < 3 {
        return vec![0.0; count];
    }
    let raw: Vec<f64> = (0..count)
        .map(|k| {
            let (before, after) = (k.saturating_sub(1), (k + 1).min(count - 1));
            (a[after] - a[before]) / (t[after] - t[before])
        })
        .collect();
    let step_s = (t[count - 1] - t[0]) / (count - 1) as f64;
    moving_mean(&raw, count_in(0.1, step_s))
}

fn lagged(t_s: &[f64], values: &[f64], lag_s: f64) -> Vec<f64> {
    t_s.iter()
        .map(|&t| {
            values[t_s
                .partition_point(|&u| u < t - lag_s)
                .min(values.len() - 1)]
        })
        .collect()
}
