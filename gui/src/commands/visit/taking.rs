//! `legraise visit take` and `refresh`: from recordings to results, and again.

use std::io::Write;
use std::path::Path;

use casebook::record::{KeptRound, Purpose};
use casebook::store::Store;
use fusion::{Raise, Settings};
use sensor::bids::RunFiles;
use serde_json::{Value, json};

use super::round_lines;
use crate::analyse::analyse;
use crate::args::VisitCommand;
use crate::book::{self, id_of, json, kept_round};
use crate::commands::replay::messages;
use crate::commands::tell;
use crate::error::{CommandError, Exit};
use crate::output::{raise_value, rounded};

/// Keeps the results of recordings.
pub(super) fn take(
    store: &Store,
    command: &VisitCommand,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let VisitCommand::Take {
        client,
        paths,
        visit,
        purpose,
        data,
    } = command
    else {
        return Ok(Exit::Usage);
    };
    let code = store.code_of(client)?;
    let session = book::session(store, &code, visit.as_deref())?;
    let root = book::data_folder(store, data.as_deref())?;
    let purpose = purpose.map(Purpose::from);
    let (taken, told) = book::take(store, &root, (&code, &session), paths, purpose)?;
    tell(err, &told);
    let mut exit = Exit::Done;
    for one in &taken {
        tell(err, messages(std::slice::from_ref(&one.outcome), false));
        let Some(round) = &one.round else {
            exit = Exit::Incomplete;
            continue;
        };
        let mut lines = round_lines(round);
        if !one.is_new {
            lines.push("    as kept before".to_owned());
        }
        writeln!(out, "{}", lines.join("\n")).map_err(CommandError::Output)?;
    }
    Ok(exit)
}

/// What became of one kept round.
struct Again {
    recording: String,
    /// `same`, `changed`, or why it can't be said.
    state: String,
    /// Raises as they were and as they are now, where they differ.
    differing: Vec<(Option<Raise>, Option<Raise>)>,
}

/// Works kept results out again.
pub(super) fn refresh(
    store: &Store,
    client: Option<&str>,
    data: Option<&Path>,
    is_json: bool,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let root = book::data_folder(store, data)?;
    let codes = match client {
        Some(client) => vec![store.code_of(client)?],
        None => store.find("")?.into_iter().map(|one| one.code).collect(),
    };
    let mut exit = Exit::Done;
    let mut all = Vec::new();
    for code in codes {
        for session in store.sessions(&code)? {
            for round in store.visit(&code, &session)?.rounds {
                let again = one_again(store, &root, (&code, &session), &round, err)?;
                if !matches!(again.state.as_str(), "same" | "changed") {
                    exit = Exit::Incomplete;
                }
                all.push(again);
            }
        }
    }
    if is_json {
        let value = json!({"schema": "legraise/refresh/1", "rounds": all.iter().map(value).collect::<Vec<_>>()});
        json::write(out, &value)?;
        return Ok(exit);
    }
    for again in &all {
        let mut lines = vec![format!("{}: {}", again.recording, again.state)];
        lines.extend(again.differing.iter().map(words));
        writeln!(out, "{}", lines.join("\n")).map_err(CommandError::Output)?;
    }
    Ok(exit)
}

fn one_again(
    store: &Store,
    root: &Path,
    (code, session): (&str, &str),
    round: &KeptRound,
    err: &mut dyn Write,
) -> Result<Again, CommandError> {
    let mut again = Again {
        recording: round.recording.clone(),
        state: String::new(),
        differing: Vec::new(),
    };
    let files = id_of(&round.recording).and_then(|id| RunFiles::in_set(root, &id));
    let Some(files) = files else {
        "the recording isn't there; what was kept stays".clone_into(&mut again.state);
        return Ok(again);
    };
    let settings = Settings::default();
    let outcome = analyse(&[files], &settings, None, false)?.remove(0);
    tell(err, messages(std::slice::from_ref(&outcome), true));
    if outcome.error.is_some() {
        "the recording can't be analysed; what was kept stays".clone_into(&mut again.state);
        return Ok(again);
    }
    let now = kept_round(&outcome, round.purpose, &settings);
    let reason = format!("worked out again by {}", now.method.program);
    let is_changed = store.keep_round(code, session, &now, book::why(&reason))?;
    let count = round.raises.len().max(now.raises.len());
    for at in 0..count {
        let (former, new) = (round.raises.get(at), now.raises.get(at));
        if former != new {
            again.differing.push((former.cloned(), new.cloned()));
        }
    }
    (if is_changed { "changed" } else { "same" }).clone_into(&mut again.state);
    Ok(again)
}

fn value(again: &Again) -> Value {
    let raise = |raise: &Option<Raise>| raise.as_ref().map(raise_value);
    let differing: Vec<Value> = again
        .differing
        .iter()
        .map(|(former, now)| json!({"former": raise(former), "now": raise(now)}))
        .collect();
    json!({"recording": again.recording, "state": again.state, "differing": differing})
}

fn words((former, now): &(Option<Raise>, Option<Raise>)) -> String {
    let angle = |raise: &Option<Raise>| match raise {
        None => "no raise".to_owned(),
        Some(raise) => raise.end_point.as_ref().map_or_else(
            || format!("{} without an end point", raise.side),
            |end| {
                format!(
                    "{} {:.2} ± {:.2} ({})",
                    raise.side,
                    end.angle.value,
                    end.angle.expanded,
                    end.reason.as_str()
                )
            },
        ),
    };
    let start = former.as_ref().or(now.as_ref()).map_or(0.0, |r| r.start_s);
    format!(
        "  at {} s: {} before, {} now",
        rounded(start),
        angle(former),
        angle(now)
    )
}
