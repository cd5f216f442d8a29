//! Where raises begin and end, found on the course of one shin's elevation.

use std::ops::Range;

use nalgebra::{Matrix3, SymmetricEigen, Vector3};

use crate::settings::Settings;
use crate::stream::Stream;

use super::rolled::Rolls;

/// One stretch of a shin's course: valley, top, valley. Indices of readings.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Excursion {
    /// Lowest point before the rise.
    pub(crate) valley_before: usize,
    /// Highest point.
    pub(crate) top: usize,
    /// Lowest point after it.
    pub(crate) valley_after: usize,
    /// Height of the top above the valley before, rad.
    pub(crate) height_rad: f64,
    /// The recording begins with the leg already up, or ends with it still up.
    pub(crate) cut_before: bool,
    pub(crate) cut_after: bool,
}

/// The course of a shin over a run.
#[derive(Clone, Debug)]
pub(crate) struct Course {
    /// The axis the shin mostly turns about, sensor axes, sign such that turning about it raises the foot.
    pub(crate) axis: Vector3<f64>,
    /// Elevation about that axis, rad, against an arbitrary zero.
    pub(crate) elevation_rad: Vec<f64>,
    /// In order of time.
    pub(crate) excursions: Vec<Excursion>,
}

/// A shin is up while it is higher than this share of the way from a valley to the top.
const UP_SHARE: f64 = 0.2;

impl Course {
    /// The readings between which the shin is up in an excursion. Its valleys say less: rests are long, and the lowest
    /// point of one may lie anywhere in it, also before a raise of the other leg.
    pub(crate) fn up(&self, excursion: &Excursion) -> (usize, usize) {
        let top = excursion.top;
        let is_low = |valley: usize, k: usize| {
            let (low, high) = (self.elevation_rad[valley], self.elevation_rad[top]);
            self.elevation_rad[k] < low + UP_SHARE * (high - low)
        };
        let before = (excursion.valley_before..top).rev();
        let after = top + 1..=excursion.valley_after;
        (
            before
                .clone()
                .find(|&k| is_low(excursion.valley_before, k))
                .unwrap_or(excursion.valley_before),
            after
                .clone()
                .find(|&k| is_low(excursion.valley_after, k))
                .unwrap_or(excursion.valley_after),
        )
    }
}

/// A turn back of this much ends a rise or a descent; smaller ones are tremor, sag or overshoot.
const REVERSAL_SHARE: f64 = 0.75;
/// Two tops belong to two raises if the valley between them comes down to this part of the lower one.
const VALLEY_SHARE: f64 = 0.35;
/// However low the tops, a valley this close to the rest before is a rest, rad: resting poses differ by that much.
const VALLEY_RAD: f64 = 0.07;

/// Finds the raises of one shin. Where its foot was rolled, it neither rose nor shows about which axis it rises.
pub(crate) fn course(stream: &Stream, rolls: &[Rolls], settings: &Settings) -> Course {
    let rolled = |k: usize| {
        rolls
            .iter()
            .any(|&(first, last)| (first..=last).contains(&k))
    };
    let (axis, elevation_rad) = elevation(stream, rolled);
    let turns = turning_points(
        &elevation_rad,
        settings.raise_min.radians() * REVERSAL_SHARE,
    );
    let mut excursions = excursions(&elevation_rad, &turns, settings.raise_min.radians());
    excursions.retain(|excursion| !rolled(excursion.top));
    Course {
        axis,
        elevation_rad,
        excursions,
    }
}

/// The principal axis of turning and the elevation about it.
fn elevation(stream: &Stream, rolled: impl Fn(usize) -> bool) -> (Vector3<f64>, Vec<f64>) {
    let ups: Vec<Vector3<f64>> = (0..stream.imus.len()).map(|k| stream.up(k)).collect();
    // What turns gravity in the sensor is what tilts it: this leaves heading and bias out of the axis.
    let mut turning = Matrix3::zeros();
    let stride = stream.count_in(0.1);
    for k in (stride..ups.len()).step_by(stride).filter(|&k| !rolled(k)) {
        let turn = ups[k].cross(&ups[k - stride]);
        turning += turn * turn.transpose();
    }
    let eigen = SymmetricEigen::new(turning);
    let axis: Vector3<f64> = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into();
    // Whether turning about it is up or down is told by where the leg spends its excursions.
    let elevation_rad = elevation_about(stream, axis);
    let up_share: f64 = elevation_rad.iter().map(|e| e.powi(3)).sum();
    if up_share < 0.0 {
        (-axis, elevation_rad.into_iter().map(|e| -e).collect())
    } else {
        (axis, elevation_rad)
    }
}

/// Elevation by turning about an axis, rad, zero as the run begins, smoothed over a tenth of a second.
pub(crate) fn elevation_about(stream: &Stream, axis: Vector3<f64>) -> Vec<f64> {
    let ups: Vec<Vector3<f64>> = (0..stream.imus.len()).map(|k| stream.up(k)).collect();
    let flat = |v: Vector3<f64>| v - axis * v.dot(&axis);
    let begin = stream.index_at(stream.t_s(0) + 0.5).max(1);
    let rest = flat(ups[..begin].iter().sum::<Vector3<f64>>());
    let Some(rest) = rest.try_normalize(1e-6) else {
        return vec![0.0; ups.len()];
    };
    let forward = rest.cross(&axis);
    let raw: Vec<f64> = ups
        .iter()
        .map(|up| up.dot(&forward).atan2(up.dot(&rest)))
        .collect();
    moving_mean(&raw, stream.count_in(0.1))
}

/// Mean over `width` readings about each one.
pub(crate) fn moving_mean(values: &[f64], width: usize) -> Vec<f64> {
    let half = width / 2;
    if half == 0 {
        return values.to_vec();
    }
    let mut sums = Vec::with_capacity(values.len() + 1);
    sums.push(0.0);
    let mut sum = 0.0;
    for value in values {
        sum += value;
        sums.push(sum);
    }
    (0..values.len())
        .map(|k| {
            let Range { start, end } = k.saturating_sub(half)..(k + half + 1).min(values.len());
            (sums[end] - sums[start]) / (end - start) as f64
        })
        .collect()
}

/// Alternating lows and highs that are at least `reversal_rad` apart; starts and ends with a low.
fn turning_points(values: &[f64], reversal_rad: f64) -> Vec<usize> {
    let mut points = Vec::new();
    let (mut low, mut high) = (0, 0);
    let mut rising: Option<bool> = None;
    for (k, value) in values.iter().enumerate() {
        if *value > values[high] {
            high = k;
        }
        if *value < values[low] {
            low = k;
        }
        match rising {
            Some(true) | None if values[high] - value >= reversal_rad => {
                if rising.is_none() {
                    points.push(0);
                }
                points.push(high);
                rising = Some(false);
                low = k;
            }
            Some(false) | None if value - values[low] >= reversal_rad => {
                points.push(low);
                rising = Some(true);
                high = k;
            }
            _ => {}
        }
    }
    match rising {
        Some(true) => points.extend([high, values.len() - 1]),
        Some(false) => points.push(low),
        None => {}
    }
    points
}

/// Joins tops whose valley between does not come down, and keeps what is high enough.
fn excursions(values: &[f64], turns: &[usize], height_min_rad: f64) -> Vec<Excursion> {
    let mut found: Vec<Excursion> = Vec::new();
    for window in turns.windows(3).step_by(2) {
        let &[before, top, after] = window else {
            continue;
        };
        if let Some(last) = found.last_mut() {
            let floor = values[last.valley_before];
            let lower_top = values[last.top].min(values[top]) - floor;
            let valley = values[before] - floor;
            if valley > (VALLEY_SHARE * lower_top).max(VALLEY_RAD) {
                if values[top] > values[last.top] {
                    last.top = top;
                }
                last.valley_after = after;
                continue;
            }
        }
        found.push(Excursion {
            valley_before: before,
            top,
            valley_after: after,
            height_rad: 0.0,
            cut_before: false,
            cut_after: false,
        });
    }
    for excursion in &mut found {
        let (before, top, after) = (
            values[excursion.valley_before],
            values[excursion.top],
            values[excursion.valley_after],
        );
        let base = before.min(after);
        excursion.height_rad = top - base;
        let far = |valley: f64| valley - base > (VALLEY_SHARE * (top - base)).max(VALLEY_RAD);
        excursion.cut_before = far(before);
        excursion.cut_after = far(after);
    }
    found.retain(|excursion| excursion.height_rad >= height_min_rad);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tops_apart_by_a_low_valley_are_two_raises_and_sag_is_none() {
        let course = [0.0, 0.5, 1.0, 0.9, 1.0, 0.4, 0.05, 0.6, 1.1, 0.5, 0.0];
        let turns = turning_points(&course, 0.2);
        let found = excursions(&course, &turns, 0.2);
        let tops: Vec<usize> = found.iter().map(|e| e.top).collect();
        assert_eq!(tops, [2, 8]);
        assert_eq!(found[0].valley_after, 6);
        assert!(found.iter().all(|e| !e.cut_before && !e.cut_after));
    }

    #[test]
    fn a_rise_that_the_recording_cuts_is_told() {
        let course = [0.0, 0.0, 0.3, 0.7, 1.0];
        let found = excursions(&course, &turning_points(&course, 0.2), 0.2);
        assert_eq!(found.len(), 1);
        assert!(found[0].cut_after && !found[0].cut_before);
    }

    #[test]
    fn a_still_course_has_no_raise() {
        assert!(turning_points(&[0.1; 50], 0.2).is_empty());
    }
}
