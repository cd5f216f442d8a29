use approx::assert_abs_diff_eq;
use jiff::civil::date;

use super::tests::{course, plan, visit};
use super::*;

/// Standard uncertainty 1°: the edge must be passed by more than 1.96°.
fn advice(means: &[(i64, f64)], plan: Plan) -> Advice {
    let visits: Vec<Visit> = means
        .iter()
        .map(|(day, deg)| visit(*day, *deg, 1.0))
        .collect();
    course(&visits, plan).advice
}

#[test]
fn two_visits_a_week_apart_above_the_edge_move_on() {
    let found = advice(&[(0, 57.0), (7, 62.1), (14, 62.5)], plan(1));
    assert_eq!(found.step, Step::MoveOn { to: 2 });
    assert_eq!(
        found.reasons,
        [StepReason::Above {
            visits: 2,
            since: date(2026, 3, 8)
        }]
    );
}

#[test]
fn what_is_missing_for_moving_on_is_said() {
    let found = advice(&[(0, 57.0), (7, 62.1)], plan(1));
    assert_eq!(found.step, Step::Stay);
    assert_eq!(
        found.reasons[1],
        StepReason::TooFewVisits {
            found: 1,
            needed: 2
        }
    );
    let found = advice(&[(0, 57.0), (7, 62.1), (13, 62.5)], plan(1));
    assert_eq!(found.step, Step::Stay);
    assert_eq!(found.reasons[1], StepReason::TooSoon { days: 6, needed: 7 });
    // Above, but by less than the uncertainty; and a row that is broken.
    let found = advice(&[(0, 62.1), (7, 61.9)], plan(1));
    assert!(matches!(
        found.reasons[..],
        [StepReason::NotAbove { above, .. }] if (above.degrees() - 1.9).abs() < 1e-9
    ));
    let found = advice(&[(0, 62.5), (7, 61.0), (14, 62.5)], plan(1));
    assert_eq!(found.step, Step::Stay);
    let top = advice(&[(0, 120.0), (7, 121.0)], plan(3));
    assert_eq!(top.reasons, [StepReason::TopBand]);
    // A plan for a band that is no longer there.
    assert_eq!(advice(&[(0, 50.0)], plan(9)).reasons, [StepReason::TopBand]);
}

#[test]
fn no_further_than_all_visits_of_the_row_reach() {
    let found = advice(&[(0, 50.0), (7, 70.0), (14, 71.0)], plan(0));
    assert_eq!(found.step, Step::MoveOn { to: 1 });
    let found = advice(&[(0, 65.0), (7, 70.0), (14, 71.0)], plan(0));
    assert_eq!(found.step, Step::MoveOn { to: 2 });
}

#[test]
fn other_signs_must_be_quiet() {
    let mut visits = vec![visit(0, 62.5, 1.0), visit(7, 63.0, 1.0)];
    visits[1].is_quiet = None;
    let found = course(&visits, plan(1)).advice;
    assert_eq!(found.step, Step::MoveOn { to: 2 });
    assert_eq!(found.reasons[1], StepReason::QuietUnknown);
    visits[0].is_quiet = Some(false);
    let found = course(&visits, plan(1)).advice;
    assert_eq!(found.step, Step::Stay);
    assert_eq!(found.reasons[1], StepReason::NotQuiet);
}

/// MDC95 of means of three: 3.84°.
#[test]
fn one_clear_fall_returns() {
    let since = Plan {
        band: 2,
        since: Some(date(2026, 3, 8)),
    };
    let found = advice(&[(0, 55.0), (7, 62.5), (14, 58.5)], since);
    assert_eq!(found.step, Step::Return { to: 1 });
    assert!(matches!(
        found.reasons[..],
        [StepReason::ClearFall { from, change }]
            if from == date(2026, 3, 8) && (change.amount.degrees() + 4.0).abs() < 1e-9
    ));
    // Less than measurement error; and clear, but within the band.
    assert_eq!(
        advice(&[(7, 62.5), (14, 58.7)], since).step,
        Step::Stay,
        "within error"
    );
    let within = advice(&[(7, 80.0), (14, 75.0)], since);
    assert_eq!(within.step, Step::Stay);
    assert!(matches!(within.reasons[..], [StepReason::ClearFall { .. }]));
    // Bit by bit since the plan began.
    let slow = advice(&[(0, 90.0), (7, 62.5), (14, 60.0), (21, 58.0)], since);
    assert_eq!(slow.step, Step::Return { to: 1 });
}

#[test]
fn a_plateau_after_a_gain_and_a_review_without_one() {
    let found = advice(
        &[(0, 50.0), (7, 55.0), (14, 56.0), (28, 56.5), (42, 56.0)],
        plan(1),
    );
    let [Hint::Plateau { weeks }] = found.hints[..] else {
        panic!("{found:?}")
    };
    assert_abs_diff_eq!(weeks, 4.0, epsilon = 1e-12);
    let no_gain = |day| advice(&[(0, 50.0), (7, 51.0), (day, 52.0)], plan(1)).hints;
    assert_eq!(no_gain(27), []);
    assert_eq!(
        no_gain(28),
        [Hint::Review {
            weeks: 4.0,
            is_due: false
        }]
    );
    assert_eq!(
        no_gain(42),
        [Hint::Review {
            weeks: 6.0,
            is_due: true
        }]
    );
    // A drill changed last week starts anew.
    let since = Plan {
        band: 1,
        since: Some(date(2026, 4, 5)),
    };
    assert_eq!(
        advice(&[(0, 50.0), (35, 51.0), (42, 52.0)], since).hints,
        []
    );
    assert_eq!(advice(&[(0, 50.0)], plan(1)).hints, []);
}

#[test]
fn the_last_day_of_the_calendar_still_has_a_next_visit() {
    let mut last = visit(0, 50.0, 1.0);
    last.date = Date::MAX;
    assert_eq!(course(&[last], plan(1)).next_visit, Date::MAX);
}

#[test]
fn a_changed_rule_changes_the_step() {
    let mut rules = Rules::default();
    rules.set("move_on_visit_count", 1.0).unwrap();
    rules.set("move_on_days", 0.0).unwrap();
    let found = Course::of(
        &[visit(0, 62.1, 1.0)],
        plan(1),
        &Repeatability::published(&rules),
        &Bands::default(),
        &rules,
    )
    .unwrap();
    assert_eq!(found.advice.step, Step::MoveOn { to: 2 });
}
