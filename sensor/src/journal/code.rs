//! Headings and events as bytes, and back. All numbers are little-endian; nothing is rounded.

use crate::event::{Echo, Event, Link, Loss, Packet, RawSample, Status, Stop};
use crate::{
    Conditions, Counter, Counts, Device, DeviceTicks, Heading, HostTime, MarkKind, Placement,
    RecordingId, Side, Stream, Ticks, Timing, UnitLimits,
};

/// Bytes being written.
#[derive(Debug, Default)]
pub(super) struct Writer(pub(super) Vec<u8>);

impl Writer {
    fn bytes(&mut self, bytes: &[u8]) {
        self.0.extend_from_slice(bytes);
    }

    fn u8(&mut self, value: u8) {
        self.0.push(value);
    }

    fn u64(&mut self, value: u64) {
        self.bytes(&value.to_le_bytes());
    }

    fn f64(&mut self, value: f64) {
        self.bytes(&value.to_le_bytes());
    }

    fn host(&mut self, at: HostTime) {
        self.bytes(&at.0.to_le_bytes());
    }

    fn count(&mut self, count: usize) {
        self.bytes(&u16::try_from(count).unwrap_or(u16::MAX).to_le_bytes());
    }

    /// A text that is too long makes a record that is too long, which is refused.
    fn text(&mut self, text: &str) {
        self.count(text.len());
        self.bytes(text.as_bytes());
    }

    fn option<T>(&mut self, value: Option<T>, put: impl FnOnce(&mut Self, T)) {
        self.u8(u8::from(value.is_some()));
        if let Some(value) = value {
            put(self, value);
        }
    }

    /// The place of a word in its list.
    fn word<T: PartialEq>(&mut self, all: &[T], word: &T) {
        let at = all.iter().position(|w| w == word);
        self.u8(at.and_then(|at| u8::try_from(at).ok()).unwrap_or(u8::MAX));
    }
}

/// Bytes being read; `None` where they end too soon or make no sense.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reader<'a>(pub(super) &'a [u8]);

impl Reader<'_> {
    fn array<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (head, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*head)
    }

    fn u8(&mut self) -> Option<u8> {
        self.array::<1>().map(|[byte]| byte)
    }

    fn u64(&mut self) -> Option<u64> {
        self.array().map(u64::from_le_bytes)
    }

    fn f64(&mut self) -> Option<f64> {
        self.array().map(f64::from_le_bytes)
    }

    fn host(&mut self) -> Option<HostTime> {
        self.array()
            .map(|bytes| HostTime(i64::from_le_bytes(bytes)))
    }

    fn count(&mut self) -> Option<usize> {
        self.array()
            .map(|bytes| usize::from(u16::from_le_bytes(bytes)))
    }

    fn text(&mut self) -> Option<String> {
        let length = self.count()?;
        let (text, rest) = self.0.split_at_checked(length)?;
        self.0 = rest;
        String::from_utf8(text.to_vec()).ok()
    }

    #[expect(
        clippy::option_option,
        reason = "outer: whether it can be read; inner: whether it is there"
    )]
    fn option<T>(&mut self, get: impl FnOnce(&mut Self) -> Option<T>) -> Option<Option<T>> {
        match self.u8()? {
            0 => Some(None),
            1 => get(self).map(Some),
            _ => None,
        }
    }

    fn word<T: Copy>(&mut self, all: &[T]) -> Option<T> {
        all.get(usize::from(self.u8()?)).copied()
    }

    fn many<T>(&mut self, get: impl Fn(&mut Self) -> Option<T>) -> Option<Vec<T>> {
        (0..self.count()?).map(|_| get(self)).collect()
    }

    fn end<T>(self, value: T) -> Option<T> {
        self.0.is_empty().then_some(value)
    }
}

const COUNTS: [Counts; 2] = [Counts::Samples, Counts::Packets];

pub(super) fn put_heading(out: &mut Writer, heading: &Heading) {
    let id = &heading.id;
    let done = &heading.conditions;
    let texts = [&id.subject, &id.session, &id.acquisition, &id.run];
    let done = [&done.movement, &done.ankle, &done.asked_for, &done.rater];
    out.text(&id.task);
    for text in texts.into_iter().chain([&heading.acquired]).chain(done) {
        out.option(text.as_deref(), Writer::text);
    }
    out.count(heading.streams.len());
    for stream in &heading.streams {
        out.word(&Placement::ALL, &stream.placement);
        out.f64(stream.timing.nominal_hz);
        out.option(stream.timing.counter, |out, counter| {
            out.u8(counter.bits);
            out.word(&COUNTS, &counter.counts);
        });
        out.option(stream.timing.ticks, |out, ticks| {
            out.u8(ticks.bits);
            out.f64(ticks.tick_s);
        });
        out.option(stream.limits, |out, limits| {
            out.f64(limits.accel_offset_m_s2);
            out.f64(limits.accel_scale);
            out.f64(limits.gyro_scale);
        });
        let device = &stream.device;
        for text in [
            &device.manufacturer,
            &device.model,
            &device.serial,
            &device.software,
        ] {
            out.text(text);
        }
    }
}

pub(super) fn get_heading(bytes: &[u8]) -> Option<Heading> {
    let mut from = Reader(bytes);
    let task = from.text()?;
    let mut text = || from.option(Reader::text);
    let (subject, session, acquisition, run) = (text()?, text()?, text()?, text()?);
    let acquired = text()?;
    let conditions = Conditions {
        movement: text()?,
        ankle: text()?,
        asked_for: text()?,
        rater: text()?,
    };
    let streams = from.many(get_stream)?;
    from.end(Heading {
        id: RecordingId {
            subject,
            session,
            task,
            acquisition,
            run,
        },
        acquired,
        conditions,
        streams,
    })
}

fn get_stream(from: &mut Reader<'_>) -> Option<Stream> {
    let placement = from.word(&Placement::ALL)?;
    let timing = Timing {
        nominal_hz: from.f64()?,
        counter: from.option(|from| {
            Some(Counter {
                bits: from.u8()?,
                counts: from.word(&COUNTS)?,
            })
        })?,
        ticks: from.option(|from| {
            Some(Ticks {
                bits: from.u8()?,
                tick_s: from.f64()?,
            })
        })?,
    };
    let limits = from.option(|from| {
        Some(UnitLimits {
            accel_offset_m_s2: from.f64()?,
            accel_scale: from.f64()?,
            gyro_scale: from.f64()?,
        })
    })?;
    let device = Device {
        manufacturer: from.text()?,
        model: from.text()?,
        serial: from.text()?,
        software: from.text()?,
    };
    Some(Stream {
        placement,
        timing,
        limits,
        device,
    })
}

pub(super) fn put_event(out: &mut Writer, event: &Event) {
    let begin = |out: &mut Writer, kind: u8, placement: &Placement| {
        out.u8(kind);
        out.word(&Placement::ALL, placement);
    };
    match event {
        Event::Samples { placement, packet } => {
            begin(out, 0, placement);
            out.host(packet.arrival);
            out.count(packet.samples.len());
            for sample in &packet.samples {
                put_sample(out, sample);
            }
        }
        Event::Gap {
            placement,
            from,
            to,
            cause,
        } => {
            begin(out, 1, placement);
            out.host(*from);
            out.host(*to);
            out.word(Loss::ALL, cause);
        }
        Event::Mark {
            at,
            kind,
            side,
            value,
        } => {
            out.u8(2);
            out.host(*at);
            out.word(&MarkKind::ALL, kind);
            out.option(*side, |out, side| out.word(&Side::ALL, &side));
            out.text(value);
        }
        Event::Status {
            placement,
            at,
            status,
        } => {
            begin(out, 3, placement);
            out.host(*at);
            put_status(out, status);
        }
        Event::Ended {
            placement,
            at,
            reason,
        } => {
            begin(out, 4, placement);
            out.host(*at);
            out.word(Stop::ALL, reason);
        }
    }
}

/// `None` for bytes that are no event within its limits.
pub(super) fn get_event(bytes: &[u8]) -> Option<Event> {
    let mut from = Reader(bytes);
    let event = match from.u8()? {
        0 => Event::Samples {
            placement: from.word(&Placement::ALL)?,
            packet: Packet {
                arrival: from.host()?,
                samples: from.many(get_sample)?,
            },
        },
        1 => Event::Gap {
            placement: from.word(&Placement::ALL)?,
            from: from.host()?,
            to: from.host()?,
            cause: from.word(Loss::ALL)?,
        },
        2 => Event::Mark {
            at: from.host()?,
            kind: from.word(&MarkKind::ALL)?,
            side: from.option(|from| from.word(&Side::ALL))?,
            value: from.text()?,
        },
        3 => Event::Status {
            placement: from.word(&Placement::ALL)?,
            at: from.host()?,
            status: get_status(&mut from)?,
        },
        4 => Event::Ended {
            placement: from.word(&Placement::ALL)?,
            at: from.host()?,
            reason: from.word(Stop::ALL)?,
        },
        _ => return None,
    };
    from.end(event).filter(|event| event.check().is_ok())
}

fn put_sample(out: &mut Writer, sample: &RawSample) {
    out.option(sample.sequence, Writer::u64);
    out.option(sample.device, |out, ticks| out.u64(ticks.0));
    for value in sample.accel_m_s2.iter().chain(&sample.gyro_rad_s) {
        out.bytes(&value.to_le_bytes());
    }
}

fn get_sample(from: &mut Reader<'_>) -> Option<RawSample> {
    let sequence = from.option(Reader::u64)?;
    let device = from.option(Reader::u64)?.map(DeviceTicks);
    let mut value = || from.array().map(f32::from_le_bytes);
    Some(RawSample {
        sequence,
        device,
        accel_m_s2: [value()?, value()?, value()?],
        gyro_rad_s: [value()?, value()?, value()?],
    })
}

fn put_status(out: &mut Writer, status: &Status) {
    out.option(status.battery_percent, Writer::u8);
    out.option(status.rate_hz, Writer::f64);
    out.option(status.signal_dbm, |out, dbm| out.bytes(&dbm.to_le_bytes()));
    out.option(status.lost_fraction, Writer::f64);
    out.option(status.link, |out, link| out.word(Link::ALL, &link));
    out.option(status.echo, |out, echo| {
        out.host(echo.asked);
        out.host(echo.answered);
        out.u64(echo.device.0);
    });
}

fn get_status(from: &mut Reader<'_>) -> Option<Status> {
    Some(Status {
        battery_percent: from.option(Reader::u8)?,
        rate_hz: from.option(Reader::f64)?,
        signal_dbm: from.option(|from| from.array().map(i16::from_le_bytes))?,
        lost_fraction: from.option(Reader::f64)?,
        link: from.option(|from| from.word(Link::ALL))?,
        echo: from.option(|from| {
            Some(Echo {
                asked: from.host()?,
                answered: from.host()?,
                device: DeviceTicks(from.u64()?),
            })
        })?,
    })
}
