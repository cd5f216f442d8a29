//! Means, spreads and distributions against published numbers.

use approx::{assert_abs_diff_eq, assert_relative_eq};

use super::*;

/// NIST Statistical Reference Datasets, univariate summary statistics `NumAcc1` to `NumAcc4`, certified mean and SD. A
/// standard deviation from sums of squares fails the last two.
#[test]
fn nist_numacc() {
    let alternating = |first: f64, a: f64, b: f64| {
        let mut values = vec![first];
        values.extend((0..500).flat_map(|_| [a, b]));
        values
    };
    let rows = [
        (
            vec![10_000_001.0, 10_000_003.0, 10_000_002.0],
            10_000_002.0,
            1.0,
            1e-8,
        ),
        (alternating(1.2, 1.1, 1.3), 1.2, 0.1, 1e-8),
        (
            alternating(1_000_000.2, 1_000_000.1, 1_000_000.3),
            1_000_000.2,
            0.1,
            1e-8,
        ),
        (
            alternating(10_000_000.2, 10_000_000.1, 10_000_000.3),
            10_000_000.2,
            0.1,
            1e-6,
        ),
    ];
    for (values, expected_mean, expected_sd, epsilon) in rows {
        assert_abs_diff_eq!(mean(&values).unwrap(), expected_mean, epsilon = epsilon);
        assert_abs_diff_eq!(sd(&values).unwrap(), expected_sd, epsilon = epsilon);
    }
}

/// JCGM 100:2008 (GUM), 4.4.3 and table 1: mean 100.145, s 1.489, s(mean) 0.333.
#[test]
fn gum_type_a() {
    let values = [
        96.9, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42,
        100.68, 100.95, 101.11, 101.2, 101.57, 101.84, 102.36, 102.72,
    ];
    let s = sd(&values).unwrap();
    assert_abs_diff_eq!(mean(&values).unwrap(), 100.145, epsilon = 5e-4);
    assert_abs_diff_eq!(s, 1.489, epsilon = 5e-4);
    assert_abs_diff_eq!(s / 20.0_f64.sqrt(), 0.333, epsilon = 5e-4);
}

/// NIST Statistical Reference Datasets, analysis of variance `SiRstv`: certified mean square within 0.010831828, residual
/// SD 0.104076068334656, mean square between 0.0127865654.
#[test]
fn nist_sirstv() {
    let groups = [
        [196.3052, 196.124, 196.189, 196.2569, 196.3403],
        [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
        [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
        [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
        [196.2119, 196.1051, 196.185, 196.0052, 196.209],
    ];
    let pooled = pooled_sd(&groups).unwrap();
    assert_relative_eq!(pooled.sd, 0.104_076_068_334_656, max_relative = 1e-9);
    assert_eq!(pooled.dof, 20);
    let squares = mean_squares(&groups).unwrap();
    assert_abs_diff_eq!(squares.between, 0.012_786_565_4, epsilon = 1e-9);
    assert_abs_diff_eq!(squares.within, 0.010_831_828, epsilon = 1e-9);
    // Computed, not certified.
    assert_abs_diff_eq!(
        squares.icc(Icc::OneWay).unwrap(),
        0.034_835_186_776_727_4,
        epsilon = 1e-8
    );
}

/// Computed with statsmodels 0.15.0.
#[test]
fn mean_of_known_uncertainties() {
    let (found, u) = weighted_mean(
        &[52.1, 54.8, 54.0, 57.5, 61.2, 63.9],
        &[1.2, 0.9, 1.5, 0.8, 1.0, 0.9],
    )
    .unwrap();
    assert_abs_diff_eq!(found, 57.980_080_030_011_26, epsilon = 1e-9);
    assert_abs_diff_eq!(u, 0.402_567_724_476_014_3, epsilon = 1e-9);
}

/// JCGM 100:2008, table G.2, for 95, 95.45 and 99 % on both sides, to two decimals.
#[test]
fn gum_table_of_t() {
    let table: [(f64, &[(f64, f64)]); 3] = [
        (
            95.0,
            &[
                (1.0, 12.71),
                (2.0, 4.3),
                (3.0, 3.18),
                (4.0, 2.78),
                (5.0, 2.57),
                (6.0, 2.45),
                (8.0, 2.31),
                (10.0, 2.23),
                (15.0, 2.13),
                (20.0, 2.09),
                (30.0, 2.04),
            ],
        ),
        (
            95.45,
            &[
                (1.0, 13.97),
                (2.0, 4.53),
                (3.0, 3.31),
                (4.0, 2.87),
                (5.0, 2.65),
                (6.0, 2.52),
                (7.0, 2.43),
                (8.0, 2.37),
                (9.0, 2.32),
                (10.0, 2.28),
                (20.0, 2.13),
                (50.0, 2.05),
            ],
        ),
        (
            99.0,
            &[
                (1.0, 63.66),
                (2.0, 9.92),
                (3.0, 5.84),
                (5.0, 4.03),
                (10.0, 3.17),
                (16.0, 2.92),
                (20.0, 2.85),
            ],
        ),
    ];
    for (percent, rows) in table {
        for (dof, expected) in rows {
            let t = t_quantile(0.5 + percent / 200.0, *dof).unwrap();
            assert_abs_diff_eq!(t, *expected, epsilon = 0.0051);
            assert_abs_diff_eq!(
                t_beyond(t, *dof).unwrap(),
                1.0 - percent / 100.0,
                epsilon = 1e-9
            );
        }
    }
}

/// scipy 1.17.1, `t.ppf`.
#[test]
fn quantiles_of_t() {
    for (chance, dof, expected) in [
        (0.975, 1.0, 12.706_204_736_174_694),
        (0.975, 2.0, 4.302_652_729_749_462),
        (0.975, 3.0, 3.182_446_305_283_707_8),
        (0.975, 4.0, 2.776_445_105_197_793_4),
        (0.975, 5.0, 2.570_581_835_636_314_6),
        (0.975, 7.0, 2.364_624_251_592_784),
        (0.975, 10.0, 2.228_138_851_986_274),
        (0.975, 16.0, 2.119_905_299_221_254_6),
        (0.975, 19.0, 2.093_024_054_408_308_7),
        (0.975, 30.0, 2.042_272_456_301_237_8),
        (0.975, 60.0, 2.000_297_822_014_260_4),
        (0.975, 120.0, 1.979_930_405_082_440_2),
        (0.95, 1.0, 6.313_751_514_675_037),
        (0.95, 2.0, 2.919_985_580_353_724_2),
        (0.95, 5.0, 2.015_048_373_333_023_3),
        (0.95, 10.0, 1.812_461_122_811_675_6),
        (0.95, 30.0, 1.697_260_886_593_957),
    ] {
        assert_abs_diff_eq!(t_quantile(chance, dof).unwrap(), expected, epsilon = 1e-8);
    }
    assert_abs_diff_eq!(
        t_quantile(0.975, f64::INFINITY).unwrap(),
        1.959_963_984_540_054,
        epsilon = 1e-9
    );
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.4, three decimals.
#[test]
fn quantiles_of_chi_square() {
    for (chance, dof, expected) in [
        (0.95, 1.0, 3.841),
        (0.95, 2.0, 5.991),
        (0.95, 3.0, 7.815),
        (0.95, 5.0, 11.07),
        (0.95, 10.0, 18.307),
        (0.95, 20.0, 31.41),
        (0.025, 5.0, 0.831),
        (0.025, 10.0, 3.247),
        (0.025, 20.0, 9.591),
        (0.975, 5.0, 12.833),
        (0.975, 10.0, 20.483),
        (0.975, 20.0, 34.17),
    ] {
        let found = chi_square_quantile(chance, dof).unwrap();
        assert_abs_diff_eq!(found, expected, epsilon = 6e-4);
        assert_abs_diff_eq!(
            chi_square_above(found, dof).unwrap(),
            1.0 - chance,
            epsilon = 1e-9
        );
    }
}

/// Standard tables; scipy 1.17.1, `norm`.
#[test]
fn normal_distribution() {
    for (chance, z) in [
        (0.001, -3.090_232_306_167_813),
        (0.01, -2.326_347_874_040_840_8),
        (0.025, -1.959_963_984_540_054_5),
        (0.05, -1.644_853_626_951_472_9),
        (0.5, 0.0),
        (0.9, 1.281_551_565_544_600_4),
        (0.95, 1.644_853_626_951_472_2),
        (0.975, 1.959_963_984_540_054),
        (0.99, 2.326_347_874_040_840_8),
        (0.999, 3.090_232_306_167_813),
    ] {
        assert_abs_diff_eq!(normal_quantile(chance).unwrap(), z, epsilon = 1e-9);
    }
    for (z, chance) in [
        (-3.0, 0.001_349_898_031_630_093_3),
        (-2.0, 0.022_750_131_948_179_195),
        (-1.96, 0.024_997_895_148_220_435),
        (-1.0, 0.158_655_253_931_457_07),
        (0.0, 0.5),
        (0.5, 0.691_462_461_274_013_1),
        (1.0, 0.841_344_746_068_542_9),
        (1.644_853_626_951_472_2, 0.95),
        (2.0, 0.977_249_868_051_820_8),
        (3.0, 0.998_650_101_968_369_9),
    ] {
        assert_abs_diff_eq!(normal_below(z), chance, epsilon = 1e-9);
    }
    assert_abs_diff_eq!(normal_below(f64::INFINITY), 1.0, epsilon = 0.0);
}

#[test]
fn lists_that_give_no_number_are_refused() {
    let few = |found, least| StatisticsError::TooFew { found, least };
    assert_eq!(mean(&[]), Err(few(0, 1)));
    assert_eq!(sd(&[1.0]), Err(few(1, 2)));
    assert_eq!(
        mean(&[1.0, f64::NAN]),
        Err(StatisticsError::Value { at: 1 })
    );
    assert_eq!(
        sd(&[f64::INFINITY, 0.0]),
        Err(StatisticsError::Value { at: 0 })
    );
    assert_eq!(mean(&[1e61]), Err(StatisticsError::Value { at: 0 }));
    assert_eq!(
        mean(&vec![0.0; COUNT_MAX + 1]),
        Err(StatisticsError::TooMany {
            found: COUNT_MAX + 1,
            most: COUNT_MAX
        })
    );
    assert_eq!(pooled_sd::<[f64; 1]>(&[[1.0], [2.0]]), Err(few(2, 2)));
    assert_eq!(
        weighted_mean(&[1.0, 2.0], &[1.0, 0.0]),
        Err(StatisticsError::Value { at: 1 })
    );
    assert!(t_quantile(1.0, 3.0).is_err() && t_quantile(0.5, 0.0).is_err());
    assert!(t_quantile(0.5, f64::NAN).is_err() && t_beyond(f64::NAN, 3.0).is_err());
    assert!(normal_quantile(f64::NAN).is_err() && chi_square_quantile(0.5, -1.0).is_err());
    assert!(chi_square_above(-1.0, 2.0).is_err() && chi_square_above(1.0, f64::NAN).is_err());
    assert_eq!(
        sd(&[SIZE_MAX, -SIZE_MAX]).map(f64::is_finite),
        Ok(true),
        "the largest values still give a number"
    );
    assert_eq!(
        mean(&[]).unwrap_err().to_string(),
        "0 values, expected at least 1; add more"
    );
}
