//! Scenarios by the seed: ranges as in recordings of real people.

use crate::{Placement, Side};

use super::random::Random;
use super::scenario::{
    Body, CompensationKind, CompensationPlan, Landing, Posture, RaisePlan, Scenario,
};
use super::unit::{Unit, UnitGrade};

impl Scenario {
    /// Three slow raises (2 to 7 s up) of a healthy person to somewhere between 30 and 120°.
    pub fn slow(seed: u64) -> Self {
        let mut random = Random::new(seed, 0x1000);
        let top_deg = random.between(32.0, 118.0);
        let raises = (0..3).map(|_| slow_raise(&mut random, top_deg)).collect();
        anyone(seed, &mut random, raises)
    }

    /// Four brisk raises of a healthy person, 10 to 90 % of the way in 0.4 to 0.8 s, pauses of a second or
    /// less, the heel landing on the mat.
    pub fn brisk(seed: u64) -> Self {
        let mut random = Random::new(seed, 0x1001);
        let top_deg = random.between(30.0, 100.0);
        let raises = (0..4).map(|_| brisk_raise(&mut random, top_deg)).collect();
        anyone(seed, &mut random, raises)
    }

    /// Slow raises in each of which something gives way. The raised thigh always has a sensor.
    pub fn compensating(seed: u64) -> Self {
        let mut random = Random::new(seed, 0x1002);
        let top_deg = random.between(50.0, 118.0);
        let kind = match random.count(0, 5) {
            0..=2 => CompensationKind::OppositeDown,
            3 => CompensationKind::OppositeUp,
            _ => CompensationKind::Knee,
        };
        let raises = (0..3)
            .map(|_| {
                let mut plan = slow_raise(&mut random, top_deg);
                plan.compensation = Some(compensation(&mut random, kind, top_deg));
                plan
            })
            .collect();
        let mut scenario = anyone(seed, &mut random, raises);
        let thigh = Placement::thigh(scenario.side);
        if !scenario.sensors.contains(&thigh) {
            scenario.sensors.push(thigh);
        }
        scenario
    }

    /// Three knee extensions on a high seat: no leg raises, though the shin rises.
    pub fn seated(seed: u64) -> Self {
        let mut random = Random::new(seed, 0x1003);
        let raises = (0..3)
            .map(|_| {
                let top_deg = random.between(60.0, 85.0);
                RaisePlan {
                    lean_deg: 0.0,
                    axial_turn_deg: 0.0,
                    ..slow_raise(&mut random, top_deg)
                }
            })
            .collect();
        let mut scenario = anyone(seed, &mut random, raises);
        scenario.posture = Posture::Seated;
        scenario.sensors = vec![Placement::ShinLeft, Placement::ShinRight];
        scenario.sensors.push(Placement::thigh(scenario.side));
        scenario
    }

    /// Three lifts of the straight leg lying face down.
    pub fn prone(seed: u64) -> Self {
        let mut random = Random::new(seed, 0x1004);
        let raises = (0..3)
            .map(|_| {
                let top_deg = random.between(10.0, 28.0);
                slow_raise(&mut random, top_deg)
            })
            .collect();
        let mut scenario = anyone(seed, &mut random, raises);
        scenario.posture = Posture::Prone;
        scenario
    }
}

/// A person, sensors and a room around raises.
fn anyone(seed: u64, random: &mut Random, raises: Vec<RaisePlan>) -> Scenario {
    let side = if random.chance(0.5) {
        Side::Left
    } else {
        Side::Right
    };
    let mut scenario = Scenario::quiet(side, raises);
    scenario.seed = seed;
    scenario.mount_seed = Some(random.bits());
    scenario.body = body(random);
    let grade = if random.chance(0.5) {
        UnitGrade::Good
    } else {
        UnitGrade::Plain
    };
    scenario.unit = Unit {
        accel_noise_m_s2: random.between(0.004, 0.014),
        gyro_noise_deg_s: if random.chance(0.2) {
            random.between(0.2, 0.5)
        } else {
            random.between(0.02, 0.12)
        },
        ..Unit::of_grade(grade, random.bits())
    };
    scenario.rate_hz = random.between(60.0, 208.0);
    scenario.stamped = random.chance(0.5);
    scenario.marks_say_side = random.chance(0.5);
    scenario.initial_rest_s = random.between(0.5, 2.5);
    scenario.final_rest_s = random.between(1.0, 3.0);
    if random.chance(0.4) {
        scenario.sensors.push(Placement::thigh(side));
    }
    if random.chance(0.3) {
        scenario.sensors.push(Placement::Pelvis);
    }
    scenario
}

/// A person of whatever build.
pub(super) fn body(random: &mut Random) -> Body {
    let mut each = |low: f64, high: f64| [random.between(low, high), random.between(low, high)];
    let shin_rest_deg = each(-3.0, 4.0);
    let knee_rest_deg = each(-2.0, 3.0);
    let [left_out, right_out] = each(2.0, 9.0);
    let [left_roll, right_roll] = each(5.0, 30.0);
    Body {
        thigh_m: random.between(0.37, 0.47),
        hip_half_m: random.between(0.075, 0.095),
        shin_sensor_m: [
            random.between(0.24, 0.36),
            random.between(0.03, 0.05),
            random.within(0.04),
        ],
        thigh_sensor_m: [
            random.between(0.22, 0.34),
            random.between(0.06, 0.09),
            random.within(0.03),
        ],
        pelvis_sensor_m: [
            random.within(0.05),
            random.between(0.07, 0.11),
            random.within(0.03),
        ],
        shin_rest_deg,
        knee_rest_deg,
        heading_deg: [left_out, -right_out],
        // Lying feet fall outwards: the left one turns to the left.
        roll_deg: [left_roll, -right_roll],
        pelvis_share: random.between(0.13, 0.36),
        hip_travel_m: random.between(0.005, 0.03),
        flesh_deg: 0.12,
        thigh_drift_deg: random.within(5.0),
        breathing_deg: random.between(0.05, 0.3),
        breathing_hz: random.between(0.2, 0.3),
        unrest_deg: random.between(0.005, 0.03),
        gravity_m_s2: random.between(9.781, 9.832),
    }
}

fn rest_s(random: &mut Random) -> f64 {
    if random.chance(0.3) {
        random.between(0.5, 1.0)
    } else {
        random.between(1.0, 3.0)
    }
}

/// A slow raise to about `about_deg`, as a person repeats it: within 2.4° standard deviation.
pub(super) fn slow_raise(random: &mut Random, about_deg: f64) -> RaisePlan {
    let top_deg = about_deg + random.normal(2.4).clamp(-5.0, 5.0);
    let hold_s = random.between(0.3, 4.5);
    let pulls = random.chance(0.4);
    RaisePlan {
        rest_before_s: rest_s(random),
        up_s: random.between(2.0, 7.0),
        hold_s,
        down_s: random.between(1.5, 5.0),
        overshoot_deg: random.between(0.0, 2.0),
        sag_deg: random.between(0.2, 0.6) * hold_s,
        tremor_deg: random.between(0.05, 0.5),
        axial_turn_deg: random.normal(3.0).clamp(-7.0, 7.0),
        lean_deg: random.normal(2.5).clamp(-6.0, 6.0),
        sway_deg: random.either_sign(0.2, 2.0).abs(),
        rest_step_deg: random.either_sign(0.3, 4.0),
        rest_turn_deg: random.within(2.0),
        pull_at_deg: pulls.then(|| top_deg * random.between(0.75, 0.98)),
        reaction_s: (0.25 + random.normal(0.07)).max(0.08),
        ..RaisePlan::smooth(top_deg)
    }
}

/// A brisk raise to about `about_deg`.
pub(super) fn brisk_raise(random: &mut Random, about_deg: f64) -> RaisePlan {
    let top_deg = about_deg + random.normal(3.0).clamp(-6.0, 6.0);
    // Few overshoot by much.
    let overshoot_deg = if random.chance(0.1) {
        random.between(6.0, 15.0)
    } else {
        random.between(1.0, 6.0)
    };
    let lands_hard = random.chance(0.8);
    RaisePlan {
        rest_before_s: random.between(0.5, 1.6),
        // The least-jerk course goes from 10 to 90 % in 0.467 of its time.
        up_s: random.between(0.4, 0.8) / 0.467,
        hold_s: random.between(0.5, 5.0),
        down_s: random.between(0.8, 1.8),
        overshoot_deg,
        sag_deg: random.between(1.0, 2.4),
        tremor_deg: random.between(0.2, 0.8),
        axial_turn_deg: random.normal(4.0).clamp(-9.0, 9.0),
        lean_deg: random.normal(3.0).clamp(-7.0, 7.0),
        sway_deg: random.between(1.0, 4.0),
        rest_step_deg: random.either_sign(0.3, 4.0),
        rest_turn_deg: random.within(2.5),
        landing: lands_hard.then(|| Landing {
            peak_m_s2: random.between(20.0, 60.0),
            stop_s: random.between(0.02, 0.05),
        }),
        ..RaisePlan::smooth(top_deg)
    }
}

/// Something that gives way between half and nine tenths of the way up, beyond what counts as sway.
fn compensation(random: &mut Random, kind: CompensationKind, top_deg: f64) -> CompensationPlan {
    let extent_deg = match kind {
        CompensationKind::Knee => random.between(11.0, 25.0),
        _ => random.between(8.0, 20.0),
    };
    CompensationPlan {
        kind,
        at_deg: top_deg * random.between(0.5, 0.88),
        extent_deg,
        rate_deg_s: random.between(6.0, 20.0),
    }
}
