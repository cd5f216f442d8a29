//! `legraise recheck`: the round after a drill against the one before.

use std::io::Write;

use casebook::record::Purpose;
use casebook::store::account;
use casebook::{Recheck, SideChange, SideSummary, Taken, WarmUp, recheck, since_drill_s, wording};
use serde_json::{Value, json};

use super::decide::{recordings, taken, visit};
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
    let before = taken(&account, visit, Purpose::First)?;
    let after = taken(&account, visit, Purpose::Recheck)?;
    let after_s = since_drill_s(visit, &after);
    let found = recheck(
        &before.round(),
        &after.round(),
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
        let mut value = value(&found, [&before, &after]);
        value["schema"] = json!("legraise/recheck/1");
        value["client"] = json!(account.client.code);
        value["visit"] = json!(visit.session);
        value["after_drill_s"] = json!(after_s.map(json::number));
        value["drill"] = json!(visit.drill.as_ref().map(|drill| &drill.key));
        json::write(out, &value)?;
    } else {
        let drill = visit.drill.as_ref();
        let drill = drill.map_or("no drill noted", |drill| drill.name.as_str());
        writeln!(
            out,
            "{}  visit {}  {drill}: {} against {}",
            account.client.code,
            visit.session,
            recordings(&after),
            recordings(&before)
        )
        .and_then(|()| text(out, &found))
        .map_err(CommandError::Output)?;
    }
    Ok(Exit::Done)
}

fn value(found: &Recheck, [before, after]: [&Taken<'_>; 2]) -> Value {
    let warm_up = |found: &Option<WarmUp>| {
        found.as_ref().map(|found| {
            json!({"gain_deg": json::degrees(found.gain), "limit_deg": json::degrees(found.limit)})
        })
    };
    let summed = |summary: &SideSummary, taken: &Taken<'_>| {
        let mut value = json::summary(summary);
        let round = taken.round_of(summary.side);
        value["recording"] = json!(round.map(|round| &round.recording));
        value
    };
    let side = |found: &SideChange| {
        json!({
            "side": found.before.side.as_str(),
            "before": summed(&found.before, before),
            "after": summed(&found.after, after),
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
