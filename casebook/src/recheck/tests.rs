use approx::assert_abs_diff_eq;
use sensor::Conditions;

use super::*;
use crate::change::LimitKind;
use crate::summary::tests::raise;

fn held(side: Side, angles: &[f64]) -> Vec<Raise> {
    let ends = angles.iter().map(|angle| Some((Reason::Hold, *angle)));
    ends.map(|end| raise(side, end)).collect()
}

fn by(rater: &str) -> Conditions {
    Conditions {
        movement: Some("active".to_owned()),
        ankle: Some("relaxed".to_owned()),
        asked_for: Some("limit".to_owned()),
        rater: Some(rater.to_owned()),
    }
}

fn compared(before: &[Raise], after: &[Raise], after_s: Option<f64>, rater: &str) -> Recheck {
    let rules = Rules::default();
    let (first, second) = (by("R1"), by(rater));
    recheck(
        &Round {
            raises: before,
            conditions: &first,
        },
        &Round {
            raises: after,
            conditions: &second,
        },
        after_s,
        &Repeatability::published(&rules),
        &rules,
    )
    .unwrap()
}

/// MDC95 of means of three, SEM 2.4°: 3.84°.
#[test]
fn a_change_counts_beyond_measurement_error_only() {
    let before = held(Side::Left, &[59.0, 60.0, 61.0]);
    let found = |shift: f64| {
        let after = held(Side::Left, &[59.0, 60.0, 61.0].map(|a| a + shift));
        let found = compared(&before, &after, Some(60.0), "R1");
        assert!(found.notes.is_empty());
        found.sides[0].change
    };
    assert!(found(3.9).is_gain() && found(3.9).is_beyond_error());
    assert_eq!(found(3.9).limit_kind, LimitKind::Mdc95);
    assert_abs_diff_eq!(found(3.9).limit.degrees(), 3.840_8, epsilon = 1e-4);
    assert!(!found(3.8).is_beyond_error() && !found(3.8).is_gain());
    assert!(found(-3.9).is_fall() && !found(-3.8).is_fall());
    assert!(!found(0.0).is_beyond_error());
}

/// Ordinary scatter is what the MDC95 is about; and one raise against one has none: 6.65°.
#[test]
fn ordinary_scatter_doesnt_raise_the_limit() {
    let before = held(Side::Left, &[57.0, 60.0, 63.0]);
    let after = held(Side::Left, &[61.0, 64.0, 67.0]);
    let change = compared(&before, &after, Some(60.0), "R1").sides[0].change;
    assert!(change.is_gain() && change.expanded > change.limit);
    let single = |deg| held(Side::Left, &[deg]);
    let change = compared(&single(60.0), &single(66.7), Some(60.0), "R1").sides[0].change;
    assert_eq!(change.limit_kind, LimitKind::Mdc95);
    assert!(change.is_gain());
}

#[test]
fn raises_that_scatter_need_a_larger_change() {
    let before = held(Side::Left, &[52.0, 60.0, 68.0]);
    let after = held(Side::Left, &[58.0, 66.0, 74.0]);
    let change = compared(&before, &after, Some(60.0), "R1").sides[0].change;
    assert_abs_diff_eq!(change.amount.degrees(), 6.0, epsilon = 1e-9);
    assert_eq!(change.limit_kind, LimitKind::OwnScatter);
    assert!(!change.is_beyond_error());
}

#[test]
fn another_rater_needs_ten_degrees() {
    let before = held(Side::Left, &[60.0; 3]);
    let found = compared(&before, &held(Side::Left, &[69.9; 3]), Some(0.0), "R2");
    assert_eq!(found.sides[0].change.limit_kind, LimitKind::OtherRater);
    assert!(!found.sides[0].change.is_beyond_error());
    assert_eq!(found.notes, [RecheckNote::OtherRater]);
    let found = compared(&before, &held(Side::Left, &[70.1; 3]), Some(0.0), "R2");
    assert!(found.sides[0].change.is_gain());
}

#[test]
fn warming_up_is_shown_apart() {
    let before = held(Side::Left, &[55.0, 57.0, 58.5]);
    let mut after = held(Side::Left, &[58.0, 58.0, 58.0]);
    after[2].end_point = None;
    let side = compared(&before, &after, Some(100.0), "R1").sides[0];
    let warm_up = side.warm_up_before.unwrap();
    assert_abs_diff_eq!(warm_up.gain.degrees(), 3.5, epsilon = 1e-9);
    assert_abs_diff_eq!(warm_up.limit.degrees(), 6.652_460_597_403, epsilon = 1e-9);
    assert_eq!(side.warm_up_after, None, "no third end point");
    assert_eq!(side.after.count, 2);
}

#[test]
fn order_number_and_time_are_noted() {
    let left = held(Side::Left, &[60.0, 61.0]);
    let right = held(Side::Right, &[60.0, 61.0]);
    let first = [left.clone(), right.clone()].concat();
    let turned = [right.clone(), left.clone()].concat();
    let notes = |after: &[Raise], time| compared(&first, after, time, "R1").notes;
    assert_eq!(notes(&turned, Some(180.0)), [RecheckNote::OtherOrder]);
    assert_eq!(
        notes(&first, Some(181.0)),
        [RecheckNote::Late { after_s: 181.0 }]
    );
    for time in [None, Some(-1.0), Some(f64::NAN)] {
        assert_eq!(notes(&first, time), [RecheckNote::TimeUnknown]);
    }
    assert_eq!(
        notes(&left, Some(0.0)),
        [RecheckNote::OtherCount {
            side: Side::Right,
            before: 2,
            after: 0
        }]
    );
}

#[test]
fn what_cant_be_compared_is_refused() {
    let rules = Rules::default();
    let raises = held(Side::Left, &[60.0]);
    let (first, mut second) = (by("R1"), by("R1"));
    second.ankle = Some("pulled up".to_owned());
    let before = Round {
        raises: &raises,
        conditions: &first,
    };
    let published = Repeatability::published(&rules);
    let found = recheck(
        &before,
        &Round {
            raises: &raises,
            conditions: &second,
        },
        None,
        &published,
        &rules,
    );
    assert_eq!(
        found,
        Err(RecheckError::OtherWay {
            differing: vec![Condition::Ankle]
        })
    );
    let none = Round {
        raises: &[],
        conditions: &first,
    };
    assert_eq!(
        recheck(&before, &none, None, &published, &rules),
        Err(RecheckError::NoSide)
    );
}
