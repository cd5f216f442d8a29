//! The other segments during a raise: their tilt against their own rest, and what they follow by themselves.

use nalgebra::Vector3;

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

/// The axis about which turning lifts the other leg's foot, from its healthy counter-rotation: that is about the
/// axis of bending, not about the leg's own, about which a foot may roll over without meaning anything.
pub(crate) fn lifting_axis(
    other: &Stream,
    raised: &Stream,
    raises: &[&Lifted],
) -> Option<Vector3<f64>> {
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
        let rate = rate(lifted);
        let lagged = lagged(&lifted.t_s, &rate, SWAY_LAG_S);
        Companion {
            tilt_rad: lifted.t_s.iter().map(|&t| self.at(t) - zero).collect(),
            follows: vec![(rate, SWAY_SHARE_S), (lagged, SWAY_SHARE_S)],
            early: early(lifted),
            t_s: lifted.t_s.clone(),
        }
    }

    /// As the thigh of the raised leg: what it rises more than the shin is a bend of the knee.
    pub(crate) fn as_thigh(&self, raised: &Stream, lifted: &Lifted) -> Companion {
        let zero = self.zero_rad(raised, lifted);
        let thigh: Vec<f64> = lifted.t_s.iter().map(|&t| self.at(t) - zero).collect();
        let bend = thigh
            .iter()
            .zip(&lifted.angle_rad)
            .map(|(thigh, shin)| thigh - shin)
            .collect();
        Companion {
            tilt_rad: bend,
            follows: vec![(thigh, FLESH_SHARE), (rate(lifted), FLESH_SHARE_S)],
            early: early(lifted),
            t_s: lifted.t_s.clone(),
        }
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

/// Readings before the raise has come to a good third of its height.
fn early(lifted: &Lifted) -> usize {
    let height = lifted.angle_rad[lifted.top];
    (lifted.start..lifted.top)
        .find(|&k| lifted.angle_rad[k] > EARLY_SHARE * height)
        .unwrap_or(lifted.top)
}

/// Rate of the raise angle, rad/s, over a tenth of a second.
pub(crate) fn rate(lifted: &Lifted) -> Vec<f64> {
    let (t, a) = (&lifted.t_s, &lifted.angle_rad);
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
