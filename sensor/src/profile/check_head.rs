//! Checks of what a device is called, told and asked, and of how its streams are joined.

use std::collections::BTreeSet;

use toml::Spanned;

use super::check::{Check, Done, VALUE_BYTES_MAX, hex_byte};
use super::check_stream;
use super::text::{FindText, LimitsText, PairText, RateText, ReadText, WriteText};
use super::{
    Endian, Expect, Factor, Find, Must, Pair, PairBy, Piece, ProfileErrorKind as K,
    ProfileWarningKind, Rate, ReadStep, Stream, When, WriteStep,
};
use crate::UnitLimits;

/// The highest rate, Hz. Raises are slow; inertial chips end about here.
const RATE_HZ_MAX: f64 = 8000.0;

impl Check<'_> {
    pub(super) fn find(&self, source: &Spanned<FindText>) -> Done<Find> {
        let text = source.get_ref();
        let service = text.service.as_ref().map(|uuid| self.uuid("service", uuid));
        let manufacturer = text.manufacturer.as_ref();
        let manufacturer = manufacturer.map(|id| self.whole("manufacturer", id, 0..=0xffff));
        let find = Find {
            service: service.transpose()?,
            name: text.name.clone().filter(|name| !name.is_empty()),
            manufacturer: manufacturer
                .transpose()?
                .and_then(|id| u16::try_from(id).ok()),
        };
        if find == Find::default() {
            return Err(self.at(source, K::FindsNothing));
        }
        Ok(find)
    }

    pub(super) fn rate(&self, source: &RateText) -> Done<Rate> {
        self.few("choices", source.choices.len())?;
        let nominal_hz = self.real("nominal_hz", &source.nominal_hz, 1.0, RATE_HZ_MAX)?;
        let choices = source.choices.iter();
        let choices = choices.map(|choice| self.real("choices", choice, 1.0, RATE_HZ_MAX));
        let choices_hz = choices.collect::<Done<Vec<f64>>>()?;
        let is_nominal = |choice: &f64| (choice - nominal_hz).abs() < 1e-9;
        if !choices_hz.is_empty() && !choices_hz.iter().any(is_nominal) {
            return Err(self.at(&source.nominal_hz, K::NominalNotAChoice { nominal_hz }));
        }
        Ok(Rate {
            nominal_hz,
            choices_hz,
        })
    }

    pub(super) fn write(&self, source: &Spanned<WriteText>, rate: &Rate) -> Done<WriteStep> {
        let text = source.get_ref();
        let is_kept = text.when == When::Keepalive;
        let every_s = text.every_s.as_ref();
        let every_s = every_s.map(|every| self.real("every_s", every, 0.1, 3600.0));
        match (is_kept, &text.every_s) {
            (true, None) => {
                let because = "when = \"keepalive\"";
                let key = "every_s";
                return Err(self.at(source, K::Needed { key, because }));
            }
            (false, Some(every)) => {
                let because = "another `when` than \"keepalive\"";
                let key = "every_s";
                return Err(self.at(every, K::Needless { key, because }));
            }
            _ => {}
        }
        let expect = text.expect.as_ref().map(|expect| -> Done<Expect> {
            let timeout_ms = self.whole("timeout_ms", &expect.timeout_ms, 1..=60_000)?;
            Ok(Expect {
                from: self.uuid("from", &expect.from)?,
                prefix: self.hex("prefix", &expect.prefix)?,
                timeout_ms: u32::try_from(timeout_ms).unwrap_or(u32::MAX),
            })
        });
        let step = WriteStep {
            when: text.when,
            to: self.uuid("to", &text.to)?,
            pieces: self.pieces(&text.hex)?,
            with_response: text.response,
            every_s: every_s.transpose()?,
            expect: expect.transpose()?,
        };
        // A rate that can be chosen must also be one that can be written.
        let mut rates = rate.choices_hz.iter().chain([&rate.nominal_hz]);
        let needs_choices = step.pieces.contains(&Piece::IndexU8) && rate.choices_hz.is_empty();
        if needs_choices || rates.any(|hz| step.bytes(rate, *hz).is_err()) {
            let text_found = text.hex.get_ref().clone();
            return Err(self.at(&text.hex, K::Placeholder { text: text_found }));
        }
        Ok(step)
    }

    fn pieces(&self, source: &Spanned<String>) -> Done<Vec<Piece>> {
        let mut pieces = Vec::new();
        for word in source.get_ref().split_whitespace() {
            pieces.push(match word {
                "{rate:u16le}" => Piece::RateU16Le,
                "{rate:u8}" => Piece::RateU8,
                "{index:u8}" => Piece::IndexU8,
                _ if word.contains(['{', '}']) => {
                    let text = word.to_owned();
                    return Err(self.at(source, K::Placeholder { text }));
                }
                _ => Piece::Byte(hex_byte(word).ok_or_else(|| {
                    let text = source.get_ref().clone();
                    self.at(source, K::NotHex { key: "hex", text })
                })?),
            });
        }
        if pieces.is_empty() || pieces.len() > VALUE_BYTES_MAX {
            let text = source.get_ref().clone();
            return Err(self.at(source, K::NotHex { key: "hex", text }));
        }
        Ok(pieces)
    }

    pub(super) fn reads(&self, source: &[Spanned<ReadText>]) -> Done<Vec<ReadStep>> {
        let mut names = BTreeSet::new();
        let mut reads = Vec::new();
        for read in source.iter().map(Spanned::get_ref) {
            let name = read.name.get_ref().clone();
            if !names.insert(name.clone()) {
                let key = "[[read]] as";
                let found = name;
                return Err(self.at(&read.name, K::Twice { key, found }));
            }
            reads.push(ReadStep {
                from: self.uuid("from", &read.from)?,
                at: self.whole("at", &read.at, 0..=VALUE_BYTES_MAX - 1)?,
                number: self.number(&read.number, Endian::Little)?,
                name,
                is_factor: false,
            });
        }
        Ok(reads)
    }

    /// Notes which names are scales or ticks, and which are used nowhere.
    pub(super) fn settle_names(
        &mut self,
        source: &[Spanned<ReadText>],
        reads: &mut [ReadStep],
        streams: &[Stream],
    ) {
        let scales = streams
            .iter()
            .flat_map(|s| s.channels.iter().map(|c| &c.scale));
        let clocks = streams.iter().filter_map(|s| s.clock.as_ref());
        let factors = scales.chain(clocks.map(|clock| clock.tick.factor()));
        let factors: BTreeSet<&str> = factors.filter_map(Factor::name).collect();
        let verified = streams.iter().flat_map(|stream| &stream.verify);
        let verified: BTreeSet<&str> = verified
            .filter_map(|verify| match &verify.must {
                Must::Equal(factor) => factor.name(),
                Must::AtMost(_) => None,
            })
            .collect();
        for (read, text) in reads.iter_mut().zip(source) {
            read.is_factor = factors.contains(read.name.as_str());
            if !read.is_factor && !verified.contains(read.name.as_str()) {
                let name = read.name.clone();
                self.warn(&text.get_ref().name, ProfileWarningKind::Unused { name });
            }
        }
    }

    pub(super) fn pair(
        &self,
        source: Option<&Spanned<PairText>>,
        streams: &[Stream],
    ) -> Done<Option<Pair>> {
        let is_apart = check_stream::comes_apart(self, streams)?;
        let Some((source, (acc, gyro))) = source.zip(is_apart) else {
            return match (source, is_apart) {
                (Some(source), _) => Err(self.at(source, K::Pair { is_there: true })),
                (None, Some(_)) => Err(self.whole_file(K::Pair { is_there: false })),
                (None, None) => Ok(None),
            };
        };
        let text = source.get_ref();
        let by = match text.by {
            PairBy::Clock => {
                let of = |stream: &Stream| {
                    stream
                        .clock
                        .as_ref()
                        .map(|c| (c.field.bits(), c.tick.clone()))
                };
                (of(acc).is_none() || of(acc) != of(gyro)).then_some("clock")
            }
            PairBy::Counter => {
                let of = |stream: &Stream| stream.counter.map(|c| (c.field.bits(), c.counts));
                let counts = (acc.samples.count, gyro.samples.count);
                let is_same = of(acc) == of(gyro) && counts.0 == counts.1;
                (of(acc).is_none() || !is_same).then_some("counter")
            }
            PairBy::Arrival => None,
        };
        if let Some(by) = by {
            return Err(self.at(source, K::Unpairable { by }));
        }
        Ok(Some(Pair {
            by: text.by,
            tolerance_s: self.real("tolerance_ms", &text.tolerance_ms, 0.0, 1000.0)? / 1000.0,
            method: text.method,
        }))
    }

    pub(super) fn limits(&self, text: &LimitsText) -> Done<UnitLimits> {
        Ok(UnitLimits {
            accel_offset_m_s2: self.real(
                "accel_offset_m_s2",
                &text.accel_offset_m_s2,
                0.0,
                10.0,
            )?,
            accel_scale: self.real("accel_scale", &text.accel_scale, 0.0, 0.5)?,
            gyro_scale: self.real("gyro_scale", &text.gyro_scale, 0.0, 0.5)?,
        })
    }
}
