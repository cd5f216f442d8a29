//! Seconds as text and as whole nanoseconds, exactly.

/// A clock of seconds since 1970 stays below; differences of two such times fit in 64 bits of nanoseconds.
const SECONDS_MAX: i64 = 4_000_000_000;

/// Powers of ten.
const POW10: [u64; 20] = {
    let mut powers = [1u64; 20];
    let mut i = 1;
    while i < 20 {
        powers[i] = powers[i - 1] * 10;
        i += 1;
    }
    powers
};

/// One over each power of ten, to the nearest float.
const TENTHS: [f64; 20] = {
    let mut tenths = [1.0; 20];
    let mut i = 0;
    while i < 20 {
        tenths[i] = 1.0 / POW10[i] as f64;
        i += 1;
    }
    tenths
};

/// A plain decimal number at the start of a text: `mantissa / 10^decimals`, and the bytes it took.
struct Decimal {
    is_negative: bool,
    mantissa: u64,
    decimals: usize,
    len: usize,
}

/// Reads digits and perhaps a point; `None` for anything that isn't as plain as nearly all cells are.
#[inline(always)]
#[expect(
    clippy::inline_always,
    reason = "measured: a tenth of the reading time"
)]
fn scan(text: &[u8]) -> Option<Decimal> {
    let is_negative = *text.first()? == b'-';
    let start = usize::from(is_negative);
    let mut at = start;
    let mut mantissa = 0u64;
    let take = |mantissa: &mut u64, at: &mut usize| {
        while let Some(&byte) = text.get(*at) {
            let digit = byte.wrapping_sub(b'0');
            if digit > 9 {
                break;
            }
            // What overflows here is refused below for its number of digits.
            *mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
            *at += 1;
        }
    };
    take(&mut mantissa, &mut at);
    let mut digits = at - start;
    let mut decimals = 0;
    if text.get(at) == Some(&b'.') {
        at += 1;
        let from = at;
        // Most decimals are three to nine digits: eight at a time, without a branch for each.
        if let Some((eight, count)) = text.get(at..).and_then(eight_digits) {
            mantissa = mantissa.wrapping_mul(POW10[count]).wrapping_add(eight);
            at += count;
            if count == 8 {
                take(&mut mantissa, &mut at);
            }
        } else {
            take(&mut mantissa, &mut at);
        }
        decimals = at - from;
        digits += decimals;
    }
    let has_exponent = matches!(text.get(at), Some(b'e' | b'E'));
    if digits == 0 || digits > 19 || has_exponent {
        return None;
    }
    Some(Decimal {
        is_negative,
        mantissa,
        decimals,
        len: at,
    })
}

/// The value and the number of the digits that the next eight bytes begin with; `None` near the end.
///
/// All eight are handled as one word: neighbours are joined to pairs, pairs to fours, fours to eight
/// (Lemire, "Quickly parsing eight digits", 2018).
#[inline]
fn eight_digits(text: &[u8]) -> Option<(u64, usize)> {
    let word = u64::from_le_bytes(*text.first_chunk::<8>()?) ^ 0x3030_3030_3030_3030;
    // A byte above 9 gets its high bit; a carry out of one only reaches bytes after the first such.
    let others = (word.wrapping_add(0x7676_7676_7676_7676) | word) & 0x8080_8080_8080_8080;
    let count = others.trailing_zeros() / 8;
    // Zeros before the digits, and nothing after.
    let digits = word.checked_shl(64 - 8 * count).unwrap_or(0);
    let pairs = (digits.wrapping_mul(2561) >> 8) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(6_553_601) >> 16) & 0x0000_FFFF_0000_FFFF;
    Some((fours.wrapping_mul(42_949_672_960_001) >> 32, count as usize))
}

/// Reads a number at the start of a text: the nearest `f32`, and how many bytes it took.
#[inline]
pub(crate) fn parse_f32(text: &[u8]) -> Option<(f32, usize)> {
    if let Some(Decimal {
        is_negative,
        mantissa,
        decimals,
        len,
    }) = scan(text)
        && mantissa < 1 << 53
    {
        // The product is at most 2 units of the last place of f64 from the text's value. So the f32 nearest
        // to it is the one nearest to the text, unless it lies just between two of them.
        let product = mantissa as f64 * TENTHS[decimals];
        let past_between = (product.to_bits() & 0x1FFF_FFFF).wrapping_sub(0x1000_0000 - 4);
        if past_between > 8 && (product >= f64::from(f32::MIN_POSITIVE) || mantissa == 0) {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "rounding to f32 is what is wanted"
            )]
            let value = product as f32;
            return Some((if is_negative { -value } else { value }, len));
        }
    }
    fast_float2::parse_partial::<f32, _>(text).ok()
}

/// Reads seconds at the start of a text: whole nanoseconds, and how many bytes they took. Nine decimals
/// come back to the nanosecond whatever the number of seconds, which a float of seconds wouldn't give.
#[inline]
pub(crate) fn parse_ns(text: &[u8]) -> Option<(i64, usize)> {
    let Some(Decimal {
        is_negative,
        mantissa,
        decimals,
        len,
    }) = scan(text)
    else {
        return parse_ns_float(text);
    };
    let ns = if decimals <= 9 {
        mantissa.checked_mul(POW10[9 - decimals])?
    } else {
        let unit = POW10[decimals - 9];
        (mantissa + unit / 2) / unit
    };
    let ns = i64::try_from(ns)
        .ok()
        .filter(|ns| *ns <= SECONDS_MAX * 1_000_000_000)?;
    Some((if is_negative { -ns } else { ns }, len))
}

/// Seconds with an exponent, a plus sign, or more digits than a clock has.
#[cold]
fn parse_ns_float(text: &[u8]) -> Option<(i64, usize)> {
    let (s, len) = fast_float2::parse_partial::<f64, _>(text).ok()?;
    if s.abs() <= SECONDS_MAX as f64 {
        #[expect(clippy::cast_possible_truncation, reason = "bounded just above")]
        Some(((s * 1e9).round() as i64, len))
    } else {
        None
    }
}

/// A whole text as nanoseconds.
pub(crate) fn ns_of(text: &str) -> Option<i64> {
    let text = text.trim();
    parse_ns(text.as_bytes())
        .filter(|(_, len)| *len == text.len())
        .map(|(ns, _)| ns)
}

/// Appends seconds with nine decimals.
pub(crate) fn push_ns(out: &mut Vec<u8>, ns: i64) {
    use std::io::Write as _;
    let sign = if ns < 0 { "-" } else { "" };
    let (s, rest) = (
        ns.unsigned_abs() / 1_000_000_000,
        ns.unsigned_abs() % 1_000_000_000,
    );
    // Writing to memory can't fail.
    write!(out, "{sign}{s}.{rest:09}").unwrap_or_default();
}

/// The middle value; `None` of none. Every so-manieth value stands for all of a long list.
pub(crate) fn median(values: impl ExactSizeIterator<Item = f64>) -> Option<f64> {
    const COUNT_MAX: usize = 4096;
    let stride = values.len().div_ceil(COUNT_MAX).max(1);
    let mut picked: Vec<f64> = values.step_by(stride).collect();
    if picked.is_empty() {
        return None;
    }
    let middle = picked.len() / 2;
    Some(*picked.select_nth_unstable_by(middle, f64::total_cmp).1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_are_read_to_the_nanosecond() {
        let table: [(&str, Option<(i64, usize)>); 14] = [
            ("0", Some((0, 1))),
            ("1.5\t2", Some((1_500_000_000, 3))),
            ("-0.000000001", Some((-1, 12))),
            ("+2.", Some((2_000_000_000, 3))),
            (".25", Some((250_000_000, 3))),
            ("7199.999999999", Some((7_199_999_999_999, 14))),
            (
                "1700000000.123456789",
                Some((1_700_000_000_123_456_789, 20)),
            ),
            ("0.0000000015", Some((2, 12))),
            ("0.00000000149", Some((1, 13))),
            ("1e-3", Some((1_000_000, 4))),
            ("", None),
            (".", None),
            ("n/a", None),
            ("99999999999", None),
        ];
        for (text, expected) in table {
            assert_eq!(parse_ns(text.as_bytes()), expected, "{text}");
        }
    }

    proptest::proptest! {
        #[test]
        fn floats_are_the_nearest(mantissa in -99_999_999_999_i64..100_000_000_000, decimals in 0usize..16) {
            let digits = format!("{:0>width$}", mantissa.unsigned_abs(), width = decimals + 1);
            let (whole, fraction) = digits.split_at(digits.len() - decimals);
            let text = format!("{}{whole}.{fraction}", if mantissa < 0 { "-" } else { "" });
            let expected: f32 = text.parse().expect("a number");
            proptest::prop_assert_eq!(parse_f32(text.as_bytes()), Some((expected, text.len())));
        }

        #[test]
        fn shortest_floats_are_read_back(bits in 0u32..0x7F80_0000) {
            let value = f32::from_bits(bits);
            let text = value.to_string();
            proptest::prop_assert_eq!(parse_f32(text.as_bytes()), Some((value, text.len())));
        }
    }

    #[test]
    fn written_seconds_are_read_back() {
        for ns in [
            0,
            1,
            -1,
            999_999_999,
            1_000_000_000,
            -1_500_000_000,
            1_000_000_000_000_001,
        ] {
            let mut text = Vec::new();
            push_ns(&mut text, ns);
            assert_eq!(parse_ns(&text), Some((ns, text.len())));
        }
    }
}
