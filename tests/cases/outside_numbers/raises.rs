//! The geometry of a raise, through the whole analysis: legs of exact kinematics in, angles out.

use nalgebra::{Rotation3, Unit, Vector3};

use super::super::handmade::{Leg, Swing};
use super::super::kit::analyse_alone;
use super::{check, row};

/// Peaks and holds of the raises of a leg, degrees.
pub(super) fn found_deg(leg: &Leg) -> Vec<(f64, f64)> {
    let analysis = analyse_alone(&leg.run());
    let number = |raise: &fusion::Raise| {
        let peak = raise
            .peak
            .as_ref()
            .map_or(f64::NAN, |peak| peak.angle.value.degrees());
        (
            peak,
            raise
                .hold
                .as_ref()
                .map_or(f64::NAN, |hold| hold.angle.value.degrees()),
        )
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
        let swings = [turn_deg, -turn_deg].map(|turn_deg| Swing {
            turn_deg,
            ..Swing::to(top_deg)
        });
        let found = found_deg(&Leg::doing(swings.into()));
        assert_eq!(found.len(), 2, "raises to {top_deg}°");
        for (peak, hold) in found {
            rows.push(row(
                format!("{top_deg}° turned {turn_deg}°, peak"),
                peak,
                top_deg,
                0.05,
                source,
            ));
            let by_definition = steady_mean_deg(&Swing::to(top_deg));
            rows.push(row(
                format!("{top_deg}° turned {turn_deg}°, hold"),
                hold,
                by_definition,
                0.1,
                definition,
            ));
        }
    }
    check(&rows);
    assert!(
        found_deg(&Leg::doing(vec![Swing::to(0.0); 2])).is_empty(),
        "no raise, no result"
    );
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
        let turns: &[f64] = if (lean_deg - 5.0_f64).abs() < 0.1 {
            &[0.0, 20.0]
        } else {
            &[0.0]
        };
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
                let name =
                    format!("{top_deg}° in a plane that leans {lean_deg}°, turned {turn_deg}°");
                rows.push(row(name, peak, expected, 0.05, source));
            }
        }
    }
    check(&rows);
}

/// Axis and angle of the mounting, up in the sensor at rest, the raise.
type Mounted = ([f64; 3], f64, [f64; 3], f64);

#[test]
fn a_sensor_may_sit_anyhow() {
    let source = "computed: angle between up at rest and up now, sensor mounted anyhow; segment components \
        (distal, anterior, lateral) rotated into the sensor by the transpose of the mount matrix";
    let table: [Mounted; 3] = [
        (
            [1.0, 2.0, 3.0],
            40.0,
            [
                0.548_798_866_963_804_2,
                0.832_888_887_942_127_1,
                -0.071_525_547_616_019_48,
            ],
            35.0,
        ),
        (
            [0.0, 0.0, 1.0],
            170.0,
            [0.173_648_177_666_930_28, -0.984_807_753_012_208_1, 0.0],
            72.0,
        ),
        (
            [-2.0, 1.0, 0.5],
            95.0,
            [
                -0.196_767_063_383_912_5,
                0.119_921_541_585_229_05,
                0.973_088_663_293_892,
            ],
            118.0,
        ),
    ];
    for (axis, angle_deg, up_at_rest, raise_deg) in table {
        let axis = Unit::new_normalize(Vector3::from(axis));
        let body_from_sensor = Rotation3::from_axis_angle(&axis, angle_deg.to_radians());
        let leg = Leg {
            body_from_sensor,
            ..Leg::doing(vec![Swing::to(raise_deg); 2])
        };
        let up = leg.reading(0.0).0.normalize();
        let mut rows = Vec::new();
        for (found, expected) in up.iter().zip(up_at_rest) {
            rows.push(row(
                format!("up at rest, mounted by {angle_deg}°"),
                *found,
                expected,
                1e-9,
                source,
            ));
        }
        for (peak, _) in found_deg(&leg) {
            rows.push(row(
                format!("raise of {raise_deg}°, mounted by {angle_deg}°"),
                peak,
                raise_deg,
                0.05,
                source,
            ));
        }
        assert_eq!(rows.len(), 5);
        check(&rows);
    }
}
