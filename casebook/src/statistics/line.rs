//! A straight line through points, with the uncertainty of all that is read off it.
//!
//! The line is kept by its height over the middle of the points, where height and slope are uncorrelated: so nothing
//! cancels when a value far off is asked for (GUM H.3 shows how much the covariance matters).

use super::moments::mean_of;
use super::{Result, StatisticsError, checked_pair, checked_uncertainties};

/// A line `y = height + slope · (x − centre)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Where the points have their middle, by weight.
    pub centre: f64,
    /// y there.
    pub height: f64,
    /// Change of y per x.
    pub slope: f64,
    /// Standard uncertainty of the height.
    pub u_height: f64,
    /// Standard uncertainty of the slope.
    pub u_slope: f64,
    /// Sum of squared residuals, each over its standard uncertainty where that is known: then it is χ².
    pub residual_square: f64,
    /// Points less two.
    pub dof: usize,
}

/// Least squares where the spread of the points is only known from themselves; at least three.
pub fn fit_line(x: &[f64], y: &[f64]) -> Result<Line> {
    checked_pair(x, y, 3)?;
    let line = through(x, y, &vec![1.0; x.len()])?;
    let sd = (line.residual_square / line.dof as f64).sqrt();
    Ok(Line {
        u_height: line.u_height * sd,
        u_slope: line.u_slope * sd,
        ..line
    })
}

/// Least squares where the standard uncertainty of each y is known; at least two points. The weights are 1/u², and
/// uncertainties are not rescaled by the residuals: [`Line::residual_square`] is χ² and tells whether they fit.
pub fn fit_weighted_line(x: &[f64], y: &[f64], standard: &[f64]) -> Result<Line> {
    checked_pair(x, y, 2)?;
    checked_pair(x, standard, 2)?;
    checked_uncertainties(standard)?;
    let weights: Vec<f64> = standard.iter().map(|u| u.powi(-2)).collect();
    through(x, y, &weights)
}

fn through(x: &[f64], y: &[f64], weights: &[f64]) -> Result<Line> {
    let weight: f64 = weights.iter().sum();
    let middle = |values: &[f64]| {
        let rough = mean_of(values);
        let off = values.iter().zip(weights).map(|(v, w)| (v - rough) * w);
        rough + off.sum::<f64>() / weight
    };
    let (centre, height) = (middle(x), middle(y));
    let points = || x.iter().zip(y).zip(weights);
    let spread: f64 = points().map(|((x, _), w)| w * (x - centre).powi(2)).sum();
    let slope = points()
        .map(|((x, y), w)| w * (x - centre) * (y - height))
        .sum::<f64>()
        / spread;
    let line = Line {
        centre,
        height,
        slope,
        u_height: weight.powf(-0.5),
        u_slope: spread.powf(-0.5),
        residual_square: points()
            .map(|((x, y), w)| w * (y - height - slope * (x - centre)).powi(2))
            .sum(),
        dof: x.len() - 2,
    };
    let is_flat = x.iter().all(|value| value.total_cmp(&x[0]).is_eq());
    if is_flat || !(line.u_slope.is_finite() && line.residual_square.is_finite()) {
        return Err(StatisticsError::NoSpread);
    }
    Ok(line)
}

impl Line {
    /// y at `x`, and its standard uncertainty as a value of the line (not of a further point).
    pub fn at(&self, x: f64) -> (f64, f64) {
        let off = x - self.centre;
        (
            self.height + self.slope * off,
            self.u_height.hypot(self.u_slope * off),
        )
    }

    /// Covariance of the slope with the value at `x`.
    pub fn covariance_with(&self, x: f64) -> f64 {
        (x - self.centre) * self.u_slope.powi(2)
    }

    /// How much of the slope's uncertainty comes from a point at `x` of standard uncertainty `u`: its coefficient.
    pub fn slope_coefficient(&self, x: f64, u: f64) -> f64 {
        (x - self.centre) * self.u_slope.powi(2) / u.powi(2)
    }

    /// Standard deviation of the residuals, of three points or more.
    pub fn residual_sd(&self) -> Option<f64> {
        (self.dof > 0).then(|| (self.residual_square / self.dof as f64).sqrt())
    }
}
