//! One observation: a raise, or the mean of a side's raises.

use fusion::{Angle, Flag, Raise};
use sensor::Side;
use serde_json::{Map, Value, json};

use super::super::rounded;
use super::{Code, Codes, address};
use crate::record::{Account, KeptRound, Purpose, Visit};
use crate::summary::summarise_with;
use crate::taken::Taken;
use crate::way::{Condition, Way};

/// What all observations of a round share.
struct Common<'a> {
    account: &'a Account,
    visit: &'a Visit,
    round: &'a KeptRound,
    side: Side,
    codes: &'a Codes,
}

impl Common<'_> {
    fn observation(&self, text: &str) -> Map<String, Value> {
        let round = self.round;
        let mut fields = Map::new();
        let mut put = |key: &str, value: Value| fields.insert(key.to_owned(), value);
        put("resourceType", json!("Observation"));
        put("status", json!("final"));
        put(
            "category",
            json!([{"coding": [{
                "system": "http://terminology.hl7.org/CodeSystem/observation-category",
                "code": "exam",
                "display": "Exam",
            }]}]),
        );
        put("code", concept(self.codes.observed.as_ref(), text));
        let code = format!("sub-{}", self.account.client.code);
        put(
            "subject",
            json!({"type": "Patient", "identifier": {"value": filled(&code)}}),
        );
        put("effectiveDateTime", json!(self.visit.date.to_string()));
        if let Some(rater) = round
            .conditions
            .rater
            .as_deref()
            .filter(|r| !r.trim().is_empty())
        {
            put("performer", json!([{"display": filled(rater)}]));
        }
        let site = match self.side {
            Side::Left => (&self.codes.left, "left leg"),
            Side::Right => (&self.codes.right, "right leg"),
        };
        put("bodySite", concept(site.0.as_ref(), site.1));
        put("method", json!({"text": how(round)}));
        let device = format!(
            "{}, sensors: {}",
            round.method.program,
            round.sensors.join(", ")
        );
        put("device", json!({"display": filled(&device)}));
        fields
    }
}

/// The observation of one raise, with its address.
pub(super) fn raise(
    account: &Account,
    visit: &Visit,
    round: &KeptRound,
    at: usize,
    codes: &Codes,
) -> Option<Value> {
    let raise = round.raises.get(at)?;
    let common = Common {
        account,
        visit,
        round,
        side: raise.side,
        codes,
    };
    let mut fields =
        common.observation("Straight leg raise, end-point angle of the shin above rest");
    let mut components = Vec::new();
    if let Some(end) = &raise.end_point {
        fields.insert("valueQuantity".to_owned(), degrees(end.angle.value));
        components.push(component(
            U_TEXT,
            "valueQuantity",
            uncertainty(end.angle.expanded),
        ));
        components.push(component(
            "End-point reason",
            "valueString",
            json!(end.reason.as_str()),
        ));
    } else {
        fields.insert("dataAbsentReason".to_owned(), absent(raise));
    }
    if let Some(peak) = &raise.peak {
        components.push(component(
            "Peak angle",
            "valueQuantity",
            degrees(peak.angle.value),
        ));
        components.push(component(
            "Expanded uncertainty of the peak angle, 95 %",
            "valueQuantity",
            uncertainty(peak.angle.expanded),
        ));
    }
    if !components.is_empty() {
        fields.insert("component".to_owned(), Value::Array(components));
    }
    fields.insert(
        "derivedFrom".to_owned(),
        json!([{"display": filled(&round.recording)}]),
    );
    let mut notes = vec![format!("Raise {} of the recording.", at + 1)];
    if let Some((_, why)) = round.set_aside.iter().find(|(place, _)| *place == at) {
        notes.push(format!("Set aside, not in the mean: {why}"));
    }
    if raise
        .end_point
        .as_ref()
        .is_some_and(|end| end.reason == fusion::Reason::Stop)
    {
        notes.push("Stopped, not in the mean.".to_owned());
    }
    notes.extend(flags(raise).map(|flags| format!("Flags: {flags}.")));
    notes.push(method(round));
    fields.insert("note".to_owned(), json!([{"text": notes.join(" ")}]));
    Some(entry(&raise_address(round, at), fields))
}

const U_TEXT: &str = "Expanded uncertainty, 95 %";

fn raise_address(round: &KeptRound, at: usize) -> String {
    address(&["raise", &round.recording, &at.to_string()])
}

/// The observations of the sides' means, each derived from its raises.
pub(super) fn mean(
    account: &Account,
    visit: &Visit,
    taken: &Taken<'_>,
    codes: &Codes,
) -> Vec<Value> {
    let sides = taken.rounds.iter().filter_map(|(side, round)| {
        let summary = summarise_with(&taken.raises, *side, &account.repeatability)?;
        let common = Common {
            account,
            visit,
            round,
            side: *side,
            codes,
        };
        let mut fields =
            common.observation("Straight leg raise, mean end-point angle of the shin above rest");
        fields.insert("valueQuantity".to_owned(), degrees(summary.mean));
        let mut components = vec![
            component(U_TEXT, "valueQuantity", uncertainty(summary.expanded)),
            component("Number of raises", "valueInteger", json!(summary.count)),
        ];
        if let Some(scatter) = summary.scatter {
            components.push(component(
                "Standard deviation of the raises",
                "valueQuantity",
                degrees(scatter),
            ));
        }
        fields.insert("component".to_owned(), Value::Array(components));
        let is_in_mean = |raise: &Raise| taken.in_mean(*side).any(|known| known == raise);
        let from: Vec<Value> = round
            .raises
            .iter()
            .enumerate()
            .filter(|(at, raise)| {
                let mut aside = round.set_aside.iter();
                aside.all(|(place, _)| place != at) && is_in_mean(raise)
            })
            .map(|(at, _)| json!({"reference": raise_address(round, at)}))
            .collect();
        fields.insert("derivedFrom".to_owned(), Value::Array(from));
        let when = match round.purpose {
            Purpose::First => "Before the drill.",
            Purpose::Recheck => "After the drill.",
            Purpose::Further => "Further round.",
        };
        let note = format!("{when} {}", method(round));
        fields.insert("note".to_owned(), json!([{"text": note}]));
        let place = address(&["mean", &round.recording, side.as_str()]);
        Some(entry(&place, fields))
    });
    sides.collect()
}

fn entry(full_url: &str, fields: Map<String, Value>) -> Value {
    json!({"fullUrl": full_url, "resource": Value::Object(fields)})
}

fn concept(code: Option<&Code>, text: &str) -> Value {
    match code {
        Some(code) => json!({"coding": [code.to_json()], "text": text}),
        None => json!({"text": text}),
    }
}

fn component(text: &str, key: &str, value: Value) -> Value {
    let mut fields = Map::new();
    fields.insert("code".to_owned(), json!({"text": text}));
    fields.insert(key.to_owned(), value);
    Value::Object(fields)
}

/// A quantity in degrees, to a tenth.
fn degrees(angle: Angle) -> Value {
    quantity(rounded(angle.degrees(), 1))
}

/// The same, never nought.
fn uncertainty(angle: Angle) -> Value {
    quantity(rounded(angle.degrees(), 1).max(0.1))
}

fn quantity(deg: f64) -> Value {
    json!({"value": deg, "unit": "deg", "system": "http://unitsofmeasure.org", "code": "deg"})
}

/// Why there is no angle.
fn absent(raise: &Raise) -> Value {
    json!({
        "coding": [{
            "system": "http://terminology.hl7.org/CodeSystem/data-absent-reason",
            "code": "unknown",
            "display": "Unknown",
        }],
        "text": flags(raise).unwrap_or_else(|| "not to be trusted".to_owned()),
    })
}

fn flags(raise: &Raise) -> Option<String> {
    let flags: Vec<&str> = raise.flags.iter().copied().map(Flag::as_str).collect();
    (!flags.is_empty()).then(|| flags.join(", "))
}

fn how(round: &KeptRound) -> String {
    let way = Way::of(&round.conditions);
    let mut said =
        vec!["Inertial sensor on the shin, lying on the back, knee straight, slow".to_owned()];
    for (condition, name) in [
        (Condition::Movement, "movement"),
        (Condition::Ankle, "ankle"),
        (Condition::AskedFor, "asked for"),
    ] {
        said.push(format!(
            "{name} {}",
            way.word(condition).unwrap_or("not said")
        ));
    }
    said.join(", ")
}

fn method(round: &KeptRound) -> String {
    let calibrated = if round.is_calibrated { "" } else { " not" };
    format!(
        "{}, method {}, settings {}; sensor{calibrated} calibrated on a flat surface.",
        round.method.program, round.method.version, round.method.settings
    )
}

/// The standard allows no empty text, and no control characters.
fn filled(text: &str) -> String {
    let text = crate::report::tidy(text, 200);
    if text.is_empty() {
        "unknown".to_owned()
    } else {
        text
    }
}
