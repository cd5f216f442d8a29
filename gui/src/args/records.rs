//! The arguments of reports and of sharing.

use std::path::PathBuf;

use casebook::export::csv::Separator;
use casebook::report::{Audience, Language};
use clap::{Args, ValueEnum};
use jiff::civil::Date;

const REPORT_EXAMPLES: &str = "\
Forms: pdf (tagged, for paper), html (one file, for a browser), note (a line a side to paste, without
a name), csv (one row a raise), fhir (HL7 FHIR R4, one observation a raise and a mean, the client by
pseudonym). The same input and day give the same bytes. A name in Chinese, Japanese or Korean takes
a font of this computer.

Examples:
  legraise report ruiz --for client --as pdf --out sheet.pdf
  legraise report --invented --for referrer --as html --language de --out report.html
  legraise report --invented --as note
  legraise report --invented --as csv --semicolon --out raises.csv

Exit status: 0 done; 1 it could not be made or written; 2 wrong usage.";

const SHARE_EXAMPLES: &str = "\
Every run is written anew with nothing but samples, marks and how it was done. Dates move by a
number of days that is drawn for each client and kept nowhere, to 1925 or before; ages above 89
become 89; serial numbers and codes of those who measured become pseudonyms; remarks are left out.
What was taken out is printed. Moved dates don't meet every law: `--dates year` and `--dates none`
leave less, and give clients new labels, too.

Examples:
  legraise share clinic for-study
  legraise share clinic for-study --client kelumo --client sarito --dates none

Exit status: 0 done; 1 a recording could not be read, or nothing be written; 2 wrong usage.";

/// For whom.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ForWhom {
    /// The client: plain words, one sheet
    Client,
    /// The own file: all of it
    File,
    /// Who sent the client or will see them next
    Referrer,
}

impl From<ForWhom> for Audience {
    fn from(whom: ForWhom) -> Self {
        match whom {
            ForWhom::Client => Self::Client,
            ForWhom::File => Self::File,
            ForWhom::Referrer => Self::Referrer,
        }
    }
}

/// As what.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Form {
    /// For paper
    Pdf,
    /// For a browser
    Html,
    /// A line a side, to paste
    Note,
    /// One row a raise
    Csv,
    /// For health records
    Fhir,
}

/// What becomes of dates.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum DatesChoice {
    /// Moved, each client's by its own number of days
    Shifted,
    /// The year alone
    Year,
    /// None
    None,
}

/// `legraise report`.
#[derive(Debug, Args)]
#[command(after_help = REPORT_EXAMPLES)]
pub(crate) struct ReportArgs {
    /// Whose: a code, or a part of a name that fits one client
    #[cfg(feature = "book")]
    #[arg(value_name = "CLIENT", required_unless_present = "invented")]
    pub(crate) client: Option<String>,
    /// An invented client, to try it on
    #[cfg_attr(feature = "book", arg(long, conflicts_with = "client"))]
    #[cfg_attr(not(feature = "book"), arg(long, required = true))]
    pub(crate) invented: bool,
    /// Which casebook.
    #[cfg(feature = "book")]
    #[command(flatten)]
    pub(crate) file: super::BookFile,
    /// What is asked of it.
    #[command(flatten)]
    pub(crate) made: MadeArgs,
}

/// How a report is made, of whichever client.
#[derive(Debug, Args)]
pub(crate) struct MadeArgs {
    /// For whom, where it is pdf or html
    #[arg(long = "for", value_name = "WHOM", default_value = "file")]
    pub(crate) whom: ForWhom,
    /// As what
    #[arg(long = "as", value_name = "FORM")]
    pub(crate) form: Form,
    /// Where to write it; standard output without
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,
    /// One visit by its label; all without
    #[arg(long, value_name = "LABEL")]
    pub(crate) visit: Option<String>,
    /// In which language: en or de
    #[arg(long, value_name = "CODE", default_value = "en", value_parser = language)]
    pub(crate) language: Language,
    /// The day it is made, such as 2026-03-02 [default: today]
    #[arg(long, value_name = "DAY")]
    pub(crate) day: Option<Date>,
    /// CSV with ; and decimal commas
    #[arg(long)]
    pub(crate) semicolon: bool,
}

impl MadeArgs {
    /// What stands between the cells of a table.
    pub(crate) fn separator(&self) -> Separator {
        if self.semicolon {
            Separator::Semicolon
        } else {
            Separator::Comma
        }
    }
}

fn language(code: &str) -> Result<Language, String> {
    Language::of_code(code).ok_or_else(|| "expected en or de".to_owned())
}

/// `legraise share`.
#[derive(Debug, Args)]
#[command(after_help = SHARE_EXAMPLES)]
pub(crate) struct ShareArgs {
    /// The data set, or a part of it
    #[arg(value_name = "DATA")]
    pub(crate) data: PathBuf,
    /// The folder to make, new or empty
    #[arg(value_name = "OUT")]
    pub(crate) out: PathBuf,
    /// Only this client's, by the label after sub-; may be given several times
    #[arg(long = "client", value_name = "LABEL")]
    pub(crate) clients: Vec<String>,
    /// What becomes of dates
    #[arg(long, value_name = "WHAT", default_value = "shifted")]
    pub(crate) dates: DatesChoice,
}
