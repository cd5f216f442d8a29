//! Numbers from outside, each with its source: rotations, statistics of uncertainty, geometry of a raise, errors of
//! sensors. A row that says *computed* was worked out apart from this program (numpy, scipy) from the formula named.

use std::fmt::Write as _;

use casebook::{Bands, combined_mean};
use fusion::tilt::{TiltParams, TiltState, step};
use fusion::{Angle, Budget, Flag, Imu, Reason, SessionContext, Settings, Source, analyse_run, coverage_factor};
use nalgebra::{Rotation3, Unit, UnitQuaternion, Vector3};
use sensor::synthetic::{Face, FlatPlan, RaisePlan, Scenario, Unit as Make, UnitGrade, simulate, simulate_flat};
use sensor::{Mark, MarkKind, Placement, RunTime, Side, UnitLimits};

use super::handmade::{Leg, REST_S, STANDARD_GRAVITY, Shape, Swing};
use super::kit::analyse_alone;

/// What was found against what is expected.
struct Row {
    name: String,
    found: f64,
    expected: f64,
    tolerance: f64,
    source: &'static str,
}

fn row(name: impl Into<String>, found: f64, expected: f64, tolerance: f64, source: &'static str) -> Row {
    Row { name: name.into(), found, expected, tolerance, source }
}

/// Fails with every row that is off.
fn check(rows: &[Row]) {
    assert!(!rows.is_empty(), "nothing to check");
    let mut off = String::new();
    for Row { name, found, expected, tolerance, source } in rows {
        let error = (found - expected).abs();
        // Written so that NaN is off, too.
        if error.is_nan() || error > *tolerance {
            writeln!(off, "{name}: {found}, expected {expected} ± {tolerance} [{source}]").expect("text");
        }
    }
    assert!(off.is_empty(), "\n{off}");
}

fn deg(deg: f64) -> Angle {
    Angle::from_degrees(deg)
}

const AXIS_ANGLE: &str = "computed from exact angles by quaternion product and Rodrigues matrix, agreeing to 1e-12; \
    w x y z, Hamilton, v_earth = q v_sensor q*";

/// Turns a level sensor about axes of its own, one after the other, speeding up and slowing down within 0.2 s each (too
/// short for a rest), and gives the tilt filter's answer. The accelerometer feels gravity alone.
fn turned(turns: &[(Vector3<f64>, f64)]) -> UnitQuaternion<f64> {
    let speed = |k: i32| {
        let u = (f64::from(k) - 0.5) / f64::from(STEPS);
        (u * (1.0 - u)).powi(2)
    };
    let sum: f64 = (1..=STEPS).map(speed).sum();
    let one = |(axis, angle_deg): &(Vector3<f64>, f64)| {
        let whole = axis.normalize() * angle_deg.to_radians();
        (1..=STEPS).map(move |k| whole * (speed(k) / sum)).collect::<Vec<_>>()
    };
    integrated(&turns.iter().flat_map(one).collect::<Vec<_>>(), 0.2 / f64::from(STEPS))
}

/// Samples a turn.
const STEPS: i32 = 200;

/// Small turns about the sensor's own axes, each taking `step_s`, starting level.
fn integrated(turns_rad: &[Vector3<f64>], step_s: f64) -> UnitQuaternion<f64> {
    let coeffs = TiltParams::default().coeffs(1.0 / step_s);
    let force = |truth: &UnitQuaternion<f64>| truth.inverse() * (Vector3::z() * STANDARD_GRAVITY);
    let mut truth = UnitQuaternion::identity();
    let first = Imu { t_s: 0.0, accel_m_s2: force(&truth), gyro_rad_s: turns_rad[0] / step_s };
    let mut state = TiltState::new(&coeffs, &first);
    for (turn, k) in turns_rad.iter().zip(1..) {
        truth *= UnitQuaternion::from_scaled_axis(*turn);
        let imu = Imu { t_s: f64::from(k) * step_s, accel_m_s2: force(&truth), gyro_rad_s: turn / step_s };
        step(&coeffs, &mut state, &imu);
    }
    state.output(&coeffs).earth_from_sensor
}

/// Rows for the four parts of a quaternion; it and its negative are the same rotation.
fn same_rotation(name: &str, found: UnitQuaternion<f64>, wxyz: [f64; 4], source: &'static str) -> Vec<Row> {
    let parts = [found.w, found.i, found.j, found.k];
    let sign = parts.iter().zip(wxyz).map(|(a, b)| a * b).sum::<f64>().signum();
    ["w", "x", "y", "z"]
        .iter()
        .zip(parts)
        .zip(wxyz)
        .map(|((part, found), expected)| row(format!("{name} {part}"), sign * found, expected, 1e-9, source))
        .collect()
}

#[test]
fn tilt_turns_sensor_axes_into_earth_axes() {
    // Axis, angle in degrees, quaternion, a vector and where it goes.
    type Case = ([f64; 3], f64, [f64; 4], [f64; 3], [f64; 3]);
    let half = std::f64::consts::FRAC_1_SQRT_2;
    let table: [Case; 10] = [
        ([1.0, 0.0, 0.0], 90.0, [half, half, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]),
        ([0.0, 1.0, 0.0], 90.0, [half, 0.0, half, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, -1.0]),
        ([0.0, 0.0, 1.0], 90.0, [half, 0.0, 0.0, half], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]),
        (
            [0.0, 1.0, 0.0],
            -30.0,
            [0.965_925_826_289_068_3, 0.0, -0.258_819_045_102_520_74, 0.0],
            [1.0, 0.0, 0.0],
            [0.866_025_403_784_438_7, 0.0, 0.5],
        ),
        (
            [0.0, 1.0, 0.0],
            -60.0,
            [0.866_025_403_784_438_7, 0.0, -0.5, 0.0],
            [1.0, 0.0, 0.0],
            [0.5, 0.0, 0.866_025_403_784_438_6],
        ),
        (
            [0.0, 1.0, 0.0],
            -100.0,
            [0.642_787_609_686_539_4, 0.0, -0.766_044_443_118_978, 0.0],
            [1.0, 0.0, 0.0],
            [-0.173_648_177_666_930_3, 0.0, 0.984_807_753_012_208_1],
        ),
        ([1.0, 1.0, 1.0], 120.0, [0.5, 0.5, 0.5, 0.5], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]),
        (
            [1.0, 2.0, 3.0],
            57.0,
            [0.878_817_112_661_965_4, 0.127_526_042_856_375_73, 0.255_052_085_712_751_45, 0.382_578_128_569_127_15],
            [0.3, -0.4, 1.2],
            [1.071_140_533_625_638_8, -0.083_438_999_347_441_94, 0.731_912_488_356_415_1],
        ),
        ([0.0, 0.0, 1.0], 180.0, [0.0, 0.0, 0.0, 1.0], [1.0, 1.0, 0.0], [-1.0, -1.0, 0.0]),
        (
            [1.0, 0.0, 0.0],
            1e-6,
            [1.0, 8.726_646_259_971_647e-9, 0.0, 0.0],
            [0.0, 1.0, 0.0],
            [0.0, 1.0, 1.745_329_251_994_329_5e-8],
        ),
    ];
    for (axis, angle_deg, wxyz, vector, rotated) in table {
        let name = format!("{angle_deg}° about {axis:?}");
        let found = turned(&[(Vector3::from(axis), angle_deg)]);
        let mut rows = same_rotation(&name, found, wxyz, AXIS_ANGLE);
        for (found, expected) in (found * Vector3::from(vector)).iter().zip(rotated) {
            rows.push(row(format!("{name}, rotated"), *found, expected, 1e-9, AXIS_ANGLE));
        }
        check(&rows);
    }
}

#[test]
fn turns_compose_in_order() {
    // First applied (axis, degrees), then (axis, degrees), both in earth axes; quaternion and whole angle.
    type Turn = ([f64; 3], f64);
    let table: [(Turn, Turn, [f64; 4], f64); 4] = [
        (([0.0, 1.0, 0.0], 90.0), ([1.0, 0.0, 0.0], 90.0), [0.5, 0.5, 0.5, 0.5], 120.0),
        (([1.0, 0.0, 0.0], 90.0), ([0.0, 1.0, 0.0], 90.0), [0.5, 0.5, 0.5, -0.5], 120.0),
        (
            ([0.0, 1.0, 0.0], -80.0),
            ([0.0, 0.0, 1.0], 30.0),
            [0.739_942_111_693_848, 0.166_365_675_342_801_9, -0.620_885_153_014_845_6, 0.198_266_891_274_146_15],
            84.547_030_782_262_35,
        ),
        (
            ([-1.0, 0.0, 2.0], 111.0),
            ([1.0, 2.0, 3.0], 57.0),
            [0.262_762_223_971_441_67, -0.063_661_456_321_762_04, -0.090_542_177_668_179_53, 0.958_491_182_377_635_8],
            149.531_947_837_048_3,
        ),
    ];
    for ((first, first_deg), (then, then_deg), wxyz, total_deg) in table {
        // About the sensor's own axes the later turn of the earth frame comes first.
        let found = turned(&[(Vector3::from(then), then_deg), (Vector3::from(first), first_deg)]);
        let name = format!("{first_deg}° about {first:?}, then {then_deg}° about {then:?}");
        let mut rows = same_rotation(&name, found, wxyz, AXIS_ANGLE);
        rows.push(row(format!("{name}, whole angle"), found.angle().to_degrees(), total_deg, 1e-7, AXIS_ANGLE));
        check(&rows);
    }
}

#[test]
fn an_even_rate_integrates_exactly() {
    let source = "computed: q(T) = exp(omega T / 2), body rates, q(0) = 1";
    let table = [
        ([0.0, -0.5, 0.0], 2.0, [0.877_582_561_890_372_8, 0.0, -0.479_425_538_604_203, 0.0]),
        (
            [0.1, -0.7, 0.2],
            1.5,
            [0.851_930_622_452_626_2, 0.071_260_374_751_808_35, -0.498_822_623_262_658_36, 0.142_520_749_503_616_7],
        ),
    ];
    for (rate, seconds, wxyz) in table {
        let step_s = seconds / f64::from(STEPS);
        let found = integrated(&vec![Vector3::from(rate) * step_s; STEPS.unsigned_abs() as usize], step_s);
        check(&same_rotation(&format!("{rate:?} rad/s for {seconds} s"), found, wxyz, source));
    }
}

#[test]
fn an_even_turn_about_the_vertical_is_no_rest() {
    // A turntable, then the sensor tipped by 60°: steady readings alone don't make a rest, and 90°/s are no bias.
    let second = |turn: Vector3<f64>| vec![turn / f64::from(STEPS); STEPS.unsigned_abs() as usize];
    let mut turns = second(Vector3::z() * 90.0_f64.to_radians());
    turns.extend(second(Vector3::z() * 90.0_f64.to_radians()));
    turns.extend(second(Vector3::y() * -60.0_f64.to_radians()));
    let up = integrated(&turns, 1.0 / f64::from(STEPS)).inverse() * Vector3::z();
    check(&[row("slope of the sensor's x axis", up.x.atan2(up.z).to_degrees(), 60.0, 0.5, AXIS_ANGLE)]);
}

#[test]
fn student_t_for_95_percent() {
    let full = "scipy 1.17.1, t.ppf(0.975, dof); agrees with handbook tables";
    let printed = "JCGM 100:2008, Table G.2, 95 % (recalled from memory; every entry agrees with scipy 1.17.1)";
    let mut rows: Vec<Row> = [
        (1.0, 12.706_204_736_174_694),
        (2.0, 4.302_652_729_749_462),
        (3.0, 3.182_446_305_283_707_8),
        (4.0, 2.776_445_105_197_793_4),
        (5.0, 2.570_581_835_636_314_6),
        (7.0, 2.364_624_251_592_784),
        (10.0, 2.228_138_851_986_274),
        (16.0, 2.119_905_299_221_254_6),
        (19.0, 2.093_024_054_408_308_7),
        (30.0, 2.042_272_456_301_237_8),
        (60.0, 2.000_297_822_014_260_4),
        (120.0, 1.979_930_405_082_440_2),
    ]
    .map(|(dof, t)| row(format!("t, {dof} degrees of freedom"), coverage_factor(dof), t, 1e-8, full))
    .into();
    rows.extend(
        [
            (1.0, 12.71),
            (2.0, 4.30),
            (3.0, 3.18),
            (4.0, 2.78),
            (5.0, 2.57),
            (6.0, 2.45),
            (8.0, 2.31),
            (10.0, 2.23),
            (15.0, 2.13),
            (20.0, 2.09),
            (30.0, 2.04),
        ]
        .map(|(dof, t)| row(format!("t, {dof} degrees of freedom"), coverage_factor(dof), t, 0.0051, printed)),
    );
    let normal = "standard tables; scipy 1.17.1, norm.ppf(0.975)";
    rows.push(row("t, infinite", coverage_factor(f64::INFINITY), 1.959_963_984_540_054_5, 1e-9, normal));
    let cut = "JCGM 100:2008, G.4.1: degrees of freedom are truncated to the next lower integer (from memory)";
    rows.push(row("t, 4.99", coverage_factor(4.99), 2.776_445_105_197_793_4, 1e-8, cut));
    check(&rows);
}

#[test]
fn degrees_of_freedom_of_the_end_gauge() {
    let source = "JCGM 100:2008, Annex H.1, end-gauge calibration (published results from memory: u_c 32 nm, \
        u(d) 9.7 nm, nu_eff 16; full digits computed)";
    // Nanometres and degrees of freedom; a budget is blind to the unit.
    let (a, b, c) = ((5.8, 24.0), (3.9, 5.0), (6.7, 8.0));
    let add = |budget: Budget, (u, dof): (f64, f64)| budget.with_dof(Source::Noise, deg(u), dof);
    let difference = [a, b, c].into_iter().fold(Budget::default(), add);
    let others = [(25.0, 18.0), (2.886_787_314_869_899_5, 50.0), (16.599_027_060_501_925, 2.0)];
    let whole = others.into_iter().fold(difference.clone(), add);
    check(&[
        row("u(d), nm", difference.combined().degrees(), 9.681_941_953_967_707, 1e-9, source),
        row("its degrees of freedom", difference.effective_dof(), 25.447, 0.2, source),
        row("u_c, nm", whole.combined().degrees(), 31.663_879_111_008_633, 0.02, source),
        row("nu_eff", whole.effective_dof(), 16.752, 0.1, source),
        row("nu_eff, truncated", whole.effective_dof().floor(), 16.0, 0.0, source),
    ]);
    assert!(Budget::default().with(Source::Noise, deg(1.0)).effective_dof().is_infinite());
}

#[test]
fn the_mean_of_three_raises() {
    let source = "computed as in JCGM 100:2008 4.2.3, 5.1.2, G.4.1: Type A from 61.0, 62.4, 63.0°, Type B 0.4°";
    let scipy = "the same, times t for 95 % and 4 degrees of freedom (scipy 1.17.1)";
    let angles = [61.0, 62.4, 63.0].map(deg);
    let mean = combined_mean(Side::Right, &angles, deg(0.4), f64::INFINITY).expect("three");
    let budget = Budget::default()
        .with_dof(Source::Noise, deg(0.592_546_294_487_705_9), 2.0)
        .with(Source::Sensor, deg(0.4));
    check(&[
        row("mean", mean.mean.degrees(), 62.133_333_333_333_33, 1e-9, source),
        row("scatter", mean.scatter.map_or(f64::NAN, Angle::degrees), 1.026_320_287_889_376_7, 1e-9, source),
        row("u_c", mean.standard.degrees(), 0.714_920_352_984_240_5, 1e-9, source),
        row("nu_eff", mean.effective_dof, 4.238_102_868_130_107, 1e-9, source),
        row("U", mean.expanded.degrees(), 0.714_920_352_984_240_5 * 2.776_445_105_197_793_4, 1e-8, scipy),
        row("u_c of the same budget", budget.combined().degrees(), 0.714_920_352_984_240_5, 1e-9, source),
        row("nu_eff of the same budget", budget.effective_dof(), 4.238_102_868_130_107, 1e-9, source),
        row("U of the same budget", budget.expanded().degrees(), mean.expanded.degrees(), 1e-9, source),
    ]);
}

#[test]
fn chances_of_the_bands() {
    let source = "computed with scipy 1.17.1: bands at 45, 60, 90° for a normal angle of standard uncertainty u";
    let table = [
        (58.0, 1.0, [0.0, 0.977_249_868_051_820_8, 0.022_750_131_948_179_21, 0.0]),
        (59.5, 1.0, [0.0, 0.691_462_461_274_013_1, 0.308_537_538_725_986_9, 0.0]),
        (60.0, 0.5, [0.0, 0.5, 0.5, 0.0]),
        (44.0, 2.0, [0.691_462_461_274_013_1, 0.308_537_538_725_986_2, 0.0, 0.0]),
        (90.5, 0.75, [0.0, 0.0, 0.252_492_537_546_922_9, 0.747_507_462_453_077_1]),
        (70.0, 3.0, [0.0, 0.000_429_060_333_196_797_9, 0.999_570_939_653_719_2, 0.0]),
    ];
    let mut rows = Vec::new();
    for (angle_deg, u_deg, chances) in table {
        let found = Bands::default().probabilities(deg(angle_deg), deg(u_deg));
        for (band, (found, expected)) in found.iter().zip(chances).enumerate() {
            rows.push(row(format!("{angle_deg}° ± {u_deg}°, band {band}"), *found, expected, 1e-9, source));
        }
    }
    assert_eq!(rows.len(), 24);
    check(&rows);
}

/// Peaks and holds of the raises of a leg, degrees.
fn found_deg(leg: &Leg) -> Vec<(f64, f64)> {
    let analysis = analyse_alone(&leg.run());
    let number = |raise: &fusion::Raise| {
        let peak = raise.peak.as_ref().map_or(f64::NAN, |peak| peak.angle.value.degrees());
        (peak, raise.hold.as_ref().map_or(f64::NAN, |hold| hold.angle.value.degrees()))
    };
    analysis.raises.iter().map(number).collect()
}

/// Mean of the angle over the longest stretch in which it stays within 3°, degrees.
fn steady_mean_deg(swing: &Swing) -> f64 {
    let steps = 90_000;
    let (mut sum, mut count) = (0.0, 0.0);
    for k in 0..steps {
        let angle_deg = swing.turned_deg(f64::from(k) * 1e-4);
        if angle_deg >= swing.top_deg - 3.0 {
            sum += angle_deg;
            count += 1.0;
        }
    }
    sum / count
}

#[test]
fn raises_in_a_vertical_plane() {
    let source = "computed: a leg turned in a vertical plane and about its own axis rises by the angle turned";
    let definition = "computed: mean of the course put in, while it stays within 3°";
    let table: [(f64, f64); 9] = [
        (20.0, 0.0),
        (44.9, 0.0),
        (60.0, 15.0),
        (80.0, -25.0),
        (89.9, 0.0),
        (90.1, 0.0),
        (100.0, 10.0),
        (130.0, 0.0),
        (150.0, 0.0),
    ];
    let mut rows = Vec::new();
    for (top_deg, turn_deg) in table {
        // Once each way about its own axis: nothing then says that the leg lies otherwise than it does.
        let swings = [turn_deg, -turn_deg].map(|turn_deg| Swing { turn_deg, ..Swing::to(top_deg) });
        let found = found_deg(&Leg::doing(swings.into()));
        assert_eq!(found.len(), 2, "raises to {top_deg}°");
        for (peak, hold) in found {
            rows.push(row(format!("{top_deg}° turned {turn_deg}°, peak"), peak, top_deg, 0.05, source));
            let by_definition = steady_mean_deg(&Swing::to(top_deg));
            rows.push(row(format!("{top_deg}° turned {turn_deg}°, hold"), hold, by_definition, 0.1, definition));
        }
    }
    check(&rows);
    assert!(found_deg(&Leg::doing(vec![Swing::to(0.0); 2])).is_empty(), "no raise, no result");
}

#[test]
fn raises_in_a_leaning_plane_pass_ninety_without_a_jump() {
    let source = "computed: atan2(d·up, d·h) for a plane that leans from the vertical; the same with 20° of turning";
    // Lean and turn in the plane, vertical projection.
    let table: [(f64, f64, f64); 24] = [
        (2.0, 60.0, 59.984_879_632_160_46),
        (2.0, 80.0, 79.994_027_700_053_59),
        (2.0, 88.0, 87.998_781_902_347_23),
        (2.0, 89.9, 89.899_939_045_694_01),
        (2.0, 90.1, 90.100_060_954_305_99),
        (2.0, 92.0, 92.001_218_097_652_77),
        (2.0, 100.0, 100.005_972_299_946_41),
        (2.0, 120.0, 120.015_120_367_839_53),
        (5.0, 60.0, 59.905_321_094_163_62),
        (5.0, 80.0, 79.962_576_954_089_29),
        (5.0, 88.0, 87.992_366_564_768_91),
        (5.0, 89.9, 89.899_618_017_025_84),
        (5.0, 90.1, 90.100_381_982_974_16),
        (5.0, 92.0, 92.007_633_435_231_09),
        (5.0, 100.0, 100.037_423_045_910_71),
        (5.0, 120.0, 120.094_678_905_836_39),
        (10.0, 60.0, 59.618_744_857_529_5),
        (10.0, 80.0, 79.848_918_288_951_86),
        (10.0, 88.0, 87.969_172_414_801_36),
        (10.0, 89.9, 89.898_457_342_017_11),
        (10.0, 90.1, 90.101_542_657_982_89),
        (10.0, 92.0, 92.030_827_585_198_64),
        (10.0, 100.0, 100.151_081_711_048_14),
        (10.0, 120.0, 120.381_255_142_470_48),
    ];
    let mut rows = Vec::new();
    for (lean_deg, top_deg, expected) in table {
        let turns: &[f64] = if (lean_deg - 5.0_f64).abs() < 0.1 { &[0.0, 20.0] } else { &[0.0] };
        for &turn_deg in turns {
            // Once to each side: the direction along the leg is learned from both and comes out in the middle.
            let swings = [1.0, -1.0].map(|side| Swing {
                lean_deg: side * lean_deg,
                turn_deg: side * turn_deg,
                ..Swing::to(top_deg)
            });
            let found = found_deg(&Leg::doing(swings.into()));
            assert_eq!(found.len(), 2, "raises to {top_deg}°, lean {lean_deg}°");
            for (peak, _) in found {
                let name = format!("{top_deg}° in a plane that leans {lean_deg}°, turned {turn_deg}°");
                rows.push(row(name, peak, expected, 0.05, source));
            }
        }
    }
    check(&rows);
}

#[test]
fn a_sensor_may_sit_anyhow() {
    let source = "computed: angle between up at rest and up now, sensor mounted anyhow; segment components \
        (distal, anterior, lateral) rotated into the sensor by the transpose of the mount matrix";
    // Axis and angle of the mounting, up in the sensor at rest, the raise.
    type Case = ([f64; 3], f64, [f64; 3], f64);
    let table: [Case; 3] = [
        ([1.0, 2.0, 3.0], 40.0, [0.548_798_866_963_804_2, 0.832_888_887_942_127_1, -0.071_525_547_616_019_48], 35.0),
        ([0.0, 0.0, 1.0], 170.0, [0.173_648_177_666_930_28, -0.984_807_753_012_208_1, 0.0], 72.0),
        ([-2.0, 1.0, 0.5], 95.0, [-0.196_767_063_383_912_5, 0.119_921_541_585_229_05, 0.973_088_663_293_892], 118.0),
    ];
    for (axis, angle_deg, up_at_rest, raise_deg) in table {
        let axis = Unit::new_normalize(Vector3::from(axis));
        let body_from_sensor = Rotation3::from_axis_angle(&axis, angle_deg.to_radians());
        let leg = Leg { body_from_sensor, ..Leg::doing(vec![Swing::to(raise_deg); 2]) };
        let up = leg.reading(0.0).0.normalize();
        let mut rows = Vec::new();
        for (found, expected) in up.iter().zip(up_at_rest) {
            rows.push(row(format!("up at rest, mounted by {angle_deg}°"), *found, expected, 1e-9, source));
        }
        for (peak, _) in found_deg(&leg) {
            rows.push(row(format!("raise of {raise_deg}°, mounted by {angle_deg}°"), peak, raise_deg, 0.05, source));
        }
        assert_eq!(rows.len(), 5);
        check(&rows);
    }
}

/// Offset in mg, raise, what is left of it on the distal and on the anterior axis, degrees.
const OFFSETS: [(f64, f64, f64, f64); 16] = [
    (1.0, 30.0, -0.007_700_969_614_447_217, -0.028_623_099_042_441_424),
    (1.0, 60.0, -0.028_672_661_372_056_04, -0.049_594_790_800_064_46),
    (1.0, 80.0, -0.047_356_241_329_325_144, -0.056_415_513_193_343_26),
    (1.0, 100.0, -0.067_235_279_499_684, -0.056_435_109_485_647_67),
    (5.0, 30.0, -0.038_998_744_622_574_58, -0.142_621_583_364_352_5),
    (5.0, 60.0, -0.143_854_926_912_730_72, -0.247_477_765_654_508_63),
    (5.0, 80.0, -0.236_973_737_723_971_57, -0.281_879_623_806_858_6),
    (5.0, 100.0, -0.335_979_282_830_166_4, -0.282_369_520_066_069_4),
    (20.0, 30.0, -0.163_292_793_497_078_04, -0.563_184_697_304_148_3),
    (20.0, 60.0, -0.582_578_140_870_964_5, -0.982_470_044_678_031_2),
    (20.0, 80.0, -0.950_620_997_527_551, -1.124_456_472_706_697_2),
    (20.0, 100.0, -1.340_904_678_822_653_3, -1.132_292_051_731_923_3),
    (40.0, 30.0, -0.345_490_958_134_711, -1.107_411_049_287_144),
    (40.0, 60.0, -1.183_198_993_351_396_7, -1.945_119_084_503_822_6),
    (40.0, 80.0, -1.907_726_332_554_816, -2.240_301_805_661_545),
    (40.0, 100.0, -2.673_493_752_722_237, -2.271_608_829_328_173),
];
const OFFSET_SOURCE: &str = "computed: still leg, offset on one axis, reading at rest subtracted";

#[test]
fn an_accelerometer_offset_tilts_the_first_answer() {
    // The filter's first answer is the accelerometer's: its error must be the one that geometry gives.
    let coeffs = TiltParams::default().coeffs(100.0);
    let slope_deg = |raise_deg: f64, distal: f64, anterior: f64| {
        let (sin, cos) = raise_deg.to_radians().sin_cos();
        let accel_m_s2 = Vector3::new(sin + distal, cos + anterior, 0.0) * STANDARD_GRAVITY;
        let imu = Imu { t_s: 0.0, accel_m_s2, gyro_rad_s: Vector3::zeros() };
        let up = TiltState::new(&coeffs, &imu).output(&coeffs).earth_from_sensor.inverse() * Vector3::z();
        up.x.atan2(up.y).to_degrees()
    };
    let mut rows = Vec::new();
    for (offset_mg, raise_deg, on_distal, on_anterior) in OFFSETS {
        let b = offset_mg * 1e-3;
        for (axis, distal, anterior, expected) in [("distal", b, 0.0, on_distal), ("anterior", 0.0, b, on_anterior)] {
            let found = slope_deg(raise_deg, distal, anterior) - slope_deg(0.0, distal, anterior) - raise_deg;
            rows.push(row(format!("{offset_mg} mg {axis} at {raise_deg}°"), found, expected, 1e-9, OFFSET_SOURCE));
        }
    }
    check(&rows);
}

#[test]
fn a_raise_suffers_no_more_from_an_offset_than_its_accelerometer_alone() {
    let mut off = String::new();
    // Beyond 10 mg a unit is worse than the plain unit it is taken for.
    for (offset_mg, raise_deg, on_distal, on_anterior) in OFFSETS.into_iter().filter(|row| row.0 <= 10.0) {
        let b = offset_mg * 1e-3 * STANDARD_GRAVITY;
        for (offset, alone_deg) in [(Vector3::x() * b, on_distal), (Vector3::y() * b, on_anterior)] {
            let swing = Swing { hold_s: 5.0, ..Swing::to(raise_deg) };
            let analysis = analyse_alone(&Leg::doing(vec![swing; 2]).run_with(offset, Vec::new()));
            assert_eq!(analysis.raises.len(), 2);
            for raise in &analysis.raises {
                let peak = raise.peak.as_ref().expect("a peak");
                let error_deg = (peak.angle.value.degrees() - raise_deg).abs();
                let expanded_deg = peak.angle.expanded.degrees();
                if error_deg > alone_deg.abs() + 0.03 || error_deg > expanded_deg {
                    writeln!(
                        off,
                        "{offset_mg} mg at {raise_deg}°: {error_deg:.3}°, alone {alone_deg:.3}°, stated {expanded_deg:.3}°"
                    )
                    .expect("text");
                }
            }
        }
    }
    assert!(off.is_empty(), "\n{off}[{OFFSET_SOURCE}]");
}

/// Amplitude, rise, radius; peak rate deg/s, tangential and centripetal m/s²; largest error of the accelerometer alone.
const SWINGS: [[f64; 7]; 4] = [
    [60.0, 6.0, 0.6, 15.707_963_267_948_964, 0.086_128_546_334_166_15, 0.045_096_801_404_630_73, 0.437_706_089_716_270_8],
    [80.0, 4.0, 0.6, 31.415_926_535_897_93, 0.258_385_639_002_498_45, 0.180_387_205_618_523_03, 1.493_189_854_335_393_9],
    [80.0, 2.0, 0.65, 62.831_853_071_795_86, 1.119_671_102_344_160_1, 0.781_677_891_013_599_9, 6.544_049_318_478_767],
    [90.0, 1.5, 0.65, 94.247_779_607_693_8, 2.239_342_204_688_320_2, 1.758_775_254_780_599_5, 12.862_908_863_734_086],
];
const SWING_SOURCE: &str = "computed: theta = A/2 (1 - cos(pi t/T)), rigid arm about a fixed hip; specific force \
    (distal, anterior) = (g sin - r w², g cos + r alpha), g 9.80665";

#[test]
fn what_a_swing_does_to_the_accelerometer_is_taken_off() {
    for [top_deg, up_s, radius_m, rate_deg_s, tangential, centripetal, alone_deg] in SWINGS {
        let swing = Swing { up_s, shape: Shape::RaisedCosine, ..Swing::to(top_deg) };
        let leg = Leg { radius_m, ..Leg::doing(vec![swing; 2]) };
        let (mut rate, mut along, mut across, mut error) = (0.0_f64, 0.0_f64, 0.0_f64, 0.0_f64);
        let steps = 100_000;
        for k in 0..=steps {
            let passed = f64::from(k) / f64::from(steps);
            let (force, gyro) = leg.reading(REST_S + passed * up_s);
            let angle = 0.5 * top_deg.to_radians() * (1.0 - (std::f64::consts::PI * passed).cos());
            rate = rate.max(gyro.norm().to_degrees());
            along = along.max(STANDARD_GRAVITY * angle.sin() - force.x);
            across = across.max((force.y - STANDARD_GRAVITY * angle.cos()).abs());
            error = error.max((force.x.atan2(force.y) - angle).abs().to_degrees());
        }
        let name = |what: &str| format!("{top_deg}° in {up_s} s: {what}");
        let mut rows = vec![
            row(name("peak rate"), rate, rate_deg_s, 1e-6, SWING_SOURCE),
            row(name("tangential"), across, tangential, 1e-6, SWING_SOURCE),
            row(name("centripetal"), along, centripetal, 1e-6, SWING_SOURCE),
            row(name("accelerometer alone"), error, alone_deg, 1e-5, SWING_SOURCE),
        ];
        for (peak, _) in found_deg(&leg) {
            rows.push(row(name("peak"), peak, top_deg, 0.05, "the angle that was put in"));
        }
        assert_eq!(rows.len(), 6);
        check(&rows);
        // The answer on the way up, too: half-way the accelerometer alone is furthest off.
        let analysis = analyse_alone(&leg.run_with(Vector3::zeros(), vec![mark(REST_S + 0.5 * up_s, MarkKind::Stop)]));
        let settings_s = Settings::default().reaction_s;
        let expected =
            0.5 * top_deg * (1.0 - (std::f64::consts::PI * (0.5 * up_s - settings_s) / up_s).cos());
        if let Some(end) = &analysis.raises[0].end_point {
            check(&[row(name("on the way up"), end.angle.value.degrees(), expected, 0.15, SWING_SOURCE)]);
        } else {
            assert!(analysis.raises[0].flags.contains(&Flag::EndPointUncertain), "{}", name("no end point"));
        }
    }
}

#[test]
fn the_simulator_swings_as_mechanics_has_it() {
    let source = "least-jerk course (Flash, Hogan 1985): greatest rate 15/8 A/T, greatest angular acceleration \
        10/sqrt(3) A/T²; rigid arm: r w² inwards, r alpha across";
    for (top_deg, up_s, shin_m) in [(60.0_f64, 6.0, 0.18), (80.0, 4.0, 0.18), (80.0, 2.0, 0.23), (90.0, 1.5, 0.23)] {
        let plan = RaisePlan { up_s, ..RaisePlan::smooth(top_deg) };
        let mut scenario = Scenario::quiet(Side::Right, vec![plan]);
        scenario.body.shin_sensor_m = [shin_m, 0.0, 0.0];
        scenario.rate_hz = 1000.0;
        let radius_m = scenario.body.thigh_m + shin_m;
        let g = scenario.body.gravity_m_s2;
        let simulated = simulate(&scenario);
        let begin_s = simulated.truth[0].begin_s;
        let (mut rate, mut across, mut along) = (0.0_f64, 0.0_f64, 0.0_f64);
        for sample in &simulated.run.track(Placement::ShinRight).expect("a shin").samples {
            let u = ((sample.at.s() - begin_s) / up_s).clamp(0.0, 1.0);
            if sample.at.s() > begin_s + up_s {
                break;
            }
            let angle = top_deg.to_radians() * u.powi(3) * (10.0 - u * (15.0 - 6.0 * u));
            let [x, _, z] = sample.accel_m_s2.map(f64::from);
            rate = rate.max(f64::from(sample.gyro_rad_s[1]).abs());
            along = along.max(g * angle.sin() - x);
            across = across.max((z - g * angle.cos()).abs());
        }
        let top = top_deg.to_radians();
        let name = |what: &str| format!("{top_deg}° in {up_s} s: {what}");
        check(&[
            row(name("peak rate"), rate, 1.875 * top / up_s, 1e-4, source),
            row(name("centripetal"), along, radius_m * (1.875 * top / up_s).powi(2), 1e-3, source),
            row(name("tangential"), across, radius_m * 10.0 / 3.0_f64.sqrt() * top / up_s.powi(2), 1e-3, source),
        ]);
    }
}

fn mark(at_s: f64, kind: MarkKind) -> Mark {
    let at = RunTime::from_s(at_s).expect("a time");
    Mark { at, duration_s: None, kind, side: None, value: String::new() }
}

#[test]
fn a_late_press_is_taken_back() {
    let source = "computed: angle still gained between the felt pull and the press = rate times delay";
    // Rate deg/s, delay s, late by degrees.
    let table: [(f64, f64, f64); 12] = [
        (5.0, 0.2, 1.0),
        (5.0, 0.3, 1.5),
        (5.0, 0.5, 2.5),
        (10.0, 0.2, 2.0),
        (10.0, 0.3, 3.0),
        (10.0, 0.5, 5.0),
        (20.0, 0.2, 4.0),
        (20.0, 0.3, 6.0),
        (20.0, 0.5, 10.0),
        (40.0, 0.2, 8.0),
        (40.0, 0.3, 12.0),
        (40.0, 0.5, 20.0),
    ];
    let mut rows = Vec::new();
    for (rate_deg_s, delay_s, late_deg) in table {
        // Even over the middle 80 % of the way; pressed at 50°.
        let (top_deg, soft) = (80.0, 0.1);
        let up_s = top_deg / rate_deg_s / (1.0 - soft);
        let swing = Swing { up_s, shape: Shape::Even(soft), ..Swing::to(top_deg) };
        let leg = Leg::doing(vec![swing; 2]);
        let pressed_s = REST_S + up_s * (50.0 / top_deg * (1.0 - soft) + 0.5 * soft);
        let run = leg.run_with(Vector3::zeros(), vec![mark(pressed_s, MarkKind::Pull)]);
        // How well the delay is known is another matter.
        let settings = Settings { reaction_s: delay_s, reaction_sd_s: 0.01, ..Settings::default() };
        let analysis = analyse_run(&run, &SessionContext::default(), &settings);
        let end = analysis.raises[0].end_point.as_ref().expect("an end point");
        assert_eq!((end.reason, end.pressed_s), (Reason::Pull, Some(run.marks[0].at.s())));
        let name = format!("{rate_deg_s}°/s, {delay_s} s late");
        rows.push(row(&name, 50.0 - end.angle.value.degrees(), late_deg, 0.1, source));
        rows.push(row(format!("{name}, instant"), pressed_s - end.time_s, delay_s, 1e-6, source));

        // With the default knowledge of the delay (0.1 s) a press is too uncertain beyond 5° of expanded uncertainty.
        let usual = Settings { reaction_s: delay_s, ..Settings::default() };
        let raise = &analyse_run(&run, &SessionContext::default(), &usual).raises[0];
        let uncertain = 1.96 * 0.1 * rate_deg_s > 5.0;
        assert_eq!(raise.end_point.is_none(), uncertain, "{name}");
        assert_eq!(raise.flags.contains(&Flag::EndPointUncertain), uncertain, "{name}");
    }
    check(&rows);
}

#[test]
fn gravity_may_be_that_of_any_place() {
    let source = "NIMA TR8350.2 (WGS 84) normal gravity: equator 9.7803253359, pole 9.8321849378, \
        the others from Somigliana's formula";
    let table = [
        (0.0, 9.780_325_335_9),
        (15.0, 9.783_784_962_353_005),
        (30.0, 9.793_247_269_215_307),
        (45.0, 9.806_197_769_373_233),
        (52.0, 9.812_474_077_900_685),
        (60.0, 9.819_176_953_114_37),
        (90.0, 9.832_184_937_8),
    ];
    let limits = UnitLimits::PLAIN;
    let mut rows = Vec::new();
    for (latitude_deg, g) in table {
        let leg = Leg { gravity_m_s2: g, ..Leg::doing(vec![Swing::to(70.0); 2]) };
        for (peak, _) in found_deg(&leg) {
            rows.push(row(format!("a raise of 70° at latitude {latitude_deg}°"), peak, 70.0, 0.1, source));
        }
        let mut scenario = Scenario::quiet(Side::Right, vec![RaisePlan::smooth(70.0)]);
        scenario.body.gravity_m_s2 = g;
        scenario.unit = Make { accel_noise_m_s2: 0.01, ..Make::PERFECT };
        assert_eq!(scenario.unit.grade, UnitGrade::Perfect);
        let flat = simulate_flat(&scenario, &FlatPlan::of(Face::ALL.to_vec()));
        let track = flat.track(Placement::ShinRight).expect("a shin");
        let found = fusion::calibrate::calibrate(track, limits).expect("six faces");
        for axis in 0..3 {
            let name = |what: &str| format!("{what} of axis {axis} at latitude {latitude_deg}°");
            rows.push(row(name("offset, m/s²"), found.offset_m_s2[axis], 0.0, 0.005, source));
            // A common scale of all axes turns no direction; it may take up the difference of gravity, 0.27 % at most.
            rows.push(row(name("scale"), found.scale[axis], g / 9.806 - 1.0, 0.002, source));
        }
    }
    check(&rows);
}
