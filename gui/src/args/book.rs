//! `legraise book`, `bands` and `rules`.

use std::num::NonZeroU32;
use std::path::PathBuf;

use clap::{Args, Subcommand};

const BOOK_EXAMPLES: &str = "\
The casebook is one encrypted file with names, visits and results; recordings stay in their data
set, under codes. Its passphrase is asked for at a terminal, else taken from --passphrase-file or the
variable LEGRAISE_PASSPHRASE. Without it nobody reads the casebook, you neither: keep it in a second
place.

Examples:
  legraise book make --data recordings            a new casebook for that data set
  legraise book backup /media/stick/book.db       a checked copy, encrypted as the casebook is
  legraise book restore /media/stick/book.db      that copy in the casebook's place; the former is kept
  legraise book due                               who has not come for longer than you keep clients

Exit status: 0 done; 1 it could not be done; 2 wrong usage.";

/// Which casebook, and how it is opened.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct BookFile {
    /// The casebook [default: casebook.db in this user's folder for data]
    #[arg(long, global = true, value_name = "FILE", env = "LEGRAISE_BOOK")]
    pub(crate) book: Option<PathBuf>,
    /// A file whose first line is the passphrase
    #[arg(long, global = true, value_name = "FILE")]
    pub(crate) passphrase_file: Option<PathBuf>,
}

/// `legraise book`.
#[derive(Debug, Args)]
#[command(after_help = BOOK_EXAMPLES)]
pub(crate) struct BookArgs {
    /// What to do with it.
    #[command(subcommand)]
    pub(crate) command: BookCommand,
    /// Which casebook.
    #[command(flatten)]
    pub(crate) file: BookFile,
}

/// What can be done with a casebook as a whole.
#[derive(Debug, Subcommand)]
pub(crate) enum BookCommand {
    /// Make a new, empty casebook
    Make {
        /// The data set with the recordings; created with the first recording
        #[arg(long, value_name = "DIR")]
        data: Option<PathBuf>,
    },
    /// Read every page and row, and say whether all is sound
    Check,
    /// Write a checked copy to a new file
    Backup {
        /// The copy
        #[arg(value_name = "FILE")]
        to: PathBuf,
    },
    /// Put a copy in the casebook's place; the former file is kept beside it
    Restore {
        /// The copy
        #[arg(value_name = "FILE")]
        from: PathBuf,
        /// Do it
        #[arg(long)]
        yes: bool,
    },
    /// List who has not come for longer than you keep clients, and who took consent back
    Due {
        /// Print one JSON object instead of the table
        #[arg(long)]
        json: bool,
    },
    /// Encrypt the casebook under another passphrase
    Passphrase {
        /// A file whose first line is the new passphrase
        #[arg(long, value_name = "FILE")]
        new_passphrase_file: Option<PathBuf>,
    },
    /// Show or set where recordings and drills lie, and how long clients are kept
    Settings {
        /// The data set with the recordings
        #[arg(long, value_name = "DIR")]
        data: Option<PathBuf>,
        /// The folder of your own drills
        #[arg(long, value_name = "DIR")]
        drills: Option<PathBuf>,
        /// After so many months without a visit a client is listed as due
        #[arg(long, value_name = "N")]
        months: Option<NonZeroU32>,
        /// Why a setting is changed
        #[arg(long, value_name = "WORDS", default_value = "")]
        because: String,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },
}

/// `legraise bands`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  legraise bands 45 60 90 --because \"as at the start\"")]
pub(crate) struct BandsArgs {
    /// Edges from low to high, degrees; without any the bands are shown
    #[arg(value_name = "EDGE")]
    pub(crate) edges: Vec<f64>,
    /// Why they are changed
    #[arg(long, value_name = "WORDS", default_value = "")]
    pub(crate) because: String,
    /// Print one JSON object
    #[arg(long)]
    pub(crate) json: bool,
    /// Which casebook.
    #[command(flatten)]
    pub(crate) file: BookFile,
}

/// `legraise rules`.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  legraise rules\n  legraise rules raise_count 2")]
pub(crate) struct RulesArgs {
    /// Which rule to set; without, all are shown
    #[arg(value_name = "RULE", requires = "value")]
    pub(crate) key: Option<String>,
    /// Its new value
    #[arg(value_name = "VALUE")]
    pub(crate) value: Option<f64>,
    /// Why it is changed
    #[arg(long, value_name = "WORDS", default_value = "")]
    pub(crate) because: String,
    /// Print one JSON object
    #[arg(long)]
    pub(crate) json: bool,
    /// Which casebook.
    #[command(flatten)]
    pub(crate) file: BookFile,
}
