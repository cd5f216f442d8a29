//! `legraise visit`.

use std::path::PathBuf;

use casebook::Caution;
use casebook::record::Purpose;
use clap::{Args, Subcommand, ValueEnum};
use jiff::civil::{Date, DateTime};

use super::BookFile;

const VISIT_EXAMPLES: &str = "\
CLIENT is the code, or words that only that client has. A visit is named by its label; without, the
latest one is meant. Ask the cautions first (`legraise cautions`): without that nothing is taken.

Examples:
  legraise visit begin ruiz --cautions none --tight yes --pain 2 --pull-felt 'back of the thigh'
  legraise visit take ruiz                        all new recordings of the visit
  legraise visit drill ruiz heel-dug-bridge-hold --notes 'two sets'
  legraise visit take ruiz --for recheck
  legraise visit aside ruiz 01 3 --because 'coughed'
  legraise visit refresh                          work all kept results out again from the recordings
  legraise visit move ruiz 02 01 hkwopa --because 'wrong client'

Exit status: 0 done; 1 a recording could not be analysed, or it could not be done; 2 wrong usage.";

/// `legraise visit`.
#[derive(Debug, Args)]
#[command(after_help = VISIT_EXAMPLES)]
pub(crate) struct VisitsArgs {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: VisitCommand,
    /// Which casebook.
    #[command(flatten)]
    pub(crate) file: BookFile,
}

/// An answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum YesNo {
    /// Yes.
    Yes,
    /// No.
    No,
}

/// What a round is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PurposeChoice {
    /// Before any drill
    First,
    /// Right after the drill
    Recheck,
    /// Any other
    Further,
}

impl From<PurposeChoice> for Purpose {
    fn from(choice: PurposeChoice) -> Self {
        match choice {
            PurposeChoice::First => Self::First,
            PurposeChoice::Recheck => Self::Recheck,
            PurposeChoice::Further => Self::Further,
        }
    }
}

/// What is asked at a visit.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct Answers {
    /// Cautions answered with yes, separated by commas, or `none`
    #[arg(long, value_name = "WORDS", value_parser = cautions)]
    pub(crate) cautions: Option<Cautions>,
    /// Whether the legs feel tight, in the client's own word
    #[arg(long, value_name = "WORD")]
    pub(crate) tight: Option<YesNo>,
    /// Whether other signs (pain, tingling, sleep) are quiet
    #[arg(long, value_name = "WORD")]
    pub(crate) quiet: Option<YesNo>,
    /// Pain, 0 to 10
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(0..=10))]
    pub(crate) pain: Option<u8>,
    /// Where the pull was felt
    #[arg(long, value_name = "TEXT")]
    pub(crate) pull_felt: Option<String>,
    /// Warm-up before the first round
    #[arg(long, value_name = "TEXT")]
    pub(crate) warm_up: Option<String>,
    /// Notes
    #[arg(long, value_name = "TEXT")]
    pub(crate) notes: Option<String>,
}

/// Cautions as given on the command line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Cautions(pub(crate) Vec<Caution>);

fn cautions(text: &str) -> Result<Cautions, String> {
    if text.trim() == "none" {
        return Ok(Cautions(Vec::new()));
    }
    let word = |word: &str| {
        let mut all = Caution::ALL.into_iter();
        all.find(|caution| caution.as_str() == word).ok_or_else(|| {
            let known: Vec<&str> = Caution::ALL.iter().map(|c| c.as_str()).collect();
            format!(
                "{word:?} is no caution; use none, or some of {}",
                known.join(", ")
            )
        })
    };
    let words = text.split(',').map(str::trim);
    words.map(word).collect::<Result<_, _>>().map(Cautions)
}

/// What can be done with visits.
#[derive(Debug, Subcommand)]
pub(crate) enum VisitCommand {
    /// Begin a visit
    Begin {
        /// Whose
        #[arg(value_name = "CLIENT")]
        client: String,
        /// Its label [default: the next free number]
        #[arg(long, value_name = "LABEL")]
        label: Option<String>,
        /// When [default: today]
        #[arg(long, value_name = "DATE")]
        date: Option<Date>,
        /// What was asked.
        #[command(flatten)]
        answers: Answers,
    },
    /// Note what was asked or felt
    Note {
        /// Whose
        #[arg(value_name = "CLIENT")]
        client: String,
        /// Which visit [default: the latest]
        #[arg(long, value_name = "LABEL")]
        visit: Option<String>,
        /// The day
        #[arg(long, value_name = "DATE")]
        date: Option<Date>,
        /// What was asked.
        #[command(flatten)]
        answers: Answers,
        /// Why something that was noted is changed
        #[arg(long, value_name = "WORDS", default_value = "")]
        because: String,
    },
    /// Analyse recordings of the visit and keep their results
    Take {
        /// Whose
        #[arg(value_name = "CLIENT")]
        client: String,
        /// Recordings [default: all new ones of the visit]
        #[arg(value_name = "PATH")]
        paths: Vec<PathBuf>,
        /// Which visit [default: the latest]
        #[arg(long, value_name = "LABEL")]
        visit: Option<String>,
        /// What for [default: first, then recheck once a drill is noted, then further]
        #[arg(long = "for", value_name = "PURPOSE")]
        purpose: Option<PurposeChoice>,
        /// The data set [default: the casebook's]
        #[arg(long, value_name = "DIR")]
        data: Option<PathBuf>,
    },
    /// Note the drill that was practised
    Drill {
        /// Whose
        #[arg(value_name = "CLIENT")]
        client: String,
        /// Its file name without ending, one that comes with the program or your own
        #[arg(value_name = "DRILL")]
        drill: String,
        /// Which visit [default: the latest]
        #[arg(long, value_name = "LABEL")]
        visit: Option<String>,
        /// When it ended, as 2026-03-02T09:45 [default: now, at a visit of today]
        #[arg(long, value_name = "TIME")]
        ended: Option<DateTime>,
        /// Sets done, effort, remarks
        #[arg(long, value_name = "TEXT", default_value = "")]
        notes: String,
        /// Why a drill that was noted is changed
        #[arg(long, value_name = "WORDS", default_value = "")]
        because: String,
    },
    /// Show a visit with its raises
    Show {
        /// Whose
        #[arg(value_name = "CLIENT")]
        client: String,
        /// Which visit [default: the latest]
        #[arg(long, value_name = "LABEL")]
        visit: Option<String>,
        /// Print one JSON object instead of the text
        #[arg(long)]
        json: bool,
    },
    /// Set a raise aside, so that no mean counts it
    Aside {
        /// Whose
        #[arg(value_name = "CLIENT")]
        client: String,
        /// The run's number
        #[arg(value_name = "RUN")]
        run: String,
        /// The raise, counted from 1
        #[arg(value_name = "RAISE")]
        raise: usize,
        /// Which visit [default: the latest]
        #[arg(long, value_name = "LABEL")]
        visit: Option<String>,
        /// Count it again
        #[arg(long)]
        again: bool,
        /// Why
        #[arg(long, value_name = "WORDS", default_value = "")]
        because: String,
    },
    /// Work kept results out again from the recordings, and say what changed
    Refresh {
        /// Whose; without, everybody's
        #[arg(value_name = "CLIENT")]
        client: Option<String>,
        /// The data set [default: the casebook's]
        #[arg(long, value_name = "DIR")]
        data: Option<PathBuf>,
        /// Print one JSON object instead of the text
        #[arg(long)]
        json: bool,
    },
    /// Give a recording to the right client
    Move {
        /// Under whom it was recorded
        #[arg(value_name = "CLIENT")]
        client: String,
        /// At which visit
        #[arg(value_name = "LABEL")]
        visit: String,
        /// The run's number
        #[arg(value_name = "RUN")]
        run: String,
        /// Whose it is
        #[arg(value_name = "CLIENT")]
        to: String,
        /// That client's visit [default: the one of the same day, or a new one]
        #[arg(long, value_name = "LABEL")]
        to_visit: Option<String>,
        /// Why
        #[arg(long, value_name = "WORDS", default_value = "")]
        because: String,
        /// The data set [default: the casebook's]
        #[arg(long, value_name = "DIR")]
        data: Option<PathBuf>,
    },
}
