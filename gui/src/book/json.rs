//! What the commands of the casebook print as JSON. Degrees and seconds are rounded to four decimals; what is absent is
//! `null`. `docs/formats.md` describes it.

use std::io::Write;

use casebook::record::{Account, Client, KeptRound, Visit};
use casebook::store::Changed;
use casebook::{BandChance, Bands, Change, Finding, SideSummary, wording};
use fusion::Angle;
use serde_json::{Value, json};

use crate::error::CommandError;
use crate::output::{raise_value, rounded};

/// Writes one object, and nothing else.
pub(crate) fn write(out: &mut dyn Write, value: &Value) -> Result<(), CommandError> {
    writeln!(out, "{value:#}").map_err(CommandError::Output)
}

/// An angle in degrees.
pub(crate) fn degrees(angle: Angle) -> Value {
    number(angle.degrees())
}

/// A number; `null` where it is none.
pub(crate) fn number(value: f64) -> Value {
    if value.is_finite() {
        json!(rounded(value))
    } else {
        Value::Null
    }
}

/// A client, as written down.
pub(crate) fn client(client: &Client) -> Value {
    let consent = client.consent.as_ref().map(|consent| {
        json!({
            "given": consent.given.to_string(),
            "text": consent.text_version,
            "withdrawn": consent.withdrawn.map(|date| date.to_string()),
        })
    });
    json!({
        "code": client.code,
        "name": client.name,
        "contact": client.contact,
        "born": client.birth_year,
        "notes": client.notes,
        "consent": consent,
    })
}

/// A visit with its rounds.
pub(crate) fn visit(visit: &Visit) -> Value {
    let cautions: Vec<&str> = visit.cautions.iter().map(|c| c.as_str()).collect();
    let drill = visit.drill.as_ref().map(|drill| {
        json!({
            "drill": drill.key,
            "name": drill.name,
            "ended": drill.ended.map(|at| at.to_string()),
            "notes": drill.notes,
        })
    });
    json!({
        "visit": visit.session,
        "date": visit.date.to_string(),
        "cautions_asked": visit.has_asked_cautions,
        "cautions": cautions,
        "feels_tight": visit.feels_tight,
        "other_signs_quiet": visit.is_quiet,
        "pain": visit.pain,
        "pull_felt": visit.pull_felt,
        "warm_up": visit.warm_up,
        "notes": visit.notes,
        "rounds": visit.rounds.iter().map(round).collect::<Vec<_>>(),
        "drill": drill,
    })
}

/// A round with its raises.
pub(crate) fn round(round: &KeptRound) -> Value {
    let raise = |(at, raise): (usize, &fusion::Raise)| {
        let mut value = raise_value(raise);
        let aside = round.set_aside.iter().find(|(place, _)| *place == at);
        value["set_aside"] = json!(aside.map(|(_, reason)| reason));
        value
    };
    let done = &round.conditions;
    json!({
        "recording": round.recording,
        "for": round.purpose.as_str(),
        "began": round.began.map(|at| at.to_string()),
        "movement": done.movement,
        "ankle": done.ankle,
        "asked_for": done.asked_for,
        "rater": done.rater,
        "sensors": round.sensors,
        "is_calibrated": round.is_calibrated,
        "method": {
            "version": round.method.version,
            "program": round.method.program,
            "settings": round.method.settings,
        },
        "raises": round.raises.iter().enumerate().map(raise).collect::<Vec<_>>(),
    })
}

/// A mean.
pub(crate) fn summary(summary: &SideSummary) -> Value {
    json!({
        "side": summary.side.as_str(),
        "mean_deg": degrees(summary.mean),
        "mean_uncertainty_deg": degrees(summary.expanded),
        "standard_deg": degrees(summary.standard),
        "person_deg": degrees(summary.person),
        "instrument_deg": degrees(summary.instrument),
        "scatter_deg": summary.scatter.map(degrees),
        "raises": summary.count,
        "stopped": summary.stopped_count,
        "missing": summary.missing_count,
    })
}

/// Bands with their chances.
pub(crate) fn chances(chances: &[BandChance], bands: &Bands) -> Value {
    let one = |found: &BandChance| {
        json!({
            "band": found.band + 1,
            "label": bands.label(found.band),
            "chance": number(found.chance),
        })
    };
    chances.iter().map(one).collect()
}

/// What is found of one side.
pub(crate) fn finding(found: &Finding, bands: &Bands) -> Value {
    let mut value = summary(&found.summary);
    value["bands"] = chances(&found.chances, bands);
    value["named"] = chances(&found.named, bands);
    let end = |(reason, count): &(fusion::Reason, usize)| json!({"reason": reason.as_str(), "raises": count});
    value["ends"] = found.ends.iter().map(end).collect();
    value["notes"] = found.notes.iter().map(wording::note).collect();
    value
}

/// A change.
pub(crate) fn change(change: &Change) -> Value {
    json!({
        "amount_deg": degrees(change.amount),
        "amount_uncertainty_deg": degrees(change.expanded),
        "limit_deg": degrees(change.limit),
        "is_beyond_error": change.is_beyond_error(),
        "words": wording::change(change),
    })
}

/// Changes as values.
pub(crate) fn changes(history: &[Changed]) -> Vec<Value> {
    let one = |changed: &Changed| {
        json!({
            "at": changed.at.to_string(),
            "place": changed.place,
            "field": changed.field,
            "former": changed.former,
            "reason": changed.reason,
        })
    };
    history.iter().map(one).collect()
}

/// The record of one client as JSON: `legraise client show --json` prints the same.
pub(crate) fn record(account: &Account) -> Value {
    let plan = |(side, plan): &(sensor::Side, casebook::course::Plan)| {
        json!({
            "side": side.as_str(),
            "band": plan.band + 1,
            "label": account.bands.label(plan.band),
            "since": plan.since.map(|date| date.to_string()),
        })
    };
    json!({
        "schema": "legraise/record/1",
        "client": client(&account.client),
        "plans": account.plans.iter().map(plan).collect::<Vec<_>>(),
        "visits": account.visits.iter().map(visit).collect::<Vec<_>>(),
    })
}
