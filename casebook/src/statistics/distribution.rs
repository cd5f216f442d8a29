//! Normal, Student's t and χ²: probabilities and quantiles.

use statrs::distribution::{ChiSquared, ContinuousCDF as _, Normal, StudentsT};

use super::{Result, StatisticsError, checked_chance};

/// From so many degrees of freedom on, t is normal.
const DOF_NORMAL: f64 = 1e5;

/// The chance that a standard normal number lies below `z`.
pub fn normal_below(z: f64) -> f64 {
    if z.is_nan() {
        return 0.5;
    }
    Normal::standard().cdf(z)
}

/// The standard normal number below which the chance is `chance`.
pub fn normal_quantile(chance: f64) -> Result<f64> {
    Ok(Normal::standard().inverse_cdf(checked_chance(chance, "chance")?))
}

/// The t below which the chance is `chance`; `dof` may be a fraction or infinite.
pub fn t_quantile(chance: f64, dof: f64) -> Result<f64> {
    let chance = checked_chance(chance, "chance")?;
    Ok(match student(dof)? {
        Some(t) => t.inverse_cdf(chance),
        None => Normal::standard().inverse_cdf(chance),
    })
}

/// The chance, on both sides together, of a t at least as far from 0 as this.
pub fn t_beyond(t: f64, dof: f64) -> Result<f64> {
    if t.is_nan() {
        return Err(StatisticsError::Range { what: "t" });
    }
    let tail = -t.abs();
    Ok(2.0
        * match student(dof)? {
            Some(student) => student.cdf(tail),
            None => Normal::standard().cdf(tail),
        })
}

/// The χ² below which the chance is `chance`.
pub fn chi_square_quantile(chance: f64, dof: f64) -> Result<f64> {
    Ok(chi_square(dof)?.inverse_cdf(checked_chance(chance, "chance")?))
}

/// The chance of a χ² at least this large.
pub fn chi_square_above(value: f64, dof: f64) -> Result<f64> {
    if value.is_nan() || value < 0.0 {
        return Err(StatisticsError::Range { what: "chi-square" });
    }
    Ok(chi_square(dof)?.sf(value))
}

/// `None` where it is the normal distribution.
fn student(dof: f64) -> Result<Option<StudentsT>> {
    if dof > DOF_NORMAL {
        return Ok(None);
    }
    StudentsT::new(0.0, 1.0, dof)
        .map(Some)
        .map_err(|_unsaid| DOF)
}

fn chi_square(dof: f64) -> Result<ChiSquared> {
    if dof > DOF_NORMAL {
        return Err(DOF);
    }
    ChiSquared::new(dof).map_err(|_unsaid| DOF)
}

const DOF: StatisticsError = StatisticsError::Range {
    what: "degrees of freedom",
};
