//! The mean end point of each side, with its uncertainty.
//!
//! Two parts are kept apart and combined as the GUM has it (JCGM 100:2008). The *person's*: the scatter of the raises,
//! pooled with what is known beforehand of how well people repeat, over the number of raises (Type A, 4.2.4). The
//! *instrument's* (Type B, 4.3), which is taken as common to all raises and so is not made smaller by repeating.
//! Degrees of freedom after Welch and Satterthwaite (G.4.1), the factor from Student's t. Two or three raises alone say
//! next to nothing of their own scatter: docs/decisions/011.

use fusion::{Angle, Budget, Raise, Reason, Source, coverage_factor};
use sensor::Side;

use crate::repeatability::Repeatability;
use crate::rules::Rules;

/// The mean end point of one side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideSummary {
    /// Which leg.
    pub side: Side,
    /// Mean of the end-point angles, unrounded.
    pub mean: Angle,
    /// The person's part of the mean's standard uncertainty: how well raises repeat.
    pub person: Angle,
    /// The instrument's part.
    pub instrument: Angle,
    /// Both combined: standard uncertainty of the mean.
    pub standard: Angle,
    /// Its effective degrees of freedom; infinite where every part is.
    pub effective_dof: f64,
    /// Expanded uncertainty of the mean, 95 % coverage.
    pub expanded: Angle,
    /// Standard deviation of the end points among themselves; from two raises on.
    pub scatter: Option<Angle>,
    /// How many raises the mean is made of.
    pub count: usize,
    /// Raises of this side ended by `stop`, which are left out.
    pub stopped_count: usize,
    /// Raises of this side without an end point.
    pub missing_count: usize,
    /// Movements of this side that are no straight leg raises, which are left out too.
    pub other_count: usize,
}

/// Sums up one side where nothing but the literature tells how well people repeat. `None` where no raise of it has an
/// end point to be counted.
pub fn summarise(raises: &[Raise], side: Side) -> Option<SideSummary> {
    summarise_with(raises, side, &Repeatability::published(&Rules::default()))
}

/// Sums up one side, knowing how well people repeat.
pub fn summarise_with(
    raises: &[Raise],
    side: Side,
    repeatability: &Repeatability,
) -> Option<SideSummary> {
    let of_side = || raises.iter().filter(|raise| raise.side == side);
    let counted: Vec<_> = counted(raises, side).collect();
    let angles: Vec<Angle> = counted.iter().map(|end| end.angle.value).collect();
    let instrument: Vec<(Angle, f64)> = counted
        .iter()
        .map(|end| {
            (
                end.angle.budget.combined(),
                end.angle.budget.effective_dof(),
            )
        })
        .collect();
    let (standard_b, dof_b) = common_part(&instrument)?;
    let mut summary = combined_mean(side, &angles, standard_b, dof_b, Some(repeatability))?;
    let raise_count = of_side().filter(|raise| raise.is_leg_raise()).count();
    let ended = of_side().filter(|raise| raise.is_leg_raise() && raise.end_point.is_some());
    summary.missing_count = raise_count - ended.count();
    summary.stopped_count = raise_count - summary.missing_count - counted.len();
    summary.other_count = of_side().count() - raise_count;
    Some(summary)
}

/// The end points of one side that count for its mean, in order.
pub(crate) fn counted(raises: &[Raise], side: Side) -> impl Iterator<Item = &fusion::EndPoint> {
    raises
        .iter()
        .filter(move |raise| raise.side == side && raise.is_leg_raise())
        .filter_map(|raise| raise.end_point.as_ref())
        .filter(|end| end.reason != Reason::Stop)
}

/// The instrument's part of the mean: root mean square of the raises' own, and the least degrees of freedom of them.
fn common_part(parts: &[(Angle, f64)]) -> Option<(Angle, f64)> {
    if parts.is_empty() {
        return None;
    }
    let square = parts
        .iter()
        .map(|(standard, _)| standard.radians().powi(2))
        .sum::<f64>()
        / parts.len() as f64;
    Some((
        Angle::from_radians(square.sqrt()),
        parts
            .iter()
            .map(|(_, dof)| *dof)
            .fold(f64::INFINITY, f64::min),
    ))
}

/// The mean of angles whose instrument has the standard uncertainty `standard_b` with `dof_b` degrees of freedom.
/// `None` for no angles, or where one is no number. Without `repeatability` the angles alone tell their scatter, as in GUM 4.2: a single one then
/// has none.
pub fn combined_mean(
    side: Side,
    angles: &[Angle],
    standard_b: Angle,
    dof_b: f64,
    repeatability: Option<&Repeatability>,
) -> Option<SideSummary> {
    let count = angles.len();
    let is_sound = angles.iter().all(|angle| angle.radians().is_finite())
        && standard_b.radians().is_finite()
        && dof_b > 0.0;
    if count == 0 || !is_sound {
        return None;
    }
    let mean = angles.iter().map(|angle| angle.radians()).sum::<f64>() / count as f64;
    let own_dof = (count - 1) as f64;
    let squares = angles
        .iter()
        .map(|angle| (angle.radians() - mean).powi(2))
        .sum::<f64>();
    let (known_dof, known_square) =
        repeatability.map_or((0.0, 0.0), |known| (known.dof, known.sem.radians().powi(2)));
    let dof = known_dof + own_dof;
    // A scaled inverse χ² for the variance beforehand, and the raises: Student's t for the mean with both together.
    let variance = if dof > 0.0 {
        (known_dof * known_square + squares) / dof
    } else {
        0.0
    };
    let person = Angle::from_radians((variance / count as f64).sqrt());
    // The budget is used for its arithmetic; what its terms are called doesn't matter here.
    let budget = Budget::default()
        .with_dof(Source::Noise, person, dof)
        .with_dof(Source::Sensor, standard_b, dof_b);
    let (standard, effective_dof) = (budget.combined(), budget.effective_dof());
    Some(SideSummary {
        side,
        mean: Angle::from_radians(mean),
        person,
        instrument: standard_b.abs(),
        standard,
        effective_dof,
        expanded: standard * coverage_factor(effective_dof),
        scatter: (count > 1).then(|| Angle::from_radians((squares / own_dof).sqrt())),
        count,
        other_count: 0,
        stopped_count: 0,
        missing_count: 0,
    })
}

#[cfg(test)]
pub(crate) mod tests;
