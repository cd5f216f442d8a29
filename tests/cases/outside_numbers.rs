//! Numbers from outside, each with its source: rotations, statistics of uncertainty, geometry of a raise, errors of
//! sensors. A row that says *computed* was worked out apart from this program (numpy, scipy) from the formula named.

use std::fmt::Write as _;

mod errors;
mod raises;
mod rotations;
mod statistics;

/// What was found against what is expected.
struct Row {
    name: String,
    found: f64,
    expected: f64,
    tolerance: f64,
    source: &'static str,
}

fn row(
    name: impl Into<String>,
    found: f64,
    expected: f64,
    tolerance: f64,
    source: &'static str,
) -> Row {
    Row {
        name: name.into(),
        found,
        expected,
        tolerance,
        source,
    }
}

/// Fails with every row that is off.
fn check(rows: &[Row]) {
    assert!(!rows.is_empty(), "nothing to check");
    let mut off = String::new();
    for Row {
        name,
        found,
        expected,
        tolerance,
        source,
    } in rows
    {
        let error = (found - expected).abs();
        // Written so that NaN is off, too.
        if error.is_nan() || error > *tolerance {
            writeln!(
                off,
                "{name}: {found}, expected {expected} ± {tolerance} [{source}]"
            )
            .expect("text");
        }
    }
    assert!(off.is_empty(), "\n{off}");
}
