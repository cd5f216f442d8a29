//! What offset, swing, lateness and gravity do to an angle.

use std::fmt::Write as _;

use fusion::tilt::{TiltParams, TiltState};
use fusion::{Flag, Imu, Reason, SessionContext, Settings, analyse_run};
use nalgebra::Vector3;
use sensor::synthetic::{FlatPlan, RaisePlan, Scenario, Unit, UnitGrade, simulate, simulate_flat};
use sensor::{Face, Mark, MarkKind, Placement, RunTime, Side, UnitLimits};

use super::super::handmade::{Leg, REST_S, STANDARD_GRAVITY, Shape, Swing};
use super::super::kit::analyse_alone;
use super::raises::found_deg;
use super::{check, row};

/// Offset in mg, raise, what is left of it on the distal and on the anterior axis, degrees.
const OFFSETS: [(f64, f64, f64, f64); 16] = [
    (
        1.0,
        30.0,
        -0.007_700_969_614_447_217,
        -0.028_623_099_042_441_424,
    ),
    (
        1.0,
        60.0,
        -0.028_672_661_372_056_04,
        -0.049_594_790_800_064_46,
    ),
    (
        1.0,
        80.0,
        -0.047_356_241_329_325_144,
        -0.056_415_513_193_343_26,
    ),
    (
        1.0,
        100.0,
        -0.067_235_279_499_684,
        -0.056_435_109_485_647_67,
    ),
    (
        5.0,
        30.0,
        -0.038_998_744_622_574_58,
        -0.142_621_583_364_352_5,
    ),
    (
        5.0,
        60.0,
        -0.143_854_926_912_730_72,
        -0.247_477_765_654_508_63,
    ),
    (
        5.0,
        80.0,
        -0.236_973_737_723_971_57,
        -0.281_879_623_806_858_6,
    ),
    (
        5.0,
        100.0,
        -0.335_979_282_830_166_4,
        -0.282_369_520_066_069_4,
    ),
    (
        20.0,
        30.0,
        -0.163_292_793_497_078_04,
        -0.563_184_697_304_148_3,
    ),
    (
        20.0,
        60.0,
        -0.582_578_140_870_964_5,
        -0.982_470_044_678_031_2,
    ),
    (20.0, 80.0, -0.950_620_997_527_551, -1.124_456_472_706_697_2),
    (
        20.0,
        100.0,
        -1.340_904_678_822_653_3,
        -1.132_292_051_731_923_3,
    ),
    (40.0, 30.0, -0.345_490_958_134_711, -1.107_411_049_287_144),
    (
        40.0,
        60.0,
        -1.183_198_993_351_396_7,
        -1.945_119_084_503_822_6,
    ),
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
        let imu = Imu {
            t_s: 0.0,
            accel_m_s2,
            gyro_rad_s: Vector3::zeros(),
        };
        let up = TiltState::new(&coeffs, &imu)
            .output(&coeffs)
            .earth_from_sensor
            .inverse()
            * Vector3::z();
        up.x.atan2(up.y).to_degrees()
    };
    let mut rows = Vec::new();
    for (offset_mg, raise_deg, on_distal, on_anterior) in OFFSETS {
        let b = offset_mg * 1e-3;
        for (axis, distal, anterior, expected) in [
            ("distal", b, 0.0, on_distal),
            ("anterior", 0.0, b, on_anterior),
        ] {
            let found = slope_deg(raise_deg, distal, anterior)
                - slope_deg(0.0, distal, anterior)
                - raise_deg;
            rows.push(row(
                format!("{offset_mg} mg {axis} at {raise_deg}°"),
                found,
                expected,
                1e-9,
                OFFSET_SOURCE,
            ));
        }
    }
    check(&rows);
}

#[test]
fn a_raise_suffers_no_more_from_an_offset_than_its_accelerometer_alone() {
    let mut off = String::new();
    // Beyond 10 mg a unit is worse than the plain unit it is taken for.
    for (offset_mg, raise_deg, on_distal, on_anterior) in
        OFFSETS.into_iter().filter(|row| row.0 <= 10.0)
    {
        let b = offset_mg * 1e-3 * STANDARD_GRAVITY;
        for (offset, alone_deg) in [
            (Vector3::x() * b, on_distal),
            (Vector3::y() * b, on_anterior),
        ] {
            let swing = Swing {
                hold_s: 5.0,
                ..Swing::to(raise_deg)
            };
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
    [
        60.0,
        6.0,
        0.6,
        15.707_963_267_948_964,
        0.086_128_546_334_166_15,
        0.045_096_801_404_630_73,
        0.437_706_089_716_270_8,
    ],
    [
        80.0,
        4.0,
        0.6,
        31.415_926_535_897_93,
        0.258_385_639_002_498_45,
        0.180_387_205_618_523_03,
        1.493_189_854_335_393_9,
    ],
    [
        80.0,
        2.0,
        0.65,
        62.831_853_071_795_86,
        1.119_671_102_344_160_1,
        0.781_677_891_013_599_9,
        6.544_049_318_478_767,
    ],
    [
        90.0,
        1.5,
        0.65,
        94.247_779_607_693_8,
        2.239_342_204_688_320_2,
        1.758_775_254_780_599_5,
        12.862_908_863_734_086,
    ],
];
const SWING_SOURCE: &str = "computed: theta = A/2 (1 - cos(pi t/T)), rigid arm about a fixed hip; specific force \
    (distal, anterior) = (g sin - r w², g cos + r alpha), g 9.80665";

#[test]
fn what_a_swing_does_to_the_accelerometer_is_taken_off() {
    for [
        top_deg,
        up_s,
        radius_m,
        rate_deg_s,
        tangential,
        centripetal,
        alone_deg,
    ] in SWINGS
    {
        let swing = Swing {
            up_s,
            shape: Shape::RaisedCosine,
            ..Swing::to(top_deg)
        };
        let leg = Leg {
            radius_m,
            ..Leg::doing(vec![swing; 2])
        };
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
            row(
                name("accelerometer alone"),
                error,
                alone_deg,
                1e-5,
                SWING_SOURCE,
            ),
        ];
        for (peak, _) in found_deg(&leg) {
            rows.push(row(
                name("peak"),
                peak,
                top_deg,
                0.05,
                "the angle that was put in",
            ));
        }
        assert_eq!(rows.len(), 6);
        check(&rows);
    }
}

#[test]
fn half_way_up_the_answer_is_as_good() {
    // There the accelerometer alone is furthest off.
    for [top_deg, up_s, radius_m, ..] in SWINGS {
        let swing = Swing {
            up_s,
            shape: Shape::RaisedCosine,
            ..Swing::to(top_deg)
        };
        let leg = Leg {
            radius_m,
            ..Leg::doing(vec![swing; 2])
        };
        let stop = mark(REST_S + 0.5 * up_s, MarkKind::Stop);
        let raise = &analyse_alone(&leg.run_with(Vector3::zeros(), vec![stop])).raises[0];
        let name = format!("{top_deg}° in {up_s} s, on the way up");
        let felt = (0.5 * up_s - Settings::default().reaction_s) / up_s;
        let expected = 0.5 * top_deg * (1.0 - (std::f64::consts::PI * felt).cos());
        match &raise.end_point {
            Some(end) => {
                check(&[row(
                    name,
                    end.angle.value.degrees(),
                    expected,
                    0.15,
                    SWING_SOURCE,
                )]);
            }
            None => assert!(
                raise.flags.contains(&Flag::EndPointUncertain),
                "{name}: no end point"
            ),
        }
    }
}

#[test]
fn the_simulator_swings_as_mechanics_has_it() {
    let source = "least-jerk course (Flash, Hogan 1985): greatest rate 15/8 A/T, greatest angular acceleration \
        10/sqrt(3) A/T²; rigid arm: r w² inwards, r alpha across";
    for (top_deg, up_s, shin_m) in [
        (60.0_f64, 6.0, 0.18),
        (80.0, 4.0, 0.18),
        (80.0, 2.0, 0.23),
        (90.0, 1.5, 0.23),
    ] {
        let plan = RaisePlan {
            up_s,
            ..RaisePlan::smooth(top_deg)
        };
        let mut scenario = Scenario::quiet(Side::Right, vec![plan]);
        scenario.body.shin_sensor_m = [shin_m, 0.0, 0.0];
        scenario.rate_hz = 1000.0;
        let radius_m = scenario.body.thigh_m + shin_m;
        let g = scenario.body.gravity_m_s2;
        let simulated = simulate(&scenario);
        let begin_s = simulated.truth[0].begin_s;
        let (mut rate, mut across, mut along) = (0.0_f64, 0.0_f64, 0.0_f64);
        for sample in &simulated
            .run
            .track(Placement::ShinRight)
            .expect("a shin")
            .samples
        {
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
            row(
                name("centripetal"),
                along,
                radius_m * (1.875 * top / up_s).powi(2),
                1e-3,
                source,
            ),
            row(
                name("tangential"),
                across,
                radius_m * 10.0 / 3.0_f64.sqrt() * top / up_s.powi(2),
                1e-3,
                source,
            ),
        ]);
    }
}

fn mark(at_s: f64, kind: MarkKind) -> Mark {
    let at = RunTime::from_s(at_s).expect("a time");
    Mark {
        at,
        duration_s: None,
        kind,
        side: None,
        value: String::new(),
    }
}

#[test]
fn a_late_press_is_taken_back() {
    let source =
        "computed: angle still gained between the felt pull and the press = rate times delay";
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
        let swing = Swing {
            up_s,
            shape: Shape::Even(soft),
            ..Swing::to(top_deg)
        };
        let leg = Leg::doing(vec![swing; 2]);
        let pressed_s = REST_S + up_s * (50.0 / top_deg * (1.0 - soft) + 0.5 * soft);
        let run = leg.run_with(Vector3::zeros(), vec![mark(pressed_s, MarkKind::Pull)]);
        // How well the delay is known is another matter.
        let settings = Settings {
            reaction_s: delay_s,
            reaction_sd_s: 0.01,
            ..Settings::default()
        };
        let analysis = analyse_run(&run, &SessionContext::default(), &settings);
        let end = analysis.raises[0].end_point.as_ref().expect("an end point");
        assert_eq!(
            (end.reason, end.pressed_s),
            (Reason::Pull, Some(run.marks[0].at.s()))
        );
        let name = format!("{rate_deg_s}°/s, {delay_s} s late");
        rows.push(row(
            &name,
            50.0 - end.angle.value.degrees(),
            late_deg,
            0.1,
            source,
        ));
        rows.push(row(
            format!("{name}, instant"),
            pressed_s - end.time_s,
            delay_s,
            1e-6,
            source,
        ));

        // With the default knowledge of the delay (0.1 s) a press is too uncertain beyond 5° of expanded uncertainty.
        let usual = Settings {
            reaction_s: delay_s,
            ..Settings::default()
        };
        let raise = &analyse_run(&run, &SessionContext::default(), &usual).raises[0];
        let uncertain = 1.96 * 0.1 * rate_deg_s > 5.0;
        assert_eq!(raise.end_point.is_none(), uncertain, "{name}");
        assert_eq!(
            raise.flags.contains(&Flag::EndPointUncertain),
            uncertain,
            "{name}"
        );
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
        let leg = Leg {
            gravity_m_s2: g,
            ..Leg::doing(vec![Swing::to(70.0); 2])
        };
        for (peak, _) in found_deg(&leg) {
            rows.push(row(
                format!("a raise of 70° at latitude {latitude_deg}°"),
                peak,
                70.0,
                0.1,
                source,
            ));
        }
        let mut scenario = Scenario::quiet(Side::Right, vec![RaisePlan::smooth(70.0)]);
        scenario.body.gravity_m_s2 = g;
        scenario.unit = Unit {
            accel_noise_m_s2: 0.01,
            ..Unit::PERFECT
        };
        assert_eq!(scenario.unit.grade, UnitGrade::Perfect);
        let flat = simulate_flat(&scenario, &FlatPlan::of(Face::ALL.to_vec()));
        let track = flat.track(Placement::ShinRight).expect("a shin");
        let found = fusion::calibrate::calibrate(track, limits).expect("six faces");
        for axis in 0..3 {
            let name = |what: &str| format!("{what} of axis {axis} at latitude {latitude_deg}°");
            rows.push(row(
                name("offset, m/s²"),
                found.offset_m_s2[axis],
                0.0,
                0.005,
                source,
            ));
            // A common scale of all axes turns no direction; it may take up the difference of gravity, 0.27 % at most.
            rows.push(row(
                name("scale"),
                found.scale[axis],
                g / 9.806 - 1.0,
                0.002,
                source,
            ));
        }
    }
    check(&rows);
}
