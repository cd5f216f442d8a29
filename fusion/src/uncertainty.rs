//! The uncertainty of an angle as the GUM has it (JCGM 100:2008): named terms, their root sum of squares, effective
//! degrees of freedom (Welch–Satterthwaite, G.4.1) and the factor from Student's t for 95 % coverage (G.3).

use statrs::distribution::{ContinuousCDF as _, StudentsT};

use crate::{Angle, analysis::Measured};

/// Where a part of the uncertainty comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// What is left of gyroscope bias and scale after rests, holds and flat recordings have been used.
    Sensor,
    /// The direction along the leg, learned from the raises.
    Alignment,
    /// Scatter of the curve about its local course.
    Noise,
    /// Where the zero was taken, when there was no rest of its own.
    Zero,
    /// When the end point was.
    Time,
    /// Samples missing nearby.
    Gap,
    /// Flesh between strap and bone: a setting, not a measurement.
    Flesh,
}

impl Source {
    /// The word used in files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Sensor => "sensor",
            Self::Alignment => "alignment",
            Self::Noise => "noise",
            Self::Zero => "zero",
            Self::Time => "time",
            Self::Gap => "gap",
            Self::Flesh => "flesh",
        }
    }
}

/// One part: a standard uncertainty and how well it is known itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// Where it comes from.
    pub source: Source,
    /// Standard uncertainty.
    pub standard: Angle,
    /// Degrees of freedom; infinite for limits and settings.
    pub dof: f64,
}

/// The parts of one angle's uncertainty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Budget {
    /// In the order of the method.
    pub terms: Vec<Term>,
}

impl Budget {
    /// Adds a part that is known by its limits.
    #[must_use]
    pub fn with(self, source: Source, standard: Angle) -> Self {
        self.with_dof(source, standard, f64::INFINITY)
    }

    /// Adds a part found from `dof` + 1 observations.
    #[must_use]
    pub fn with_dof(mut self, source: Source, standard: Angle, dof: f64) -> Self {
        if standard.radians() != 0.0 {
            self.terms.push(Term {
                source,
                standard: standard.abs(),
                dof,
            });
        }
        self
    }

    /// Combined standard uncertainty.
    pub fn combined(&self) -> Angle {
        Angle::from_radians(
            self.terms
                .iter()
                .map(|t| t.standard.radians().powi(2))
                .sum::<f64>()
                .sqrt(),
        )
    }

    /// Effective degrees of freedom; infinite where every part is.
    pub fn effective_dof(&self) -> f64 {
        let fourth: f64 = self
            .terms
            .iter()
            .map(|t| t.standard.radians().powi(4) / t.dof)
            .sum();
        if fourth > 0.0 {
            self.combined().radians().powi(4) / fourth
        } else {
            f64::INFINITY
        }
    }

    /// Expanded uncertainty for 95 % coverage.
    pub fn expanded(&self) -> Angle {
        self.combined() * coverage_factor(self.effective_dof())
    }

    /// The angle with this uncertainty.
    pub fn measured(self, value: Angle) -> Measured {
        Measured {
            value,
            expanded: self.expanded(),
            budget: self,
        }
    }
}

/// Student's t for two-sided 95 % coverage. Degrees of freedom are cut to a whole number (GUM G.4.1), at least 1.
pub fn coverage_factor(dof: f64) -> f64 {
    const NORMAL: f64 = 1.959_963_984_540_054;
    if dof.is_nan() || dof > 1e5 {
        return NORMAL;
    }
    StudentsT::new(0.0, 1.0, dof.floor().max(1.0)).map_or(NORMAL, |t| t.inverse_cdf(0.975))
}
