//! The arguments of `legraise app`, as the BIDS Apps have them.

use std::num::NonZeroUsize;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

const EXAMPLES: &str = "\
The form in which tools that work on whole data sets call a program (BIDS Apps: Gorgolewski et al.,
PLoS Comput Biol 2017, 13(3):e1005209). BIDS_DIR is only read; OUTPUT_DIR becomes a data set of
results. Several `participant` calls may run at the same time into one OUTPUT_DIR; the same recording
and version write the same bytes. `group` comes after them: one table over all people.

Examples:
  legraise app data results participant
  legraise app data results participant --participant-label marbul kerudo --n_cpus 1
  legraise app data results group

Exit status: 0 done; 1 a participant could not be analysed, is missing or is unknown (the others are
written); 2 wrong usage, or a folder that isn't there.";

/// What is worked on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Level {
    /// Each participant: a table of raises for each recording
    Participant,
    /// All of them: one table over all people
    Group,
}

/// `legraise app`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct AppArgs {
    /// The data set with the recordings
    #[arg(value_name = "BIDS_DIR")]
    pub(crate) bids_dir: PathBuf,
    /// Where results go
    #[arg(value_name = "OUTPUT_DIR")]
    pub(crate) output_dir: PathBuf,
    /// What is worked on
    pub(crate) level: Level,
    /// Only these participants, with or without `sub-` [default: all]
    #[arg(long = "participant-label", visible_alias = "participant_label", value_name = "LABEL", num_args = 1..)]
    pub(crate) labels: Vec<String>,
    /// Recordings analysed at a time [default: one a processor]
    #[arg(long = "n_cpus", visible_alias = "n-cpus", value_name = "N")]
    pub(crate) cpu_count: Option<NonZeroUsize>,
    /// Taken and not needed: reading is tolerant, and no validator is called
    #[arg(long = "skip_bids_validator", visible_alias = "skip-bids-validator")]
    pub(crate) skips_validator: bool,
}
