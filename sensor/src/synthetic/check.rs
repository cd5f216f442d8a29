//! The simulator against physics, and its faults against what they say.

use super::unit::truth_in_sensor;
use super::vector::{Turn, Vector};
use super::*;
use crate::{Face, RecordingId, Side};

pub(super) fn turn([w, x, y, z]: [f64; 4]) -> Turn {
    Turn::of_wxyz(w, x, y, z)
}

fn apart_deg(a: Turn, b: Turn) -> f64 {
    (a.back() * b).rotation_rad().norm().to_degrees()
}

pub(super) fn vector(parts: [f32; 3]) -> Vector {
    Vector::new(
        f64::from(parts[0]),
        f64::from(parts[1]),
        f64::from(parts[2]),
    )
}

pub(super) fn samples(run: &Run, placement: Placement) -> &[Sample] {
    &run.track(placement).unwrap().samples
}

/// A scenario of a real person with a sensor that makes no errors.
fn perfect(mut scenario: Scenario) -> Scenario {
    scenario.unit = Unit::PERFECT;
    scenario
}

#[test]
fn integrated_rate_is_the_true_orientation() {
    for scenario in [
        Scenario::slow(3),
        Scenario::brisk(4),
        Scenario::compensating(5),
        Scenario::seated(6),
    ] {
        let mut scenario = perfect(scenario);
        scenario.rate_hz = 2000.0;
        scenario.raises.truncate(2);
        let simulated = simulate(&scenario);
        for &placement in &scenario.sensors {
            let truth = |t_s: f64| {
                turn(
                    simulated
                        .motion
                        .earth_from_sensor_wxyz(placement, t_s)
                        .unwrap(),
                )
            };
            let track = samples(&simulated.run, placement);
            let mut now = truth(track[0].at.s());
            let mut worst_deg = 0.0_f64;
            for pair in track.windows(2) {
                let (a, b) = (vector(pair[0].gyro_rad_s), vector(pair[1].gyro_rad_s));
                now = now * Turn::by((a + b) * (0.5 * (pair[1].at - pair[0].at)));
                worst_deg = worst_deg.max(apart_deg(now, truth(pair[1].at.s())));
            }
            assert!(
                worst_deg < 1e-3,
                "seed {} {placement}: {worst_deg}°",
                scenario.seed
            );
        }
    }
}

#[test]
fn force_is_gravity_less_the_second_derivative_of_place() {
    let scenario = perfect(Scenario::brisk(8));
    let simulated = simulate(&scenario);
    let strap = &simulated.motion.straps[0];
    let pose = |t_s: f64| simulated.motion.sensor(strap, t_s);
    let h = 1e-3;
    for i in 0..400 {
        let t_s = 0.5 + 0.02 * f64::from(i);
        let (force, _) = truth_in_sensor(&pose, 9.81, t_s);
        // Fourth order, five points, another step: an independent derivative.
        let at = |k: f64| pose(t_s + k * h).position_m;
        let bend = (at(-2.0) + at(2.0)) * -1.0 + (at(-1.0) + at(1.0)) * 16.0 - at(0.0) * 30.0;
        let acceleration = bend * (1.0 / (12.0 * h * h));
        let expected = pose(t_s)
            .earth_from_it
            .back()
            .rotate(acceleration + Vector::Z * 9.81);
        let off = (force - expected).norm();
        // Where a heel's stop begins and ends the derivative bends.
        assert!(off < 0.02 + 0.02 * acceleration.norm(), "{t_s}: {off}");
    }
}

#[test]
fn at_rest_force_is_gravity_and_points_up() {
    let mut scenario = Scenario::quiet(Side::Right, vec![RaisePlan::smooth(60.0)]);
    scenario.mount_seed = Some(12);
    scenario.body.shin_rest_deg = [3.0, -2.0];
    let simulated = simulate(&scenario);
    for placement in [Placement::ShinLeft, Placement::ShinRight] {
        for sample in &samples(&simulated.run, placement)[..200] {
            let force = vector(sample.accel_m_s2);
            let earth_from_sensor = turn(
                simulated
                    .motion
                    .earth_from_sensor_wxyz(placement, sample.at.s())
                    .unwrap(),
            );
            assert!((earth_from_sensor.rotate(force) - Vector::Z * 9.81).norm() < 1e-5);
            assert!(vector(sample.gyro_rad_s).norm() < 1e-9);
        }
    }
}

#[test]
fn a_swing_feels_its_lever() {
    // At the steepest moment of a raise the force along the bone is g·sin less ω²r, r from hip to sensor.
    let scenario = Scenario::quiet(
        Side::Left,
        vec![RaisePlan {
            up_s: 1.5,
            ..RaisePlan::smooth(80.0)
        }],
    );
    let simulated = simulate(&scenario);
    let swing = simulated.truth[0].begin_s + 0.75;
    let sample = samples(&simulated.run, Placement::ShinLeft)
        .iter()
        .find(|s| s.at.s() >= swing - 1e-9)
        .unwrap();
    let rate = 1.875 * 80.0_f64.to_radians() / 1.5;
    let expected = 9.81 * 40.0_f64.to_radians().sin() - rate * rate * (0.42 + 0.31);
    assert!(
        (f64::from(sample.accel_m_s2[0]) - expected).abs() < 0.01,
        "{} {expected}",
        sample.accel_m_s2[0]
    );
    assert!((f64::from(sample.gyro_rad_s[1]) + rate).abs() < 1e-4);
}

#[test]
fn truth_of_a_machine_is_its_plan() {
    let plan = RaisePlan {
        compensation: Some(CompensationPlan {
            kind: CompensationKind::OppositeDown,
            at_deg: 50.0,
            extent_deg: 12.0,
            rate_deg_s: 15.0,
        }),
        pull_at_deg: Some(65.0),
        reaction_s: 0.3,
        lean_deg: 5.0,
        ..RaisePlan::smooth(95.0)
    };
    let simulated = simulate(&Scenario::quiet(
        Side::Right,
        vec![plan, RaisePlan::smooth(110.0)],
    ));
    let [first, second] = &simulated.truth[..] else {
        panic!("two raises")
    };
    assert!((first.peak.angle_deg - 95.0).abs() < 0.1, "{first:?}");
    assert!((second.peak.angle_deg - 110.0).abs() < 1e-6);
    let hold = second.hold.unwrap();
    assert!(
        hold.end_s - hold.start_s > 2.0 && (hold.angle_deg - 109.5).abs() < 0.6,
        "{hold:?}"
    );
    let gave = first.compensation.unwrap();
    assert!(
        (gave.begin.angle_deg - 50.0).abs() < 0.2 && (gave.extent_deg - 12.0).abs() < 1e-6,
        "{gave:?}"
    );
    assert!(gave.left_1_deg.unwrap().time_s > gave.begin.time_s);
    let pull = first.pull.unwrap();
    assert!(
        (pull.felt.angle_deg - 65.0).abs() < 1e-3
            && (pull.pressed_s - pull.felt.time_s - 0.3).abs() < 1e-9
    );
    assert_eq!(simulated.run.marks.len(), 1);
    // The other shin of the first raise slopes down by as much, and only then.
    let slope_deg = |t_s: f64| {
        let shin = turn(
            simulated
                .motion
                .earth_from_bone_wxyz(Placement::ShinLeft, t_s),
        );
        shin.rotate(Vector::X).z.asin().to_degrees()
    };
    assert!((slope_deg(first.peak.time_s + 1.0) + 12.0).abs() < 1e-6);
    assert!(slope_deg(second.peak.time_s).abs() < 1e-6);
}

#[test]
fn same_seed_same_bytes_other_seed_others() {
    for make in [
        Scenario::slow,
        Scenario::brisk,
        Scenario::compensating,
        Scenario::seated,
        Scenario::prone,
    ] {
        let mut scenario = make(21);
        scenario.faults = vec![Fault::LostBursts {
            placement: None,
            share: 0.06,
            length: (2, 8),
        }];
        let (a, b) = (simulate(&scenario), simulate(&scenario));
        assert_eq!(a.run, b.run);
        assert_eq!(a.truth, b.truth);
        assert_ne!(a.run, simulate(&make(22)).run);
    }
}

#[test]
fn units_stay_what_they_are_from_run_to_run() {
    let mut one = Scenario::slow(31);
    one.unit = Unit {
        accel_noise_m_s2: 0.0,
        ..Unit::of_grade(UnitGrade::Plain, 77)
    };
    let mut other = Scenario::brisk(32);
    other.unit = one.unit;
    for placement in Placement::ALL {
        assert_eq!(one.unit.errors(placement), other.unit.errors(placement));
        let errors = one.unit.errors(placement);
        assert!(errors.accel_offset_m_s2.iter().all(|o| o.abs() <= 0.098));
        assert!(
            errors
                .accel_scale
                .iter()
                .chain(&errors.gyro_scale)
                .all(|s| s.abs() <= 0.01)
        );
    }
    // Two opposite faces give the offset, whatever the table's slope.
    one.body.gravity_m_s2 = 9.81;
    let plan = FlatPlan {
        case_deg: 0.0,
        ..FlatPlan::of(vec![Face::PlusY, Face::MinusY])
    };
    let run = simulate_flat(&one, &plan);
    assert_eq!(
        run.id,
        RecordingId {
            task: "flat".to_owned(),
            ..RecordingId::default()
        }
    );
    assert_eq!(
        run.marks
            .iter()
            .map(|m| m.value.as_str())
            .collect::<Vec<_>>(),
        ["+y", "-y"]
    );
    for placement in [Placement::ShinLeft, Placement::ShinRight] {
        let mean = |mark: &Mark| {
            let inside =
                |s: &&Sample| s.at >= mark.at && s.at - mark.at <= mark.duration_s.unwrap();
            let values: Vec<f64> = samples(&run, placement)
                .iter()
                .filter(inside)
                .map(|s| f64::from(s.accel_m_s2[1]))
                .collect();
            values.iter().sum::<f64>() / values.len() as f64
        };
        let (up, down) = (mean(&run.marks[0]), mean(&run.marks[1]));
        let errors = one.unit.errors(placement);
        assert!((0.5 * (up + down) - errors.accel_offset_m_s2[1]).abs() < 1e-3);
        assert!((0.5 * (up - down) / 9.81 - 1.0 - errors.accel_scale[1]).abs() < 1e-3);
    }
}

/// A run of one raise, with a fault.
fn with(fault: Fault) -> Simulated {
    let mut scenario = Scenario::quiet(Side::Right, vec![RaisePlan::smooth(70.0)]);
    scenario.stamped = true;
    scenario.faults = vec![fault];
    simulate(&scenario)
}

#[test]
#[expect(clippy::too_many_lines, reason = "one block a fault")]
fn faults_do_what_they_say() {
    let right = Placement::ShinRight;
    let sound = simulate(&Scenario::quiet(Side::Right, vec![RaisePlan::smooth(70.0)]));
    let count = samples(&sound.run, right).len() as f64;

    let mut long = Scenario::quiet(
        Side::Right,
        vec![RaisePlan {
            hold_s: 200.0,
            ..RaisePlan::smooth(70.0)
        }],
    );
    let whole = samples(&simulate(&long).run, right).len() as f64;
    long.faults = vec![Fault::LostBursts {
        placement: None,
        share: 0.06,
        length: (2, 8),
    }];
    let lost = 1.0 - samples(&simulate(&long).run, right).len() as f64 / whole;
    assert!((lost - 0.06).abs() < 0.015, "{lost}");

    let twice = with(Fault::RepeatedFirst { placement: None }).run;
    let [first, copy, ..] = samples(&twice, right) else {
        panic!("two samples")
    };
    assert_eq!(
        (first.accel_m_s2, first.gyro_rad_s),
        (copy.accel_m_s2, copy.gyro_rad_s)
    );
    assert_eq!(
        twice.tracks[0].stamps[0].sequence,
        twice.tracks[0].stamps[1].sequence
    );

    let gap = with(Fault::GapAtPeak {
        placement: Some(right),
        raise: 0,
        length_s: 0.8,
    });
    let track = gap.run.track(right).unwrap();
    let [hole] = track.gaps()[..] else {
        panic!("one gap")
    };
    assert!(hole.from.s() < gap.truth[0].peak.time_s && hole.to.s() > gap.truth[0].peak.time_s);
    assert!((hole.to - hole.from - 0.8).abs() < 0.03);

    let saturated = with(Fault::Saturation {
        placement: None,
        accel_m_s2: 9.0,
        gyro_rad_s: 0.2,
    });
    assert!(
        samples(&saturated.run, right)
            .iter()
            .all(|s| s.accel_m_s2.iter().all(|a| a.abs() <= 9.0))
    );

    let torn = with(Fault::SelfContradiction {
        placement: right,
        factor: 0.5,
    });
    let (good, bad) = (
        samples(&sound.run, right)[500],
        samples(&torn.run, right)[500],
    );
    assert!(
        (good.gyro_rad_s[1] * 0.5 - bad.gyro_rad_s[1]).abs() < 1e-6
            && good.gyro_rad_s[1].abs() > 0.1
    );

    let fast = with(Fault::ClockRate {
        placement: right,
        error: 0.01,
    });
    let ends_s = |run: &Run| samples(run, right).last().unwrap().at.s();
    assert!((ends_s(&fast.run) / ends_s(&sound.run) - 1.01).abs() < 1e-6);

    let coarse = with(Fault::CoarseStamps {
        placement: None,
        tick_s: 0.001,
    });
    assert!(
        samples(&coarse.run, right)
            .iter()
            .all(|s| s.at.ns() % 1_000_000 == 0)
    );
    let bursts = with(Fault::StampedOnArrival {
        placement: None,
        per_packet: 4,
    });
    let short = samples(&bursts.run, right)
        .windows(2)
        .filter(|w| w[1].at - w[0].at < 0.001)
        .count();
    assert!((short as f64 / count - 0.75).abs() < 0.01);

    let slipped = with(Fault::Slip {
        placement: right,
        at_s: 6.0,
        angle_deg: 10.0,
        about: [0.0, 0.0, 1.0],
    });
    let pose = |s: &Simulated, t_s: f64| turn(s.motion.earth_from_sensor_wxyz(right, t_s).unwrap());
    assert!((apart_deg(pose(&slipped, 7.0), pose(&sound, 7.0)) - 10.0).abs() < 1e-6);
    assert!(apart_deg(pose(&slipped, 5.9), pose(&sound, 5.9)) < 1e-6);

    let same = with(Fault::SameStream {
        of: right,
        instead_of: Placement::ShinLeft,
    })
    .run;
    assert_eq!(same.tracks[0].samples, same.tracks[1].samples);
    let swapped = with(Fault::SidesSwapped).run;
    assert_eq!(
        samples(&swapped, Placement::ShinLeft),
        samples(&sound.run, right)
    );
    assert_eq!(swapped.tracks[0].name, "shinleft");
}
