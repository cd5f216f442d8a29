//! Units as files spell them, and the check of a stated unit against gravity.

/// One g, m/s² (the standard's conventional value).
pub(crate) const G_M_S2: f64 = 9.806_65;

/// Lower case, without blanks and marks, so that the many spellings of one unit are the same.
fn plain(units: &str) -> String {
    units
        .chars()
        .filter(|c| {
            !c.is_whitespace() && !matches!(c, '^' | '*' | '·' | '.' | '(' | ')' | '[' | ']')
        })
        .map(|c| match c {
            '²' => '2',
            '−' | '⁻' => '-',
            '¹' => '1',
            'µ' | 'μ' => 'u',
            _ => c.to_ascii_lowercase(),
        })
        .collect()
}

/// Whether a unit is not given at all.
pub(crate) fn is_absent(units: &str) -> bool {
    matches!(plain(units).as_str(), "" | "n/a" | "na")
}

/// What an acceleration is to be multiplied by to be m/s².
pub(crate) fn accel_factor(units: &str) -> Option<f64> {
    match plain(units).as_str() {
        "m/s2" | "ms-2" | "m/s/s" | "m/sec2" | "m/ss" | "mps2" => Some(1.0),
        "g" | "gn" | "g0" | "gee" => Some(G_M_S2),
        "mg" | "milli-g" | "millig" => Some(G_M_S2 / 1000.0),
        _ => None,
    }
}

/// What an angular rate is to be multiplied by to be rad/s.
pub(crate) fn gyro_factor(units: &str) -> Option<f64> {
    let degree = 1f64.to_radians();
    match plain(units).as_str() {
        "rad/s" | "rads-1" | "rad/sec" | "rps" => Some(1.0),
        "deg/s" | "degs-1" | "°/s" | "°s-1" | "dps" | "deg/sec" | "degree/s" | "degrees/s"
        | "º/s" => Some(degree),
        "mdps" | "mdeg/s" => Some(degree / 1000.0),
        "mrad/s" => Some(1e-3),
        _ => None,
    }
}

/// What a time, read as if it were seconds, is to be divided by.
pub(crate) fn time_divisor(units: &str) -> Option<i64> {
    match plain(units).as_str() {
        "s" | "sec" | "second" | "seconds" => Some(1),
        "ms" | "msec" | "milliseconds" => Some(1_000),
        "us" | "usec" | "microseconds" => Some(1_000_000),
        "ns" | "nanoseconds" => Some(1_000_000_000),
        _ => None,
    }
}

/// The unit a sensor's median specific force, as it stands in the file, can only be in; `None` where the
/// stated unit is right, or where the value fits none. A body in ordinary motion feels about 1 g in the
/// median, so 1, 9.8 and 1000 each tell their unit; 20 % is far more than any sensor's scale is off.
pub(crate) fn mistaken_accel_units(median: f64, stated_factor: f64) -> Option<(f64, &'static str)> {
    let is_near = |value: f64| (median / value - 1.0).abs() <= 0.2;
    if is_near(G_M_S2 / stated_factor) {
        return None;
    }
    [(1.0, "g"), (1000.0, "mg"), (G_M_S2, "m/s^2")]
        .into_iter()
        .find(|(value, _)| is_near(*value))
        .map(|(value, name)| (G_M_S2 / value, name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings() {
        for units in ["m/s^2", "m/s2", "m s-2", "m/s²", "m·s⁻²", "M/S^2"] {
            assert_eq!(accel_factor(units), Some(1.0), "{units}");
        }
        for units in ["g", "G", " g "] {
            assert_eq!(accel_factor(units), Some(G_M_S2), "{units}");
        }
        for units in ["deg/s", "°/s", "dps", "deg s-1"] {
            assert_eq!(gyro_factor(units), Some(1f64.to_radians()), "{units}");
        }
        assert_eq!(gyro_factor("rad/s"), Some(1.0));
        assert_eq!(
            (
                accel_factor("counts"),
                gyro_factor("n/a"),
                time_divisor("min")
            ),
            (None, None, None)
        );
        assert!(is_absent("n/a") && is_absent("") && !is_absent("g"));
    }

    #[test]
    fn gravity_tells_the_unit() {
        let table = [
            (9.7, 1.0, None),
            (1.02, 1.0, Some("g")),
            (1013.0, 1.0, Some("mg")),
            (9.9, G_M_S2, Some("m/s^2")),
            (1.0, G_M_S2, None),
            (1000.0, G_M_S2, Some("mg")),
            (3.0, 1.0, None),
            (16_384.0, 1.0, None),
        ];
        for (median, stated, expected) in table {
            assert_eq!(
                mistaken_accel_units(median, stated).map(|(_, name)| name),
                expected,
                "{median}"
            );
        }
    }
}
