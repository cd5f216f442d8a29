//! What the stated uncertainty is worth for each kind of raise and unit: coverage and sharpness by stratum.
//!
//! An interval that is right on the whole may still be wrong for high raises or poor units. Every stratum has to hold.

use sensor::synthetic::{Scenario, UnitGrade};

use super::{BRISK, Case, SLOW, paired, quantile};

/// One peak: what it is from, its error and its expanded uncertainty, degrees.
struct Row {
    brisk: bool,
    good: bool,
    faces: u64,
    rate_hz: f64,
    angle_deg: f64,
    error_deg: f64,
    expanded_deg: f64,
}

fn rows_of(cases: &[Case], make: fn(u64) -> Scenario, brisk: bool, rows: &mut Vec<Row>) {
    for (seed, case) in (1..).zip(cases) {
        let scenario = make(seed);
        for (truth, raise) in paired(&case.simulated, &case.analysis).0 {
            let Some(peak) = raise.and_then(|raise| raise.peak.as_ref()) else {
                continue;
            };
            rows.push(Row {
                brisk,
                good: scenario.unit.grade == UnitGrade::Good,
                faces: seed % 3,
                rate_hz: scenario.rate_hz,
                angle_deg: truth.peak.angle_deg,
                error_deg: (peak.angle.value.degrees() - truth.peak.angle_deg).abs(),
                expanded_deg: peak.angle.expanded.degrees(),
            });
        }
    }
}

/// Of a stratum: how many, share inside the interval, 95th percentile of the error, median interval.
fn judged(rows: &[&Row]) -> (usize, f64, f64, f64) {
    let inside = rows
        .iter()
        .filter(|r| r.error_deg <= r.expanded_deg)
        .count();
    let errors: Vec<f64> = rows.iter().map(|r| r.error_deg).collect();
    let expanded: Vec<f64> = rows.iter().map(|r| r.expanded_deg).collect();
    (
        rows.len(),
        inside as f64 / rows.len() as f64,
        quantile(&errors, 0.95),
        quantile(&expanded, 0.5),
    )
}

type Stratum = (&'static str, f64, f64, fn(&Row) -> bool);

/// Name, largest 95th percentile of the error, largest median of the interval, and who belongs to it.
const STRATA: [Stratum; 14] = [
    ("slow", 0.45, 0.5, |r| !r.brisk),
    ("brisk", 0.45, 0.5, |r| r.brisk),
    ("under 45°", 0.45, 0.5, |r| r.angle_deg < 45.0),
    ("45 to 80°", 0.45, 0.5, |r| {
        (45.0..80.0).contains(&r.angle_deg)
    }),
    ("over 80°", 0.45, 0.5, |r| r.angle_deg >= 80.0),
    ("under 100 Hz", 0.45, 0.5, |r| r.rate_hz < 100.0),
    ("100 to 150 Hz", 0.45, 0.5, |r| {
        (100.0..150.0).contains(&r.rate_hz)
    }),
    ("over 150 Hz", 0.45, 0.5, |r| r.rate_hz >= 150.0),
    ("good unit, as it comes", 0.40, 0.5, |r| {
        r.good && r.faces == 0
    }),
    ("good unit, two faces", 0.45, 0.5, |r| {
        r.good && r.faces == 1
    }),
    ("good unit, six faces", 0.40, 0.4, |r| {
        r.good && r.faces == 2
    }),
    ("plain unit, as it comes", 0.80, 0.9, |r| {
        !r.good && r.faces == 0
    }),
    ("plain unit, two faces", 0.60, 0.9, |r| {
        !r.good && r.faces == 1
    }),
    ("plain unit, six faces", 0.45, 0.4, |r| {
        !r.good && r.faces == 2
    }),
];

#[test]
fn each_stratum_is_covered_and_sharp() {
    let mut rows = Vec::new();
    rows_of(&SLOW, Scenario::slow, false, &mut rows);
    rows_of(&BRISK, Scenario::brisk, true, &mut rows);
    let all: Vec<&Row> = rows.iter().collect();
    let (n, covered, p95_deg, median_deg) = judged(&all);
    println!(
        "all: {n} raises, {:.1} % covered, error 95 % {p95_deg:.3}°, interval {median_deg:.3}°",
        100.0 * covered
    );
    assert!((0.935..=0.975).contains(&covered), "{covered} of {n}");
    assert!(p95_deg <= 0.45, "{p95_deg}");
    let mut wrong = Vec::new();
    for (name, error_deg_max, interval_deg_max, belongs) in STRATA {
        let of_it: Vec<&Row> = rows.iter().filter(|r| belongs(r)).collect();
        let (n, covered, p95_deg, median_deg) = judged(&of_it);
        let told = format!(
            "{name}: {n} raises, {:.1} % covered, error 95 % {p95_deg:.3}°, interval {median_deg:.3}°",
            100.0 * covered
        );
        println!("{told}");
        let holds = n >= 60
            && covered >= 0.90
            && p95_deg <= error_deg_max
            && median_deg <= interval_deg_max;
        if !holds {
            wrong.push(told);
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
