//! One invented client over eight weekly visits, to try reports and exports on. Nobody in it is real, and nothing in it
//! is random: the angles grow, fall back once, and grow again; the left leg's raises are ended by the other leg.

use fusion::{
    Angle, Budget, Compensation, CompensationKind, EndPoint, Flag, Hold, Moment, Raise, Reason,
    Source,
};
use jiff::ToSpan as _;
use jiff::civil::{Date, DateTime, date};
use sensor::{Conditions, Side};

use crate::bands::Bands;
use crate::caution::Caution;
use crate::course::Plan;
use crate::record::{Account, Client, Consent, DrillDone, KeptRound, Method, Purpose, Visit};
use crate::repeatability::Repeatability;
use crate::report::Curve;
use crate::rules::Rules;

const FIRST_DAY: Date = date(2026, 3, 4);
/// Mean end points a visit, degrees: left, right.
const MEANS_DEG: [[f64; 2]; 8] = [
    [43.2, 54.1],
    [44.9, 56.8],
    [47.1, 58.9],
    [49.0, 61.2],
    [50.8, 63.7],
    [45.3, 62.9],
    [51.9, 65.2],
    [53.4, 66.8],
];
/// How far the three raises of a round lie from its mean, degrees.
const SCATTER_DEG: [f64; 3] = [-1.3, 0.1, 1.2];
const AFTER_DEG: [f64; 2] = [2.1, 4.6];

/// All of it.
pub fn account() -> Account {
    let rules = Rules::default();
    let visits = (0_i32..)
        .zip(MEANS_DEG)
        .map(|(week, means)| visit(week, means));
    Account {
        client: Client {
            code: "kelumo".to_owned(),
            name: "Zoë Łukasiewicz-Müller".to_owned(),
            contact: "+00 000 0000".to_owned(),
            birth_year: Some(1987),
            notes: "Runs twice a week; sits at work.".to_owned(),
            consent: Some(Consent {
                given: FIRST_DAY,
                text_version: "2026-01".to_owned(),
                withdrawn: None,
            }),
        },
        visits: visits.collect(),
        plans: vec![
            (
                Side::Left,
                Plan {
                    band: 1,
                    since: Some(FIRST_DAY.saturating_add(14.days())),
                },
            ),
            (
                Side::Right,
                Plan {
                    band: 1,
                    since: Some(FIRST_DAY),
                },
            ),
        ],
        bands: Bands::default(),
        repeatability: Repeatability::published(&rules),
        rules,
    }
}

/// The courses of the first round's raises at the latest visit.
pub fn curves(account: &Account) -> Vec<Curve> {
    let Some(round) = account.visits.last().and_then(|visit| visit.rounds.first()) else {
        return Vec::new();
    };
    let raises = round.raises.iter().enumerate().take(2);
    raises
        .filter_map(|(at, raise)| {
            let (end, peak) = (raise.end_point.as_ref()?, raise.peak.as_ref()?);
            let turns = [
                (raise.start_s, 0.0),
                (end.time_s, end.angle.value.degrees()),
                (peak.time_s, peak.angle.value.degrees()),
                (peak.time_s + 1.0, peak.angle.value.degrees() - 0.8),
                (raise.end_s, 0.0),
            ];
            let samples = (0_u32..=400).map(|n| {
                let s = raise.start_s + f64::from(n) / 400.0 * (raise.end_s - raise.start_s);
                (s, between(&turns, s))
            });
            Some(Curve {
                recording: round.recording.clone(),
                raise: at,
                samples: samples.collect(),
            })
        })
        .collect()
}

/// Straight from turn to turn.
fn between(turns: &[(f64, f64)], s: f64) -> f64 {
    let leg = turns.windows(2).find(|leg| s <= leg[1].0);
    leg.map_or(0.0, |leg| {
        let ((from_s, from), (to_s, to)) = (leg[0], leg[1]);
        from + (to - from) * (s - from_s) / (to_s - from_s)
    })
}

fn visit(week: i32, means_deg: [f64; 2]) -> Visit {
    let day = FIRST_DAY.saturating_add((7 * week).days());
    let session = format!("{:02}", week + 1);
    let began = day.at(9, 30, 0, 0);
    let has_slipped = week == 5;
    let (key, name) = if week < 4 {
        ("heel-dug-bridge-hold", "Heel-dug bridge hold")
    } else {
        ("one-leg-bridge-hold", "One-leg bridge hold")
    };
    let mut before = round(&session, 1, began, means_deg);
    if week == 2 {
        // A gap at the top of the last raise: no number is better than a wrong one.
        if let Some(last) = before.raises.last_mut() {
            (last.peak, last.hold, last.end_point) = (None, None, None);
            last.flags = vec![Flag::GapNearPeak];
        }
    }
    if week == 4 {
        before.set_aside = vec![(0, "laughed".to_owned())];
    }
    let mut after = round(
        &session,
        2,
        began.saturating_add(14.minutes()),
        [means_deg[0] + AFTER_DEG[0], means_deg[1] + AFTER_DEG[1]],
    );
    after.purpose = Purpose::Recheck;
    Visit {
        session,
        date: day,
        has_asked_cautions: true,
        cautions: if has_slipped {
            vec![Caution::SitBonePain]
        } else {
            Vec::new()
        },
        feels_tight: Some(true),
        is_quiet: Some(!has_slipped),
        pain: Some(if has_slipped { 2 } else { 0 }),
        pull_felt: "back of the thigh".to_owned(),
        warm_up: "five minutes on a bicycle".to_owned(),
        notes: if has_slipped {
            "Long drive the day before.".to_owned()
        } else {
            String::new()
        },
        rounds: vec![before, after],
        drill: Some(DrillDone {
            key: key.to_owned(),
            name: name.to_owned(),
            ended: Some(began.saturating_add(12.minutes())),
            notes: "3 sets, effort 5 of 10".to_owned(),
        }),
    }
}

fn round(session: &str, run: u32, began: DateTime, means_deg: [f64; 2]) -> KeptRound {
    let mut raises = Vec::new();
    for (at, scatter_deg) in SCATTER_DEG.into_iter().enumerate() {
        for (side, reason) in [
            (Side::Right, Reason::Pull),
            (Side::Left, Reason::OppositeLeg),
        ] {
            let start_s = 8.0 + 14.0 * raises.len() as f64;
            let [left_deg, right_deg] = means_deg;
            let mean_deg = if side == Side::Left {
                left_deg
            } else {
                right_deg
            };
            // Each leg scatters in its own order.
            let sign = if side == Side::Left { -1.0 } else { 1.0 };
            let deg = mean_deg + sign * scatter_deg;
            raises.push(raise(side, start_s + 0.1 * at as f64, deg, reason));
        }
    }
    KeptRound {
        recording: format!("sub-kelumo/ses-{session}/run-{run:02}"),
        purpose: Purpose::First,
        began: Some(began),
        conditions: Conditions {
            movement: Some("active".to_owned()),
            ankle: Some("relaxed".to_owned()),
            asked_for: Some("first pull".to_owned()),
            rater: Some("r1".to_owned()),
        },
        sensors: vec!["shinleft".to_owned(), "shinright".to_owned()],
        is_calibrated: true,
        method: Method {
            version: 1,
            program: "legraise 0.1.0".to_owned(),
            settings: "00c0ffee".to_owned(),
        },
        raises,
        set_aside: Vec::new(),
    }
}

fn raise(side: Side, start_s: f64, deg: f64, reason: Reason) -> Raise {
    let known = |deg: f64, is_moment: bool| {
        let budget = Budget::default()
            .with(Source::Sensor, Angle::from_degrees(0.16))
            .with(Source::Alignment, Angle::from_degrees(0.08))
            .with_dof(Source::Noise, Angle::from_degrees(0.05), 40.0);
        let budget = if is_moment {
            budget.with_dof(Source::Time, Angle::from_degrees(0.41), 12.0)
        } else {
            budget
        };
        budget.measured(Angle::from_degrees(deg))
    };
    let (end_s, peak_deg) = (start_s + 3.4, deg + 4.2);
    let gave_way = (reason == Reason::OppositeLeg).then(|| Compensation {
        kind: CompensationKind::OppositeLeg,
        onset_s: end_s,
        angle: Angle::from_degrees(deg),
        extent: Angle::from_degrees(9.5),
    });
    Raise {
        side,
        start_s,
        end_s: start_s + 8.5,
        peak: Some(Moment {
            time_s: start_s + 4.1,
            angle: known(peak_deg, false),
        }),
        hold: Some(Hold {
            start_s: start_s + 3.9,
            end_s: start_s + 5.0,
            angle: known(peak_deg - 0.6, false),
        }),
        end_point: Some(EndPoint {
            reason,
            time_s: end_s,
            pressed_s: (reason == Reason::Pull).then_some(end_s + 0.25),
            angle: known(deg, true),
        }),
        compensations: gave_way.into_iter().collect(),
        pelvis_share: None,
        rate_max_rad_s: 0.4,
        flags: Vec::new(),
    }
}
