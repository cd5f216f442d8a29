//! Intraclass correlation: how well raters tell persons apart. It rises with the spread between persons alone, so it
//! is shown only with its form and its number of persons, and never instead of the SEM.

use super::moments::{mean_of, square_sum};
use super::{COUNT_MAX, Result, StatisticsError, checked};

/// The six forms of Shrout and Fleiss 1979: model, then one rating or the mean of all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Icc {
    /// ICC(1,1): other raters for each person.
    OneWay,
    /// ICC(2,1): the same raters for all, out of many; agreement.
    TwoWayRandom,
    /// ICC(3,1): the same raters for all, these only; consistency.
    TwoWayMixed,
    /// ICC(1,k).
    OneWayMean,
    /// ICC(2,k).
    TwoWayRandomMean,
    /// ICC(3,k).
    TwoWayMixedMean,
}

/// Mean squares of a table of persons by raters (or trials).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanSquares {
    /// Between persons.
    pub between: f64,
    /// Within persons.
    pub within: f64,
    /// Between raters.
    pub raters: f64,
    /// What is left.
    pub error: f64,
    /// How many persons.
    pub person_count: usize,
    /// How many raters.
    pub rater_count: usize,
}

/// Mean squares of `rows`: a row for each person, in it a value for each rater, at least two of each.
pub fn mean_squares<R: AsRef<[f64]>>(rows: &[R]) -> Result<MeanSquares> {
    let (n, k) = (rows.len(), rows.first().map_or(0, |row| row.as_ref().len()));
    if n < 2 || k < 2 {
        return Err(StatisticsError::TooFew {
            found: n.min(k),
            least: 2,
        });
    }
    let found = n.saturating_mul(k);
    if found > COUNT_MAX {
        return Err(StatisticsError::TooMany {
            found,
            most: COUNT_MAX,
        });
    }
    for row in rows.iter().map(AsRef::as_ref) {
        if row.len() != k {
            return Err(StatisticsError::Unpaired { a: k, b: row.len() });
        }
        checked(row, k)?;
    }
    let of_person: Vec<f64> = rows.iter().map(|row| mean_of(row.as_ref())).collect();
    let of_rater: Vec<f64> = (0..k)
        .map(|j| mean_of(&rows.iter().map(|row| row.as_ref()[j]).collect::<Vec<_>>()))
        .collect();
    let grand = mean_of(&of_person);
    let within: f64 = rows.iter().map(|row| square_sum(row.as_ref())).sum();
    let mut error = 0.0;
    for (row, person) in rows.iter().zip(&of_person) {
        for (value, rater) in row.as_ref().iter().zip(&of_rater) {
            error += (value - person - rater + grand).powi(2);
        }
    }
    let (n_f, k_f) = (n as f64, k as f64);
    Ok(MeanSquares {
        between: k_f * square_sum(&of_person) / (n_f - 1.0),
        within: within / (n_f * (k_f - 1.0)),
        raters: n_f * square_sum(&of_rater) / (k_f - 1.0),
        error: error / ((n_f - 1.0) * (k_f - 1.0)),
        person_count: n,
        rater_count: k,
    })
}

impl MeanSquares {
    /// One of the six coefficients.
    pub fn icc(&self, form: Icc) -> Result<f64> {
        let (n, k) = (self.person_count as f64, self.rater_count as f64);
        let (b, w, j, e) = (self.between, self.within, self.raters, self.error);
        let (over, under) = match form {
            Icc::OneWay => (b - w, b + (k - 1.0) * w),
            Icc::TwoWayRandom => (b - e, b + (k - 1.0) * e + k * (j - e) / n),
            Icc::TwoWayMixed => (b - e, b + (k - 1.0) * e),
            Icc::OneWayMean => (b - w, b),
            Icc::TwoWayRandomMean => (b - e, b + (j - e) / n),
            Icc::TwoWayMixedMean => (b - e, b),
        };
        let found = over / under;
        if under > 0.0 && found.is_finite() {
            Ok(found)
        } else {
            Err(StatisticsError::NoSpread)
        }
    }

    /// Standard error of measurement: what is left once persons and raters are told apart.
    pub fn sem(&self) -> f64 {
        self.error.sqrt()
    }
}
