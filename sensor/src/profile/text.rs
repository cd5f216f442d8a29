//! The profile as it is written: keys and types, nothing checked beyond them.

use std::fmt;

use serde::Deserialize;
use serde::de::{Deserializer, Error, Visitor};
use toml::Spanned;

use super::{
    ChannelKind, ChecksumKind, Endian, Escape, Factor, FlagMeaning, Order, PairBy, PairMethod,
    Stamped, Unit, When,
};

use crate::Counts;

type Text = Spanned<String>;
type Whole = Spanned<i64>;
type Real = Spanned<f64>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ProfileText {
    pub(super) schema: Text,
    #[serde(default)]
    pub(super) about: String,
    pub(super) find: Spanned<FindText>,
    pub(super) rate: Spanned<RateText>,
    #[serde(default)]
    pub(super) write: Vec<Spanned<WriteText>>,
    #[serde(default)]
    pub(super) read: Vec<Spanned<ReadText>>,
    #[serde(default)]
    pub(super) stream: Vec<Spanned<StreamText>>,
    pub(super) pair: Option<Spanned<PairText>>,
    pub(super) limits: Option<LimitsText>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FindText {
    pub(super) service: Option<Text>,
    pub(super) name: Option<String>,
    pub(super) manufacturer: Option<Whole>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RateText {
    pub(super) nominal_hz: Real,
    #[serde(default)]
    pub(super) choices: Vec<Real>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WriteText {
    pub(super) when: When,
    pub(super) to: Text,
    pub(super) hex: Text,
    pub(super) response: bool,
    pub(super) every_s: Option<Real>,
    pub(super) expect: Option<ExpectText>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ExpectText {
    pub(super) from: Text,
    pub(super) prefix: Text,
    pub(super) timeout_ms: Whole,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ReadText {
    pub(super) from: Text,
    pub(super) at: Whole,
    #[serde(rename = "type")]
    pub(super) number: Text,
    #[serde(rename = "as")]
    pub(super) name: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PairText {
    pub(super) by: PairBy,
    pub(super) tolerance_ms: Real,
    pub(super) method: PairMethod,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct LimitsText {
    pub(super) accel_offset_m_s2: Real,
    pub(super) accel_scale: Real,
    pub(super) gyro_scale: Real,
}

#[derive(Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Mode {
    #[default]
    Packet,
    Bytes,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StreamText {
    pub(super) id: Option<String>,
    pub(super) from: Text,
    #[serde(default)]
    pub(super) mode: Mode,
    #[serde(default)]
    pub(super) endian: Endian,
    pub(super) length: Option<Whole>,
    pub(super) min_length: Option<Whole>,
    #[serde(default, rename = "match")]
    pub(super) matches: Vec<MatchText>,
    #[serde(default)]
    pub(super) verify: Vec<VerifyText>,
    #[serde(default)]
    pub(super) flag: Vec<FlagText>,
    pub(super) frame: Option<Spanned<FrameText>>,
    pub(super) counter: Option<CounterText>,
    pub(super) clock: Option<Spanned<ClockText>>,
    pub(super) samples: SamplesText,
    #[serde(default)]
    pub(super) channel: Vec<Spanned<ChannelText>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct MatchText {
    pub(super) at: Whole,
    pub(super) hex: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct VerifyText {
    pub(super) at: Whole,
    #[serde(rename = "type")]
    pub(super) number: Text,
    pub(super) mask: Option<Whole>,
    pub(super) equals: Option<Spanned<Factor>>,
    pub(super) at_most: Option<Whole>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FlagText {
    pub(super) at: Whole,
    pub(super) mask: Whole,
    pub(super) means: FlagMeaning,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FrameText {
    pub(super) sync: Option<Text>,
    pub(super) length: Option<Whole>,
    pub(super) length_at: Option<Whole>,
    pub(super) length_type: Option<Text>,
    pub(super) length_add: Option<Whole>,
    pub(super) checksum: Option<ChecksumText>,
    #[serde(default)]
    pub(super) escape: Escape,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ChecksumText {
    pub(super) kind: ChecksumKind,
    pub(super) from: Whole,
    pub(super) to: Whole,
    pub(super) at: Whole,
    #[serde(rename = "type")]
    pub(super) number: Option<Text>,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum CountsText {
    Packets,
    Samples,
}

impl From<CountsText> for Counts {
    fn from(text: CountsText) -> Self {
        match text {
            CountsText::Packets => Self::Packets,
            CountsText::Samples => Self::Samples,
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CounterText {
    pub(super) at: Whole,
    #[serde(rename = "type")]
    pub(super) number: Text,
    pub(super) mask: Option<Whole>,
    pub(super) counts: CountsText,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ClockText {
    pub(super) at: Whole,
    #[serde(rename = "type")]
    pub(super) number: Text,
    pub(super) mask: Option<Whole>,
    pub(super) tick_s: Option<Spanned<Factor>>,
    pub(super) tick_hz: Option<Spanned<Factor>>,
    pub(super) of: Stamped,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SamplesText {
    pub(super) at: Whole,
    pub(super) stride: Whole,
    pub(super) count: Spanned<CountText>,
    #[serde(default)]
    pub(super) order: Order,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ChannelText {
    pub(super) kind: ChannelKind,
    pub(super) axes: Option<Vec<String>>,
    pub(super) at: Whole,
    #[serde(rename = "type")]
    pub(super) number: Text,
    pub(super) scale: Spanned<Factor>,
    pub(super) unit: Option<Unit>,
}

/// A number, `"rest"`, or `{ at, type, mask }`.
pub(super) enum CountText {
    Fixed(i64),
    Rest,
    Field(CountField),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CountField {
    pub(super) at: i64,
    #[serde(rename = "type")]
    pub(super) number: String,
    pub(super) mask: Option<i64>,
}

struct CountVisitor;

impl<'de> Visitor<'de> for CountVisitor {
    type Value = CountText;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number, \"rest\" or { at, type, mask }")
    }

    fn visit_i64<E: Error>(self, count: i64) -> Result<CountText, E> {
        Ok(CountText::Fixed(count))
    }

    fn visit_str<E: Error>(self, word: &str) -> Result<CountText, E> {
        match word {
            "rest" => Ok(CountText::Rest),
            _ => Err(E::unknown_variant(word, &["rest"])),
        }
    }

    fn visit_map<A: serde::de::MapAccess<'de>>(self, map: A) -> Result<CountText, A::Error> {
        CountField::deserialize(serde::de::value::MapAccessDeserializer::new(map))
            .map(CountText::Field)
    }
}

impl<'de> Deserialize<'de> for CountText {
    fn deserialize<D: Deserializer<'de>>(source: D) -> Result<Self, D::Error> {
        source.deserialize_any(CountVisitor)
    }
}

struct FactorVisitor;

impl Visitor<'_> for FactorVisitor {
    type Value = Factor;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number or the name of a [[read]]")
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<Factor, E> {
        Ok(Factor::Number(number))
    }

    fn visit_i64<E: Error>(self, number: i64) -> Result<Factor, E> {
        Ok(Factor::Number(number as f64))
    }

    fn visit_str<E: Error>(self, name: &str) -> Result<Factor, E> {
        Ok(Factor::Name(name.to_owned()))
    }
}

impl<'de> Deserialize<'de> for Factor {
    fn deserialize<D: Deserializer<'de>>(source: D) -> Result<Self, D::Error> {
        source.deserialize_any(FactorVisitor)
    }
}
