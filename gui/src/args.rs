//! The command line: what can be asked, and the help that says so.

mod app;
#[cfg(feature = "book")]
mod book;
#[cfg(feature = "book")]
mod client;
mod conditions;
#[cfg(feature = "book")]
mod course;
mod examples;
mod pace;
mod records;
#[cfg(feature = "book")]
mod visit;

#[cfg(feature = "phone")]
use std::net::IpAddr;
use std::num::NonZeroUsize;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use fusion::calibrate::FacesWanted;

pub(crate) use app::{AppArgs, Level};
#[cfg(feature = "book")]
pub(crate) use book::{BandsArgs, BookArgs, BookCommand, BookFile, RulesArgs};
#[cfg(feature = "book")]
pub(crate) use client::{ClientArgs, ClientCommand, Texts};
pub(crate) use conditions::{Ankle, AskedFor, Movement};
#[cfg(feature = "book")]
pub(crate) use course::{CourseArgs, DecideArgs, PlanArgs};
#[cfg(feature = "ble")]
use examples::SENSORS_EXAMPLES;
use examples::{
    CALIBRATE_EXAMPLES, DECODE_EXAMPLES, EXAMPLES, LIVE_EXAMPLES, PROFILE_EXAMPLES,
    REPLAY_EXAMPLES, SIMULATE_EXAMPLES, TILT_EXAMPLES,
};
pub(crate) use pace::PaceArgs;
#[cfg(feature = "window")]
pub(crate) use records::ForWhom;
pub(crate) use records::{DatesChoice, Form, MadeArgs, ReportArgs, ShareArgs};
#[cfg(feature = "book")]
pub(crate) use visit::{Answers, VisitCommand, VisitsArgs, YesNo};

/// Measures how far a straight leg is raised, from motion sensors strapped to the shins.
#[derive(Debug, Parser)]
#[command(name = "legraise", version, after_help = EXAMPLES, max_term_width = 100)]
pub(crate) struct Cli {
    /// What to do; the window if nothing is said.
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
    /// The casebook that the window opens [default: the variable `LEGRAISE_BOOK`, or casebook.db in this user's folder for data]
    #[cfg(feature = "window")]
    #[arg(long = "book", id = "window-book", value_name = "FILE")]
    pub(crate) book: Option<PathBuf>,
}

/// What can be done without the window.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Analyse recordings: the angle of every raise, with its uncertainty and why it ended
    Replay(ReplayArgs),
    /// Show the angle while the leg is raised, and record it
    Live(LiveArgs),
    /// Calibrate a sensor against a flat surface, face by face
    Calibrate(CalibrateArgs),
    /// List the Bluetooth sensors that are near
    #[cfg(feature = "ble")]
    Sensors(SensorsArgs),
    /// Print one sensor's orientation over time as CSV
    Tilt(TiltArgs),
    /// Write an invented data set with its results
    Simulate(SimulateArgs),
    /// List, check and try out sensor profiles
    Profile(ProfileArgs),
    /// Put a client's course into a report, a table, a line to paste, or a health record
    Report(ReportArgs),
    /// Make a copy of recordings that may be passed on, without what tells who and when
    Share(ShareArgs),
    /// Analyse a whole data set, called as BIDS Apps are
    App(AppArgs),
    /// Show a drill stretch by stretch, when each is due, and on a phone if wanted
    Pace(PaceArgs),
    /// Print when not to test, and when to stop
    Cautions,
    /// Make, check, back up and restore the casebook
    #[cfg(feature = "book")]
    Book(BookArgs),
    /// Who the clients are: add, find, edit, merge, forget, hand over
    #[cfg(feature = "book")]
    Client(ClientArgs),
    /// What was asked, measured and practised at a visit
    #[cfg(feature = "book")]
    Visit(VisitsArgs),
    /// Say what a round says: means, bands with their chances, drills
    #[cfg(feature = "book")]
    Decide(DecideArgs),
    /// Hold the round after a drill against the one before
    #[cfg(feature = "book")]
    Recheck(DecideArgs),
    /// Say how a client's legs went over the visits
    #[cfg(feature = "book")]
    Course(CourseArgs),
    /// Set what a client works on
    #[cfg(feature = "book")]
    Plan(PlanArgs),
    /// Show or set your bands
    #[cfg(feature = "book")]
    Bands(BandsArgs),
    /// Show or set the rules by which the casebook decides
    #[cfg(feature = "book")]
    Rules(RulesArgs),
}

/// `legraise replay`.
#[derive(Debug, Args)]
#[command(after_help = REPLAY_EXAMPLES)]
pub(crate) struct ReplayArgs {
    /// Files, runs, clients or data sets
    #[arg(required = true, value_name = "PATH")]
    pub(crate) paths: Vec<PathBuf>,
    /// Print one JSON object instead of the table
    #[arg(long)]
    pub(crate) json: bool,
    /// Add the parts of every uncertainty to the JSON object
    #[arg(long, requires = "json")]
    pub(crate) budget: bool,
    /// Recordings analysed at a time [default: one a processor]
    #[arg(short, long, value_name = "N")]
    pub(crate) jobs: Option<NonZeroUsize>,
    /// Tell only errors, no oddities and no progress
    #[arg(short, long)]
    pub(crate) quiet: bool,
}

/// `legraise live`.
#[derive(Debug, Args)]
#[command(after_help = LIVE_EXAMPLES)]
pub(crate) struct LiveArgs {
    /// Where each sensor sits and what it is
    #[arg(required = true, value_name = "PLACEMENT=SELECTOR")]
    pub(crate) sources: Vec<String>,
    /// Print one JSON object a reading
    #[arg(long)]
    pub(crate) json: bool,
    /// How long, s; until stopped (Ctrl-C) without
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=14_400))]
    pub(crate) seconds: Option<u32>,
    /// Add a hand marker: a phone's page with one button, for the first pull
    #[arg(long)]
    pub(crate) marker: bool,
    /// This computer's address at which phones find their page [default: the likeliest one]
    #[cfg(feature = "phone")]
    #[arg(long, value_name = "IP")]
    pub(crate) page_address: Option<IpAddr>,
    /// Whose recording it is.
    #[command(flatten)]
    pub(crate) visit: VisitArgs,
    /// Who moves the leg
    #[arg(long, value_name = "WORD", requires = "data")]
    pub(crate) movement: Option<Movement>,
    /// How the ankle is held
    #[arg(long, value_name = "WORD", requires = "data")]
    pub(crate) ankle: Option<Ankle>,
    /// What the raise goes to
    #[arg(long, value_name = "WORD", requires = "data")]
    pub(crate) asked_for: Option<AskedFor>,
    /// A code for who measures; never a name
    #[arg(long, value_name = "CODE", requires = "data")]
    pub(crate) rater: Option<String>,
    /// The casebook that tells whether the client may be recorded.
    #[cfg(feature = "book")]
    #[command(flatten)]
    pub(crate) file: BookFile,
}

/// The client of recordings that are nobody's.
pub(crate) const NOBODY: &str = "trial";

/// Whose recording it is, and where it is kept.
#[derive(Debug, Args)]
pub(crate) struct VisitArgs {
    /// Record into this data set, created where there is none
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
    /// The client's pseudonym, letters and digits
    #[arg(long, value_name = "LABEL", default_value = NOBODY, requires = "data")]
    pub(crate) client: String,
    /// The visit's label, letters and digits
    #[arg(long, value_name = "LABEL", default_value = "01", requires = "data")]
    pub(crate) visit: String,
}

/// How many faces of a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum FacesChoice {
    /// Two opposite ones
    #[value(name = "2")]
    Pair,
    /// All
    #[value(name = "6")]
    Six,
}

impl From<FacesChoice> for FacesWanted {
    fn from(choice: FacesChoice) -> Self {
        match choice {
            FacesChoice::Pair => Self::Pair,
            FacesChoice::Six => Self::Six,
        }
    }
}

/// `legraise calibrate`.
#[derive(Debug, Args)]
#[command(after_help = CALIBRATE_EXAMPLES)]
pub(crate) struct CalibrateArgs {
    /// Where the sensor will sit, and what it is
    #[arg(value_name = "PLACEMENT=SELECTOR")]
    pub(crate) source: String,
    /// How many faces: two opposite ones, or all six
    #[arg(long, value_name = "N", default_value = "6")]
    pub(crate) faces: FacesChoice,
    /// This computer's address at which a phone finds its page [default: the likeliest one]
    #[cfg(feature = "phone")]
    #[arg(long, value_name = "IP")]
    pub(crate) page_address: Option<IpAddr>,
    /// Whose recording it is.
    #[command(flatten)]
    pub(crate) visit: VisitArgs,
}

/// `legraise sensors`.
#[cfg(feature = "ble")]
#[derive(Debug, Args)]
#[command(after_help = SENSORS_EXAMPLES)]
pub(crate) struct SensorsArgs {
    /// A profile besides those that come with the program; may be given several times
    #[arg(long = "profile", value_name = "FILE")]
    pub(crate) profiles: Vec<PathBuf>,
    /// How long to look, s
    #[arg(long, value_name = "N", default_value_t = 5, value_parser = clap::value_parser!(u32).range(1..=120))]
    pub(crate) seconds: u32,
}

/// `legraise tilt`.
#[derive(Debug, Args)]
#[command(after_help = TILT_EXAMPLES)]
pub(crate) struct TiltArgs {
    /// A file of samples, with its _channels.tsv and _motion.json beside it
    #[arg(value_name = "FILE")]
    pub(crate) file: PathBuf,
    /// Use only the past, as during a recording; without it the whole file is smoothed
    #[arg(long)]
    pub(crate) live: bool,
    /// The tracked point, where the file holds several
    #[arg(long, value_name = "NAME")]
    pub(crate) point: Option<String>,
}

/// `legraise simulate`.
#[derive(Debug, Args)]
#[command(after_help = SIMULATE_EXAMPLES)]
pub(crate) struct SimulateArgs {
    /// The folder to write, new or empty
    #[arg(value_name = "DIR")]
    pub(crate) folder: PathBuf,
    /// Tell only errors
    #[arg(short, long)]
    pub(crate) quiet: bool,
}

/// `legraise profile`.
#[derive(Debug, Args)]
#[command(after_help = PROFILE_EXAMPLES)]
pub(crate) struct ProfileArgs {
    /// What to do with it.
    #[command(subcommand)]
    pub(crate) command: ProfileCommand,
}

/// What can be done with sensor profiles.
#[derive(Debug, Subcommand)]
pub(crate) enum ProfileCommand {
    /// List the profiles that come with the program
    List {
        /// Print one JSON object instead of the table
        #[arg(long)]
        json: bool,
    },
    /// Print the text of a profile that comes with the program
    Show {
        /// Its name
        #[arg(value_name = "NAME")]
        name: String,
    },
    /// Check a profile, and say what it means
    Check {
        /// A file or a name
        #[arg(value_name = "PROFILE")]
        profile: PathBuf,
    },
    /// Decode packets given in hex
    Decode(DecodeArgs),
}

/// `legraise profile decode`.
#[derive(Debug, Args)]
#[command(after_help = DECODE_EXAMPLES)]
pub(crate) struct DecodeArgs {
    /// A file or a name
    #[arg(value_name = "PROFILE")]
    pub(crate) profile: PathBuf,
    /// Packets in hex, or - for standard input
    #[arg(required = true, value_name = "PACKET")]
    pub(crate) packets: Vec<String>,
    /// The rate that the sensor was told [default: the profile's nominal one]
    #[arg(long, value_name = "HZ")]
    pub(crate) rate: Option<f64>,
    /// Print one JSON object instead of the table
    #[arg(long)]
    pub(crate) json: bool,
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory as _;

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn help_shows_examples_and_the_intended_use() {
        let help = Cli::command().render_long_help().to_string();
        assert!(
            help.contains("Examples:") && help.contains("it does not diagnose"),
            "{help}"
        );
        for name in [
            "replay", "live", "tilt", "simulate", "profile", "report", "share",
        ] {
            let mut command = Cli::command();
            let sub = command.find_subcommand_mut(name).unwrap();
            let help = sub.render_long_help().to_string();
            assert!(
                help.contains("Example") && help.lines().all(|line| line.chars().count() <= 100),
                "{help}"
            );
        }
    }

    #[test]
    fn wrong_usage_is_refused() {
        for line in [
            "replay",
            "replay a --jobs 0",
            "tilt",
            "replay a --budget",
            "nonsense",
            "replay a --what",
            "live",
            "live shinleft=synthetic:slow --seconds 0",
        ] {
            assert!(
                Cli::try_parse_from(["legraise"].into_iter().chain(line.split(' '))).is_err(),
                "{line}"
            );
        }
        assert!(
            Cli::try_parse_from([
                "legraise", "replay", "a", "b", "--json", "--jobs", "2", "-q"
            ])
            .is_ok()
        );
        assert!(Cli::try_parse_from(["legraise"]).is_ok());
    }
}
