//! `legraise recheck`: the round after a drill against the one before.

use std::io::Write;

use casebook::record::{KeptRound, Purpose, Visit};
use casebook::store::account;
use casebook::{Recheck, Round, SideChange, WarmUp, recheck, wording};
use jiff::Unit;
use serde_json::{Value, json};

use super::decide::{round, visit};
use crate::args::DecideArgs;
use crate::book::{self, BookFault, json};
use crate::error::{CommandError, Exit};

/// Prints it.
pub(crate) fn run(
    args: &DecideArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let store = book::open(&args.file, err)?;
    let account = account(&store, &store.code_of(&args.client)?)?;
    let visit = visit(&account, args.visit.as_deref())?;
    let before = round(&account, visit, Purpose::First)?;
    let after = round(&account, visit, Purpose::Recheck)?;
    let (raises_before, raises_after) = (before.counted(), after.counted());
    let after_s = since_drill_s(visit, after);
    let found = recheck(
        &Round {
            raises: &raises_before,
            conditions: &before.conditions,
        },
        &Round {
            raises: &raises_after,
            conditions: &after.conditions,
        },
        after_s,
        &account.repeatability,
        &account.rules,
    );
    let found = found.map_err(|e| BookFault::Nothing {
        client: account.client.code.clone(),
        session: visit.session.clone(),
        what: e.to_string(),
    })?;
    if args.json {
        let mut value = value(&found);
        value["schema"] = json!("legraise/recheck/1");
        value["client"] = json!(account.client.code);
        value["visit"] = json!(visit.session);
        value["before"] = json!(before.recording);
        value["after"] = json!(after.recording);
        value["after_drill_s"] = json!(after_s.map(json::number));
        value["drill"] = json!(visit.drill.as_ref().map(|drill| &drill.key));
        json::write(out, &value)?;
    } else {
        let drill = visit.drill.as_ref();
        let drill = drill.map_or("no drill noted", |drill| drill.name.as_str());
        writeln!(
            out,
            "{}  visit {}  {drill}: {} against {}",
            account.client.code, visit.session, after.recording, before.recording
        )
        .and_then(|()| text(out, &found))
        .map_err(CommandError::Output)?;
    }
    Ok(Exit::Done)
}

/// From the end of the drill to the first raise after it, s.
fn since_drill_s(visit: &Visit, after: &KeptRound) -> Option<f64> {
    let ended = visit.drill.as_ref()?.ended?;
    let first = after.raises.first()?;
    let span = ended.until((Unit::Second, after.began?)).ok()?;
    let seconds = i32::try_from(span.get_seconds()).ok()?;
    Some(f64::from(seconds) + first.start_s)
}

fn value(found: &Recheck) -> Value {
    let warm_up = |found: &Option<WarmUp>| {
        found.as_ref().map(|found| {
            json!({"gain_deg": json::degrees(found.gain), "limit_deg": json::degrees(found.limit)})
        })
    };
    let side = |found: &SideChange| {
        json!({
            "side": found.before.side.as_str(),
            "before": json::summary(&found.before),
            "after": json::summary(&found.after),
            "change": json::change(&found.change),
            "warm_up_before": warm_up(&found.warm_up_before),
            "warm_up_after": warm_up(&found.warm_up_after),
        })
    };
    json!({
        "sides": found.sides.iter().map(side).collect::<Vec<_>>(),
        "notes": found.notes.iter().map(wording::recheck_note).collect::<Vec<_>>(),
        "caution": wording::ADVICE,
    })
}

fn text(out: &mut dyn Write, found: &Recheck) -> std::io::Result<()> {
    for side in &found.sides {
        writeln!(out, "before: {}", wording::mean(&side.before))?;
        writeln!(out, "after: {}", wording::mean(&side.after))?;
        writeln!(out, "  {}", wording::change(&side.change))?;
        for (when, warm_up) in [
            ("before", &side.warm_up_before),
            ("after", &side.warm_up_after),
        ] {
            if let Some(warm_up) = warm_up {
                writeln!(out, "  {when} the drill, {}", wording::warm_up(warm_up))?;
            }
        }
    }
    for note in &found.notes {
        writeln!(out, "{}", wording::recheck_note(note))?;
    }
    writeln!(out, "{}", wording::ADVICE)
}
