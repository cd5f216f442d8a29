use approx::assert_abs_diff_eq;

use super::*;
use crate::summary::combined_mean;
use crate::summary::tests::raise;

fn conditions() -> Conditions {
    Conditions {
        movement: Some("active".to_owned()),
        ankle: Some("relaxed".to_owned()),
        ..Conditions::default()
    }
}

fn ended(side: Side, ends: &[(Reason, f64)]) -> Vec<Raise> {
    ends.iter().map(|end| raise(side, Some(*end))).collect()
}

fn decided(raises: &[Raise], feels_tight: Option<bool>) -> Decision {
    let rules = Rules::default();
    decide(
        &Round {
            raises,
            conditions: &conditions(),
        },
        Repeatability::published(&rules),
        feels_tight,
        &Bands::default(),
        &rules,
    )
}

fn held(side: Side, angles: &[f64]) -> Vec<Raise> {
    let ends: Vec<_> = angles.iter().map(|angle| (Reason::Hold, *angle)).collect();
    ended(side, &ends)
}

/// A mean with no more than this to it.
fn plain(side: Side, deg: f64, standard_deg: f64) -> SideSummary {
    let [angle, standard] = [deg, standard_deg].map(Angle::from_degrees);
    combined_mean(side, &[angle], standard, f64::INFINITY, None).unwrap()
}

#[test]
fn far_from_an_edge_one_band_is_named() {
    let found = decided(&held(Side::Right, &[71.0, 72.0, 73.0]), None);
    let [side] = &found.sides[..] else {
        panic!("{found:?}")
    };
    assert_eq!(side.named.len(), 1);
    assert_eq!(side.named[0].band, 2);
    assert_eq!(side.chances.len(), 4);
    let sum: f64 = side.chances.iter().map(|band| band.chance).sum();
    assert_abs_diff_eq!(sum, 1.0, epsilon = 1e-12);
    assert_eq!(found.difference, None);
    assert_eq!(found.unsaid, [Condition::AskedFor]);
    assert_eq!(
        side.notes,
        [Note::EndedBy {
            reason: Reason::Hold,
            count: 3,
            of: 3
        }]
    );
}

#[test]
fn near_an_edge_both_bands_are_named_its_own_first() {
    let found = decided(&held(Side::Left, &[58.9, 59.0, 59.1]), None);
    let named: Vec<usize> = found.sides[0].named.iter().map(|b| b.band).collect();
    assert_eq!(named, [1, 2]);
    assert!(found.sides[0].named[0].chance > found.sides[0].named[1].chance);
    // On the edge it belongs to the band above, with one half each.
    let edge = decided(&held(Side::Left, &[60.0; 3]), None);
    assert_eq!(edge.sides[0].named[0].band, 2);
    assert_abs_diff_eq!(edge.sides[0].named[0].chance, 0.5, epsilon = 1e-6);
}

/// Computed: means 62.133 and 56.1° of three each with u 1.0° for a single raise: 6.033 ± 0.816.
#[test]
fn sides_differ_with_their_uncertainty() {
    let u = 1.0 / 3.0_f64.sqrt();
    let left = plain(Side::Left, (61.0 + 62.4 + 63.0) / 3.0, u);
    let right = plain(Side::Right, (55.2 + 56.0 + 57.1) / 3.0, u);
    let rules = Rules::default();
    let found = SideDifference::of(&left, &right, &rules);
    assert_abs_diff_eq!(
        found.left_less_right.degrees(),
        6.033_333_333_333_331,
        epsilon = 1e-9
    );
    assert_abs_diff_eq!(
        found.standard.degrees(),
        0.816_496_580_927_726,
        epsilon = 1e-9
    );
    assert!(found.is_beyond_error && !found.is_noted);
    let at = |deg| SideDifference::of(&left, &plain(Side::Right, deg, u), &rules);
    let level = left.mean.degrees();
    assert!(at(level + 11.001).is_noted && at(level - 11.001).is_noted);
    assert!(!at(level - 10.999).is_noted);
    assert!(!at(level).is_beyond_error);
}

#[test]
fn what_ended_the_raises_is_said() {
    let note = |ends: &[(Reason, f64)]| decided(&ended(Side::Left, ends), None).sides[0].clone();
    let other = note(&[
        (Reason::OppositeLeg, 57.0),
        (Reason::Hold, 58.0),
        (Reason::OppositeLeg, 57.5),
    ]);
    assert_eq!(other.ends, [(Reason::OppositeLeg, 2), (Reason::Hold, 1)]);
    assert_eq!(
        other.notes,
        [Note::EndedBy {
            reason: Reason::OppositeLeg,
            count: 2,
            of: 3
        }]
    );
    let mixed = note(&[
        (Reason::Knee, 57.0),
        (Reason::Hold, 58.0),
        (Reason::Pull, 57.5),
    ]);
    assert_eq!(mixed.notes, [Note::MixedEnds]);
    let stopped = note(&[
        (Reason::Stop, 20.0),
        (Reason::Stop, 25.0),
        (Reason::Knee, 58.0),
    ]);
    assert_eq!(stopped.ends, [(Reason::Stop, 2), (Reason::Knee, 1)]);
    assert_eq!(
        stopped.notes,
        [
            Note::FewRaises { count: 1, asked: 3 },
            Note::EndedBy {
                reason: Reason::Knee,
                count: 1,
                of: 1
            },
            Note::Stopped { count: 2 }
        ]
    );
}

#[test]
fn a_flexible_leg_that_feels_tight_is_told_apart_from_a_stiff_one() {
    let flexible = |angles: &[f64], tight| {
        let found = decided(&held(Side::Left, angles), tight);
        let notes = &found.sides[0].notes;
        notes
            .iter()
            .copied()
            .find(|note| matches!(note, Note::Flexible { .. } | Note::FlexibleYetTight { .. }))
    };
    let far = [110.0, 111.0, 112.0];
    assert!(
        matches!(flexible(&far, Some(true)), Some(Note::FlexibleYetTight { chance }) if chance > 0.999)
    );
    assert!(matches!(flexible(&far, None), Some(Note::Flexible { .. })));
    assert_eq!(flexible(&far, Some(false)), None);
    assert_eq!(flexible(&[50.0, 51.0, 52.0], Some(true)), None, "stiff");
    assert!(
        matches!(flexible(&[90.0; 3], Some(true)), Some(Note::FlexibleYetTight { chance }) if (chance - 0.5).abs() < 1e-6)
    );
    assert!(
        matches!(flexible(&[89.0; 3], Some(true)), Some(Note::FlexibleYetTight { chance }) if chance < 0.5)
    );
}

#[test]
fn raises_that_scatter_are_told() {
    let wide = decided(&held(Side::Left, &[50.0, 62.0, 55.0]), None);
    assert!(
        wide.sides[0]
            .notes
            .iter()
            .any(|note| matches!(note, Note::Scatter { .. }))
    );
    let usual = decided(&held(Side::Left, &[50.0, 53.0, 54.0]), None);
    assert_eq!(usual.sides[0].notes.len(), 1);
}

#[test]
fn a_round_without_raises_says_nothing_and_a_long_one_is_counted() {
    let none = decided(&[], Some(true));
    assert!(none.sides.is_empty() && none.difference.is_none());
    let many: Vec<f64> = (0..10_000).map(|n| 60.0 + f64::from(n % 3)).collect();
    let found = decided(&held(Side::Right, &many), None);
    assert_eq!(found.sides[0].summary.count, 10_000);
    assert!(found.sides[0].summary.expanded.degrees() > 0.4);
}
