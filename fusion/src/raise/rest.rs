//! The quiet stretches before and after a raise: where its zero and the gyroscope's bias come from.

use nalgebra::Vector3;

use crate::stream::Stream;

/// A quiet stretch of one shin.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Rest {
    /// First and last reading.
    pub(crate) first: usize,
    pub(crate) last: usize,
    /// Middle of the stretch, s.
    pub(crate) mid_s: f64,
    /// How long, s.
    pub(crate) lasted_s: f64,
    /// Mean angular rate: the gyroscope's bias, but for what the person moved.
    pub(crate) rate_rad_s: Vector3<f64>,
    /// Standard deviation of that mean as a bias.
    pub(crate) rate_sd_rad_s: f64,
    /// Mean specific force.
    pub(crate) accel_m_s2: Vector3<f64>,
}

/// A stretch may drift this far about its own middle, rad. People breathe and sway under the strap.
const DRIFT_RAD: f64 = 0.0105;
/// Fastest turning within a rest, rad/s, mean over a tenth of a second, bias off, where the recording is quiet.
const RATE_RAD_S: f64 = 0.026;
/// Largest departure of the specific force from the stretch's first tenths, m/s²; a landing heel exceeds it.
const ACCEL_M_S2: f64 = 1.0;
/// How far a resting shin is from where it was a moment ago without having been moved, rad.
const SWAY_RAD: f64 = 0.0025;
/// A leg that has left the middle of its rest by so many usual distances from it (three standard deviations), and by
/// more than this, rad, is on its way.
const SETTLED_SCATTERS: f64 = 4.5;
const SETTLED_RAD: f64 = 0.0009;
/// A stretch that lasts this long is a rest for certain, s; a shorter one gives way to a longer one that ends no more
/// than this before it, s.
const LASTS_S: f64 = 1.0;
const BEHIND_S: f64 = 0.5;
/// Longest stretch used, s: older rest says less about now.
const LENGTH_S_MAX: f64 = 3.0;

/// Looks back in time from `from` (the leg begins to move) for the stretch before, or forward for the one after, no
/// further than `limit`. The nearest that lasts `rest_min_s`, else the longest; `None` without three quiet readings.
pub(crate) fn quiet_stretch(
    stream: &Stream,
    elevation_rad: &[f64],
    from: usize,
    limit: usize,
    rest_min_s: f64,
) -> Option<Rest> {
    let back = limit < from;
    let window = stream.count_in(0.1);
    let noise = stream.rate_noise_rad_s();
    let rate_limit = RATE_RAD_S.max(5.0 * noise / (window as f64).sqrt());
    let quiet = |k: usize| {
        let (a, b) = (
            k.saturating_sub(window / 2),
            (k + window.div_ceil(2)).min(stream.imus.len()),
        );
        let mean: Vector3<f64> = stream.imus[a..b]
            .iter()
            .map(|i| i.gyro_rad_s)
            .sum::<Vector3<f64>>()
            / (b - a) as f64;
        (mean - stream.bias_rad_s(k)).norm() < rate_limit
    };
    let steps = from.abs_diff(limit);
    let at = |n: usize| if back { from - n } else { from + n };
    let lasted_s =
        |(begin, end): (usize, usize)| (stream.t_s(at(end)) - stream.t_s(at(begin))).abs();
    let mut best: Option<(usize, usize)> = None;
    let mut n = 0;
    while n <= steps {
        // A moment of quiet may lie within a slow start: what is right behind it and lasts longer is the rest.
        if best.is_some_and(|b| lasted_s(b) >= rest_min_s && lasted_s((b.1, n)) > BEHIND_S) {
            break;
        }
        if !quiet(at(n)) {
            n += 1;
            continue;
        }
        let begin = n;
        let accel_near = mean_accel(stream, at(begin), window);
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        while n <= steps {
            let k = at(n);
            low = low.min(elevation_rad[k]);
            high = high.max(elevation_rad[k]);
            let moved = high - low > 2.0 * DRIFT_RAD;
            let hit = (mean_accel(stream, k, window) - accel_near).norm() > ACCEL_M_S2;
            if moved || hit || lasted_s((begin, n)) > LENGTH_S_MAX || !quiet(k) {
                break;
            }
            n += 1;
        }
        let stretch = (begin, n.saturating_sub(1).max(begin));
        let near = best.filter(|&b| lasted_s(b) >= rest_min_s);
        let moved = near.is_some_and(|b| {
            (elevation_rad[at(b.1)] - elevation_rad[at(stretch.0)]).abs() > 2.0 * DRIFT_RAD
        });
        if best.is_none_or(|b| lasted_s(stretch) > lasted_s(b)) && !moved {
            best = Some(stretch);
        }
        if best.is_some_and(|b| lasted_s(b) >= LASTS_S) || moved {
            break;
        }
        n = n.max(begin + 1);
    }
    let (begin, end) = best?;
    let begin = settled(begin, end, |n| elevation_rad[at(n)]);
    let (first, last) = (at(begin).min(at(end)), at(begin).max(at(end)));
    (last - first >= 2).then(|| rest(stream, first, last, noise))
}

/// Where the stretch really begins, seen from the raise: a slow start is quiet for a while and already climbs. What
/// leaves the middle of the stretch by more than the rest of it scatters is cut off, but never more than half.
fn settled(begin: usize, end: usize, elevation_rad: impl Fn(usize) -> f64) -> usize {
    let median = |mut values: Vec<f64>| {
        let middle = values.len() / 2;
        *values.select_nth_unstable_by(middle, f64::total_cmp).1
    };
    let middle_rad = median((begin..=end).map(&elevation_rad).collect());
    let off_rad = |n: usize| (elevation_rad(n) - middle_rad).abs();
    let limit_rad =
        (SETTLED_SCATTERS * median((begin..=end).map(off_rad).collect())).max(SETTLED_RAD);
    (begin..usize::midpoint(begin, end))
        .find(|&n| off_rad(n) <= limit_rad)
        .unwrap_or(usize::midpoint(begin, end))
}

fn mean_accel(stream: &Stream, k: usize, window: usize) -> Vector3<f64> {
    let (a, b) = (
        k.saturating_sub(window / 2),
        (k + window.div_ceil(2)).min(stream.imus.len()),
    );
    stream.imus[a..b]
        .iter()
        .map(|i| i.accel_m_s2)
        .sum::<Vector3<f64>>()
        / (b - a) as f64
}

fn rest(stream: &Stream, first: usize, last: usize, noise: f64) -> Rest {
    let slice = &stream.imus[first..=last];
    let count = slice.len() as f64;
    let lasted_s = stream.t_s(last) - stream.t_s(first);
    let sum = |of: fn(&crate::Imu) -> Vector3<f64>| slice.iter().map(of).sum::<Vector3<f64>>();
    Rest {
        first,
        last,
        mid_s: 0.5 * (stream.t_s(first) + stream.t_s(last)),
        lasted_s,
        rate_rad_s: sum(|i| i.gyro_rad_s) / count,
        // What the shin moved between both ends of the rest looks like a rate; it shrinks with the rest's length.
        rate_sd_rad_s: (noise.powi(2) / count + (SWAY_RAD / lasted_s.max(stream.step_s)).powi(2))
            .sqrt(),
        accel_m_s2: sum(|i| i.accel_m_s2) / count,
    }
}
