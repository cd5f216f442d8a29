//! `legraise live`: provisional readings while a leg is raised, and a record of the run.

mod big;
mod keys;
mod show;

use std::io::{self, IsTerminal as _, Write};
use std::path::Path;

use fusion::Settings;
use sensor::bids::RunFiles;
use sensor::{Conditions, RecordingId};

use super::replay::messages;
use super::tell;
use crate::analyse::analyse;
use crate::args::{LiveArgs, VisitArgs};
use crate::error::{CommandError, Exit};
use crate::live::{self, Command, Handle, News, Plan, Task, Visit, Wall};
use crate::selector::sources;
#[cfg(feature = "book")]
use crate::selector::{Asked, Selector};
use crate::table::write_table;
use show::Show;

/// Streams readings until the time is over, somebody stops it, or nobody reads them any more; what came is recorded
/// in any case.
pub(crate) fn run(
    args: &LiveArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
    is_watched: bool,
) -> Result<Exit, CommandError> {
    let sources = sources(&args.sources)?;
    #[cfg(feature = "book")]
    {
        let is_sensor =
            |asked: &Asked| matches!(asked.selector, Selector::Ble(_) | Selector::Phone);
        let is_measured = sources.iter().any(is_sensor);
        crate::book::check_recording(&args.file, &args.visit, is_measured, err)?;
    }
    let run = live::start(Plan {
        sources,
        task: Task::Raises,
        visit: visit(&args.visit),
        conditions: Conditions {
            movement: args.movement.map(|word| word.as_str().to_owned()),
            ankle: args.ankle.map(|word| word.as_str().to_owned()),
            asked_for: args.asked_for.map(|word| word.as_str().to_owned()),
            rater: args.rater.clone(),
        },
        seconds: args.seconds,
        with_marker: args.marker,
        #[cfg(feature = "phone")]
        page_ip: args.page_address,
        wall: Wall::default(),
        heeds_signals: true,
    })?;
    if is_watched && io::stdin().is_terminal() {
        keys::read(run.commands.clone())?;
    }
    let shown = watch(&run, &mut Show::new(out, args.json, is_watched), err);
    let outcome = run.join();
    if let Ok(outcome) = &outcome
        && 0 < outcome.dropped_count
    {
        let count = outcome.dropped_count;
        drop(writeln!(
            err,
            "output: {count} readings were not taken in time, left out there; read faster"
        ));
    }
    let outcome = outcome?;
    kept(args.visit.data.as_deref(), &outcome, err);
    let shown = shown.and_then(|()| match (&args.visit.data, &outcome.recorded) {
        (Some(root), Some(id)) if !args.json => results(root, id, out, err),
        _ => Ok(()),
    });
    match shown.map_err(CommandError::Output) {
        Err(e) if e.is_closed_pipe() => Ok(Exit::Done),
        shown => shown.map(|()| Exit::Done),
    }
}

/// What the analysis makes of the recording: the same as `legraise replay` will print.
fn results(
    root: &Path,
    id: &RecordingId,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> io::Result<()> {
    let files: Vec<RunFiles> = RunFiles::in_set(root, id).into_iter().collect();
    match analyse(&files, &Settings::default(), None, false) {
        Ok(outcomes) => {
            tell(err, messages(&outcomes, false));
            write_table(out, &outcomes)
        }
        Err(e) => {
            drop(writeln!(err, "{e}")); // the recording is there all the same
            Ok(())
        }
    }
}

/// Whose recording it will be, if one is kept.
pub(super) fn visit(args: &VisitArgs) -> Option<Visit> {
    args.data.as_ref().map(|root| Visit {
        root: root.clone(),
        client: args.client.clone(),
        session: args.visit.clone(),
    })
}

/// Says where the recording lies.
pub(super) fn kept(root: Option<&Path>, outcome: &live::Outcome, err: &mut dyn Write) {
    let Some(root) = root.map(Path::display) else {
        return;
    };
    // It lies there, told or not.
    drop(match &outcome.recorded {
        Some(id) => writeln!(err, "{root}: recorded {id}"),
        None => writeln!(err, "{root}: nothing was sent, so nothing was recorded"),
    });
}

/// Shows what comes, until the run has ended or can't be shown any more.
fn watch(run: &Handle, show: &mut Show<'_>, err: &mut dyn Write) -> io::Result<()> {
    for news in &run.news {
        if let Err(e) = show.take(&news, err) {
            // Nobody looks any more; the run ends as if it had been asked to.
            drop(run.commands.blocking_send(Command::Stop));
            for news in &run.news {
                if let News::Told(text) = news {
                    drop(writeln!(err, "{text}"));
                }
            }
            return Err(e);
        }
    }
    show.end()
}
