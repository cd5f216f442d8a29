//! A slope that one odd point can't pull: the median of the slopes of all pairs, with Kendall's interval
//! (Theil 1950; Sen 1968; ties as in Hollander and Wolfe 1999).

use super::{Result, StatisticsError, checked_chance, checked_pair, normal_quantile};

/// No more points: pairs grow as the square.
pub(super) const POINTS_MAX: usize = 1_000;
/// Up to so many points without ties the coverage of the interval is counted out.
const POINTS_EXACT: usize = 60;

/// The median slope and its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TheilSen {
    /// Median of the slopes of all pairs with different x.
    pub slope: f64,
    /// Median of y less slope times median of x.
    pub intercept: f64,
    /// Lower end of the interval.
    pub lower: f64,
    /// Upper end of the interval.
    pub upper: f64,
    /// What the interval really covers: few points can't give what was asked for. With ties, or beyond 60 points, what
    /// was asked for.
    pub coverage: f64,
}

/// The median slope; at least two points of different x.
pub fn theil_sen(x: &[f64], y: &[f64], coverage: f64) -> Result<TheilSen> {
    checked_pair(x, y, 2)?;
    checked_chance(coverage, "coverage")?;
    if x.len() > POINTS_MAX {
        return Err(StatisticsError::TooMany {
            found: x.len(),
            most: POINTS_MAX,
        });
    }
    let mut slopes = Vec::with_capacity(x.len() * (x.len() - 1) / 2);
    for (n, (x1, y1)) in x.iter().zip(y).enumerate() {
        for (x2, y2) in x[n + 1..].iter().zip(&y[n + 1..]) {
            let slope = (y2 - y1) / (x2 - x1);
            if (x2 - x1).abs() > 0.0 && slope.is_finite() {
                slopes.push(slope);
            }
        }
    }
    if slopes.is_empty() {
        return Err(StatisticsError::NoSpread);
    }
    slopes.sort_by(f64::total_cmp);
    let slope = median(&slopes);
    let count = slopes.len();
    let (first, last) = ranks(x, y, count, coverage)?;
    let has_ties = count < x.len() * (x.len() - 1) / 2 || !ties(y).is_empty();
    Ok(TheilSen {
        slope,
        intercept: median(&sorted(y)) - slope * median(&sorted(x)),
        lower: slopes[first],
        upper: slopes[last],
        coverage: if has_ties || x.len() > POINTS_EXACT {
            coverage
        } else {
            covered(x.len(), first, last)
        },
    })
}

/// Places of the interval's ends among the sorted slopes, by the normal approximation to Kendall's S.
fn ranks(x: &[f64], y: &[f64], count: usize, coverage: f64) -> Result<(usize, usize)> {
    let n = x.len() as f64;
    let share = |k: f64| k * (k - 1.0) * (2.0 * k + 5.0);
    let tied: f64 = ties(x).iter().chain(&ties(y)).map(|k| share(*k)).sum();
    let sigma = ((share(n) - tied).max(0.0) / 18.0).sqrt();
    let reach = normal_quantile(0.5 + coverage / 2.0)? * sigma;
    let pairs = count as f64;
    let first = (0.5 * (pairs - reach)).round_ties_even() - 1.0;
    let last = (0.5 * (pairs + reach)).round_ties_even();
    Ok((place(first, count), place(last, count)))
}

/// A place in a list of `count`, from a number that may lie outside it.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the list before"
)]
fn place(at: f64, count: usize) -> usize {
    at.clamp(0.0, (count - 1) as f64) as usize
}

/// The chance that the true slope lies between these places, without ties: of all orders of the points equally many
/// have each number of inversions as Kendall counted.
fn covered(points: usize, first: usize, last: usize) -> f64 {
    let mut chances = vec![1.0];
    for more in 2..=points {
        let mut next = vec![0.0; chances.len() + more - 1];
        for (at, chance) in chances.iter().enumerate() {
            for shift in 0..more {
                next[at + shift] += chance / more as f64;
            }
        }
        chances = next;
    }
    chances[first + 1..=last].iter().sum()
}

/// How often each value that comes more than once does.
fn ties(values: &[f64]) -> Vec<f64> {
    let sorted = sorted(values);
    sorted
        .chunk_by(|a, b| (a - b).abs() <= 0.0)
        .filter(|equal| equal.len() > 1)
        .map(|equal| equal.len() as f64)
        .collect()
}

fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
}

/// Of a sorted list that isn't empty.
fn median(sorted: &[f64]) -> f64 {
    let half = sorted.len() / 2;
    if sorted.len().is_multiple_of(2) {
        f64::midpoint(sorted[half - 1], sorted[half])
    } else {
        sorted[half]
    }
}
