//! `legraise client`.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use jiff::civil::Date;

use super::BookFile;

const CLIENT_EXAMPLES: &str = "\
CLIENT is the code, or words that only that client has in name or contact. Whatever was kept and is
changed stays in the history, with your reason.

Examples:
  legraise client add 'Ana Ruiz' --born 1984 --consent 2026-1
  legraise client find ruiz
  legraise client edit ruiz --contact ana@example.org --because 'new address'
  legraise client merge hkwopa zzqetu --because 'entered twice' --yes
  legraise client give hkwopa /media/stick/hkwopa    everything about one client, in a folder
  legraise client forget hkwopa --yes

Exit status: 0 done; 1 it could not be done; 2 wrong usage.";

/// `legraise client`.
#[derive(Debug, Args)]
#[command(after_help = CLIENT_EXAMPLES)]
pub(crate) struct ClientArgs {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: ClientCommand,
    /// Which casebook.
    #[command(flatten)]
    pub(crate) file: BookFile,
}

/// What is written down of a client.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct Texts {
    /// Telephone, mail or address
    #[arg(long, value_name = "TEXT")]
    pub(crate) contact: Option<String>,
    /// Year of birth
    #[arg(long, value_name = "YEAR")]
    pub(crate) born: Option<i16>,
    /// Notes
    #[arg(long, value_name = "TEXT")]
    pub(crate) notes: Option<String>,
}

/// What can be done with clients.
#[derive(Debug, Subcommand)]
pub(crate) enum ClientCommand {
    /// Add a client under a new random code
    Add {
        /// As the client wants to be called
        #[arg(value_name = "NAME")]
        name: String,
        /// What else.
        #[command(flatten)]
        texts: Texts,
        /// The version of the text that the client agreed to
        #[arg(long, value_name = "VERSION")]
        consent: Option<String>,
        /// When [default: today]
        #[arg(long, value_name = "DATE", requires = "consent")]
        date: Option<Date>,
        /// The code in recordings that are there already
        #[arg(long, value_name = "CODE")]
        code: Option<String>,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },
    /// List clients in whose name, contact or code all words occur; all without words
    Find {
        /// Accents and capitals don't count
        #[arg(value_name = "WORD")]
        words: Vec<String>,
        /// Print one JSON object instead of the table
        #[arg(long)]
        json: bool,
    },
    /// Show a client and the visits
    Show {
        /// Who
        #[arg(value_name = "CLIENT")]
        client: String,
        /// Print one JSON object instead of the text
        #[arg(long)]
        json: bool,
    },
    /// Change what is written down of a client
    Edit {
        /// Who
        #[arg(value_name = "CLIENT")]
        client: String,
        /// The name
        #[arg(long, value_name = "NAME")]
        name: Option<String>,
        /// What else.
        #[command(flatten)]
        texts: Texts,
        /// Why
        #[arg(long, value_name = "WORDS", default_value = "")]
        because: String,
    },
    /// Note consent, or that it was taken back
    Consent {
        /// Who
        #[arg(value_name = "CLIENT")]
        client: String,
        /// The version of the text that the client agreed to
        #[arg(long, value_name = "VERSION", required_unless_present = "withdraw")]
        text: Option<String>,
        /// The client took consent back: no more recordings
        #[arg(long, conflicts_with = "text")]
        withdraw: bool,
        /// When [default: today]
        #[arg(long, value_name = "DATE")]
        date: Option<Date>,
        /// Why
        #[arg(long, value_name = "WORDS", default_value = "")]
        because: String,
    },
    /// Make two entries of one person one: all of the second goes to the first
    Merge {
        /// Whose code stays
        #[arg(value_name = "CLIENT")]
        kept: String,
        /// Who becomes part of that client
        #[arg(value_name = "CLIENT")]
        former: String,
        /// Why
        #[arg(long, value_name = "WORDS", default_value = "")]
        because: String,
        /// The data set [default: the casebook's]
        #[arg(long, value_name = "DIR")]
        data: Option<PathBuf>,
        /// Do it
        #[arg(long)]
        yes: bool,
    },
    /// Erase a client: recordings, results, identity and history
    Forget {
        /// Who, by the code
        #[arg(value_name = "CLIENT")]
        client: String,
        /// The data set [default: the casebook's]
        #[arg(long, value_name = "DIR")]
        data: Option<PathBuf>,
        /// Do it
        #[arg(long)]
        yes: bool,
    },
    /// Show what was changed: the former value, when and why
    History {
        /// Who; without, your own settings
        #[arg(value_name = "CLIENT")]
        client: Option<String>,
        /// Print one JSON object instead of the table
        #[arg(long)]
        json: bool,
    },
    /// Hand over everything about one client, in a new folder
    Give {
        /// Who
        #[arg(value_name = "CLIENT")]
        client: String,
        /// The folder, new or empty
        #[arg(value_name = "DIR")]
        folder: PathBuf,
        /// The data set [default: the casebook's]
        #[arg(long, value_name = "DIR")]
        data: Option<PathBuf>,
    },
}
