use approx::assert_abs_diff_eq;
use jiff::civil::date;

use super::*;
use crate::summary::combined_mean;

/// A visit so many days after the first of March, with a mean of this standard uncertainty and three raises.
pub(super) fn visit(day: i64, deg: f64, standard_deg: f64) -> Visit {
    let [angle, standard] = [deg, standard_deg].map(Angle::from_degrees);
    let mut summary = combined_mean(Side::Left, &[angle], standard, f64::INFINITY, None).unwrap();
    summary.count = 3;
    Visit {
        date: date(2026, 3, 1).saturating_add(day.days()),
        summary,
        conditions: Conditions {
            movement: Some("active".to_owned()),
            rater: Some("R1".to_owned()),
            ..Conditions::default()
        },
        is_quiet: Some(true),
    }
}

pub(super) fn plan(band: usize) -> Plan {
    Plan { band, since: None }
}

pub(super) fn course(visits: &[Visit], plan: Plan) -> Course {
    let rules = Rules::default();
    Course::of(
        visits,
        plan,
        &Repeatability::published(&rules),
        &Bands::default(),
        &rules,
    )
    .unwrap()
}

/// Invented angles by day, computed with statsmodels 0.15.0 as a weighted line of known uncertainties: 0.236398° a day,
/// u 0.024225°, χ² 2.305.
fn weekly() -> Vec<Visit> {
    [
        (0, 52.1, 1.2),
        (7, 54.8, 0.9),
        (14, 54.0, 1.5),
        (21, 57.5, 0.8),
        (35, 61.2, 1.0),
        (49, 63.9, 0.9),
    ]
    .map(|(day, deg, u)| visit(day, deg, u))
    .to_vec()
}

#[test]
fn a_line_with_its_interval_from_four_visits_on() {
    let found = course(&weekly(), plan(1));
    let trend = found.trend.unwrap();
    assert_abs_diff_eq!(
        trend.per_week.degrees(),
        7.0 * 0.236_397_766_292_609_1,
        epsilon = 1e-8
    );
    assert_abs_diff_eq!(
        trend.expanded_per_week.degrees(),
        7.0 * 0.024_225_251_178_552_11 * 1.959_963_984_540_054,
        epsilon = 1e-8
    );
    assert_abs_diff_eq!(trend.chi_square, 2.305_362_810_180_355, epsilon = 1e-8);
    assert!(!trend.is_rough);
    assert_eq!(trend.direction, Direction::Up);
    let (at_start, _) = trend.at(date(2026, 3, 1));
    assert_abs_diff_eq!(at_start.degrees(), 52.495_102_021_029_49, epsilon = 1e-8);
    let (low, high) = trend.robust_interval;
    assert!(low < trend.robust_per_week && trend.robust_per_week < high);
    assert!(low > Angle::ZERO);
    let robust = trend.robust_at(date(2026, 3, 22));
    assert!((robust.degrees() - 57.5).abs() < 1.5, "{robust}");
    assert!(found.change.unwrap().is_gain());
    assert_eq!(found.next_visit, date(2026, 4, 26));
}

#[test]
fn fewer_than_four_visits_are_points_and_a_band() {
    let visits = weekly();
    for few in 1..4 {
        let found = course(&visits[..few], plan(1));
        assert_eq!(found.trend, None);
        assert_eq!(found.change.is_some(), few > 1);
        let (low, high) = found.error_band;
        assert_abs_diff_eq!(low.degrees(), 52.1 - 3.840_799_916_684, epsilon = 1e-9);
        assert_abs_diff_eq!(high.degrees(), 52.1 + 3.840_799_916_684, epsilon = 1e-9);
    }
    let four = course(&visits[..4], plan(1)).trend.unwrap();
    assert_abs_diff_eq!(four.robust_coverage, 22.0 / 24.0, epsilon = 1e-12);
}

#[test]
fn a_certain_slope_with_a_small_gain_is_unclear() {
    let visits: Vec<Visit> = (0..8)
        .map(|n| visit(7 * n, 50.0 + 0.4 * n as f64, 0.2))
        .collect();
    let trend = course(&visits, plan(1)).trend.unwrap();
    assert!(
        trend.per_week > trend.expanded_per_week,
        "the slope is certain"
    );
    assert!(trend.gain < trend.limit);
    assert_eq!(trend.direction, Direction::Unclear);
    let falling: Vec<Visit> = (0..8).map(|n| visit(7 * n, 60.0 - n as f64, 0.5)).collect();
    let trend = course(&falling, plan(1)).trend.unwrap();
    assert_eq!(trend.direction, Direction::Down);
}

#[test]
fn visits_that_jump_are_rough() {
    let jumping: Vec<Visit> = [50.0, 60.0, 50.0, 60.0, 50.0]
        .into_iter()
        .zip(0..)
        .map(|(deg, n)| visit(7 * n, deg, 1.0))
        .collect();
    let trend = course(&jumping, plan(1)).trend.unwrap();
    assert!(trend.is_rough);
    assert_eq!(trend.direction, Direction::Unclear);
}

#[test]
fn only_visits_like_the_latest_count() {
    let mut visits = weekly();
    visits[1].conditions.movement = Some("passive".to_owned());
    visits[2].conditions.rater = Some("R2".to_owned());
    let mut again = visit(35, 75.0, 1.0);
    again.is_quiet = None;
    visits.push(again);
    // In any order, as long as the rounds of a day keep theirs.
    visits.swap(0, 4);
    let found = course(&visits, plan(1));
    assert_eq!(found.visits.len(), 4);
    let why: Vec<&LeftOut> = found.left_out.iter().map(|(_, why)| why).collect();
    assert_eq!(
        why,
        [
            &LeftOut::OtherWay(vec![Condition::Movement]),
            &LeftOut::OtherRater,
            &LeftOut::SameDay
        ]
    );
    assert_abs_diff_eq!(found.visits[2].summary.mean.degrees(), 61.2, epsilon = 1e-9);
}

#[test]
fn a_second_round_of_the_latest_day_doesnt_decide_what_counts() {
    let mut visits = weekly();
    let mut passive = visit(49, 80.0, 1.0);
    passive.conditions.movement = Some("passive".to_owned());
    visits.push(passive);
    assert_eq!(course(&visits, plan(1)).visits.len(), 6);
}

#[test]
fn what_gives_no_course_is_refused() {
    let rules = Rules::default();
    let of = |visits: &[Visit]| {
        let published = Repeatability::published(&rules);
        Course::of(visits, plan(0), &published, &Bands::default(), &rules)
    };
    assert_eq!(of(&[]), Err(CourseError::Empty));
    let mut both = weekly();
    both[3].summary.side = Side::Right;
    assert_eq!(of(&both), Err(CourseError::BothSides));
    let mut broken = weekly();
    broken[2].summary.mean = Angle::from_degrees(f64::NAN);
    assert_eq!(of(&broken), Err(CourseError::Visit { at: 2 }));
    let many: Vec<Visit> = (0..=1000).map(|n| visit(n, 50.0, 1.0)).collect();
    assert_eq!(of(&many), Err(CourseError::TooMany { found: 1001 }));
    let found = of(&many[..1000]).unwrap();
    assert_eq!(found.visits.len(), 1000);
    assert_eq!(found.trend.unwrap().direction, Direction::Unclear);
}
