//! One packet into its numbers. It knows nothing of packets before.

use std::collections::BTreeMap;

use super::{LengthWanted, PacketFault, value};
use crate::profile::{
    Channel, ChannelKind, Clock, Count, FlagMeaning, Length, Must, Order, Stream, Verify,
};

type Values = BTreeMap<String, f64>;

/// What a packet holds. Samples are in order of time.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Packet {
    pub(super) counter: Option<u64>,
    pub(super) clock: Option<u64>,
    pub(super) is_restart: bool,
    pub(super) has_lost: bool,
    pub(super) is_at_full_scale: bool,
    pub(super) samples: Vec<Motion>,
}

/// A sample in SI and body axes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Motion {
    pub(super) accel: Option<[f64; 3]>,
    pub(super) gyro: Option<[f64; 3]>,
    pub(super) is_at_full_scale: bool,
    pub(super) battery_percent: Option<f32>,
    pub(super) temperature_c: Option<f32>,
}

/// Whether a packet is of the kind that a stream describes.
pub(super) fn is_of_kind(stream: &Stream, bytes: &[u8]) -> bool {
    let mut matches = stream.matches.iter();
    matches.all(|pattern| {
        let from = bytes.get(pattern.at..).unwrap_or_default();
        from.starts_with(&pattern.bytes)
    })
}

/// Seconds a tick.
pub(super) fn tick_s(clock: &Clock, values: &Values) -> Result<f64, PacketFault> {
    value(clock.tick.factor(), values).map(|number| clock.tick.seconds(number))
}

/// The numbers of a packet.
pub(super) fn take(stream: &Stream, values: &Values, bytes: &[u8]) -> Result<Packet, PacketFault> {
    let short = || PacketFault::Length {
        found: bytes.len(),
        expected: LengthWanted::AtLeast(stream.shortest()),
    };
    for one in &stream.verify {
        verify(one, values, one.field.read(bytes).ok_or_else(short)?)?;
    }
    let count = count(stream, bytes).ok_or_else(short)??;
    if let Some(clock) = &stream.clock {
        tick_s(clock, values)?; // not to be known only later
    }
    let says = |meaning| {
        let mut flags = stream.flags.iter().filter(|flag| flag.means == meaning);
        flags.any(|flag| bytes.get(flag.at).is_some_and(|byte| byte & flag.mask != 0))
    };
    let counter = stream.counter.map(|counter| counter.field.read(bytes));
    let clock = stream.clock.as_ref().map(|clock| clock.field.read(bytes));
    let mut samples = Vec::with_capacity(count);
    for number in 0..count {
        let at = stream.samples.at + number * stream.samples.stride;
        let sample = bytes
            .get(at..at + stream.samples.stride)
            .ok_or_else(short)?;
        samples.push(motion(stream, values, sample)?);
    }
    if stream.samples.order == Order::Newest {
        samples.reverse();
    }
    Ok(Packet {
        counter: counter.map(|field| field.ok_or_else(short)).transpose()?,
        clock: clock.map(|field| field.ok_or_else(short)).transpose()?,
        is_restart: says(FlagMeaning::Restart),
        has_lost: says(FlagMeaning::Lost),
        is_at_full_scale: says(FlagMeaning::FullScale),
        samples,
    })
}

fn verify(one: &Verify, values: &Values, found: u64) -> Result<(), PacketFault> {
    let at = one.field.at;
    match &one.must {
        Must::AtMost(most) if found > *most => Err(PacketFault::Unexpected {
            at,
            found,
            expected: *most as f64,
            or_less: true,
        }),
        Must::AtMost(_) => Ok(()),
        Must::Equal(factor) => {
            let expected = value(factor, values)?;
            if (found as f64 - expected).abs() < 0.5 {
                return Ok(());
            }
            Err(match factor.name() {
                Some(name) => PacketFault::Stale {
                    name: name.to_owned(),
                    found,
                    known: expected,
                },
                None => PacketFault::Unexpected {
                    at,
                    found,
                    expected,
                    or_less: false,
                },
            })
        }
    }
}

/// How many samples, if the length agrees; `None` where the packet ends before it says so.
fn count(stream: &Stream, bytes: &[u8]) -> Option<Result<usize, PacketFault>> {
    let found = bytes.len();
    let samples = &stream.samples;
    let wrong = |expected| Some(Err(PacketFault::Length { found, expected }));
    let besides = samples.at + stream.tail();
    match stream.length {
        Length::Exactly(length) if found != length => {
            return wrong(LengthWanted::Exactly(length));
        }
        Length::AtLeast(length) if found < length => {
            return wrong(LengthWanted::AtLeast(length));
        }
        _ => {}
    }
    let count = match samples.count {
        Count::Fixed(count) => count,
        Count::Field(field) => usize::try_from(field.read(bytes)?).ok()?,
        Count::Rest => {
            let stride = samples.stride;
            let rest = found.checked_sub(besides);
            match rest.filter(|rest| rest % stride == 0) {
                Some(rest) => rest / stride,
                None => return wrong(LengthWanted::Steps { besides, stride }),
            }
        }
    };
    if count == 0 {
        return Some(Err(PacketFault::Empty));
    }
    let needed = besides + count * samples.stride;
    if stream.length == Length::AsCounted && found != needed {
        return wrong(LengthWanted::Exactly(needed));
    }
    if found < needed {
        return wrong(LengthWanted::AtLeast(needed));
    }
    Some(Ok(count))
}

fn motion(stream: &Stream, values: &Values, sample: &[u8]) -> Result<Motion, PacketFault> {
    let mut motion = Motion::default();
    for channel in &stream.channels {
        let scale = value(&channel.scale, values)?;
        // Loading has shown that channels lie within the stride.
        let read = |number: usize| {
            let at = channel.at + number * channel.number.size;
            channel.number.read(sample, at).unwrap_or(f64::NAN)
        };
        #[expect(
            clippy::cast_possible_truncation,
            reason = "percent and °C need no more than single precision"
        )]
        let single = (read(0) * scale) as f32;
        match channel.kind {
            ChannelKind::Acc => {
                feed(channel, scale, &read, motion.accel.get_or_insert_default());
            }
            ChannelKind::Gyro => {
                feed(channel, scale, &read, motion.gyro.get_or_insert_default());
            }
            ChannelKind::Battery => motion.battery_percent = Some(single),
            ChannelKind::Temperature => motion.temperature_c = Some(single),
        }
        let is_motion = !channel.axes.is_empty();
        let mut numbers = (0..channel.width()).map(read);
        motion.is_at_full_scale |= is_motion && numbers.any(|n| channel.number.is_at_its_end(n));
    }
    Ok(motion)
}

fn feed(channel: &Channel, scale: f64, read: &dyn Fn(usize) -> f64, body: &mut [f64; 3]) {
    for (number, axis) in channel.axes.iter().enumerate() {
        body[axis.index] = axis.sign() * read(number) * scale * channel.si;
    }
}
