//! When another segment leaves its own course during a raise.
//!
//! Every raise moves the rest of the body a little: the other leg counter-rotates with the speed of the raise, flesh
//! shifts the thigh's reading with its angle. That is the segment's *own course*: a combination of signals that the
//! raise itself provides, fitted where nothing has happened yet. A compensation is what leaves it by the confirm size
//! and stays away; its onset is where it left by the onset level, traced back.

use nalgebra::{DMatrix, DVector};

/// A segment's tilt over one raise, with what it follows by itself. All on the same readings.
#[derive(Clone, Debug)]
pub(crate) struct Companion {
    /// Seconds, in order.
    pub(crate) t_s: Vec<f64>,
    /// Tilt against its own rest, rad.
    pub(crate) tilt_rad: Vec<f64>,
    /// Signals it follows, each as long, and how large a share of each is usual (standard deviation).
    pub(crate) follows: Vec<(Vec<f64>, f64)>,
    /// How many of the first readings are before anything can have happened, at least.
    pub(crate) early: usize,
}

/// What counts.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    pub(crate) confirm_rad: f64,
    pub(crate) onset_rad: f64,
}

/// A compensation found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Departure {
    /// Where it had left its course by the onset level, s.
    pub(crate) onset_s: f64,
    /// Standard uncertainty of that, s.
    pub(crate) onset_sd_s: f64,
    /// Its largest size, rad, without sign.
    pub(crate) extent_rad: f64,
}

/// A departure must last this long, s, to be more than a twitch.
const LASTS_S: f64 = 0.2;
/// A movement takes this long to get under way, s.
const SOFT_START_S: f64 = 0.15;
/// Slowest growth that is told from wander, rad/s.
const GROWTH_MIN_RAD_S: f64 = 0.03;
/// Unexplained wander of a healthy segment, rad.
const WANDER_RAD: f64 = 0.007;
/// How long it lasts, s.
const WANDER_S: f64 = 0.5;

/// Looks for a departure up to `until_s`.
pub(crate) fn departure(companion: &Companion, limits: Limits, until_s: f64) -> Option<Departure> {
    let t_s = &companion.t_s;
    let last = t_s.partition_point(|&t| t <= until_s);
    if last < 8 {
        return None;
    }
    // First guess of the course from its early part; then from all that lies before the onset found.
    let mut off = residual(companion, companion.early);
    let mut found = None;
    for _ in 0..4 {
        let confirm = confirmed(t_s, &off, last, limits.confirm_rad)?;
        let onset = (0..confirm)
            .rev()
            .find(|&k| off[k].abs() < limits.onset_rad || off[k] * off[confirm] < 0.0)?;
        let next = (onset, confirm);
        if found == Some(next) {
            break;
        }
        found = Some(next);
        // It began before it had grown to the onset level: what grows must not teach the course.
        let growth_rad_s = (off[confirm].abs() - off[onset].abs()) / (t_s[confirm] - t_s[onset]);
        let begun_s = SOFT_START_S + limits.onset_rad / growth_rad_s.max(GROWTH_MIN_RAD_S);
        let fit_to = t_s.partition_point(|&t| t < t_s[onset] - begun_s);
        off = residual(companion, fit_to);
    }
    let (onset, confirm) = found?;
    confirmed(t_s, &off, last, limits.confirm_rad)?;
    let extent_rad = off[..last].iter().map(|x| x.abs()).fold(0.0, f64::max);
    let (x0, x1) = (off[onset].abs(), off[(onset + 1).min(last - 1)].abs());
    let share = if x1 > x0 {
        ((limits.onset_rad - x0) / (x1 - x0)).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let onset_s = t_s[onset] + share * (t_s[(onset + 1).min(last - 1)] - t_s[onset]);
    // Growth just after the onset tells how far wander can shift it.
    let growth_rad_s = (off[confirm].abs() - limits.onset_rad) / (t_s[confirm] - onset_s).max(0.05);
    Some(Departure {
        onset_s,
        onset_sd_s: (WANDER_RAD / growth_rad_s.max(0.01)).hypot(0.03),
        extent_rad,
    })
}

/// First reading from which the departure stays beyond the size for long enough, with one sign.
fn confirmed(t_s: &[f64], off: &[f64], last: usize, size_rad: f64) -> Option<usize> {
    let mut begin: Option<usize> = None;
    for k in 0..last {
        if off[k].abs() < size_rad || begin.is_some_and(|b| off[b] * off[k] < 0.0) {
            begin = None;
            continue;
        }
        let b = *begin.get_or_insert(k);
        if t_s[k] - t_s[b] >= LASTS_S {
            return Some(b);
        }
    }
    None
}

/// What the course doesn't explain, fitted on the first `fit_to` readings.
fn residual(companion: &Companion, fit_to: usize) -> Vec<f64> {
    let follows = &companion.follows;
    let count = follows.len() + 1;
    let row = |k: usize, n: usize| if n == 0 { 1.0 } else { follows[n - 1].0[k] };
    let readings = companion.t_s.len();
    let step_s = (companion.t_s[readings - 1] - companion.t_s[0]) / readings as f64;
    // Neighbouring readings repeat each other: together they count as one in the time that wander lasts.
    let weight = (step_s / WANDER_S).min(1.0) / WANDER_RAD.powi(2);
    let mut normal = DMatrix::<f64>::zeros(count, count);
    let mut right = DVector::<f64>::zeros(count);
    normal[(0, 0)] = WANDER_RAD.powi(-2);
    for n in 1..count {
        normal[(n, n)] = follows[n - 1].1.powi(-2);
    }
    for k in 0..fit_to.min(readings) {
        for n in 0..count {
            right[n] += weight * row(k, n) * companion.tilt_rad[k];
            for m in 0..count {
                normal[(n, m)] += weight * row(k, n) * row(k, m);
            }
        }
    }
    // The priors make it solvable.
    let share = normal
        .cholesky()
        .map_or_else(|| DVector::zeros(count), |factor| factor.solve(&right));
    (0..readings)
        .map(|k| companion.tilt_rad[k] - (0..count).map(|n| share[n] * row(k, n)).sum::<f64>())
        .collect()
}
