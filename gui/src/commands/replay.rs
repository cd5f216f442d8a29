//! `legraise replay`: recordings from disk, analysed and printed.

use std::io::{BufWriter, Write};

use fusion::Settings;

use super::tell;
use crate::analyse::{Outcome, analyse};
use crate::args::ReplayArgs;
use crate::error::{CommandError, Exit};
use crate::output::write_json;
use crate::source::find;
use crate::table::write_table;

/// Analyses all that was found; what can't be analysed stops nothing else.
pub(crate) fn run(
    args: &ReplayArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
    is_watched: bool,
) -> Result<Exit, CommandError> {
    let settings = Settings::default();
    let sources = find(&args.paths);
    tell(err, &sources.messages);
    if sources.runs.is_empty() && (sources.exit == Exit::Usage || !args.json) {
        return Ok(sources.exit);
    }
    let outcomes = analyse(
        &sources.runs,
        &settings,
        args.jobs,
        is_watched && !args.quiet,
    )?;
    let mut out = BufWriter::new(out);
    let written = if args.json {
        write_json(&mut out, &outcomes, &settings, args.budget)
    } else {
        write_table(&mut out, &outcomes)
    };
    let written = written
        .and_then(|()| out.flush())
        .map_err(CommandError::Output);
    tell(err, messages(&outcomes, args.quiet));
    let exit = sources.exit.max(exit_of(&outcomes));
    match written {
        Err(e) if e.is_closed_pipe() => Ok(exit),
        written => written.map(|()| exit),
    }
}

/// What is to be told of recordings, in their order.
pub(crate) fn messages(outcomes: &[Outcome], is_quiet: bool) -> impl Iterator<Item = &String> {
    outcomes.iter().flat_map(move |outcome| {
        let odd = if is_quiet {
            &[]
        } else {
            outcome.problems.as_slice()
        };
        outcome.error.iter().chain(odd)
    })
}

/// Incomplete where a recording, or a sensor of it, could not be analysed.
pub(crate) fn exit_of(outcomes: &[Outcome]) -> Exit {
    if outcomes.iter().any(|outcome| outcome.error.is_some()) {
        Exit::Incomplete
    } else {
        Exit::Done
    }
}
