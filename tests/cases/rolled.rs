//! The foot rolled in and out before the raises: the bone's axis is shown, and raises are measured the better for it.

use std::f64::consts::TAU;

use fusion::{SessionContext, Settings, analyse_run};
use nalgebra::{Quaternion, UnitQuaternion, Vector3};
use sensor::synthetic::{Motion, Scenario, Simulated, simulate};
use sensor::{Mark, MarkKind, Placement, RunTime, Sample, Side};

use super::kit::paired;

/// Lying still, then rolling, then still again, before the run's own first sample, s.
const STILL_S: f64 = 2.0;
const ROLLING_S: f64 = 4.2;
/// Three rolls to either side of this much, rad.
const ROLL_RAD: f64 = 0.35;
const PERIOD_S: f64 = 1.4;
/// The mean of this much of the run's own beginning is what a lying sensor shows, s.
const LYING_S: f64 = 0.4;

/// Angle of the rolling foot and its rate at a time from the beginning of the rolls.
fn roll(t_s: f64) -> (f64, f64) {
    if !(0.0..ROLLING_S).contains(&t_s) {
        return (0.0, 0.0);
    }
    let (sway, swell) = (TAU * t_s / PERIOD_S, std::f64::consts::PI * t_s / ROLLING_S);
    let envelope = swell.sin().powi(2);
    (
        ROLL_RAD * sway.sin() * envelope,
        ROLL_RAD
            * (TAU / PERIOD_S * sway.cos() * envelope
                + std::f64::consts::PI / ROLLING_S * (2.0 * swell).sin() * sway.sin()),
    )
}

/// Puts rolls of the raised legs' feet, and the rests about them, before a simulated run. The truth stays as it is: what
/// is put before has negative times.
fn with_rolls(simulated: &mut Simulated, marked: bool) {
    let whole_s = 2.0 * STILL_S + ROLLING_S;
    let sides: Vec<Side> = simulated.truth.iter().map(|raise| raise.side).collect();
    for track in &mut simulated.run.tracks {
        let Some(placement) = track.placement else {
            continue;
        };
        let lying: Vec<&Sample> = track
            .samples
            .iter()
            .take_while(|sample| sample.at.s() < LYING_S)
            .collect();
        let mean = |of: fn(&Sample) -> [f32; 3]| {
            lying
                .iter()
                .map(|sample| Vector3::from(of(sample)).cast::<f64>())
                .sum::<Vector3<f64>>()
                / lying.len() as f64
        };
        let (bias, force) = (mean(|s| s.gyro_rad_s), mean(|s| s.accel_m_s2));
        let rolls = sides.iter().any(|&side| Placement::shin(side) == placement);
        let axis = bone_in_sensor(&simulated.motion, placement);
        let begin_s = track.samples[0].at.s();
        let step_s = track.step_s();
        let count = (whole_s / step_s).floor();
        let mut before = Vec::new();
        let mut k = count;
        while k >= 1.0 {
            let t_s = begin_s - k * step_s;
            let (angle, rate) = if rolls {
                roll(t_s + whole_s - STILL_S)
            } else {
                (0.0, 0.0)
            };
            let turn = UnitQuaternion::from_scaled_axis(axis * angle);
            before.push(Sample {
                at: RunTime::from_s(t_s).expect("near zero"),
                accel_m_s2: (turn.inverse() * force).cast::<f32>().into(),
                gyro_rad_s: (bias + axis * rate).cast::<f32>().into(),
            });
            k -= 1.0;
        }
        track.stamps.clear();
        before.append(&mut track.samples);
        track.samples = before;
    }
    if marked {
        simulated.run.marks.insert(
            0,
            Mark {
                at: RunTime::from_s(STILL_S - whole_s).expect("near zero"),
                duration_s: Some(ROLLING_S),
                kind: MarkKind::Turn,
                side: None,
                value: String::new(),
            },
        );
    }
}

/// The bone's own axis as its sensor has it while lying.
fn bone_in_sensor(motion: &Motion, placement: Placement) -> Vector3<f64> {
    let turn = |wxyz: [f64; 4]| {
        let [w, x, y, z] = wxyz;
        UnitQuaternion::from_quaternion(Quaternion::new(w, x, y, z))
    };
    let sensor = motion.earth_from_sensor_wxyz(placement, 0.0);
    let sensor = turn(sensor.expect("a sensor there"));
    sensor.inverse() * turn(motion.earth_from_bone_wxyz(placement, 0.0)) * Vector3::x()
}

/// Peaks below this gain most, degrees: low raises show the direction to the foot worst.
const LOW_DEG: f64 = 70.0;

/// Errors of the peaks below a height, degrees; none of any height may be missed or invented.
fn errors_deg(simulated: &Simulated, below_deg: f64) -> Vec<f64> {
    let analysis = analyse_run(
        &simulated.run,
        &SessionContext::default(),
        &Settings::default(),
    );
    let (pairs, invented) = paired(simulated, &analysis);
    assert_eq!(invented, 0, "{:?}", simulated.run.id);
    let errors = pairs.iter().map(|(truth, raise)| {
        let peak = raise.and_then(|raise| raise.peak.as_ref());
        let angle = &peak.expect("a raise with a peak").angle;
        (
            truth.peak.angle_deg,
            angle.value.degrees() - truth.peak.angle_deg,
        )
    });
    errors
        .filter(|(true_deg, _)| *true_deg < below_deg)
        .map(|(_, error_deg)| error_deg)
        .collect()
}

fn rms(values: &[f64]) -> f64 {
    (values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64).sqrt()
}

#[test]
fn rolls_of_the_foot_show_the_bone_and_are_no_raise() {
    let (mut plain, mut shown) = (Vec::new(), Vec::new());
    for seed in 1..=60 {
        let mut simulated = simulate(&Scenario::slow(seed));
        plain.extend(errors_deg(&simulated, LOW_DEG));
        with_rolls(&mut simulated, true);
        shown.extend(errors_deg(&simulated, LOW_DEG));
    }
    assert_eq!(plain.len(), shown.len());
    assert!(
        rms(&shown) < 0.93 * rms(&plain),
        "{} raises: {}° with rolls, {}° without",
        shown.len(),
        rms(&shown),
        rms(&plain)
    );
}

#[test]
fn a_mark_where_nothing_rolled_changes_nothing() {
    for seed in 1..=6 {
        let mut simulated = simulate(&Scenario::slow(seed));
        with_rolls(&mut simulated, false);
        let lying_s = STILL_S - 0.2;
        for track in &mut simulated.run.tracks {
            let begin = track.samples.partition_point(|s| s.at.s() < -lying_s);
            track.samples.drain(..begin);
        }
        let before = errors_deg(&simulated, 180.0);
        simulated.run.marks.push(Mark {
            at: RunTime::from_s(-lying_s).expect("near zero"),
            duration_s: Some(1.5),
            kind: MarkKind::Turn,
            side: None,
            value: String::new(),
        });
        let after = errors_deg(&simulated, 180.0);
        for (a, b) in before.iter().zip(&after) {
            assert!((a - b).abs() < 1e-9, "seed {seed}: {a}° and {b}°");
        }
    }
}
