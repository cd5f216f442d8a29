//! Student's t, degrees of freedom, means and bands.

use casebook::{Bands, combined_mean};
use fusion::{Angle, Budget, Source, coverage_factor};
use sensor::Side;

use super::{Row, check, row};

fn deg(deg: f64) -> Angle {
    Angle::from_degrees(deg)
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
    .map(|(dof, t)| {
        row(
            format!("t, {dof} degrees of freedom"),
            coverage_factor(dof),
            t,
            1e-8,
            full,
        )
    })
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
        .map(|(dof, t)| {
            row(
                format!("t, {dof} degrees of freedom"),
                coverage_factor(dof),
                t,
                0.0051,
                printed,
            )
        }),
    );
    let normal = "standard tables; scipy 1.17.1, norm.ppf(0.975)";
    rows.push(row(
        "t, infinite",
        coverage_factor(f64::INFINITY),
        1.959_963_984_540_054_5,
        1e-9,
        normal,
    ));
    let cut = "JCGM 100:2008, G.4.1: degrees of freedom are truncated to the next lower integer (from memory)";
    rows.push(row(
        "t, 4.99",
        coverage_factor(4.99),
        2.776_445_105_197_793_4,
        1e-8,
        cut,
    ));
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
    let others = [
        (25.0, 18.0),
        (2.886_787_314_869_899_5, 50.0),
        (16.599_027_060_501_925, 2.0),
    ];
    let whole = others.into_iter().fold(difference.clone(), add);
    check(&[
        row(
            "u(d), nm",
            difference.combined().degrees(),
            9.681_941_953_967_707,
            1e-9,
            source,
        ),
        row(
            "its degrees of freedom",
            difference.effective_dof(),
            25.447,
            0.2,
            source,
        ),
        row(
            "u_c, nm",
            whole.combined().degrees(),
            31.663_879_111_008_633,
            0.02,
            source,
        ),
        row("nu_eff", whole.effective_dof(), 16.752, 0.1, source),
        row(
            "nu_eff, truncated",
            whole.effective_dof().floor(),
            16.0,
            0.0,
            source,
        ),
    ]);
    assert!(
        Budget::default()
            .with(Source::Noise, deg(1.0))
            .effective_dof()
            .is_infinite()
    );
}

#[test]
fn the_mean_of_three_raises() {
    let source = "computed as in JCGM 100:2008 4.2.3, 5.1.2, G.4.1: Type A from 61.0, 62.4, 63.0°, Type B 0.4°";
    let scipy = "the same, times t for 95 % and 4 degrees of freedom (scipy 1.17.1)";
    let angles = [61.0, 62.4, 63.0].map(deg);
    let mean = combined_mean(Side::Right, &angles, deg(0.4), f64::INFINITY, None).expect("three");
    let budget = Budget::default()
        .with_dof(Source::Noise, deg(0.592_546_294_487_705_9), 2.0)
        .with(Source::Sensor, deg(0.4));
    check(&[
        row(
            "mean",
            mean.mean.degrees(),
            62.133_333_333_333_33,
            1e-9,
            source,
        ),
        row(
            "scatter",
            mean.scatter.map_or(f64::NAN, Angle::degrees),
            1.026_320_287_889_376_7,
            1e-9,
            source,
        ),
        row(
            "u_c",
            mean.standard.degrees(),
            0.714_920_352_984_240_5,
            1e-9,
            source,
        ),
        row(
            "nu_eff",
            mean.effective_dof,
            4.238_102_868_130_107,
            1e-9,
            source,
        ),
        row(
            "U",
            mean.expanded.degrees(),
            0.714_920_352_984_240_5 * 2.776_445_105_197_793_4,
            1e-8,
            scipy,
        ),
        row(
            "u_c of the same budget",
            budget.combined().degrees(),
            0.714_920_352_984_240_5,
            1e-9,
            source,
        ),
        row(
            "nu_eff of the same budget",
            budget.effective_dof(),
            4.238_102_868_130_107,
            1e-9,
            source,
        ),
        row(
            "U of the same budget",
            budget.expanded().degrees(),
            mean.expanded.degrees(),
            1e-9,
            source,
        ),
    ]);
}

#[test]
fn chances_of_the_bands() {
    let source = "computed with scipy 1.17.1: bands at 45, 60, 90° for a normal angle of standard uncertainty u";
    let table = [
        (
            58.0,
            1.0,
            [0.0, 0.977_249_868_051_820_8, 0.022_750_131_948_179_21, 0.0],
        ),
        (
            59.5,
            1.0,
            [0.0, 0.691_462_461_274_013_1, 0.308_537_538_725_986_9, 0.0],
        ),
        (60.0, 0.5, [0.0, 0.5, 0.5, 0.0]),
        (
            44.0,
            2.0,
            [0.691_462_461_274_013_1, 0.308_537_538_725_986_2, 0.0, 0.0],
        ),
        (
            90.5,
            0.75,
            [0.0, 0.0, 0.252_492_537_546_922_9, 0.747_507_462_453_077_1],
        ),
        (
            70.0,
            3.0,
            [
                0.0,
                0.000_429_060_333_196_797_9,
                0.999_570_939_653_719_2,
                0.0,
            ],
        ),
    ];
    let mut rows = Vec::new();
    for (angle_deg, u_deg, chances) in table {
        let found = Bands::default().probabilities(deg(angle_deg), deg(u_deg));
        for (band, (found, expected)) in found.iter().zip(chances).enumerate() {
            rows.push(row(
                format!("{angle_deg}° ± {u_deg}°, band {band}"),
                *found,
                expected,
                1e-9,
                source,
            ));
        }
    }
    assert_eq!(rows.len(), 24);
    check(&rows);
}
