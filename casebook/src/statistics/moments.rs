//! Mean and standard deviation, over one list and pooled over many.
//!
//! Sums of deviations, never of squares: the latter lose all digits where the spread is small beside the mean.

use super::{Result, StatisticsError, checked, checked_pair, checked_uncertainties};

/// The mean. One value is enough.
pub fn mean(values: &[f64]) -> Result<f64> {
    checked(values, 1)?;
    Ok(mean_of(values))
}

/// The standard deviation, with n − 1.
pub fn sd(values: &[f64]) -> Result<f64> {
    checked(values, 2)?;
    Ok((square_sum(values) / (values.len() - 1) as f64).sqrt())
}

/// The standard deviation within groups.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pooled {
    /// Root of the mean variance within, weighted by degrees of freedom.
    pub sd: f64,
    /// Values less groups.
    pub dof: usize,
}

/// The within-subject standard deviation (Bland and Altman 1996): each group about its own mean. Groups of one value
/// say nothing and are passed over.
pub fn pooled_sd<G: AsRef<[f64]>>(groups: &[G]) -> Result<Pooled> {
    let mut squares = 0.0;
    let mut dof = 0;
    let mut count = 0;
    for group in groups.iter().map(AsRef::as_ref) {
        checked(group, 0)?;
        count += group.len();
        if group.len() > 1 {
            squares += square_sum(group);
            dof += group.len() - 1;
        }
    }
    if dof == 0 {
        return Err(StatisticsError::TooFew {
            found: count,
            least: 2,
        });
    }
    Ok(Pooled {
        sd: (squares / dof as f64).sqrt(),
        dof,
    })
}

/// The mean of values of known standard uncertainty, weighted by 1/u², and its standard uncertainty.
pub fn weighted_mean(values: &[f64], standard: &[f64]) -> Result<(f64, f64)> {
    checked_pair(values, standard, 1)?;
    checked_uncertainties(standard)?;
    let weight: f64 = standard.iter().map(|u| u.powi(-2)).sum();
    let first = values[0];
    let shift: f64 = values
        .iter()
        .zip(standard)
        .map(|(value, u)| (value - first) * u.powi(-2))
        .sum();
    Ok((first + shift / weight, weight.powf(-0.5)))
}

/// Of a list that isn't empty. The second pass mends what rounding did to the first.
pub(super) fn mean_of(values: &[f64]) -> f64 {
    let count = values.len() as f64;
    let rough = values.iter().sum::<f64>() / count;
    rough + values.iter().map(|value| value - rough).sum::<f64>() / count
}

/// Sum of squared deviations from the mean, of a list that isn't empty.
pub(super) fn square_sum(values: &[f64]) -> f64 {
    let centre = mean_of(values);
    values.iter().map(|value| (value - centre).powi(2)).sum()
}
