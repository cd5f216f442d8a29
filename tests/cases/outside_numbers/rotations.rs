//! Turns and their quaternions, through the tilt filter.

use fusion::Imu;
use fusion::tilt::{TiltParams, TiltState, step};
use nalgebra::{UnitQuaternion, Vector3};

use super::super::handmade::STANDARD_GRAVITY;
use super::{Row, check, row};

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
        (1..=STEPS)
            .map(move |k| whole * (speed(k) / sum))
            .collect::<Vec<_>>()
    };
    integrated(
        &turns.iter().flat_map(one).collect::<Vec<_>>(),
        0.2 / f64::from(STEPS),
    )
}

/// Samples a turn.
const STEPS: i32 = 200;

/// Small turns about the sensor's own axes, each taking `step_s`, starting level.
fn integrated(turns_rad: &[Vector3<f64>], step_s: f64) -> UnitQuaternion<f64> {
    let coeffs = TiltParams::default().coeffs(1.0 / step_s);
    let force = |truth: &UnitQuaternion<f64>| truth.inverse() * (Vector3::z() * STANDARD_GRAVITY);
    let mut truth = UnitQuaternion::identity();
    let first = Imu {
        t_s: 0.0,
        accel_m_s2: force(&truth),
        gyro_rad_s: turns_rad[0] / step_s,
    };
    let mut state = TiltState::new(&coeffs, &first);
    for (turn, k) in turns_rad.iter().zip(1..) {
        truth *= UnitQuaternion::from_scaled_axis(*turn);
        let imu = Imu {
            t_s: f64::from(k) * step_s,
            accel_m_s2: force(&truth),
            gyro_rad_s: turn / step_s,
        };
        step(&coeffs, &mut state, &imu);
    }
    state.output(&coeffs).earth_from_sensor
}

/// Rows for the four parts of a quaternion; it and its negative are the same rotation.
fn same_rotation(
    name: &str,
    found: UnitQuaternion<f64>,
    wxyz: [f64; 4],
    source: &'static str,
) -> Vec<Row> {
    let parts = [found.w, found.i, found.j, found.k];
    let sign = parts
        .iter()
        .zip(wxyz)
        .map(|(a, b)| a * b)
        .sum::<f64>()
        .signum();
    ["w", "x", "y", "z"]
        .iter()
        .zip(parts)
        .zip(wxyz)
        .map(|((part, found), expected)| {
            row(
                format!("{name} {part}"),
                sign * found,
                expected,
                1e-9,
                source,
            )
        })
        .collect()
}

/// Axis, angle in degrees, quaternion, a vector and where it goes.
type Turned = ([f64; 3], f64, [f64; 4], [f64; 3], [f64; 3]);

const HALF: f64 = std::f64::consts::FRAC_1_SQRT_2;

const TURNS: [Turned; 10] = [
    (
        [1.0, 0.0, 0.0],
        90.0,
        [HALF, HALF, 0.0, 0.0],
        [0.0, 1.0, 0.0],
        [0.0, 0.0, 1.0],
    ),
    (
        [0.0, 1.0, 0.0],
        90.0,
        [HALF, 0.0, HALF, 0.0],
        [1.0, 0.0, 0.0],
        [0.0, 0.0, -1.0],
    ),
    (
        [0.0, 0.0, 1.0],
        90.0,
        [HALF, 0.0, 0.0, HALF],
        [1.0, 0.0, 0.0],
        [0.0, 1.0, 0.0],
    ),
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
    (
        [1.0, 1.0, 1.0],
        120.0,
        [0.5, 0.5, 0.5, 0.5],
        [1.0, 0.0, 0.0],
        [0.0, 1.0, 0.0],
    ),
    (
        [1.0, 2.0, 3.0],
        57.0,
        [
            0.878_817_112_661_965_4,
            0.127_526_042_856_375_73,
            0.255_052_085_712_751_45,
            0.382_578_128_569_127_15,
        ],
        [0.3, -0.4, 1.2],
        [
            1.071_140_533_625_638_8,
            -0.083_438_999_347_441_94,
            0.731_912_488_356_415_1,
        ],
    ),
    (
        [0.0, 0.0, 1.0],
        180.0,
        [0.0, 0.0, 0.0, 1.0],
        [1.0, 1.0, 0.0],
        [-1.0, -1.0, 0.0],
    ),
    (
        [1.0, 0.0, 0.0],
        1e-6,
        [1.0, 8.726_646_259_971_647e-9, 0.0, 0.0],
        [0.0, 1.0, 0.0],
        [0.0, 1.0, 1.745_329_251_994_329_5e-8],
    ),
];

#[test]
fn tilt_turns_sensor_axes_into_earth_axes() {
    for (axis, angle_deg, wxyz, vector, rotated) in TURNS {
        let name = format!("{angle_deg}° about {axis:?}");
        let found = turned(&[(Vector3::from(axis), angle_deg)]);
        let mut rows = same_rotation(&name, found, wxyz, AXIS_ANGLE);
        for (found, expected) in (found * Vector3::from(vector)).iter().zip(rotated) {
            rows.push(row(
                format!("{name}, rotated"),
                *found,
                expected,
                1e-9,
                AXIS_ANGLE,
            ));
        }
        check(&rows);
    }
}

#[test]
fn turns_compose_in_order() {
    // First applied (axis, degrees), then (axis, degrees), both in earth axes; quaternion and whole angle.
    type Turn = ([f64; 3], f64);
    let table: [(Turn, Turn, [f64; 4], f64); 4] = [
        (
            ([0.0, 1.0, 0.0], 90.0),
            ([1.0, 0.0, 0.0], 90.0),
            [0.5, 0.5, 0.5, 0.5],
            120.0,
        ),
        (
            ([1.0, 0.0, 0.0], 90.0),
            ([0.0, 1.0, 0.0], 90.0),
            [0.5, 0.5, 0.5, -0.5],
            120.0,
        ),
        (
            ([0.0, 1.0, 0.0], -80.0),
            ([0.0, 0.0, 1.0], 30.0),
            [
                0.739_942_111_693_848,
                0.166_365_675_342_801_9,
                -0.620_885_153_014_845_6,
                0.198_266_891_274_146_15,
            ],
            84.547_030_782_262_35,
        ),
        (
            ([-1.0, 0.0, 2.0], 111.0),
            ([1.0, 2.0, 3.0], 57.0),
            [
                0.262_762_223_971_441_67,
                -0.063_661_456_321_762_04,
                -0.090_542_177_668_179_53,
                0.958_491_182_377_635_8,
            ],
            149.531_947_837_048_3,
        ),
    ];
    for ((first, first_deg), (then, then_deg), wxyz, total_deg) in table {
        // About the sensor's own axes the later turn of the earth frame comes first.
        let found = turned(&[
            (Vector3::from(then), then_deg),
            (Vector3::from(first), first_deg),
        ]);
        let name = format!("{first_deg}° about {first:?}, then {then_deg}° about {then:?}");
        let mut rows = same_rotation(&name, found, wxyz, AXIS_ANGLE);
        rows.push(row(
            format!("{name}, whole angle"),
            found.angle().to_degrees(),
            total_deg,
            1e-7,
            AXIS_ANGLE,
        ));
        check(&rows);
    }
}

#[test]
fn an_even_rate_integrates_exactly() {
    let source = "computed: q(T) = exp(omega T / 2), body rates, q(0) = 1";
    let table = [
        (
            [0.0, -0.5, 0.0],
            2.0,
            [0.877_582_561_890_372_8, 0.0, -0.479_425_538_604_203, 0.0],
        ),
        (
            [0.1, -0.7, 0.2],
            1.5,
            [
                0.851_930_622_452_626_2,
                0.071_260_374_751_808_35,
                -0.498_822_623_262_658_36,
                0.142_520_749_503_616_7,
            ],
        ),
    ];
    for (rate, seconds, wxyz) in table {
        let step_s = seconds / f64::from(STEPS);
        let found = integrated(
            &vec![Vector3::from(rate) * step_s; STEPS.unsigned_abs() as usize],
            step_s,
        );
        check(&same_rotation(
            &format!("{rate:?} rad/s for {seconds} s"),
            found,
            wxyz,
            source,
        ));
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
    check(&[row(
        "slope of the sensor's x axis",
        up.x.atan2(up.z).to_degrees(),
        60.0,
        0.5,
        AXIS_ANGLE,
    )]);
}
