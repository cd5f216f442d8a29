//! From the text of a profile to a profile that can be used.

use std::ops::{Range, RangeInclusive};

use toml::Spanned;

use super::check_stream;
use super::error::ANY;
use super::text::ProfileText;
use super::{
    Endian, Factor, Field, Number, NumberKind, Profile, ProfileError, ProfileErrorKind,
    ProfilePlace, ProfileWarning, ProfileWarningKind, ReadStep, SCHEMA, TomlFault, Uuid,
};
use ProfileErrorKind as K;

/// The most of each list.
const LIST_COUNT_MAX: usize = 32;
/// The longest value of a characteristic, bytes (Bluetooth Core Specification, Vol 3 Part F 3.2.9).
pub(super) const VALUE_BYTES_MAX: usize = 512;

/// What a check gives.
pub(super) type Done<T> = Result<T, ProfileError>;

/// Reads and checks a profile.
pub(super) fn profile(text: &str, name: &str) -> Done<Profile> {
    let mut check = Check {
        text,
        name,
        warnings: Vec::new(),
    };
    if text.len() > Profile::BYTES_MAX {
        return Err(check.whole_file(K::TooLarge {
            bytes: text.len(),
            limit: Profile::BYTES_MAX,
        }));
    }
    let source: ProfileText = toml::from_str(text).map_err(|e| check.toml(&e))?;
    if source.schema.get_ref() != SCHEMA {
        let found = source.schema.get_ref().clone();
        return Err(check.at(&source.schema, K::Schema { found }));
    }
    check.few("writes", source.write.len())?;
    check.few("reads", source.read.len())?;
    check.few("streams", source.stream.len())?;
    let find = check.find(&source.find)?;
    let rate = check.rate(source.rate.get_ref())?;
    let writes = source.write.iter().map(|step| check.write(step, &rate));
    let writes = writes.collect::<Done<_>>()?;
    let mut reads = check.reads(&source.read)?;
    let streams = check_stream::streams(&mut check, &source.stream, &reads)?;
    check.settle_names(&source.read, &mut reads, &streams);
    let pair = check.pair(source.pair.as_ref(), &streams)?;
    let limits = source.limits.as_ref().map(|limits| check.limits(limits));
    Ok(Profile {
        name: name.to_owned(),
        about: source.about,
        find,
        rate,
        writes,
        reads,
        streams,
        pair,
        limits: limits.transpose()?,
        warnings: check.warnings,
    })
}

/// What checks need: the text for lines, the name for messages.
pub(super) struct Check<'a> {
    text: &'a str,
    name: &'a str,
    warnings: Vec<ProfileWarning>,
}

impl Check<'_> {
    fn place(&self, span: Option<Range<usize>>) -> ProfilePlace {
        let line = span.map(|span| {
            let before = self.text.as_bytes().iter().take(span.start);
            1 + before.filter(|byte| **byte == b'\n').count()
        });
        ProfilePlace {
            name: self.name.to_owned(),
            line,
        }
    }

    pub(super) fn at<T>(&self, place: &Spanned<T>, kind: ProfileErrorKind) -> ProfileError {
        ProfileError {
            place: self.place(Some(place.span())),
            kind,
        }
    }

    pub(super) fn whole_file(&self, kind: ProfileErrorKind) -> ProfileError {
        ProfileError {
            place: self.place(None),
            kind,
        }
    }

    pub(super) fn warn<T>(&mut self, place: &Spanned<T>, kind: ProfileWarningKind) {
        let place = self.place(Some(place.span()));
        self.warnings.push(ProfileWarning { place, kind });
    }

    fn toml(&self, error: &toml::de::Error) -> ProfileError {
        let words: Vec<&str> = error.message().split_whitespace().collect();
        let message = words.join(" ");
        let starts = [
            ("unknown field", TomlFault::UnknownKey),
            ("missing field", TomlFault::MissingKey),
            ("unknown variant", TomlFault::UnknownWord),
            ("invalid type", TomlFault::Type),
            ("invalid value", TomlFault::Type),
        ];
        let fault = starts.iter().find(|(start, _)| message.starts_with(start));
        ProfileError {
            place: self.place(error.span()),
            kind: K::Toml {
                fault: fault.map_or(TomlFault::Syntax, |(_, fault)| *fault),
                message,
            },
        }
    }

    pub(super) fn few(&self, what: &'static str, count: usize) -> Done<()> {
        let limit = LIST_COUNT_MAX;
        if count > limit {
            return Err(self.whole_file(K::TooMany { what, count, limit }));
        }
        Ok(())
    }

    pub(super) fn uuid(&self, key: &'static str, text: &Spanned<String>) -> Done<Uuid> {
        text.get_ref().parse().map_err(|()| {
            let text_found = text.get_ref().clone();
            self.at(
                text,
                K::NotUuid {
                    key,
                    text: text_found,
                },
            )
        })
    }

    pub(super) fn hex(&self, key: &'static str, text: &Spanned<String>) -> Done<Vec<u8>> {
        let bytes = text.get_ref().split_whitespace().map(hex_byte);
        bytes
            .collect::<Option<Vec<u8>>>()
            .filter(|bytes| (1..=VALUE_BYTES_MAX).contains(&bytes.len()))
            .ok_or_else(|| {
                let text_found = text.get_ref().clone();
                self.at(
                    text,
                    K::NotHex {
                        key,
                        text: text_found,
                    },
                )
            })
    }

    pub(super) fn whole(
        &self,
        key: &'static str,
        found: &Spanned<i64>,
        limits: RangeInclusive<usize>,
    ) -> Done<usize> {
        let fits = usize::try_from(*found.get_ref()).ok();
        fits.filter(|n| limits.contains(n)).ok_or_else(|| {
            self.at(
                found,
                K::Range {
                    key,
                    found: *found.get_ref() as f64,
                    least: *limits.start() as f64,
                    most: *limits.end() as f64,
                },
            )
        })
    }

    pub(super) fn real(
        &self,
        key: &'static str,
        found: &Spanned<f64>,
        least: f64,
        most: f64,
    ) -> Done<f64> {
        let number = *found.get_ref();
        if (least..=most).contains(&number) {
            return Ok(number);
        }
        let kind = K::Range {
            key,
            found: number,
            least,
            most,
        };
        Err(self.at(found, kind))
    }

    pub(super) fn number(&self, word: &Spanned<String>, usual: Endian) -> Done<Number> {
        Number::parse(word.get_ref(), usual).ok_or_else(|| self.not_a_type(word, ANY))
    }

    pub(super) fn not_a_type(
        &self,
        word: &Spanned<String>,
        expected: &'static str,
    ) -> ProfileError {
        let kind = K::NumberType {
            key: "type",
            found: word.get_ref().clone(),
            expected,
        };
        self.at(word, kind)
    }

    /// A scale or tick: a number that isn't zero, or a name that is known.
    pub(super) fn factor(
        &self,
        key: &'static str,
        factor: &Spanned<Factor>,
        reads: &[ReadStep],
    ) -> Done<Factor> {
        match factor.get_ref() {
            Factor::Number(number) if !(1e-12..=1e12).contains(&number.abs()) => Err(self.at(
                factor,
                K::Range {
                    key,
                    found: *number,
                    least: 1e-12,
                    most: 1e12,
                },
            )),
            Factor::Name(name) if !reads.iter().any(|read| read.name == *name) => Err(self.at(
                factor,
                K::UnknownName {
                    key,
                    found: name.clone(),
                },
            )),
            known => Ok(known.clone()),
        }
    }

    /// A field: unsigned, with its mask.
    pub(super) fn field(
        &self,
        at: &Spanned<i64>,
        word: &Spanned<String>,
        mask: Option<&Spanned<i64>>,
        usual: Endian,
    ) -> Done<Field> {
        let number = self.number(word, usual)?;
        if number.kind != NumberKind::Unsigned {
            return Err(self.not_a_type(word, super::error::UNSIGNED));
        }
        let at = self.whole("at", at, 0..=VALUE_BYTES_MAX - 1)?;
        let all = u64::MAX >> (64 - 8 * number.size);
        let mask = match mask {
            None => all,
            Some(mask) => whole_mask(*mask.get_ref(), all).ok_or_else(|| {
                let (found, size) = (*mask.get_ref(), number.size);
                self.at(mask, K::Mask { found, size })
            })?,
        };
        Ok(Field { at, number, mask })
    }
}

/// A mask of one unbroken stretch of bits within others.
pub(super) fn whole_mask(mask: i64, all: u64) -> Option<u64> {
    let mask = u64::try_from(mask).ok()?;
    let low = mask.checked_shr(mask.trailing_zeros())?;
    let is_whole = low & (low + 1) == 0;
    (mask & !all == 0 && is_whole).then_some(mask)
}

pub(super) fn hex_byte(word: &str) -> Option<u8> {
    let is_byte = word.len() == 2 && word.bytes().all(|b| b.is_ascii_hexdigit());
    is_byte.then(|| u8::from_str_radix(word, 16).ok()).flatten()
}
