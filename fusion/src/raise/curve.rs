//! Numbers read off a course of angles: its smoothed value, its peak, its hold.

use std::collections::VecDeque;

use nalgebra::{Matrix3, Vector3};

/// A course of angles against time, both in order.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Curve<'a> {
    /// Seconds.
    pub(crate) t_s: &'a [f64],
    /// Radians.
    pub(crate) angle_rad: &'a [f64],
}

/// A local parabola: value, rate and bend at its middle, and the scatter about it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Local {
    pub(crate) angle_rad: f64,
    pub(crate) rate_rad_s: f64,
    pub(crate) bend_rad_s2: f64,
    /// Standard uncertainty of the value from scatter.
    pub(crate) sd_rad: f64,
    pub(crate) dof: f64,
}

/// A stretch at the top.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Plateau {
    /// First and last index.
    pub(crate) first: usize,
    pub(crate) last: usize,
    pub(crate) mean_rad: f64,
}

/// Half-width of the local parabola, s. A peak is read from it, not from the highest noisy sample.
pub(crate) const HALF_WIDTH_S: f64 = 0.06;

impl Curve<'_> {
    /// Least-squares parabola over the readings within `half_width_s` of `t_s`.
    pub(crate) fn local(&self, t_s: f64, half_width_s: f64) -> Option<Local> {
        let first = self.t_s.partition_point(|&t| t < t_s - half_width_s);
        let last = self.t_s.partition_point(|&t| t <= t_s + half_width_s);
        let count = last - first;
        if count < 3 {
            return self.straight(t_s);
        }
        let mut normal = Matrix3::zeros();
        let mut right = Vector3::zeros();
        for k in first..last {
            let u = (self.t_s[k] - t_s) / half_width_s;
            let row = Vector3::new(1.0, u, u * u);
            normal += row * row.transpose();
            right += row * self.angle_rad[k];
        }
        let inverse = normal.try_inverse()?;
        let fit = inverse * right;
        let scatter: f64 = (first..last)
            .map(|k| {
                let u = (self.t_s[k] - t_s) / half_width_s;
                (self.angle_rad[k] - fit.dot(&Vector3::new(1.0, u, u * u))).powi(2)
            })
            .sum();
        let dof = count as f64 - 3.0;
        Some(Local {
            angle_rad: fit[0],
            rate_rad_s: fit[1] / half_width_s,
            bend_rad_s2: 2.0 * fit[2] / half_width_s.powi(2),
            sd_rad: if dof > 0.0 {
                (scatter / dof * inverse[(0, 0)]).sqrt()
            } else {
                0.0
            },
            dof: dof.max(1.0),
        })
    }

    /// Straight line between neighbours, where readings are sparse.
    fn straight(&self, t_s: f64) -> Option<Local> {
        let after = self
            .t_s
            .partition_point(|&t| t < t_s)
            .min(self.t_s.len().checked_sub(1)?)
            .max(1);
        let (t0, t1) = (*self.t_s.get(after - 1)?, *self.t_s.get(after)?);
        let (a0, a1) = (self.angle_rad[after - 1], self.angle_rad[after]);
        let rate_rad_s = (a1 - a0) / (t1 - t0);
        let share = ((t_s - t0) / (t1 - t0)).clamp(0.0, 1.0);
        Some(Local {
            angle_rad: a0 + share * (a1 - a0),
            rate_rad_s,
            bend_rad_s2: 0.0,
            sd_rad: 0.0,
            dof: 1.0,
        })
    }

    /// The highest point of the smoothed curve between two indices: time and parabola there.
    pub(crate) fn peak(&self, first: usize, last: usize) -> Option<(f64, Local)> {
        let mut best: Option<(f64, Local)> = None;
        for k in first..=last {
            let local = self.local(self.t_s[k], HALF_WIDTH_S)?;
            if best.is_none_or(|(_, b)| local.angle_rad > b.angle_rad) {
                best = Some((self.t_s[k], local));
            }
        }
        let (t_s, local) = best?;
        // Between readings the parabola's own top is nearer, if it is one and lies near.
        let shift_s = -local.rate_rad_s / local.bend_rad_s2;
        if local.bend_rad_s2 < 0.0 && shift_s.abs() < HALF_WIDTH_S {
            let angle_rad = local.angle_rad + 0.5 * local.rate_rad_s * shift_s;
            return Some((
                t_s + shift_s,
                Local {
                    angle_rad,
                    rate_rad_s: 0.0,
                    ..local
                },
            ));
        }
        Some((t_s, local))
    }

    /// The longest stretch between two indices that keeps within `spread_rad` for at least `time_s`.
    pub(crate) fn plateau(
        &self,
        first: usize,
        last: usize,
        spread_rad: f64,
        time_s: f64,
    ) -> Option<Plateau> {
        // Lowest and highest of a sliding window in one pass: candidates in order, the best one in front.
        let (mut lows, mut highs) = (VecDeque::new(), VecDeque::new());
        let (mut begin, mut best) = (first, None);
        for end in first..=last {
            let angle = self.angle_rad[end];
            while lows
                .back()
                .is_some_and(|&k: &usize| self.angle_rad[k] >= angle)
            {
                lows.pop_back();
            }
            while highs
                .back()
                .is_some_and(|&k: &usize| self.angle_rad[k] <= angle)
            {
                highs.pop_back();
            }
            lows.push_back(end);
            highs.push_back(end);
            while let (Some(&low), Some(&high)) = (lows.front(), highs.front())
                && self.angle_rad[high] - self.angle_rad[low] > spread_rad
            {
                begin += 1;
                lows.pop_front_if(|k| *k < begin);
                highs.pop_front_if(|k| *k < begin);
            }
            let lasted_s = self.t_s[end] - self.t_s[begin];
            if best.is_none_or(|(_, _, longest_s)| lasted_s > longest_s) {
                best = Some((begin, end, lasted_s));
            }
        }
        let (first, last, lasted_s) = best?;
        (lasted_s >= time_s).then(|| Plateau {
            first,
            last,
            mean_rad: self.mean(first, last),
        })
    }

    /// Mean over time between two indices.
    pub(crate) fn mean(&self, first: usize, last: usize) -> f64 {
        let span_s = self.t_s[last] - self.t_s[first];
        if span_s <= 0.0 {
            return self.angle_rad[first];
        }
        (first..last)
            .map(|k| {
                0.5 * (self.angle_rad[k] + self.angle_rad[k + 1]) * (self.t_s[k + 1] - self.t_s[k])
            })
            .sum::<f64>()
            / span_s
    }

    /// Last index not after `from` at which the angle is at most `level_rad`, walking back to `limit`.
    pub(crate) fn below_before(&self, from: usize, limit: usize, level_rad: f64) -> Option<usize> {
        (limit..=from)
            .rev()
            .find(|&k| self.angle_rad[k] <= level_rad)
    }

    /// First index not before `from` at which the angle is at most `level_rad`, up to `limit`.
    pub(crate) fn below_after(&self, from: usize, limit: usize, level_rad: f64) -> Option<usize> {
        (from..=limit).find(|&k| self.angle_rad[k] <= level_rad)
    }

    /// Time at which the straight line from index `k` to `k + 1` crosses the level.
    pub(crate) fn crossing_s(&self, k: usize, level_rad: f64) -> f64 {
        let Some((&t1, &a1)) = self.t_s.get(k + 1).zip(self.angle_rad.get(k + 1)) else {
            return self.t_s[k];
        };
        let (t0, a0) = (self.t_s[k], self.angle_rad[k]);
        let share = if (a1 - a0).abs() > 0.0 {
            ((level_rad - a0) / (a1 - a0)).clamp(0.0, 1.0)
        } else {
            0.0
        };
        t0 + share * (t1 - t0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve_of(angle: impl Fn(f64) -> f64, rate_hz: f64, span_s: f64) -> (Vec<f64>, Vec<f64>) {
        let mut t_s = Vec::new();
        while (t_s.len() as f64) < span_s * rate_hz {
            t_s.push(t_s.len() as f64 / rate_hz);
        }
        let angle_rad = t_s.iter().map(|&t| angle(t)).collect();
        (t_s, angle_rad)
    }

    #[test]
    fn the_peak_of_a_noisy_parabola_is_its_top_and_not_its_highest_sample() {
        // A fixed pattern with mean zero stands for noise of 0.01 rad.
        let noise = |t: f64| 0.01 * (t * 997.0).sin();
        let (t_s, angle_rad) = curve_of(|t| 1.0 - (t - 1.0).powi(2) + noise(t), 200.0, 2.0);
        let curve = Curve {
            t_s: &t_s,
            angle_rad: &angle_rad,
        };
        let (at_s, local) = curve.peak(0, t_s.len() - 1).unwrap();
        let highest = angle_rad.iter().copied().fold(0.0, f64::max);
        assert!((local.angle_rad - 1.0).abs() < 0.003, "{}", local.angle_rad);
        assert!(highest > 1.007, "{highest}");
        assert!((at_s - 1.0).abs() < 0.06, "{at_s}");
    }

    #[test]
    fn a_plateau_is_the_longest_stretch_within_its_spread() {
        let (t_s, angle_rad) = curve_of(
            |t| (t - 1.0).clamp(0.0, 1.0) * (3.0 - t).clamp(0.0, 1.0),
            100.0,
            4.0,
        );
        let curve = Curve {
            t_s: &t_s,
            angle_rad: &angle_rad,
        };
        let top = curve.plateau(150, 250, 0.05, 0.5);
        assert_eq!(top, None, "a tip that passes at once is no plateau");
        let rest = curve.plateau(0, 399, 0.05, 0.5).unwrap();
        assert!(rest.mean_rad.abs() < 0.05 && rest.last - rest.first >= 100);
    }

    #[test]
    fn too_little_or_no_data_has_no_peak() {
        let curve = Curve {
            t_s: &[],
            angle_rad: &[],
        };
        assert!(curve.local(0.0, 0.1).is_none());
        let curve = Curve {
            t_s: &[0.0],
            angle_rad: &[1.0],
        };
        assert!(curve.local(0.0, 0.1).is_none());
    }
}
