//! Checks of what packets hold.

use toml::Spanned;

use super::check::{Check, Done, VALUE_BYTES_MAX};
use super::check_frame;
use super::check_parts as parts;
use super::text::{Mode, StreamText};
use super::{
    Axis, ChannelKind, Count, Counter, Field, Frame, Length, ProfileErrorKind as K,
    ProfileWarningKind, ReadStep, Stream,
};

/// Fewer bits wrap within a few packets.
const BITS_MIN: u32 = 8;

/// All streams, checked singly and against each other.
pub(super) fn streams(
    check: &mut Check<'_>,
    source: &[Spanned<StreamText>],
    reads: &[ReadStep],
) -> Done<Vec<Stream>> {
    let mut streams: Vec<Stream> = Vec::new();
    for (place, text) in source.iter().enumerate() {
        let stream = stream(check, text, place, reads)?;
        if streams.iter().any(|other| other.id == stream.id) {
            let (key, found) = ("stream", stream.id);
            return Err(check.at(text, K::Twice { key, found }));
        }
        let is_same_source = |other: &&Stream| other.from == stream.from;
        let is_clear = |other: &Stream| {
            let is_told = !other.matches.is_empty() && !stream.matches.is_empty();
            other.frame == stream.frame && is_told && other.matches != stream.matches
        };
        if streams
            .iter()
            .filter(is_same_source)
            .any(|other| !is_clear(other))
        {
            let from = stream.from.to_string();
            return Err(check.at(text, K::Ambiguous { from }));
        }
        streams.push(stream);
    }
    Ok(streams)
}

/// The stream of acc and that of gyro, where they are two.
pub(super) fn comes_apart<'s>(
    check: &Check<'_>,
    streams: &'s [Stream],
) -> Done<Option<(&'s Stream, &'s Stream)>> {
    for missing in [ChannelKind::Acc, ChannelKind::Gyro] {
        if !streams.iter().any(|stream| stream.has(missing)) {
            return Err(check.whole_file(K::NoMotion { missing }));
        }
    }
    let alone = |kind, other| {
        let is_alone = move |stream: &&Stream| stream.has(kind) && !stream.has(other);
        streams.iter().filter(is_alone)
    };
    let acc: Vec<&Stream> = alone(ChannelKind::Acc, ChannelKind::Gyro).collect();
    let gyro: Vec<&Stream> = alone(ChannelKind::Gyro, ChannelKind::Acc).collect();
    let is_whole = |stream: &Stream| stream.has(ChannelKind::Acc) && stream.has(ChannelKind::Gyro);
    match (acc.as_slice(), gyro.as_slice()) {
        ([], []) => Ok(None),
        ([acc], [gyro]) if !streams.iter().any(is_whole) => Ok(Some((acc, gyro))),
        _ => Err(check.whole_file(K::TooMany {
            what: "streams with acc or gyro",
            count: streams.len(),
            limit: 2,
        })),
    }
}

fn stream(
    check: &mut Check<'_>,
    source: &Spanned<StreamText>,
    place: usize,
    reads: &[ReadStep],
) -> Done<Stream> {
    let text = source.get_ref();
    for (what, count) in [
        ("matches", text.matches.len()),
        ("verify entries", text.verify.len()),
        ("flags", text.flag.len()),
        ("channels", text.channel.len()),
    ] {
        check.few(what, count)?;
    }
    let endian = text.endian;
    let counter = text.counter.as_ref().map(|counter| -> Done<Counter> {
        let mask = counter.mask.as_ref();
        Ok(Counter {
            field: check.field(&counter.at, &counter.number, mask, endian)?,
            counts: counter.counts.into(),
        })
    });
    let clock = text.clock.as_ref();
    let clock = clock.map(|clock| parts::clock(check, clock, endian, reads));
    let verify = text.verify.iter();
    let verify = verify.map(|verify| parts::verify(check, source, verify, endian, reads));
    let samples = parts::samples(check, text, endian)?;
    let channels = text.channel.iter();
    let channels = channels.map(|channel| parts::channel(check, channel, &samples, endian, reads));
    let stream = Stream {
        id: text
            .id
            .clone()
            .unwrap_or_else(|| format!("stream {}", place + 1)),
        from: check.uuid("from", &text.from)?,
        frame: frame(check, source)?,
        length: parts::length(check, text)?,
        matches: parts::patterns(check, text)?,
        verify: verify.collect::<Done<_>>()?,
        flags: parts::flags(check, text)?,
        counter: counter.transpose()?,
        clock: clock.transpose()?,
        samples,
        channels: channels.collect::<Done<_>>()?,
    };
    inside(check, source, &stream)?;
    wide_enough(check, source, &stream)?;
    axes(check, source, &stream)?;
    let is_motion = stream.has(ChannelKind::Acc) || stream.has(ChannelKind::Gyro);
    if is_motion && stream.counter.is_none() && stream.clock.is_none() {
        check.warn(source, ProfileWarningKind::Blind);
    }
    Ok(stream)
}

fn frame(check: &Check<'_>, source: &Spanned<StreamText>) -> Done<Option<Frame>> {
    let text = source.get_ref();
    match (text.mode, &text.frame) {
        (Mode::Packet, None) => Ok(None),
        (Mode::Bytes, Some(frame)) => check_frame::frame(check, frame, text.endian).map(Some),
        (Mode::Packet, Some(frame)) => {
            let (key, because) = ("frame", "mode = \"packet\"");
            Err(check.at(frame, K::Needless { key, because }))
        }
        (Mode::Bytes, None) => {
            let (key, because) = ("frame", "mode = \"bytes\"");
            Err(check.at(source, K::Needed { key, because }))
        }
    }
}

/// Whether all lies inside the packet, as far as its length is known.
fn inside(check: &Check<'_>, source: &Spanned<StreamText>, stream: &Stream) -> Done<()> {
    let limit = match stream.length {
        Length::Exactly(length) => length,
        Length::AtLeast(_) | Length::AsCounted => match stream.frame {
            Some(_) => Frame::BYTES_MAX,
            None => VALUE_BYTES_MAX,
        },
    };
    let field = |what, field: Field| (what, field.end());
    let counted = match stream.samples.count {
        Count::Fixed(count) => count,
        Count::Rest | Count::Field(_) => 1,
    };
    let samples = stream.samples.at + counted * stream.samples.stride + stream.tail();
    let ends = [("samples", samples)].into_iter();
    let ends = ends
        .chain(
            stream
                .counter
                .map(|counter| field("counter", counter.field)),
        )
        .chain(
            stream
                .clock
                .as_ref()
                .map(|clock| field("clock", clock.field)),
        )
        .chain(stream.verify.iter().map(|v| field("verify", v.field)))
        .chain(stream.flags.iter().map(|flag| ("flag", flag.at + 1)))
        .chain(
            stream
                .matches
                .iter()
                .map(|m| ("match", m.at + m.bytes.len())),
        );
    for (what, end) in ends {
        if end > limit {
            return Err(check.at(source, K::Outside { what, end, limit }));
        }
    }
    Ok(())
}

/// Whether counter and clock have enough bits to be followed over their wrap.
fn wide_enough(check: &Check<'_>, source: &Spanned<StreamText>, stream: &Stream) -> Done<()> {
    let counter = stream.counter.map(|c| ("counter", c.field.bits()));
    let clock = stream.clock.as_ref().map(|c| ("clock", c.field.bits()));
    for (what, bits) in counter.into_iter().chain(clock) {
        if bits < BITS_MIN {
            return Err(check.at(source, K::Narrow { what, bits }));
        }
    }
    Ok(())
}

/// Each axis of acc and of gyro once; mirrored triples are told.
fn axes(check: &mut Check<'_>, source: &Spanned<StreamText>, stream: &Stream) -> Done<()> {
    for kind in [ChannelKind::Acc, ChannelKind::Gyro] {
        let channels = stream
            .channels
            .iter()
            .filter(|channel| channel.kind == kind);
        let axes: Vec<Axis> = channels.flat_map(|channel| channel.axes.clone()).collect();
        let is_there = |index: usize| axes.iter().any(|axis| axis.index == index);
        if axes.is_empty() {
            continue;
        }
        if axes.len() != 3 || !(0..3).all(is_there) {
            let words: Vec<String> = axes.iter().map(ToString::to_string).collect();
            let found = words.join(" ");
            return Err(check.at(
                source,
                K::Axes {
                    channel: kind,
                    found,
                },
            ));
        }
        let is_turned = (axes[0].index + 1) % 3 == axes[1].index;
        let negatives = axes.iter().filter(|axis| axis.is_negative).count();
        if is_turned == (negatives % 2 == 1) {
            check.warn(source, ProfileWarningKind::LeftHanded { channel: kind });
        }
    }
    Ok(())
}
