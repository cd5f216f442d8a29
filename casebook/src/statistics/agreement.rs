//! How well a measurement repeats, and what change is more than its error.

use super::moments::{mean_of, square_sum};
use super::{Result, StatisticsError, checked, checked_pair, checked_spread};

/// The factor of 95 % for a normal distribution, as the formulas of this trade have it.
const Z95: f64 = 1.96;

/// Standard error of measurement from a standard deviation between persons and a reliability of 0 to 1 (Weir 2005).
pub fn sem_from_icc(sd: f64, icc: f64) -> Result<f64> {
    if !(0.0..=1.0).contains(&icc) {
        return Err(StatisticsError::Range {
            what: "reliability",
        });
    }
    Ok(checked_spread(sd, "standard deviation")? * (1.0 - icc).sqrt())
}

/// Smallest change between two single measurements that is more than error, 95 %: 1.96 · √2 · SEM.
pub fn mdc95(sem: f64) -> Result<f64> {
    mdc95_of_means(sem, 1, 1)
}

/// The same between means of `n1` and of `n2`, where their errors are independent: 1.96 · √(SEM²/n1 + SEM²/n2).
pub fn mdc95_of_means(sem: f64, n1: usize, n2: usize) -> Result<f64> {
    let sem = checked_spread(sem, "standard error of measurement")?;
    if n1 == 0 || n2 == 0 {
        return Err(StatisticsError::Range { what: "count" });
    }
    Ok(Z95 * sem * (1.0 / n1 as f64 + 1.0 / n2 as f64).sqrt())
}

/// Reliable change index (Jacobson and Truax 1991): beyond ±1.96 it is the same finding as a change beyond the MDC95.
pub fn reliable_change(before: f64, after: f64, sem: f64) -> Result<f64> {
    checked(&[before, after], 2)?;
    let spread = std::f64::consts::SQRT_2 * checked_spread(sem, "standard error of measurement")?;
    let index = (after - before) / spread;
    if index.is_finite() {
        Ok(index)
    } else {
        Err(StatisticsError::NoSpread)
    }
}

/// Typical error of one measurement from two trials of each person (Hopkins 2000): SD of differences / √2. A shift
/// common to all persons doesn't count.
pub fn typical_error(first: &[f64], second: &[f64]) -> Result<f64> {
    checked_pair(first, second, 2)?;
    let differences = differences(first, second);
    Ok((square_sum(&differences) / (differences.len() - 1) as f64 / 2.0).sqrt())
}

/// How far two methods differ in one person (Bland and Altman 1986).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitsOfAgreement {
    /// Mean of the first less the second.
    pub mean: f64,
    /// Standard deviation of the differences.
    pub sd: f64,
    /// `mean − multiplier · sd`.
    pub lower: f64,
    /// `mean + multiplier · sd`.
    pub upper: f64,
    /// Standard error of the mean.
    pub se_mean: f64,
    /// Standard error of either limit, about √(3/n) · sd.
    pub se_limit: f64,
    /// How many pairs.
    pub count: usize,
}

/// Limits of agreement; `multiplier` is 1.96, or 2 as in the first paper.
pub fn limits_of_agreement(a: &[f64], b: &[f64], multiplier: f64) -> Result<LimitsOfAgreement> {
    checked_pair(a, b, 2)?;
    let multiplier = checked_spread(multiplier, "multiplier")?;
    let differences = differences(a, b);
    let count = differences.len();
    let mean = mean_of(&differences);
    let sd = (square_sum(&differences) / (count - 1) as f64).sqrt();
    Ok(LimitsOfAgreement {
        mean,
        sd,
        lower: mean - multiplier * sd,
        upper: mean + multiplier * sd,
        se_mean: sd / (count as f64).sqrt(),
        se_limit: sd * (3.0 / count as f64).sqrt(),
        count,
    })
}

pub(super) fn differences(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}
