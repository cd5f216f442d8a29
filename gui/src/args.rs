//! The command line: what can be asked, and the help that says so.

mod records;

#[cfg(feature = "phone")]
use std::net::IpAddr;
use std::num::NonZeroUsize;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use fusion::calibrate::FacesWanted;

pub(crate) use records::{DatesChoice, Form, MadeArgs, ReportArgs, ShareArgs};

const EXAMPLES: &str = "\
Examples:
  legraise simulate demo                          write an invented data set to try things on
  legraise replay demo                            a table of all its raises
  legraise replay demo/sub-marbul --json          one client, for other programs
  legraise tilt FILE_motion.tsv > tilt.csv        one sensor's orientation over time
  legraise cautions                               when not to test, and when to stop

Exit status: 0 done; 1 a recording could not be analysed (the others are printed); 2 wrong usage.

Shows and records the angle to which a straight leg is raised;
it does not diagnose, predict, treat or decide.";

const REPLAY_EXAMPLES: &str = "\
A PATH is a file, a run's folder, a client or a whole data set. Below a folder all task-legraise
runs count; a file of another task only when it is named itself. Any file of a run names the whole
run. Runs are calibrated by the flat recordings (task-flat) of their session, wherever the PATH
points.

Examples:
  legraise replay data                            every run of a data set, as a table
  legraise replay data/sub-marbul/ses-01          one visit
  legraise replay data --json > angles.json       one JSON object, for other programs
  legraise replay data --json --budget            with the parts of every uncertainty
  legraise replay data --jobs 1 -q                on one core, only errors told

Exit status: 0 done; 1 a recording, or a sensor's file of it, could not be read or analysed, or none
was found; 2 a PATH that isn't there, or wrong usage.";

const TILT_EXAMPLES: &str = "\
Prints `t_s,w,x,y,z`, a row for each sample that was accepted: the unit quaternion that turns sensor
axes into earth axes (v_earth = q v_sensor q*), earth with z up and an arbitrary heading. It knows
nothing of legs.

Examples:
  legraise tilt sub-01_task-legraise_tracksys-shinright_run-01_motion.tsv > tilt.csv
  legraise tilt recording_motion.tsv --live       the causal filter: each row uses only the rows before it
  legraise tilt recording_motion.tsv --point foot one of several sensors in a file

Exit status: 0 done; 1 the file can't be read; 2 it isn't there, or wrong usage.";

const LIVE_EXAMPLES: &str = "\
A source is PLACEMENT=SELECTOR. Placements: shinleft, shinright, thighleft, thighright, pelvis; at
least one shin. Selectors:
  ble:PROFILE[,name=NAME][,rate=HZ]     a sensor over Bluetooth; PROFILE is a file, or the name of a
                                        shipped one (`legraise profile list`)
  phone:                                a phone strapped to the leg, through a page
  file:FILE[,fast]                      a recording, played again
  synthetic:KIND[,seed=N][,fast]        an invented person whose KIND is slow, brisk or compensating;
                                        the first shin named is the one raised
With `fast` the readings come at once instead of in real time.

With --json a line is {t_s, side, angle_deg, uncertainty_deg, state, flags}. Readings are
provisional: `legraise replay` gives the results of what --data recorded.

Examples:
  legraise live shinright=synthetic:slow          the angle, rewritten in place
  legraise live shinright=synthetic:slow,seed=3 shinleft=synthetic:slow,seed=3 --json
  legraise live shinright=synthetic:brisk,fast --json --seconds 60 --data recorded

Exit status: 0 done, also where the reader of the output has gone; 1 it could not be recorded;
2 wrong usage.";

const CALIBRATE_EXAMPLES: &str = "\
Lay the sensor on a hard, flat surface, face after face, three seconds each: two opposite faces give
the offset of one axis, all six give offset and scale of all three. The order is free, the surface
need not be level. The recording calibrates every run of the same visit.

Examples:
  legraise calibrate shinright=ble:open-motion --data clinic --client c07 --visit 03
  legraise calibrate shinright=synthetic:slow,fast --faces 2 --data recorded

Exit status: 0 it can be used; 1 it can't, or could not be recorded; 2 wrong usage.";

#[cfg(feature = "ble")]
const SENSORS_EXAMPLES: &str = "\
Nothing is opened. What is of a known kind is listed with the words that open it; the other devices
with why they are of no use.

Examples:
  legraise sensors                                what is near
  legraise sensors --profile my.toml              with a profile of your own

Exit status: 0 done; 1 there is no Bluetooth here that may be used; 2 wrong usage.";

const SIMULATE_EXAMPLES: &str = "\
Four invented people over some weeks: stiff, average, very mobile, and one whose other leg gives
way. The recordings are written as a BIDS-Motion data set, read back, analysed, and the results put
under derivatives/legraise. The same version writes the same files. DIR must be new or empty.

Example:
  legraise simulate demo && legraise replay demo";

const PROFILE_EXAMPLES: &str = "\
A sensor profile says how a kind of Bluetooth sensor is found, started and decoded. PROFILE is a
TOML file, or the name of one that comes with the program. docs/sensor-profiles.md has all keys.

Examples:
  legraise profile list                           those that come with the program
  legraise profile show example-notify > my.toml  one of them, to copy from
  legraise profile check my.toml                  what is wrong in it, with line and mend
  legraise profile decode my.toml 'fe 00 08 00'   what a packet says; see its own help

Exit status: 0 done; 1 the profile can't be used, or a packet was left out; 2 it isn't there, or
wrong usage.";

const DECODE_EXAMPLES: &str = "\
Each PACKET is one notification in hex; bytes may be separated by spaces, commas, dashes or bars.
Before it may stand `@SECONDS`, when it arrived, and the stream's id or the characteristic's UUID
with a colon, which is needed where a profile has several. A value that was read from the device is
given the same way, with the UUID or the name of its [[read]]. `-` reads lines from standard input,
a packet each; blank lines and all after # are skipped.

Examples:
  legraise profile decode my.toml 'fe 00 08 00 f0 00 1c 8f 02 e1 fa ae 07'
  legraise profile decode two.toml 'acc: a0 0f 00 10 00 e0 00 38' 'gyro: a2 0f 48 01 71 fd d7 03'
  legraise profile decode open-motion --rate 200 --json - < dump.txt

Exit status: 0 done; 1 the profile can't be used, or a packet was left out; 2 it isn't there, no
hex, or wrong usage.";

/// Measures how far a straight leg is raised, from motion sensors strapped to the shins.
#[derive(Debug, Parser)]
#[command(name = "legraise", version, after_help = EXAMPLES, max_term_width = 100)]
pub(crate) struct Cli {
    /// What to do; the window if nothing is said.
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
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
    /// Print when not to test, and when to stop
    Cautions,
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
}

/// Whose recording it is, and where it is kept.
#[derive(Debug, Args)]
pub(crate) struct VisitArgs {
    /// Record into this data set, created where there is none
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
    /// The client's pseudonym, letters and digits
    #[arg(long, value_name = "LABEL", default_value = "trial", requires = "data")]
    pub(crate) client: String,
    /// The visit's label, letters and digits
    #[arg(long, value_name = "LABEL", default_value = "01", requires = "data")]
    pub(crate) visit: String,
}

/// Words for how a raise is done, as the files have them.
macro_rules! choices {
    ($(#[$about:meta])* $name:ident { $($(#[$what:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
        pub(crate) enum $name { $($(#[$what])* $variant,)+ }

        impl $name {
            /// The word in the files.
            pub(crate) const fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
        }
    };
}

choices! {
    /// Who moves the leg.
    Movement {
        /// The person
        Active = "active",
        /// The practitioner
        Passive = "passive",
    }
}

choices! {
    /// How the ankle is held.
    Ankle {
        /// Loose
        Relaxed = "relaxed",
        /// Toes towards the shin
        PulledUp = "pulled up",
        /// Toes away
        Pointed = "pointed",
    }
}

choices! {
    /// What the raise goes to.
    AskedFor {
        /// The first pull at the back of the thigh
        FirstPull = "first pull",
        /// As far as it goes
        Limit = "limit",
    }
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
