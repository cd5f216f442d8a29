//! Agreement, reliability and change against published numbers.

use approx::assert_abs_diff_eq;

use super::*;

const FORMS: [Icc; 6] = [
    Icc::OneWay,
    Icc::TwoWayRandom,
    Icc::TwoWayMixed,
    Icc::OneWayMean,
    Icc::TwoWayRandomMean,
    Icc::TwoWayMixedMean,
];

/// Shrout and Fleiss, Psychol Bull 1979;86:420, tables 2 to 4: .17 .29 .71 .44 .62 .91; more digits by pingouin 0.7.0.
#[test]
fn six_intraclass_correlations() {
    let ratings = [
        [9.0, 2.0, 5.0, 8.0],
        [6.0, 1.0, 3.0, 2.0],
        [8.0, 4.0, 6.0, 8.0],
        [7.0, 1.0, 2.0, 6.0],
        [10.0, 5.0, 6.0, 9.0],
        [6.0, 2.0, 4.0, 7.0],
    ];
    let squares = mean_squares(&ratings).unwrap();
    let published = [0.17, 0.29, 0.71, 0.44, 0.62, 0.91];
    let full = [
        0.165_741_768_405_475_53,
        0.289_763_779_527_559_2,
        0.714_840_714_840_715_4,
        0.442_797_133_679_268_8,
        0.620_050_547_598_989_3,
        0.909_315_542_377_069_7,
    ];
    for ((form, published), full) in FORMS.into_iter().zip(published).zip(full) {
        let found = squares.icc(form).unwrap();
        assert_abs_diff_eq!(found, published, epsilon = 0.005);
        assert_abs_diff_eq!(found, full, epsilon = 1e-9);
    }
    assert_abs_diff_eq!(squares.between, 11.241_666_666_666_669, epsilon = 1e-9);
    assert_abs_diff_eq!(squares.within, 6.263_888_888_888_889, epsilon = 1e-9);
    assert_abs_diff_eq!(squares.raters, 32.486_111_111_111_11, epsilon = 1e-9);
    assert_abs_diff_eq!(squares.error, 1.019_444_444_444_444, epsilon = 1e-9);
}

/// Data sets A and B of Weir, J Strength Cond Res 2005;19:231: the same differences, so the same SEM (7.6) and MDC95; only
/// the spread between persons differs, and with it the correlation. More digits by pingouin 0.7.0.
#[test]
fn a_narrow_group_has_the_same_error_and_a_lower_correlation() {
    let wide = [
        [146.0, 140.0],
        [148.0, 152.0],
        [170.0, 152.0],
        [90.0, 99.0],
        [157.0, 145.0],
        [156.0, 153.0],
        [176.0, 167.0],
        [205.0, 218.0],
    ];
    let narrow = [
        [166.0, 160.0],
        [168.0, 172.0],
        [160.0, 142.0],
        [150.0, 159.0],
        [147.0, 135.0],
        [146.0, 143.0],
        [156.0, 147.0],
        [155.0, 168.0],
    ];
    for (rows, icc_2, icc_3) in [
        (wide, 0.949_975_070_633_206, 0.947_016_137_048_941_4),
        (narrow, 0.552_748_885_586_924_3, 0.537_727_666_955_767_6),
    ] {
        let squares = mean_squares(&rows).unwrap();
        assert_abs_diff_eq!(
            squares.icc(Icc::TwoWayRandom).unwrap(),
            icc_2,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(
            squares.icc(Icc::TwoWayMixed).unwrap(),
            icc_3,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(squares.sem(), 7.556_926_813_006_915, epsilon = 1e-9);
        assert_abs_diff_eq!(
            mdc95(squares.sem()).unwrap(),
            20.946_732_442_077_93,
            epsilon = 1e-9
        );
    }
}

/// López-Miñarro et al., J Sports Sci Med 2009;8:116, table 1: 2.8, 3.0, 4.0, 4.2° give 8, 8, 11, 12°. Neto et al., J
/// Sport Rehabil 2015, doi:10.1123/jsr.2014-0220: 2.2 and 2.6° give 6 and 7°. doi:10.1177/10538127251395837: 1.65 gives 4.57.
#[test]
fn smallest_change_beyond_error() {
    for (sem, published) in [
        (2.8, 8.0),
        (3.0, 8.0),
        (4.0, 11.0),
        (4.2, 12.0),
        (2.2, 6.0),
        (2.6, 7.0),
    ] {
        assert_abs_diff_eq!(mdc95(sem).unwrap().round(), published, epsilon = 0.0);
    }
    assert_abs_diff_eq!(mdc95(1.65).unwrap(), 4.57, epsilon = 0.005);
    assert_abs_diff_eq!(mdc95(2.8).unwrap(), 7.761_204_030_303_546, epsilon = 1e-9);
    // Computed: SEM 2.4°, one against one, three against three, three against six.
    for (n1, n2, expected) in [
        (1, 1, 6.652_460_597_403_039),
        (3, 3, 3.840_799_916_684_023),
        (3, 6, 3.326_230_298_701_519_3),
    ] {
        assert_abs_diff_eq!(
            mdc95_of_means(2.4, n1, n2).unwrap(),
            expected,
            epsilon = 1e-9
        );
    }
    // Arithmetic of SD √(1 − ICC), Weir 2005.
    assert_abs_diff_eq!(
        sem_from_icc(16.8, 0.95).unwrap(),
        3.756_594_202_199_646_6,
        epsilon = 1e-9
    );
}

/// Jacobson and Truax, J Consult Clin Psychol 1991;59:12, worked example: `S_diff` 4.74, index 3.16.
#[test]
fn reliable_change_of_the_worked_example() {
    let sem = sem_from_icc(7.5, 0.8).unwrap();
    assert_abs_diff_eq!(sem * 2.0_f64.sqrt(), 4.74, epsilon = 0.005);
    let found = reliable_change(32.5, 47.5, sem).unwrap();
    assert_abs_diff_eq!(found, 3.162_277_660_168_38, epsilon = 1e-9);
    assert!(
        15.0 > mdc95(sem).unwrap() && found > 1.96,
        "the same finding"
    );
    // Just inside by the one is just inside by the other.
    let edge = mdc95(sem).unwrap();
    assert_abs_diff_eq!(
        reliable_change(0.0, edge, sem).unwrap(),
        1.96,
        epsilon = 1e-9
    );
}

/// Hopkins, Sports Med 2000;30:1: SD of differences 4.1, typical error 2.9.
#[test]
fn typical_error_of_the_example() {
    let (first, second) = (
        [62.0, 78.0, 81.0, 55.0, 66.0],
        [67.0, 76.0, 87.0, 55.0, 63.0],
    );
    let found = typical_error(&first, &second).unwrap();
    assert_abs_diff_eq!(found, 2.889_636_655_359_977_7, epsilon = 1e-9);
    assert_abs_diff_eq!(found, 2.9, epsilon = 0.05);
    let shifted = second.map(|value| value + 40.0);
    assert_abs_diff_eq!(
        typical_error(&first, &shifted).unwrap(),
        found,
        epsilon = 1e-12
    );
}

/// Bland and Altman, BMJ 1996;313:744: four peak flows of twenty children, mean square within 460.52, sw 21.5.
#[test]
fn within_subject_sd_of_children() {
    let children = [
        [190.0, 220.0, 200.0, 200.0],
        [220.0, 200.0, 240.0, 230.0],
        [260.0, 260.0, 240.0, 280.0],
        [210.0, 300.0, 280.0, 265.0],
        [270.0, 265.0, 280.0, 270.0],
        [280.0, 280.0, 270.0, 275.0],
        [260.0, 280.0, 280.0, 300.0],
        [275.0, 275.0, 275.0, 305.0],
        [280.0, 290.0, 300.0, 290.0],
        [320.0, 290.0, 300.0, 290.0],
        [300.0, 300.0, 310.0, 300.0],
        [270.0, 250.0, 330.0, 370.0],
        [320.0, 330.0, 330.0, 330.0],
        [335.0, 320.0, 335.0, 375.0],
        [350.0, 320.0, 340.0, 365.0],
        [360.0, 320.0, 350.0, 345.0],
        [330.0, 340.0, 380.0, 390.0],
        [335.0, 385.0, 360.0, 370.0],
        [400.0, 420.0, 425.0, 420.0],
        [430.0, 460.0, 480.0, 470.0],
    ];
    let pooled = pooled_sd(&children).unwrap();
    assert_abs_diff_eq!(pooled.sd.powi(2), 460.520_833_333_333_3, epsilon = 1e-9);
    assert_abs_diff_eq!(pooled.sd, 21.5, epsilon = 0.05);
    assert_eq!(pooled.dof, 60);
    // Repeatability is the MDC95 of single readings: 2.77 sw.
    assert_abs_diff_eq!(
        mdc95(pooled.sd).unwrap(),
        59.483_389_838_396_78,
        epsilon = 1e-9
    );
    let squares = mean_squares(&children).unwrap();
    assert_abs_diff_eq!(
        squares.between / squares.within,
        32.608_209_621_543_12,
        epsilon = 1e-9
    );
}

const WRIGHT: [[f64; 17]; 2] = [
    [
        494.0, 395.0, 516.0, 434.0, 476.0, 557.0, 413.0, 442.0, 650.0, 433.0, 417.0, 656.0, 267.0,
        478.0, 178.0, 423.0, 427.0,
    ],
    [
        490.0, 397.0, 512.0, 401.0, 470.0, 611.0, 415.0, 431.0, 638.0, 429.0, 420.0, 633.0, 275.0,
        492.0, 165.0, 372.0, 421.0,
    ],
];
const MINI: [[f64; 17]; 2] = [
    [
        512.0, 430.0, 520.0, 428.0, 500.0, 600.0, 364.0, 380.0, 658.0, 445.0, 432.0, 626.0, 260.0,
        477.0, 259.0, 350.0, 451.0,
    ],
    [
        525.0, 415.0, 508.0, 444.0, 500.0, 625.0, 460.0, 390.0, 642.0, 432.0, 420.0, 605.0, 227.0,
        467.0, 268.0, 370.0, 443.0,
    ],
];

/// Bland and Altman, Lancet 1986;327:307, two flow meters: −2.1, SD 38.8, limits −79.7 and 75.5 (with 2 SD), standard
/// errors 9.4 and 16.3. The paper rounds before it forms the limits.
#[test]
fn limits_of_agreement_of_two_meters() {
    let found = limits_of_agreement(&WRIGHT[0], &MINI[0], 2.0).unwrap();
    for (found, published) in [
        (found.mean, -2.1),
        (found.sd, 38.8),
        (found.lower, -79.7),
        (found.upper, 75.5),
        (found.se_mean, 9.4),
        (found.se_limit, 16.3),
    ] {
        assert_abs_diff_eq!(found, published, epsilon = 0.1);
    }
    // The same, unrounded and with 1.96.
    let found = limits_of_agreement(&WRIGHT[0], &MINI[0], 1.96).unwrap();
    assert_abs_diff_eq!(found.sd, 38.765_129_873_607_38, epsilon = 1e-9);
    assert_abs_diff_eq!(found.lower, -78.097_301_611_094, epsilon = 1e-9);
    assert_abs_diff_eq!(found.upper, 73.862_007_493_446_92, epsilon = 1e-9);
    assert_eq!(found.count, 17);
}

/// The same table, both readings of each meter: within-subject SD 15.3 and 19.9 (Bland and Altman, Stat Methods Med Res
/// 1999;8:135).
#[test]
fn repeatability_of_two_readings() {
    for (readings, published, within, error) in [
        (WRIGHT, 15.3, 15.306_669_057_866_863, 15.361_214_527_657_173),
        (MINI, 19.9, 19.910_830_632_361_58, 20.415_806_304_401_094),
    ] {
        let pairs: Vec<[f64; 2]> = readings[0]
            .iter()
            .zip(&readings[1])
            .map(|(a, b)| [*a, *b])
            .collect();
        let pooled = pooled_sd(&pairs).unwrap();
        assert_abs_diff_eq!(pooled.sd, published, epsilon = 0.05);
        assert_abs_diff_eq!(pooled.sd, within, epsilon = 1e-9);
        let found = typical_error(&readings[0], &readings[1]).unwrap();
        assert_abs_diff_eq!(found, error, epsilon = 1e-9);
    }
}

/// Student, Biometrika 1908;6:1, sleep data: t −4.0621, p 0.002833, interval −2.4598858 to −0.7001142.
#[test]
fn students_sleep() {
    let found = paired_t(
        &[0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0],
        &[1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4],
    )
    .unwrap();
    assert_abs_diff_eq!(found.mean, -1.58, epsilon = 1e-6);
    assert_abs_diff_eq!(found.t, -4.062_127_683_382_037, epsilon = 1e-6);
    assert_eq!(found.dof, 9);
    assert_abs_diff_eq!(found.p, 0.002_832_890_197_384_273, epsilon = 1e-6);
    assert_abs_diff_eq!(found.interval.0, -2.459_885_763_276_983, epsilon = 1e-6);
    assert_abs_diff_eq!(found.interval.1, -0.700_114_236_723_017_5, epsilon = 1e-6);
}

#[test]
fn what_has_no_spread_or_no_pair_is_refused() {
    let none = Err(StatisticsError::NoSpread);
    let alike = mean_squares(&[[5.0, 5.0], [5.0, 5.0]]).unwrap();
    for form in FORMS {
        assert_eq!(alike.icc(form), none);
    }
    // Persons alike, raters alike, and only error left: ICC(2,k) has no meaning.
    let crossed = mean_squares(&[[1.0, 2.0], [2.0, 1.0]]).unwrap();
    assert_eq!(crossed.icc(Icc::TwoWayRandomMean), none);
    assert!(mean_squares::<[f64; 2]>(&[]).is_err() && mean_squares(&[[1.0, 2.0]]).is_err());
    assert!(mean_squares(&[[1.0], [2.0]]).is_err());
    assert_eq!(
        mean_squares(&[vec![1.0, 2.0], vec![1.0]]),
        Err(StatisticsError::Unpaired { a: 2, b: 1 })
    );
    assert_eq!(
        paired_t(&[1.0, 2.0], &[2.0, 3.0]),
        Err(StatisticsError::NoSpread)
    );
    assert_eq!(reliable_change(1.0, 2.0, 0.0), none);
    assert!(mdc95(-1.0).is_err() && mdc95(f64::NAN).is_err());
    assert!(mdc95_of_means(1.0, 0, 1).is_err() && sem_from_icc(1.0, 1.1).is_err());
    assert!(limits_of_agreement(&[1.0, 2.0], &[1.0], 2.0).is_err());
    assert!(typical_error(&[1.0], &[1.0]).is_err());
}
