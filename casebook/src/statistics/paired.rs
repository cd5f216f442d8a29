//! Before and after in one group of persons.

use super::agreement::differences;
use super::moments::{mean_of, square_sum};
use super::{Result, StatisticsError, checked_pair, t_beyond, t_quantile};

/// Student's t of paired differences.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairedT {
    /// Mean of the first less the second.
    pub mean: f64,
    /// In standard errors.
    pub t: f64,
    /// Pairs less one.
    pub dof: usize,
    /// The chance of a t this far from 0, on either side, if nothing had changed.
    pub p: f64,
    /// 95 % interval of the mean.
    pub interval: (f64, f64),
}

/// Student's t of `a − b`, pair by pair; at least two pairs that don't all differ by the same.
pub fn paired_t(a: &[f64], b: &[f64]) -> Result<PairedT> {
    checked_pair(a, b, 2)?;
    let differences = differences(a, b);
    let dof = differences.len() - 1;
    let mean = mean_of(&differences);
    let se = (square_sum(&differences) / dof as f64 / differences.len() as f64).sqrt();
    let t = mean / se;
    if !(se > 0.0 && t.is_finite()) {
        return Err(StatisticsError::NoSpread);
    }
    let half = se * t_quantile(0.975, dof as f64)?;
    Ok(PairedT {
        mean,
        t,
        dof,
        p: t_beyond(t, dof as f64)?,
        interval: (mean - half, mean + half),
    })
}
