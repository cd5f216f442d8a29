//! Counters that wrap.

use crate::DeviceTicks;
use crate::event::RawSample;

/// Wider counters are cut to this width: they don't wrap within a run either, and sums of them stay small.
const BITS_MAX: u8 = 48;

/// 2 to the power of `bits`.
pub(super) fn modulus(bits: u8) -> f64 {
    f64::from(bits).exp2()
}

/// How far a counter has gone on from `before`, less whole turns.
pub(super) fn forward(raw: u64, before: u64, bits: u8) -> u64 {
    raw.wrapping_sub(before) & (u64::MAX >> (64 - width(bits)))
}

/// The same as the nearest way, back or on.
pub(super) fn signed(ahead: u64, bits: u8) -> i64 {
    let unused = 64 - width(bits);
    (ahead << unused).cast_signed() >> unused
}

/// How far a counter has gone. Where something tells what to expect, whole turns are added, if it fits them
/// to a quarter of a turn.
pub(super) fn step(raw: u64, before: u64, bits: u8, expected: Option<f64>) -> i64 {
    let ahead = forward(raw, before, bits);
    let Some(expected) = expected else {
        return signed(ahead, bits);
    };
    let turns = (expected - ahead as f64) / modulus(bits);
    let whole = turns.round();
    if bits > 32 || (turns - whole).abs() > 0.25 || whole.abs() > 1e6 {
        // After a long pause it has gone on, however far.
        return if 0.5 * modulus(bits) < expected {
            ahead.cast_signed()
        } else {
            signed(ahead, bits)
        };
    }
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a whole number, bounded just above"
    )]
    let whole = whole as i64;
    ahead.cast_signed().wrapping_add(whole << bits)
}

/// Numbers samples of which the one `at` is number `start`; others follow, or say their own.
pub(super) fn number_each(
    samples: &[RawSample],
    at: usize,
    start: i64,
    raw: u64,
    bits: u8,
) -> (Vec<i64>, u64) {
    let (mut index, mut count_raw) = (start, raw);
    let before = i64::try_from(at).unwrap_or(0);
    let mut indices = numbers(start.wrapping_sub(before), at + 1);
    for sample in &samples[at + 1..] {
        let next = sample.sequence.unwrap_or(count_raw.wrapping_add(1));
        index = index.wrapping_add(signed(forward(next, count_raw, bits), bits));
        count_raw = next;
        indices.push(index);
    }
    (indices, count_raw)
}

/// A stamp of the sensor's clock.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stamp {
    /// The sample it belongs to.
    pub(super) sample: usize,
    /// As it came.
    pub(super) raw: u64,
    /// Without wraps, counted from the first of its segment.
    pub(super) ticks: i64,
}

/// The stamps of a packet. `before` is the last one: as it came, and unwrapped. After a pause the clock has
/// gone on, however far.
pub(super) fn unwrap_stamps(
    samples: &[RawSample],
    bits: u8,
    mut before: Option<(u64, i64)>,
    is_paused: bool,
) -> Vec<Stamp> {
    let mut stamps: Vec<Stamp> = Vec::new();
    for (sample, raw) in samples.iter().enumerate() {
        let Some(DeviceTicks(raw)) = raw.device else {
            continue;
        };
        let ticks = before.map_or(0, |(before, unwrapped)| {
            let ahead = forward(raw, before, bits);
            let way = if is_paused && stamps.is_empty() {
                ahead.cast_signed()
            } else {
                signed(ahead, bits)
            };
            unwrapped.saturating_add(way)
        });
        stamps.push(Stamp { sample, raw, ticks });
        before = Some((raw, ticks));
    }
    stamps
}

/// Each sample of a packet on the sensor's clock, s: from the stamp at or before it, else the one after;
/// without any, after the packet before, which ended at `before_s`.
pub(super) fn spread(
    count: usize,
    stamps: &[Stamp],
    tick_s: f64,
    period_s: f64,
    before_s: f64,
) -> Vec<f64> {
    let mut next = 0;
    let mut device_s = |j: usize| {
        while stamps.get(next + 1).is_some_and(|stamp| stamp.sample <= j) {
            next += 1;
        }
        match stamps.get(next) {
            Some(stamp) => {
                stamp.ticks as f64 * tick_s + (j as f64 - stamp.sample as f64) * period_s
            }
            None => before_s + (j + 1) as f64 * period_s,
        }
    };
    (0..count).map(&mut device_s).collect()
}

/// Numbers that follow one another.
pub(super) fn numbers(first: i64, count: usize) -> Vec<i64> {
    (0..)
        .take(count)
        .map(|j: i64| first.wrapping_add(j))
        .collect()
}

fn width(bits: u8) -> u32 {
    u32::from(bits.clamp(1, BITS_MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counters_of_all_widths_go_on_over_their_wrap_and_back() {
        for bits in 8..=32_u8 {
            let top = (1_u64 << bits) - 1;
            for (raw, before, way) in [
                (0, top, 1),
                (5, top - 2, 8),
                (top, 0, -1),
                (top - 2, 5, -8),
                (7, 7, 0),
                (90, 3, 87),
            ] {
                assert_eq!(
                    step(raw, before, bits, None),
                    way,
                    "{bits} bits, {before} to {raw}"
                );
            }
        }
        assert_eq!(step(0, u64::MAX, 64, None), 1);
        assert_eq!(step(u64::MAX, u64::MAX - 3, 64, None), 3);
    }

    #[test]
    fn whole_turns_are_taken_from_what_is_expected_only_where_it_fits() {
        // An 8-bit counter at 200/s wraps in 1.28 s; a pause of 2.56 s and 4 samples hides two turns.
        assert_eq!(step(14, 10, 8, Some(516.0)), 516);
        assert_eq!(
            step(14, 10, 8, Some(516.0 + 60.0)),
            516,
            "within a quarter turn"
        );
        assert_eq!(
            step(14, 10, 8, Some(516.0 + 68.0)),
            4,
            "beyond: not trusted"
        );
        assert_eq!(step(14, 10, 8, Some(4.0)), 4);
        assert_eq!(
            step(14, 10, 16, Some(65_540.0)),
            65_540,
            "16 bits: 327 s at 200/s"
        );
        assert_eq!(step(10, 14, 8, Some(-4.0)), -4, "a straggler");
    }
}
