//! Days moved back, each client's by a number of its own.

use jiff::ToSpan as _;
use jiff::civil::DateTime;

/// Every date is moved back by at least so many days: 150 years, so that those of this century come before 1926.
pub const SHIFT_DAYS_LEAST: u32 = 54_787;
/// And by so many more at most, less one: ten years.
pub const SHIFT_DAYS_SPAN: u32 = 3_653;

/// The latest year the standard takes for a moved one.
const YEAR_MAX: i16 = 1925;

/// A time as the files have it, and what stands after the seconds.
fn parse(text: &str) -> Option<(DateTime, &str)> {
    let (main, rest) = text.split_at_checked(19)?;
    Some((main.parse().ok()?, rest))
}

/// A time moved back by the client's days; its time of day stays. `None` if it isn't one, or would still be too late.
pub(super) fn shifted(text: &str, secret: u32) -> Option<String> {
    let (time, rest) = parse(text)?;
    let days = SHIFT_DAYS_LEAST + secret % SHIFT_DAYS_SPAN;
    let moved = time.checked_sub(i64::from(days).days()).ok()?;
    // A year of fewer than four digits isn't written as the standard wants.
    ((1_000..=YEAR_MAX).contains(&moved.year())).then(|| format!("{moved}{}", fraction(rest)))
}

/// The first moment of a time's year.
pub(super) fn year(text: &str) -> Option<String> {
    let (time, _) = parse(text)?;
    Some(format!("{:04}-01-01T00:00:00", time.year()))
}

/// The fraction of a second; a zone tells where somebody was.
fn fraction(rest: &str) -> &str {
    let end = rest.find(['Z', '+', '-']).unwrap_or(rest.len());
    &rest[..end]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shift_keeps_the_time_of_day_and_the_days_between() {
        let first = shifted("2026-03-04T09:30:00", 0).unwrap();
        let second = shifted("2026-03-11T10:00:00.5", 0).unwrap();
        // 54787 days before, counted with an outside calendar.
        assert_eq!(first, "1876-03-03T09:30:00");
        assert_eq!(second, "1876-03-10T10:00:00.5");
        assert_eq!(
            shifted("2026-03-04T09:30:00Z", 1).unwrap(),
            "1876-03-02T09:30:00"
        );
        assert_eq!(shifted("2026-03-04T09:30:00", SHIFT_DAYS_SPAN), Some(first));
    }

    #[test]
    fn what_is_no_time_or_stays_too_late_is_left_out() {
        for text in [
            "",
            "2026-03-04",
            "n/a",
            "2026-13-04T00:00:00",
            "2076-01-01T00:00:00",
        ] {
            assert_eq!(shifted(text, 0), None, "{text}");
        }
        assert!(
            shifted("2075-12-30T23:59:59", 0)
                .unwrap()
                .starts_with("1925-")
        );
        assert_eq!(
            year("2026-03-04T09:30:00+01:00").unwrap(),
            "2026-01-01T00:00:00"
        );
        assert_eq!(year("soon"), None);
    }
}
