//! Statistics: slices in, numbers out. Each is held against a published value in the tests below.
//!
//! A list that gives no number is an error that says why; no result is ever NaN or infinite unless it says so.
//! Angles go in and out as plain numbers here, in whatever unit the caller uses throughout.

mod agreement;
mod distribution;
mod icc;
mod line;
mod moments;
mod paired;
mod theil_sen;

#[cfg(test)]
mod tests_agreement;
#[cfg(test)]
mod tests_published;
#[cfg(test)]
mod tests_trend;

use thiserror::Error;

pub use agreement::{
    LimitsOfAgreement, limits_of_agreement, mdc95, mdc95_of_means, reliable_change, sem_from_icc,
    typical_error,
};
pub use distribution::{
    chi_square_above, chi_square_quantile, normal_below, normal_quantile, t_beyond, t_quantile,
};
pub use icc::{Icc, MeanSquares, mean_squares};
pub use line::{Line, fit_line, fit_weighted_line};
pub use moments::{Pooled, mean, pooled_sd, sd, weighted_mean};
pub use paired::{PairedT, paired_t};
pub use theil_sen::{TheilSen, theil_sen};

/// No list may be longer: enough for a clinic's years, and small enough to answer at once.
pub const COUNT_MAX: usize = 100_000;
/// No value may be larger, so that squares of squares stay finite.
pub const SIZE_MAX: f64 = 1e60;

/// Why numbers give no statistic.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum StatisticsError {
    /// Not enough of them.
    #[error("{found} values, expected at least {least}; add more")]
    TooFew {
        /// How many there are.
        found: usize,
        /// How many are needed.
        least: usize,
    },
    /// More than can be answered for.
    #[error("{found} values, expected at most {most}; take a part of them")]
    TooMany {
        /// How many there are.
        found: usize,
        /// The limit.
        most: usize,
    },
    /// Lists that belong together differ in length.
    #[error("lists of {a} and {b} values, expected the same number; pair them")]
    Unpaired {
        /// Length of the first.
        a: usize,
        /// Length of the other.
        b: usize,
    },
    /// No number, or one beyond [`SIZE_MAX`].
    #[error("value {at} is no usable number; leave it out")]
    Value {
        /// Its place, counted from 0.
        at: usize,
    },
    /// A spread, a probability or a count outside what it can be.
    #[error("{what} is out of its range; correct it")]
    Range {
        /// Which argument.
        what: &'static str,
    },
    /// Nothing differs where a difference is needed.
    #[error("all values are alike, expected some that differ; add others")]
    NoSpread,
}

/// What every statistic gives.
pub type Result<T> = std::result::Result<T, StatisticsError>;

/// Lets a list through that has enough values, not too many, and only numbers.
fn checked(values: &[f64], least: usize) -> Result<()> {
    let found = values.len();
    if found < least {
        return Err(StatisticsError::TooFew { found, least });
    }
    if found > COUNT_MAX {
        return Err(StatisticsError::TooMany {
            found,
            most: COUNT_MAX,
        });
    }
    match values.iter().position(|value| !is_usable(*value)) {
        Some(at) => Err(StatisticsError::Value { at }),
        None => Ok(()),
    }
}

/// The same for two lists that belong together.
fn checked_pair(a: &[f64], b: &[f64], least: usize) -> Result<()> {
    if a.len() != b.len() {
        return Err(StatisticsError::Unpaired {
            a: a.len(),
            b: b.len(),
        });
    }
    checked(a, least)?;
    checked(b, least)
}

/// Standard uncertainties must be numbers above 0, and not so small that weights overflow.
fn checked_uncertainties(values: &[f64]) -> Result<()> {
    match values
        .iter()
        .position(|u| !(is_usable(*u) && *u > 1.0 / SIZE_MAX))
    {
        Some(at) => Err(StatisticsError::Value { at }),
        None => Ok(()),
    }
}

fn is_usable(value: f64) -> bool {
    value.abs() <= SIZE_MAX
}

/// A spread: 0 or more.
fn checked_spread(value: f64, what: &'static str) -> Result<f64> {
    if (0.0..=SIZE_MAX).contains(&value) {
        Ok(value)
    } else {
        Err(StatisticsError::Range { what })
    }
}

/// Between 0 and 1, both left out.
fn checked_chance(value: f64, what: &'static str) -> Result<f64> {
    if value > 0.0 && value < 1.0 {
        Ok(value)
    } else {
        Err(StatisticsError::Range { what })
    }
}
