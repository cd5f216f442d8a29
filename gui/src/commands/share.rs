//! `legraise share`: recordings that may be passed on.

use std::io::Write;
use std::path::Path;

use casebook::export::share::{ALWAYS_LEFT_OUT, Dates, Share, Shared, share};

use super::tell;
use crate::args::{DatesChoice, ShareArgs};
use crate::error::{CommandError, Exit};

/// Makes the data set, and prints what was taken out.
pub(crate) fn run(
    args: &ShareArgs,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let shared = of(&args.data, &args.out, &args.clients, args.dates)?;
    tell(err, &shared.unread);
    print(out, args, &shared).map_err(CommandError::Output)?;
    Ok(if shared.unread.is_empty() {
        Exit::Done
    } else {
        Exit::Incomplete
    })
}

/// Recordings of these clients, or of all, with what names or dates them taken out.
pub(crate) fn of(
    from: &Path,
    to: &Path,
    clients: &[String],
    dates: DatesChoice,
) -> Result<Shared, CommandError> {
    // Drawn anew each time and forgotten with the program: nobody can move the dates back.
    let secret = |_: &str| getrandom::u32().map_err(std::io::Error::other);
    let dates = match dates {
        DatesChoice::Shifted => Dates::Shifted(&secret),
        DatesChoice::Year => Dates::Year,
        DatesChoice::None => Dates::Left,
    };
    Ok(share(from, to, &Share { clients, dates })?)
}

fn print(out: &mut dyn Write, args: &ShareArgs, shared: &Shared) -> std::io::Result<()> {
    writeln!(
        out,
        "{}: {} clients, {} recordings; taken out or changed:",
        args.out.display(),
        shared.client_count,
        shared.run_count
    )?;
    for removed in &shared.removed {
        writeln!(out, "  - {}", removed.as_sentence())?;
    }
    writeln!(out, "  - {ALWAYS_LEFT_OUT}")
}
