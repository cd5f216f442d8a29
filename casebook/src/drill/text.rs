//! The drill as it is written: keys and types, nothing checked beyond them.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserializer, Error, SeqAccess, Visitor};
use serde::{Deserialize, de};
use toml::Spanned;

use super::{Action, Amount, BeatKind, Counted, DrillKind};
use crate::caution::Caution;

pub(super) type Text = Spanned<String>;
pub(super) type Count = Spanned<Amount<i64>>;
pub(super) type Seconds = Spanned<Amount<f64>>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DrillText {
    pub(super) schema: Text,
    pub(super) name: Text,
    pub(super) kind: DrillKind,
    pub(super) from_deg: Spanned<f64>,
    pub(super) to_deg: Spanned<f64>,
    pub(super) aim: Text,
    pub(super) set_up: Spanned<Vec<Text>>,
    pub(super) steps: Spanned<Vec<Text>>,
    pub(super) faults: Spanned<Vec<Text>>,
    pub(super) stop: Option<Spanned<Vec<Text>>>,
    pub(super) sources: Spanned<Vec<Text>>,
    pub(super) dose: DoseText,
    pub(super) beat: Vec<Spanned<BeatText>>,
    #[serde(default)]
    pub(super) caution: Vec<Spanned<CautionText>>,
    #[serde(default)]
    pub(super) words: BTreeMap<String, Spanned<WordsText>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WordsText {
    pub(super) name: Text,
    pub(super) aim: Text,
    pub(super) set_up: Spanned<Vec<Text>>,
    pub(super) steps: Spanned<Vec<Text>>,
    pub(super) faults: Spanned<Vec<Text>>,
    pub(super) stop: Option<Spanned<Vec<Text>>>,
    pub(super) say: Spanned<Vec<Text>>,
    pub(super) why: Option<Spanned<Vec<Text>>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DoseText {
    pub(super) sets: Count,
    pub(super) reps: Count,
    pub(super) of: Counted,
    pub(super) a_side: bool,
    pub(super) rest_s: Spanned<f64>,
    pub(super) times_a_day: Count,
    pub(super) days_a_week: Count,
    pub(super) effort: Count,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BeatText {
    pub(super) kind: BeatKind,
    pub(super) s: Seconds,
    pub(super) say: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CautionText {
    #[serde(rename = "for")]
    pub(super) caution: Caution,
    #[serde(rename = "do")]
    pub(super) action: Action,
    pub(super) why: Text,
}

/// One number, or the least and the most in brackets.
impl<'de, T: Deserialize<'de> + Numeric> Deserialize<'de> for Amount<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(AmountVisitor(PhantomData))
    }
}

/// What an amount can be of.
pub(super) trait Numeric: Copy {
    /// From a whole number, if it can be one.
    fn from_whole(number: i64) -> Self;
    /// From a number with decimals, if it can be one.
    fn from_real(number: f64) -> Option<Self>;
}

impl Numeric for i64 {
    fn from_whole(number: i64) -> Self {
        number
    }
    fn from_real(_: f64) -> Option<Self> {
        None
    }
}

impl Numeric for f64 {
    fn from_whole(number: i64) -> Self {
        number as Self
    }
    fn from_real(number: f64) -> Option<Self> {
        Some(number)
    }
}

struct AmountVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de> + Numeric> Visitor<'de> for AmountVisitor<T> {
    type Value = Amount<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number, or the least and the most as [4, 5]")
    }

    fn visit_i64<E: Error>(self, number: i64) -> Result<Amount<T>, E> {
        Ok(same(T::from_whole(number)))
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<Amount<T>, E> {
        let number_or = T::from_real(number).map(same);
        number_or.ok_or_else(|| E::invalid_type(de::Unexpected::Float(number), &self))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Amount<T>, A::Error> {
        let (least, most) = (list.next_element::<T>()?, list.next_element::<T>()?);
        let is_over = list.next_element::<de::IgnoredAny>()?.is_none();
        match (least, most) {
            (Some(least), Some(most)) if is_over => Ok(Amount { least, most }),
            _ => Err(A::Error::invalid_length(0, &self)),
        }
    }
}

fn same<T: Copy>(number: T) -> Amount<T> {
    Amount {
        least: number,
        most: number,
    }
}
