//! A change between two means, held against what measurement error alone can do.

use fusion::{Angle, Budget, Source, coverage_factor};

use crate::repeatability::Repeatability;
use crate::rules::Rules;
use crate::statistics::chi_square_above;
use crate::summary::SideSummary;

/// What a change had to exceed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitKind {
    /// MDC95 for the numbers of raises on either side.
    Mdc95,
    /// The expanded uncertainty of this very change: the raises scatter more than people's usually do.
    OwnScatter,
    /// What two persons who measure differ by.
    OtherRater,
}

/// A change of the mean end point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Later less earlier.
    pub amount: Angle,
    /// Expanded uncertainty of the change, 95 % coverage.
    pub expanded: Angle,
    /// What it has to exceed: the largest of those that apply.
    pub limit: Angle,
    /// Which of them that is.
    pub limit_kind: LimitKind,
}

impl Change {
    /// From one mean to another of the same side.
    pub fn between(
        before: &SideSummary,
        after: &SideSummary,
        repeatability: &Repeatability,
        is_other_rater: bool,
        rules: &Rules,
    ) -> Self {
        let (_, expanded) = difference(before, after);
        let mdc = repeatability
            .mdc95(before.count, after.count)
            .unwrap_or(expanded);
        let other = Angle::from_degrees(rules.other_rater_mdc_deg);
        let mut found = (mdc, LimitKind::Mdc95);
        for (limit, kind, applies) in [
            (
                expanded,
                LimitKind::OwnScatter,
                scatters_more(&[*before, *after], repeatability),
            ),
            (other, LimitKind::OtherRater, is_other_rater),
        ] {
            if applies && limit > found.0 {
                found = (limit, kind);
            }
        }
        Self {
            amount: after.mean - before.mean,
            expanded,
            limit: found.0,
            limit_kind: found.1,
        }
    }

    /// Whether it is more than measurement error, up or down.
    pub fn is_beyond_error(&self) -> bool {
        self.amount.abs() > self.limit
    }

    /// Whether the angle grew by more than measurement error.
    pub fn is_gain(&self) -> bool {
        self.amount > self.limit
    }

    /// Whether the angle fell by more than measurement error.
    pub fn is_fall(&self) -> bool {
        -self.amount > self.limit
    }
}

/// One set of raises in forty scatters so much by chance where people repeat as is said of them.
const SCATTER_CHANCE: f64 = 0.025;

/// Whether raises scatter about their own means more than is usual for people.
pub(crate) fn scatters_more(means: &[SideSummary], repeatability: &Repeatability) -> bool {
    let (mut square, mut dof) = (0.0, 0.0);
    for (mean, scatter) in means.iter().filter_map(|mean| Some((mean, mean.scatter?))) {
        let own_dof = mean.count.saturating_sub(1) as f64;
        square += own_dof * (scatter.radians() / repeatability.sem.radians()).powi(2);
        dof += own_dof;
    }
    chi_square_above(square, dof).is_ok_and(|chance| chance < SCATTER_CHANCE)
}

/// Standard and expanded uncertainty of the difference of two means.
pub(crate) fn difference(a: &SideSummary, b: &SideSummary) -> (Angle, Angle) {
    let budget = Budget::default()
        .with_dof(Source::Noise, a.standard, a.effective_dof)
        .with_dof(Source::Noise, b.standard, b.effective_dof);
    let standard = budget.combined();
    (standard, standard * coverage_factor(budget.effective_dof()))
}
