//! `legraise plan`: what a client works on.

use std::io::Write;

use casebook::course::Plan;
use casebook::wording;
use sensor::Side;

use crate::args::PlanArgs;
use crate::book;
use crate::error::{CommandError, Exit};

/// Sets it.
pub(crate) fn run(
    args: &PlanArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let store = book::open(&args.file, err)?;
    let code = store.code_of(&args.client)?;
    let side = Side::from(args.side);
    let plan = Plan {
        band: usize::from(args.band - 1),
        since: Some(args.since.unwrap_or_else(book::today)),
    };
    store.set_plan(&code, side, plan, book::why(&args.because))?;
    writeln!(
        out,
        "{code}: {side} drills for {}\n{}\n{}",
        store.bands()?.label(plan.band),
        wording::BANDS,
        wording::ADVICE
    )
    .map_err(CommandError::Output)?;
    Ok(Exit::Done)
}
