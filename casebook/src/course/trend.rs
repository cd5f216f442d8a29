//! Two lines through the visits: one weighted by uncertainty, one that a single odd visit can't pull.

use fusion::{Angle, Budget, Source, coverage_factor};
use jiff::civil::Date;

use super::{DAYS_A_WEEK, Visit, days};
use crate::rules::Rules;
use crate::statistics::{Line, TheilSen, chi_square_above, fit_weighted_line, theil_sen};

/// What may be said of a trend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// The angle grows: the interval of the slope leaves out 0, and the gain is more than measurement error.
    Up,
    /// It falls, by the same test.
    Down,
    /// Neither can be said.
    Unclear,
}

/// Lines through the visits of one side.
#[derive(Clone, Debug, PartialEq)]
pub struct Trend {
    /// Slope of the weighted line, a week.
    pub per_week: Angle,
    /// Its expanded uncertainty, 95 % coverage.
    pub expanded_per_week: Angle,
    /// What the weighted line gained from the first visit to the latest.
    pub gain: Angle,
    /// What that has to exceed: MDC95 for the raises of both visits.
    pub limit: Angle,
    /// What may be said.
    pub direction: Direction,
    /// Median slope, a week (Theil and Sen).
    pub robust_per_week: Angle,
    /// The ends of its interval.
    pub robust_interval: (Angle, Angle),
    /// What that interval covers: with four visits at most 92 %.
    pub robust_coverage: f64,
    /// How far the visits are from the line, in their own uncertainties: χ², with two degrees of freedom fewer than
    /// visits.
    pub chi_square: f64,
    /// Whether they are further off than their uncertainties make likely: something else changes from visit to visit.
    pub is_rough: bool,
    first: Date,
    line: Line,
    robust: TheilSen,
    dof: f64,
}

impl Trend {
    /// `None` where no line can be drawn, such as through visits of one day.
    pub(super) fn through(visits: &[Visit], limit: Angle, rules: &Rules) -> Option<Self> {
        let (first, latest) = (visits.first()?.date, visits.last()?.date);
        let x: Vec<f64> = visits.iter().map(|v| days(first, v.date)).collect();
        let of = |angle: fn(&Visit) -> Angle| -> Vec<f64> {
            visits.iter().map(|v| angle(v).radians()).collect()
        };
        let (y, u) = (of(|v| v.summary.mean), of(|v| v.summary.standard));
        let line = fit_weighted_line(&x, &y, &u).ok()?;
        let robust = theil_sen(&x, &y, 0.95).ok()?;
        // The slope is a sum of the means, each with its coefficient and its own degrees of freedom.
        let parts = x.iter().zip(&u).zip(visits);
        let budget = parts.fold(Budget::default(), |budget, ((x, u), visit)| {
            let part = Angle::from_radians(line.slope_coefficient(*x, *u) * u);
            budget.with_dof(Source::Noise, part, visit.summary.effective_dof)
        });
        let dof = budget.effective_dof();
        let weekly = |rad_day: f64| Angle::from_radians(rad_day * DAYS_A_WEEK);
        let per_week = weekly(line.slope);
        let expanded_per_week = weekly(line.u_slope) * coverage_factor(dof);
        let gain = Angle::from_radians(line.slope * days(first, latest));
        let is_certain = per_week.abs() > expanded_per_week && gain.abs() > limit;
        let fit = chi_square_above(line.residual_square, line.dof as f64);
        Some(Self {
            per_week,
            expanded_per_week,
            gain,
            limit,
            direction: match (is_certain, per_week > Angle::ZERO) {
                (false, _) => Direction::Unclear,
                (true, true) => Direction::Up,
                (true, false) => Direction::Down,
            },
            robust_per_week: weekly(robust.slope),
            robust_interval: (weekly(robust.lower), weekly(robust.upper)),
            robust_coverage: robust.coverage,
            chi_square: line.residual_square,
            is_rough: fit.is_ok_and(|chance| chance < rules.fit_chance),
            first,
            line,
            robust,
            dof,
        })
    }

    /// The weighted line at a date, with its expanded uncertainty.
    pub fn at(&self, date: Date) -> (Angle, Angle) {
        let (value, u) = self.line.at(days(self.first, date));
        (
            Angle::from_radians(value),
            Angle::from_radians(u) * coverage_factor(self.dof),
        )
    }

    /// The robust line at a date.
    pub fn robust_at(&self, date: Date) -> Angle {
        Angle::from_radians(self.robust.intercept + self.robust.slope * days(self.first, date))
    }
}
