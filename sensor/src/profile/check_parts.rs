//! Checks of the parts of a packet.

use toml::Spanned;

use super::check::{Check, Done, VALUE_BYTES_MAX, whole_mask};
use super::text::{
    ChannelText, ClockText, CountField, CountText, FlagText, MatchText, Mode, StreamText,
    VerifyText,
};
use super::{
    Axis, Channel, ChannelKind, Clock, Count, Endian, Factor, Field, FlagBit, Frame, Length, Must,
    NumberKind, Pattern, ProfileErrorKind as K, ReadStep, Samples, Tick, Verify,
};

/// The shortest and the longest tick that the mapping of clocks takes, s.
const TICK_S_MIN: f64 = 1e-9;
const TICK_S_MAX: f64 = 0.1;
/// The most samples a packet may say it holds.
const SAMPLES_COUNT_MAX: usize = 255;

pub(super) fn length(check: &Check<'_>, text: &StreamText) -> Done<Length> {
    let limits = || match text.mode {
        Mode::Packet => 1..=VALUE_BYTES_MAX,
        Mode::Bytes => 1..=Frame::BYTES_MAX,
    };
    match (&text.length, &text.min_length) {
        (None, None) => Ok(Length::AsCounted),
        (Some(length), None) => check.whole("length", length, limits()).map(Length::Exactly),
        (None, Some(length)) => check
            .whole("min_length", length, limits())
            .map(Length::AtLeast),
        (Some(_), Some(least)) => {
            let (key, because) = ("min_length", "length");
            Err(check.at(least, K::Needless { key, because }))
        }
    }
}

pub(super) fn patterns(check: &Check<'_>, text: &StreamText) -> Done<Vec<Pattern>> {
    let pattern = |found: &MatchText| {
        Ok(Pattern {
            at: check.whole("at", &found.at, 0..=VALUE_BYTES_MAX - 1)?,
            bytes: check.hex("hex", &found.hex)?,
        })
    };
    text.matches.iter().map(pattern).collect()
}

pub(super) fn flags(check: &Check<'_>, text: &StreamText) -> Done<Vec<FlagBit>> {
    let flag = |found: &FlagText| {
        let mask = check.whole("mask", &found.mask, 1..=255)?;
        Ok(FlagBit {
            at: check.whole("at", &found.at, 0..=VALUE_BYTES_MAX - 1)?,
            mask: u8::try_from(mask).unwrap_or(u8::MAX),
            means: found.means,
        })
    };
    text.flag.iter().map(flag).collect()
}

pub(super) fn verify(
    check: &Check<'_>,
    source: &Spanned<StreamText>,
    text: &VerifyText,
    endian: Endian,
    reads: &[ReadStep],
) -> Done<Verify> {
    let field = check.field(&text.at, &text.number, text.mask.as_ref(), endian)?;
    let must = match (&text.equals, &text.at_most) {
        (Some(equals), None) => Must::Equal(match equals.get_ref() {
            // Unlike a scale, what must be so may be nothing.
            Factor::Number(0.0) => Factor::Number(0.0),
            _ => check.factor("equals", equals, reads)?,
        }),
        (None, Some(most)) => Must::AtMost(check.whole("at_most", most, 0..=usize::MAX)? as u64),
        (None, None) => {
            let (key, because) = ("equals or at_most", "verify");
            return Err(check.at(source, K::Needed { key, because }));
        }
        (Some(_), Some(most)) => {
            let (key, because) = ("at_most", "equals");
            return Err(check.at(most, K::Needless { key, because }));
        }
    };
    Ok(Verify { field, must })
}

pub(super) fn clock(
    check: &Check<'_>,
    source: &Spanned<ClockText>,
    endian: Endian,
    reads: &[ReadStep],
) -> Done<Clock> {
    let text = source.get_ref();
    let tick = match (&text.tick_s, &text.tick_hz) {
        (Some(tick), None) => Tick::Seconds(check.factor("tick_s", tick, reads)?),
        (None, Some(tick)) => Tick::Hertz(check.factor("tick_hz", tick, reads)?),
        (None, None) => {
            let (key, because) = ("tick_s or tick_hz", "clock");
            return Err(check.at(source, K::Needed { key, because }));
        }
        (Some(_), Some(hz)) => {
            let (key, because) = ("tick_hz", "tick_s");
            return Err(check.at(hz, K::Needless { key, because }));
        }
    };
    if let Factor::Number(value) = *tick.factor() {
        let (least, most) = (TICK_S_MIN, TICK_S_MAX);
        let found = tick.seconds(value);
        if !(least..=most).contains(&found) {
            let key = "a tick in seconds";
            return Err(check.at(
                source,
                K::Range {
                    key,
                    found,
                    least,
                    most,
                },
            ));
        }
    }
    Ok(Clock {
        field: check.field(&text.at, &text.number, text.mask.as_ref(), endian)?,
        tick,
        of: text.of,
    })
}

pub(super) fn samples(check: &Check<'_>, text: &StreamText, endian: Endian) -> Done<Samples> {
    let found = &text.samples;
    let count = match found.count.get_ref() {
        CountText::Rest => Count::Rest,
        CountText::Fixed(count) => {
            let count = Spanned::new(found.count.span(), *count);
            Count::Fixed(check.whole("count", &count, 1..=SAMPLES_COUNT_MAX)?)
        }
        CountText::Field(field) => Count::Field(count_field(check, &found.count, field, endian)?),
    };
    Ok(Samples {
        at: check.whole("at", &found.at, 0..=VALUE_BYTES_MAX - 1)?,
        stride: check.whole("stride", &found.stride, 1..=VALUE_BYTES_MAX)?,
        count,
        order: found.order,
    })
}

fn count_field(
    check: &Check<'_>,
    source: &Spanned<CountText>,
    field: &CountField,
    endian: Endian,
) -> Done<Field> {
    let word = Spanned::new(source.span(), field.number.clone());
    let at = Spanned::new(source.span(), field.at);
    let number = check.number(&word, endian)?;
    if number.kind != NumberKind::Unsigned || number.size != 1 {
        return Err(check.not_a_type(&word, "u8"));
    }
    let mask = whole_mask(field.mask.unwrap_or(0xff), 0xff).ok_or_else(|| {
        let found = field.mask.unwrap_or(0);
        check.at(source, K::Mask { found, size: 1 })
    })?;
    let at = check.whole("at", &at, 0..=VALUE_BYTES_MAX - 1)?;
    Ok(Field { at, number, mask })
}

pub(super) fn channel(
    check: &Check<'_>,
    source: &Spanned<ChannelText>,
    samples: &Samples,
    endian: Endian,
    reads: &[ReadStep],
) -> Done<Channel> {
    let text = source.get_ref();
    let kind = text.kind;
    let is_motion = matches!(kind, ChannelKind::Acc | ChannelKind::Gyro);
    let (axes, si) = match (is_motion, text.unit, &text.axes) {
        (true, Some(unit), axes) if unit.kind() == kind => {
            let axes = axes.as_ref().map_or(Some(Axis::XYZ.to_vec()), |words| {
                words.iter().map(|word| Axis::parse(word)).collect()
            });
            let axes = axes.ok_or_else(|| {
                let found = text.axes.clone().unwrap_or_default().join(" ");
                let channel = kind;
                check.at(source, K::Axes { channel, found })
            })?;
            (axes, unit.si())
        }
        (false, None, None) => (Vec::new(), 1.0),
        (true, None, _) => {
            let (key, because) = ("unit", "a channel of acc or gyro");
            return Err(check.at(source, K::Needed { key, because }));
        }
        (false, None, Some(_)) => {
            let (key, because) = ("axes", "a channel of battery or temperature");
            return Err(check.at(source, K::Needless { key, because }));
        }
        (_, Some(unit), _) => {
            let (channel, found) = (kind, unit.as_str());
            return Err(check.at(source, K::Unit { channel, found }));
        }
    };
    let channel = Channel {
        kind,
        axes,
        at: check.whole("at", &text.at, 0..=VALUE_BYTES_MAX - 1)?,
        number: check.number(&text.number, endian)?,
        scale: check.factor("scale", &text.scale, reads)?,
        si,
    };
    let end = channel.at + channel.width() * channel.number.size;
    if end > samples.stride {
        let (what, limit) = ("channel", samples.stride);
        return Err(check.at(source, K::Outside { what, end, limit }));
    }
    Ok(channel)
}
