//! Lines and slopes against published numbers.

use approx::{assert_abs_diff_eq, assert_relative_eq};

use super::*;

/// NIST Statistical Reference Datasets, linear least squares, data set `Norris`: certified values.
#[test]
fn nist_norris() {
    let x = [
        0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
        666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1,
        887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
    ];
    let y = [
        0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1,
        668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3,
        888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
    ];
    let line = fit_line(&x, &y).unwrap();
    let (intercept, u_intercept) = line.at(0.0);
    for (found, certified) in [
        (intercept, -0.262_323_073_774_029),
        (u_intercept, 0.232_818_234_301_152),
        (line.slope, 1.002_116_818_020_45),
        (line.u_slope, 0.000_429_796_848_199_937),
        (line.residual_sd().unwrap(), 0.884_796_396_144_373),
        (line.residual_square, 26.617_398_529_422_4),
    ] {
        assert_relative_eq!(found, certified, max_relative = 1e-9);
    }
    assert_eq!(line.dof, 34);
}

/// JCGM 100:2008 (GUM), annex H.3, table H.6: a thermometer's correction over temperature less 20 °C. Published: −0.1712,
/// 0.0029, 0.00218, 0.00067, −0.930, 0.0035; at 30 °C −0.1494 and 0.0041. More digits by statsmodels 0.15.0.
#[test]
fn gum_calibration_line() {
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16,
    ];
    let line = fit_line(&t, &b).unwrap();
    let (at_20, u_20) = line.at(20.0);
    let correlation = line.covariance_with(20.0) / (u_20 * line.u_slope);
    let (at_30, u_30) = line.at(30.0);
    for (found, published, epsilon, full) in [
        (at_20, -0.1712, 5e-5, -0.171_203_790_131_349_9),
        (u_20, 0.0029, 5e-5, 0.002_877_597_835_159_960_3),
        (line.slope, 0.002_18, 5e-6, 0.002_182_697_739_887_273_8),
        (line.u_slope, 0.000_67, 5e-6, 0.000_667_938_772_227_833_3),
        (correlation, -0.93, 5e-4, -0.930_429_603_093_445_9),
        (
            line.residual_sd().unwrap(),
            0.0035,
            5e-5,
            0.003_497_563_963_505_292_5,
        ),
        (at_30, -0.1494, 5e-5, -0.149_376_812_732_477_16),
        (u_30, 0.0041, 5e-5, 0.004_138_595_752_854_957),
    ] {
        assert_abs_diff_eq!(found, published, epsilon = epsilon);
        assert_abs_diff_eq!(found, full, epsilon = 1e-9);
    }
}

/// Invented angles by day with known uncertainties; computed with statsmodels 0.15.0 and from the normal equations.
#[test]
fn weighted_line_of_known_uncertainties() {
    let days = [0.0, 7.0, 14.0, 21.0, 35.0, 49.0];
    let u = [1.2, 0.9, 1.5, 0.8, 1.0, 0.9];
    let line = fit_weighted_line(&days, &[52.1, 54.8, 54.0, 57.5, 61.2, 63.9], &u).unwrap();
    let (intercept, u_intercept) = line.at(0.0);
    for (found, expected) in [
        (intercept, 52.495_102_021_029_49),
        (line.slope, 0.236_397_766_292_609_1),
        (u_intercept, 0.691_373_373_130_022_6),
        (line.u_slope, 0.024_225_251_178_552_11),
        (
            line.covariance_with(0.0) / (u_intercept * line.u_slope),
            -0.812_993_664_531_836,
        ),
        (line.residual_square, 2.305_362_810_180_355),
        (
            chi_square_above(line.residual_square, line.dof as f64).unwrap(),
            0.679_792_839_611_375_4,
        ),
    ] {
        assert_abs_diff_eq!(found, expected, epsilon = 1e-8);
    }
    assert_eq!(line.dof, 4);
    // The slope is a sum of the angles, each with its coefficient.
    let parts = days.iter().zip(u);
    let u_slope: f64 = parts
        .map(|(day, u)| (line.slope_coefficient(*day, u) * u).powi(2))
        .sum();
    assert_abs_diff_eq!(u_slope.sqrt(), line.u_slope, epsilon = 1e-12);
}

/// Sen, J Am Stat Assoc 1968;63:1379: slope 4, limits 3.71 and 4.38 (93 %). Bonett, statpsych (R), `ci.theil`: slope 0.5,
/// limits 0.3243243 and 0.75, with ties.
#[test]
fn median_slopes() {
    let found = theil_sen(
        &[1.0, 2.0, 3.0, 4.0, 10.0, 12.0, 18.0],
        &[9.0, 15.0, 19.0, 20.0, 45.0, 55.0, 78.0],
        0.93,
    )
    .unwrap();
    assert_abs_diff_eq!(found.slope, 4.0, epsilon = 0.005);
    assert_abs_diff_eq!(found.lower, 3.71, epsilon = 0.005);
    assert_abs_diff_eq!(found.upper, 4.38, epsilon = 0.005);
    let found = theil_sen(
        &[
            67.0, 28.0, 30.0, 28.0, 52.0, 40.0, 25.0, 37.0, 44.0, 10.0, 14.0, 20.0, 28.0, 40.0,
            51.0,
        ],
        &[
            21.0, 4.0, 9.0, 12.0, 35.0, 18.0, 10.0, 22.0, 24.0, 1.0, 6.0, 8.0, 13.0, 16.0, 19.0,
        ],
        0.95,
    )
    .unwrap();
    assert_abs_diff_eq!(found.slope, 0.5, epsilon = 1e-6);
    assert_abs_diff_eq!(found.lower, 0.324_324_3, epsilon = 1e-6);
    assert_abs_diff_eq!(found.upper, 0.75, epsilon = 1e-6);
    assert_abs_diff_eq!(found.coverage, 0.95, epsilon = 0.0);
}

/// scipy 1.17.1, `theilslopes`. Without the ties of y the interval would be −0.2 to 0.333.
#[test]
fn ties_of_y_narrow_the_interval() {
    let x: Vec<f64> = (0..10).map(f64::from).collect();
    let y = [5.0, 5.0, 4.0, 6.0, 6.0, 4.0, 5.0, 5.0, 5.0, 6.0];
    let found = theil_sen(&x, &y, 0.95).unwrap();
    assert_abs_diff_eq!(found.slope, 0.0, epsilon = 1e-12);
    assert_abs_diff_eq!(found.intercept, 5.0, epsilon = 1e-12);
    assert_abs_diff_eq!(found.lower, 0.0, epsilon = 1e-12);
    assert_abs_diff_eq!(found.upper, 0.285_714_285_714_285_7, epsilon = 1e-12);
}

/// Counted by hand: of the 24 orders of four points two have no inversion or all six, of the 120 of five likewise two.
#[test]
fn few_points_say_what_their_interval_covers() {
    let x = [0.0, 1.0, 2.0, 3.0, 4.0];
    let y = [1.0, 2.5, 2.0, 4.0, 7.0];
    let four = theil_sen(&x[..4], &y[..4], 0.95).unwrap();
    assert_abs_diff_eq!(four.coverage, 22.0 / 24.0, epsilon = 1e-12);
    assert_abs_diff_eq!(four.lower, -0.5, epsilon = 1e-12);
    assert_abs_diff_eq!(four.upper, 2.0, epsilon = 1e-12);
    let five = theil_sen(&x, &y, 0.95).unwrap();
    assert_abs_diff_eq!(five.coverage, 118.0 / 120.0, epsilon = 1e-12);
    let many: Vec<f64> = (0..40).map(f64::from).collect();
    let bent: Vec<f64> = many
        .iter()
        .map(|x| x + 0.01 * (x * x * 7.3).sin())
        .collect();
    let found = theil_sen(&many, &bent, 0.95).unwrap();
    assert!((0.945..0.96).contains(&found.coverage), "{found:?}");
    assert!(found.lower <= found.slope && found.slope <= found.upper);
}

#[test]
fn an_odd_point_pulls_the_line_but_not_the_median() {
    let x = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
    let y = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 40.0];
    assert_abs_diff_eq!(theil_sen(&x, &y, 0.95).unwrap().slope, 1.0, epsilon = 1e-12);
    assert!(fit_line(&x, &y).unwrap().slope > 3.0);
}

#[test]
fn what_gives_no_line_is_refused() {
    let none = StatisticsError::NoSpread;
    assert_eq!(fit_line(&[1.0; 3], &[1.0, 2.0, 3.0]), Err(none));
    assert_eq!(
        fit_weighted_line(&[0.1; 3], &[1.0, 2.0, 3.0], &[1.0; 3]),
        Err(none)
    );
    assert_eq!(theil_sen(&[1.0; 3], &[1.0, 2.0, 3.0], 0.95), Err(none));
    assert!(fit_line(&[1.0, 2.0], &[1.0, 2.0]).is_err());
    assert!(fit_line(&[1.0, 2.0, 3.0], &[1.0, 2.0]).is_err());
    assert!(fit_weighted_line(&[1.0, 2.0], &[1.0, 2.0], &[1.0, -1.0]).is_err());
    assert!(theil_sen(&[1.0, 2.0], &[1.0, f64::NAN], 0.95).is_err());
    assert!(theil_sen(&[1.0, 2.0], &[1.0, 2.0], 1.0).is_err());
    let many = vec![0.0; theil_sen_limit() + 1];
    assert_eq!(
        theil_sen(&many, &many, 0.95),
        Err(StatisticsError::TooMany {
            found: many.len(),
            most: theil_sen_limit()
        })
    );
    let flat = fit_line(&[0.0, 1.0, 2.0], &[5.0; 3]).unwrap();
    assert_abs_diff_eq!(flat.slope, 0.0, epsilon = 0.0);
    assert_abs_diff_eq!(flat.u_slope, 0.0, epsilon = 0.0);
    let two = fit_weighted_line(&[0.0, 1.0], &[5.0, 6.0], &[1.0; 2]).unwrap();
    assert_eq!((two.dof, two.residual_sd()), (0, None));
}

fn theil_sen_limit() -> usize {
    super::theil_sen::POINTS_MAX
}
