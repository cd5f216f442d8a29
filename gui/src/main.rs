//! The program `legraise`: arguments in, a command run, an exit status out.

mod analyse;
mod args;
#[cfg(feature = "book")]
mod book;
mod commands;
mod contain;
mod drills;
mod error;
#[cfg(feature = "pdf")]
mod fonts;
mod live;
mod output;
#[cfg(feature = "phone")]
mod pacing;
#[cfg(feature = "phone")]
mod pages;
mod private_file;
mod profiles;
mod progress;
mod results;
mod selector;
mod source;
mod table;
#[cfg(feature = "window")]
mod window;
mod wording;

use std::io::{self, IsTerminal as _, Write};
use std::process::ExitCode;

use clap::Parser as _;

use args::{Cli, Command};
use error::{CommandError, Exit};

fn main() -> ExitCode {
    contain::keep_faults_quiet();
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(e) => {
            drop(e.print()); // help into a closed pipe is no error
            return if e.use_stderr() {
                Exit::Usage
            } else {
                Exit::Done
            }
            .into();
        }
    };
    let watched = Watched {
        out: io::stdout().is_terminal(),
        err: io::stderr().is_terminal(),
    };
    run(&cli, &mut io::stdout().lock(), &mut io::stderr(), watched).into()
}

/// Which outputs are terminals, that somebody watches.
#[derive(Clone, Copy, Debug, Default)]
struct Watched {
    out: bool,
    err: bool,
}

/// Runs a command. Data goes to `out`, all else to `err`; progress is shown only where somebody watches.
fn run(cli: &Cli, out: &mut dyn Write, err: &mut dyn Write, watched: Watched) -> Exit {
    #[cfg(feature = "window")]
    if cli.book.is_some() && cli.command.is_some() {
        // Quietly taking another casebook than was said would be worse.
        drop(writeln!(
            err,
            "--book: before a command it is the window's; say it after the command"
        ));
        return Exit::Usage;
    }
    let done = match &cli.command {
        #[cfg(feature = "window")]
        None => Ok(window::open(cli.book.as_deref(), err)),
        #[cfg(not(feature = "window"))]
        None => Ok(commands::no_window(
            err,
            "the window is not in this build of the program; build it with the feature `window`",
        )),
        Some(Command::Replay(args)) => commands::replay::run(args, out, err, watched.err),
        Some(Command::Live(args)) => commands::live::run(args, out, err, watched.out),
        Some(Command::Calibrate(args)) => commands::calibrate::run(args, out, err, watched.out),
        #[cfg(feature = "ble")]
        Some(Command::Sensors(args)) => commands::sensors::run(args, out),
        Some(Command::Tilt(args)) => commands::tilt::run(args, out, err),
        Some(Command::Simulate(args)) => commands::simulate::run(args, out, err, watched.err),
        Some(Command::Profile(args)) => commands::profile::run(args, out, err),
        Some(Command::Report(args)) => commands::report::run(args, out, err),
        Some(Command::Share(args)) => commands::share::run(args, out, err),
        Some(Command::App(args)) => commands::app::run(args, err),
        Some(Command::Pace(args)) => commands::pace::run(args, out, err),
        Some(Command::Cautions) => commands::cautions(out),
        #[cfg(feature = "book")]
        Some(Command::Book(args)) => commands::book::run(args, out, err),
        #[cfg(feature = "book")]
        Some(Command::Client(args)) => commands::client::run(args, out, err),
        #[cfg(feature = "book")]
        Some(Command::Visit(args)) => commands::visit::run(args, out, err),
        #[cfg(feature = "book")]
        Some(Command::Decide(args)) => commands::decide::run(args, out, err),
        #[cfg(feature = "book")]
        Some(Command::Recheck(args)) => commands::recheck::run(args, out, err),
        #[cfg(feature = "book")]
        Some(Command::Course(args)) => commands::course::run(args, out, err),
        #[cfg(feature = "book")]
        Some(Command::Plan(args)) => commands::plan::run(args, out, err),
        #[cfg(feature = "book")]
        Some(Command::Bands(args)) => commands::settings::bands(args, out, err),
        #[cfg(feature = "book")]
        Some(Command::Rules(args)) => commands::settings::rules(args, out, err),
    };
    match done.and_then(|exit| out.flush().map_err(CommandError::Output).map(|()| exit)) {
        Ok(exit) => exit,
        Err(e) if e.is_closed_pipe() => Exit::Done,
        Err(e) => {
            drop(writeln!(err, "{e}")); // nowhere left to tell that nobody listens
            e.exit()
        }
    }
}

#[cfg(test)]
mod tests;
