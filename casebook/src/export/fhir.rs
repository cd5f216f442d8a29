//! Results as a bundle for health records: HL7 FHIR R4 (4.0.1), one Observation a mean and one a raise.
//!
//! The client is named by the pseudonym alone. Only codes that were seen in use are written; no code for the angle of
//! a straight leg raise is known, so the text carries the meaning. Days are given without a time, for a time of day
//! wants a time zone, which recordings don't have.

mod observe;

use serde_json::{Value, json};

use crate::record::Account;
use crate::report::Judgement;

use observe::{mean, raise};

/// A term of a terminology.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Code {
    /// The terminology's address.
    pub system: String,
    /// The code itself.
    pub code: String,
    /// As the terminology has it.
    pub display: String,
}

impl Code {
    fn snomed(code: &str, display: &str) -> Self {
        Self {
            system: "http://snomed.info/sct".to_owned(),
            code: code.to_owned(),
            display: display.to_owned(),
        }
    }

    fn to_json(&self) -> Value {
        json!({"system": self.system, "code": self.code, "display": self.display})
    }
}

/// The terms that are written beside the text; `None` leaves one out. SNOMED CT needs a licence in many countries.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Codes {
    /// What is observed, as near as there is a term.
    pub observed: Option<Code>,
    /// The left leg.
    pub left: Option<Code>,
    /// The right leg.
    pub right: Option<Code>,
}

impl Default for Codes {
    fn default() -> Self {
        Self {
            observed: Some(Code::snomed("364564000", "Range of joint movement")),
            left: Some(Code::snomed("32153003", "Structure of left lower limb")),
            right: Some(Code::snomed("62175007", "Structure of right lower limb")),
        }
    }
}

impl Codes {
    /// Text alone.
    pub const NONE: Self = Self {
        observed: None,
        left: None,
        right: None,
    };
}

/// The bundle of an account, or of one visit by its label.
pub fn bundle(account: &Account, session: Option<&str>, codes: &Codes) -> Value {
    let judgement = Judgement::of(account, None);
    let is_wanted = |label: &str| session.is_none_or(|wanted| wanted == label);
    let mut entries = Vec::new();
    for judged in judgement
        .visits
        .iter()
        .filter(|v| is_wanted(&v.visit.session))
    {
        for round in &judged.visit.rounds {
            for (at, _) in round.raises.iter().enumerate() {
                entries.extend(raise(account, judged.visit, round, at, codes));
            }
        }
        let before = judged.first.as_ref();
        let again = judged.again.as_ref();
        for taken in before.into_iter().chain(again) {
            entries.extend(mean(account, judged.visit, taken, codes));
        }
    }
    json!({"resourceType": "Bundle", "type": "collection", "entry": entries})
}

/// The same as text, indented and with a line break at its end.
pub fn text(account: &Account, session: Option<&str>, codes: &Codes) -> String {
    format!("{:#}\n", bundle(account, session, codes))
}

/// A name for a resource that depends on what it is of, and on nothing else: a UUID of version 8 (RFC 9562) from the
/// 128-bit FNV-1a of the words.
fn address(words: &[&str]) -> String {
    const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013B;
    let mut hash: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
    for byte in words.join("\n").bytes() {
        hash = (hash ^ u128::from(byte)).wrapping_mul(PRIME);
    }
    // Version and variant have their fixed places.
    hash = (hash & !(0xF << 76)) | (8 << 76);
    hash = (hash & !(0x3 << 62)) | (2 << 62);
    let hex = format!("{hash:032x}");
    let mut uuid = String::from("urn:uuid:");
    for (at, digit) in hex.chars().enumerate() {
        if matches!(at, 8 | 12 | 16 | 20) {
            uuid.push('-');
        }
        uuid.push(digit);
    }
    uuid
}

#[cfg(test)]
mod tests;
