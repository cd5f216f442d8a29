//! `legraise visit`: what was asked, measured and practised.

mod moving;
mod taking;

use std::io::Write;

use casebook::record::{DrillDone, KeptRound, Visit};
use casebook::store::Store;
use casebook::wording;
use fusion::Flag;
use jiff::Zoned;
use jiff::civil::DateTime;
use serde_json::json;

use crate::args::{Answers, VisitCommand, VisitsArgs, YesNo};
use crate::book::{self, json};
use crate::error::{CommandError, Exit};

/// Carries out one of its commands.
pub(crate) fn run(
    args: &VisitsArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let store = book::open(&args.file, err)?;
    match &args.command {
        VisitCommand::Begin { .. } => begin(&store, &args.command, out, err)?,
        VisitCommand::Note {
            client,
            visit,
            date,
            answers,
            because,
        } => {
            let code = store.code_of(client)?;
            let session = book::session(&store, &code, visit.as_deref())?;
            let mut visit = store.visit(&code, &session)?;
            visit.date = date.unwrap_or(visit.date);
            put(&mut visit, answers);
            store.edit_visit(&code, &visit, book::why(because))?;
            warn(&visit, err);
        }
        VisitCommand::Drill {
            client,
            drill,
            visit,
            ended,
            notes,
            because,
        } => {
            let visit = visit.as_deref();
            practised(&store, (client, visit), drill, *ended, notes, because, err)?;
        }
        VisitCommand::Show {
            client,
            visit,
            json,
        } => {
            let code = store.code_of(client)?;
            let session = book::session(&store, &code, visit.as_deref())?;
            let visit = store.visit(&code, &session)?;
            if *json {
                let mut value = json::visit(&visit);
                value["schema"] = json!("legraise/visit/1");
                value["client"] = json!(code);
                json::write(out, &value)?;
            } else {
                show(&visit, out)?;
            }
        }
        VisitCommand::Aside { .. } => aside(&store, &args.command)?,
        VisitCommand::Take { .. } => return taking::take(&store, &args.command, out, err),
        VisitCommand::Refresh { client, data, json } => {
            let data = data.as_deref();
            return taking::refresh(&store, client.as_deref(), data, *json, out, err);
        }
        VisitCommand::Move { .. } => moving::run(&store, &args.command, out, err)?,
    }
    Ok(Exit::Done)
}

fn begin(
    store: &Store,
    command: &VisitCommand,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    let VisitCommand::Begin {
        client,
        label,
        date,
        answers,
    } = command
    else {
        return Ok(());
    };
    let code = store.code_of(client)?;
    let mut visit = book::empty_visit(
        label
            .clone()
            .map_or_else(|| book::next_label(store, &code), Ok)?,
        date.unwrap_or_else(book::today),
    );
    put(&mut visit, answers);
    store.add_visit(&code, &visit, book::why(""))?;
    writeln!(out, "{}", visit.session).map_err(CommandError::Output)?;
    warn(&visit, err);
    Ok(())
}

fn aside(store: &Store, command: &VisitCommand) -> Result<(), CommandError> {
    let VisitCommand::Aside {
        client,
        run,
        raise,
        visit,
        again,
        because,
    } = command
    else {
        return Ok(());
    };
    let code = store.code_of(client)?;
    let session = book::session(store, &code, visit.as_deref())?;
    let recording = format!("sub-{code}/ses-{session}/run-{run}");
    let why = book::why(because);
    Ok(store.set_aside(&code, &session, &recording, *raise, !again, why)?)
}

fn put(visit: &mut Visit, answers: &Answers) {
    let is_yes = |answer: Option<YesNo>| answer.map(|answer| answer == YesNo::Yes);
    if let Some(cautions) = &answers.cautions {
        visit.has_asked_cautions = true;
        visit.cautions.clone_from(&cautions.0);
    }
    visit.feels_tight = is_yes(answers.tight).or(visit.feels_tight);
    visit.is_quiet = is_yes(answers.quiet).or(visit.is_quiet);
    visit.pain = answers.pain.or(visit.pain);
    for (place, text) in [
        (&mut visit.pull_felt, &answers.pull_felt),
        (&mut visit.warm_up, &answers.warm_up),
        (&mut visit.notes, &answers.notes),
    ] {
        if let Some(text) = text {
            place.clone_from(text);
        }
    }
}

/// Tells what forbids testing, in the words of the cautions; gives no reassurance.
fn warn(visit: &Visit, err: &mut dyn Write) {
    for caution in &visit.cautions {
        drop(writeln!(err, "caution: {}", wording::caution(*caution)));
    }
    if !visit.has_asked_cautions {
        drop(writeln!(
            err,
            "visit {}: the cautions were not asked yet; `legraise cautions`, then --cautions none, or which",
            visit.session
        ));
    }
}

fn practised(
    store: &Store,
    (client, visit): (&str, Option<&str>),
    drill: &str,
    ended: Option<DateTime>,
    notes: &str,
    because: &str,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    let code = store.code_of(client)?;
    let session = book::session(store, &code, visit)?;
    let drill = book::drill_named(store, drill, err)?;
    let now = Zoned::now().datetime();
    // At a visit of another day the time of the drill isn't known unless it is said.
    let is_today = store.visit(&code, &session)?.date == now.date();
    let done = DrillDone {
        key: drill.id,
        name: drill.name,
        ended: ended.or_else(|| is_today.then_some(now)),
        notes: notes.to_owned(),
    };
    Ok(store.set_drill(&code, &session, &done, book::why(because))?)
}

fn show(visit: &Visit, out: &mut dyn Write) -> Result<(), CommandError> {
    let mut lines = vec![format!("visit {}  {}", visit.session, visit.date)];
    let yes_no = |is: Option<bool>| is.map(|is| if is { "yes" } else { "no" }.to_owned());
    let cautions: Vec<&str> = visit.cautions.iter().map(|c| c.as_str()).collect();
    let asked = match (visit.has_asked_cautions, cautions.is_empty()) {
        (false, _) => "not asked".to_owned(),
        (true, true) => "asked, none".to_owned(),
        (true, false) => cautions.join(", "),
    };
    for (what, text) in [
        ("cautions", Some(asked)),
        ("feels tight", yes_no(visit.feels_tight)),
        ("other signs quiet", yes_no(visit.is_quiet)),
        ("pain", visit.pain.map(|pain| format!("{pain} of 10"))),
        ("pull felt", Some(visit.pull_felt.clone())),
        ("warm-up", Some(visit.warm_up.clone())),
        ("notes", Some(visit.notes.clone())),
    ] {
        if let Some(text) = text.filter(|text| !text.is_empty()) {
            lines.push(format!("  {what}: {text}"));
        }
    }
    for round in &visit.rounds {
        lines.extend(round_lines(round));
    }
    if let Some(drill) = &visit.drill {
        let ended = drill
            .ended
            .map_or_else(String::new, |at| format!(", ended {at}"));
        let notes = if drill.notes.is_empty() {
            String::new()
        } else {
            format!("; {}", drill.notes)
        };
        lines.push(format!("  drill: {}{ended}{notes}", drill.name));
    }
    writeln!(out, "{}", lines.join("\n")).map_err(CommandError::Output)
}

/// A round, a line a raise.
fn round_lines(round: &KeptRound) -> Vec<String> {
    let mut lines = vec![format!(
        "  {} ({})",
        round.recording,
        round.purpose.as_str()
    )];
    for (at, raise) in round.raises.iter().enumerate() {
        let end = raise.end_point.as_ref().map_or_else(
            || "no end point".to_owned(),
            |end| {
                format!(
                    "{:.1} ± {:.1}, {}",
                    end.angle.value,
                    end.angle.expanded,
                    wording::reason(end.reason)
                )
            },
        );
        let flags: Vec<&str> = raise.flags.iter().copied().map(Flag::as_str).collect();
        let flags = if flags.is_empty() {
            String::new()
        } else {
            format!(" [{}]", flags.join(", "))
        };
        let aside = round.set_aside.iter().find(|(place, _)| *place == at);
        let aside = aside.map_or_else(String::new, |(_, why)| format!("; set aside: {why}"));
        lines.push(format!(
            "    {} {}: {end}{flags}{aside}",
            at + 1,
            raise.side
        ));
    }
    lines
}
