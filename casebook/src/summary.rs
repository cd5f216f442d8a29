//! The mean end point of each side, with its uncertainty.
//!
//! Two parts are combined as the GUM has it (JCGM 100:2008): the scatter of the raises (Type A, 4.2.3, with n − 1
//! degrees of freedom) and the instrument (Type B, 4.3), which is taken as common to all raises and so is not made
//! smaller by repeating. Degrees of freedom after Welch and Satterthwaite (G.4.1), the factor from Student's t.

use fusion::{Angle, Raise, Reason, coverage_factor};
use sensor::Side;

/// The mean end point of one side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideSummary {
    /// Which leg.
    pub side: Side,
    /// Mean of the end-point angles, unrounded.
    pub mean: Angle,
    /// Combined standard uncertainty of the mean.
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

/// Sums up one side. `None` where no raise of it has an end point to be counted.
pub fn summarise(raises: &[Raise], side: Side) -> Option<SideSummary> {
    let moved = raises.iter().filter(|raise| raise.side == side);
    let (of_side, others): (Vec<&Raise>, Vec<&Raise>) =
        moved.partition(|raise| raise.is_leg_raise());
    let ends = || of_side.iter().filter_map(|raise| raise.end_point.as_ref());
    let counted: Vec<_> = ends().filter(|end| end.reason != Reason::Stop).collect();
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
    let mut summary = combined_mean(side, &angles, standard_b, dof_b)?;
    summary.stopped_count = ends().count() - counted.len();
    summary.missing_count = of_side.len() - ends().count();
    summary.other_count = others.len();
    Some(summary)
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
/// `None` for no angles.
pub fn combined_mean(
    side: Side,
    angles: &[Angle],
    standard_b: Angle,
    dof_b: f64,
) -> Option<SideSummary> {
    let count = angles.len();
    if count == 0 {
        return None;
    }
    let mean = angles.iter().map(|angle| angle.radians()).sum::<f64>() / count as f64;
    let dof_a = (count - 1) as f64;
    let variance = (count > 1).then(|| {
        angles
            .iter()
            .map(|angle| (angle.radians() - mean).powi(2))
            .sum::<f64>()
            / dof_a
    });
    let square_a = variance.unwrap_or(0.0) / count as f64;
    let square_b = standard_b.radians().powi(2);
    let fourth_a = if square_a > 0.0 {
        square_a.powi(2) / dof_a
    } else {
        0.0
    };
    let fourth = fourth_a + square_b.powi(2) / dof_b;
    let square = square_a + square_b;
    let effective_dof = if fourth > 0.0 {
        square.powi(2) / fourth
    } else {
        f64::INFINITY
    };
    let standard = Angle::from_radians(square.sqrt());
    Some(SideSummary {
        side,
        mean: Angle::from_radians(mean),
        standard,
        effective_dof,
        expanded: standard * coverage_factor(effective_dof),
        scatter: variance.map(|v| Angle::from_radians(v.sqrt())),
        count,
        other_count: 0,
        stopped_count: 0,
        missing_count: 0,
    })
}

#[cfg(test)]
mod tests {
    use approx::{assert_abs_diff_eq, assert_relative_eq};
    use fusion::{Budget, EndPoint, Source};
    use statrs::distribution::{ContinuousCDF as _, StudentsT};

    use super::*;

    fn deg(deg: f64) -> Angle {
        Angle::from_degrees(deg)
    }

    fn raise(side: Side, end: Option<(Reason, f64)>) -> Raise {
        let end_point = end.map(|(reason, angle_deg)| EndPoint {
            reason,
            time_s: 1.0,
            pressed_s: None,
            angle: Budget::default()
                .with(Source::Sensor, deg(0.4))
                .measured(deg(angle_deg)),
        });
        Raise {
            side,
            start_s: 0.0,
            end_s: 2.0,
            peak: None,
            hold: None,
            end_point,
            compensations: Vec::new(),
            pelvis_share: None,
            rate_max_rad_s: 0.0,
            flags: Vec::new(),
        }
    }

    /// Three raises, computed after JCGM 100:2008 4.2.3, 5.1.2, G.4.1. The factor of the source is for 95.45 %.
    #[test]
    fn three_raises_combine_as_the_gum_has_it() {
        let angles = [61.0, 62.4, 63.0].map(deg);
        let found = combined_mean(Side::Left, &angles, deg(0.4), f64::INFINITY).unwrap();
        assert_abs_diff_eq!(found.mean.degrees(), 62.133_333_333_333_33, epsilon = 1e-9);
        assert_abs_diff_eq!(
            found.scatter.unwrap().degrees(),
            1.026_320_287_889_376_7,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(
            found.standard.degrees(),
            0.714_920_352_984_240_5,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(found.effective_dof, 4.238_102_868_130_107, epsilon = 1e-9);
        let k = StudentsT::new(0.0, 1.0, found.effective_dof.floor())
            .unwrap()
            .inverse_cdf(0.5 + 0.9545 / 2.0);
        assert_relative_eq!(
            found.standard.degrees() * k,
            2.051_331_813_942_373_7,
            max_relative = 1e-8
        );
        // For 95 %: t at 4 degrees of freedom is 2.776 445 (GUM table G.2: 2.78).
        assert_relative_eq!(
            found.expanded.degrees(),
            0.714_920_352_984_240_5 * 2.776_445_105,
            max_relative = 1e-8
        );
    }

    #[test]
    fn stopped_and_missing_raises_are_left_out_and_counted() {
        let raises = [
            raise(Side::Right, Some((Reason::Hold, 50.0))),
            raise(Side::Right, Some((Reason::Stop, 20.0))),
            raise(Side::Right, None),
            raise(Side::Right, Some((Reason::Pull, 52.0))),
            raise(Side::Left, Some((Reason::Stop, 30.0))),
        ];
        let right = summarise(&raises, Side::Right).unwrap();
        assert_abs_diff_eq!(right.mean.degrees(), 51.0, epsilon = 1e-9);
        assert_eq!(
            (right.count, right.stopped_count, right.missing_count),
            (2, 1, 1)
        );
        assert_eq!(summarise(&raises, Side::Left), None);
    }

    #[test]
    fn one_raise_keeps_its_instrument_uncertainty() {
        let raises = [raise(Side::Left, Some((Reason::Peak, 70.0)))];
        let found = summarise(&raises, Side::Left).unwrap();
        let alone = raises[0].end_point.as_ref().unwrap().angle.expanded;
        assert_abs_diff_eq!(found.expanded.degrees(), alone.degrees(), epsilon = 1e-12);
        assert_eq!(found.scatter, None);
    }

    #[test]
    fn raises_without_any_scatter_give_no_nan() {
        let found = combined_mean(Side::Left, &[deg(50.0); 3], Angle::ZERO, f64::INFINITY).unwrap();
        assert_eq!(found.expanded, Angle::ZERO);
        assert!(found.effective_dof.is_infinite());
    }
}
