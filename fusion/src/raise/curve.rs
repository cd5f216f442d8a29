//! Numbers read off a course of angles: its smoothed value, its peak, its hold.

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
pub(crate) const HALF_WIDTH_S: f64 = 0.12;

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
        let mut best: Option<(usize, usize)> = None;
        let (mut begin, mut end) = (first, first);
        while end <= last {
            let window = &self.angle_rad[begin..=end];
            let low = window.iter().copied().fold(f64::INFINITY, f64::min);
            let high = window.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            if high - low > spread_rad {
                begin += 1;
                end = end.max(begin);
                continue;
            }
            let lasted_s = self.t_s[end] - self.t_s[begin];
            if best.is_none_or(|(a, b)| lasted_s > self.t_s[b] - self.t_s[a]) {
                best = Some((begin, end));
            }
            end += 1;
        }
        let (first, last) = best?;
        if self.t_s[last] - self.t_s[first] < time_s {
            return None;
        }
        Some(Plateau {
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
