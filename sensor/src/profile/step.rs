//! What is written to a device and what is read from it.

use serde::Deserialize;
use thiserror::Error;

use super::{Number, Uuid};

/// The rate of samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Rate {
    /// As used when nobody chooses, Hz.
    pub nominal_hz: f64,
    /// Rates that can be set, Hz; empty where none can.
    pub choices_hz: Vec<f64>,
}

/// A rate that the device doesn't offer.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("rate: {asked_hz} Hz, expected {}; {}", rate_list(offered_hz), self.mend())]
pub struct RateNotOffered {
    /// What was asked for.
    pub asked_hz: f64,
    /// What there is.
    pub offered_hz: Vec<f64>,
}

impl RateNotOffered {
    /// What to do about it.
    pub fn mend(&self) -> String {
        "choose one of these, or add the rate to `choices` if the device knows it".to_owned()
    }
}

fn rate_list(rates_hz: &[f64]) -> String {
    let texts: Vec<String> = rates_hz.iter().map(|rate| format!("{rate} Hz")).collect();
    texts.join(", ")
}

/// When a step is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum When {
    /// After connecting.
    Connect,
    /// Before samples are wanted.
    Start,
    /// When they aren't wanted any more.
    Stop,
    /// Again and again while connected.
    Keepalive,
}

/// One write to the device. Steps of one occasion are done in their order.
#[derive(Clone, Debug, PartialEq)]
pub struct WriteStep {
    /// When.
    pub when: When,
    /// The characteristic.
    pub to: Uuid,
    /// What.
    pub pieces: Vec<Piece>,
    /// Whether the device confirms the write.
    pub with_response: bool,
    /// From one to the next, s; only for [`When::Keepalive`].
    pub every_s: Option<f64>,
    /// What it must answer before the next step.
    pub expect: Option<Expect>,
}

/// A notification that must follow a write.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Expect {
    /// The characteristic.
    pub from: Uuid,
    /// What it begins with.
    pub prefix: Vec<u8>,
    /// How long to wait, ms.
    pub timeout_ms: u32,
}

/// A part of what is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piece {
    /// A byte as it stands.
    Byte(u8),
    /// The rate in Hz, low byte first.
    RateU16Le,
    /// The rate in Hz.
    RateU8,
    /// The place of the rate among the choices, from 0.
    IndexU8,
}

impl Piece {
    /// The piece as bytes, or `None` where the rate doesn't fit.
    fn push(self, rate_hz: f64, index: usize, bytes: &mut Vec<u8>) -> Option<()> {
        match self {
            Self::Byte(byte) => bytes.push(byte),
            Self::RateU16Le => bytes.extend(whole(rate_hz, u16::MAX)?.to_le_bytes()),
            Self::RateU8 => bytes.push(u8::try_from(whole(rate_hz, u16::from(u8::MAX))?).ok()?),
            Self::IndexU8 => bytes.push(u8::try_from(index).ok()?),
        }
        Some(())
    }
}

/// A rate as a whole number, or `None` where it is none or too large.
fn whole(rate_hz: f64, most: u16) -> Option<u16> {
    (1..=most).find(|whole| (f64::from(*whole) - rate_hz).abs() < 1e-9)
}

impl WriteStep {
    /// Whether it tells the device the rate.
    pub fn sets_rate(&self) -> bool {
        self.pieces
            .iter()
            .any(|piece| !matches!(piece, Piece::Byte(_)))
    }

    /// The bytes for a rate.
    pub fn bytes(&self, rate: &Rate, rate_hz: f64) -> Result<Vec<u8>, RateNotOffered> {
        let refused = || RateNotOffered {
            asked_hz: rate_hz,
            offered_hz: if rate.choices_hz.is_empty() {
                vec![rate.nominal_hz]
            } else {
                rate.choices_hz.clone()
            },
        };
        let place = |rates: &[f64]| rates.iter().position(|one| (one - rate_hz).abs() < 1e-9);
        let index = place(&rate.choices_hz).or_else(|| {
            let is_free = rate.choices_hz.is_empty();
            place(&[rate.nominal_hz]).filter(|_| is_free)
        });
        let index = match index {
            Some(index) => index,
            None if self.sets_rate() => return Err(refused()),
            None => 0,
        };
        let mut bytes = Vec::new();
        for piece in &self.pieces {
            piece.push(rate_hz, index, &mut bytes).ok_or_else(refused)?;
        }
        Ok(bytes)
    }
}

/// A number the device tells: read after connecting, and again after each write that sets range or rate.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadStep {
    /// The characteristic.
    pub from: Uuid,
    /// The first byte.
    pub at: usize,
    /// How it stands there.
    pub number: Number,
    /// What it is called in `scale`, `tick_s`, `tick_hz` and `equals`.
    pub name: String,
    /// Whether it is a scale or a tick, which must be above zero.
    pub is_factor: bool,
}

/// A value that was read and is of no use.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{name}: {what}; {}", self.mend())]
pub struct ReadFault {
    /// The name of the `[[read]]`.
    pub name: String,
    /// What was wrong.
    pub what: ReadFaultKind,
}

/// What was wrong with a value that was read.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum ReadFaultKind {
    /// The value ends before.
    #[error("{found} bytes, expected at least {expected}")]
    Short {
        /// Its length.
        found: usize,
        /// What the profile needs.
        expected: usize,
    },
    /// No number, or a scale that isn't above zero.
    #[error("value {found}, expected a finite number above zero")]
    NotUsable {
        /// The value.
        found: f64,
    },
}

impl ReadFault {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self.what {
            ReadFaultKind::Short { .. } => "check `from` and `at` of this [[read]] in the profile",
            ReadFaultKind::NotUsable { .. } => {
                "check `at` and `type` of this [[read]] in the profile, or the device"
            }
        }
        .to_owned()
    }
}

impl ReadStep {
    /// The number in a value of the characteristic.
    pub fn value(&self, bytes: &[u8]) -> Result<f64, ReadFault> {
        let fault = |what| ReadFault {
            name: self.name.clone(),
            what,
        };
        let found = self.number.read(bytes, self.at).ok_or_else(|| {
            fault(ReadFaultKind::Short {
                found: bytes.len(),
                expected: self.at + self.number.size,
            })
        })?;
        if found.is_finite() && (found > 0.0 || !self.is_factor) {
            Ok(found)
        } else {
            Err(fault(ReadFaultKind::NotUsable { found }))
        }
    }
}
