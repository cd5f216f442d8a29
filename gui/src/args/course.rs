//! `legraise decide`, `recheck`, `course` and `plan`.

use clap::{Args, ValueEnum};
use jiff::civil::Date;
use sensor::Side;

use super::BookFile;

/// `legraise decide` and `legraise recheck`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  legraise decide ruiz\n  legraise recheck ruiz --visit 03 --json"
)]
pub(crate) struct DecideArgs {
    /// Whose
    #[arg(value_name = "CLIENT")]
    pub(crate) client: String,
    /// Which visit [default: the latest]
    #[arg(long, value_name = "LABEL")]
    pub(crate) visit: Option<String>,
    /// Print one JSON object instead of the text
    #[arg(long)]
    pub(crate) json: bool,
    /// Which casebook.
    #[command(flatten)]
    pub(crate) file: BookFile,
}

/// `legraise course`.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  legraise course ruiz --json")]
pub(crate) struct CourseArgs {
    /// Whose
    #[arg(value_name = "CLIENT")]
    pub(crate) client: String,
    /// Print one JSON object instead of the text
    #[arg(long)]
    pub(crate) json: bool,
    /// Which casebook.
    #[command(flatten)]
    pub(crate) file: BookFile,
}

/// A leg.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum SideChoice {
    /// The client's left
    Left,
    /// The client's right
    Right,
}

impl From<SideChoice> for Side {
    fn from(choice: SideChoice) -> Self {
        match choice {
            SideChoice::Left => Self::Left,
            SideChoice::Right => Self::Right,
        }
    }
}

/// `legraise plan`.
#[derive(Debug, Args)]
#[command(
    after_help = "Bands are counted from 1, the lowest.\n\nExample:\n  legraise plan ruiz left 2 --because 'moved on'"
)]
pub(crate) struct PlanArgs {
    /// Whose
    #[arg(value_name = "CLIENT")]
    pub(crate) client: String,
    /// Which leg
    #[arg(value_name = "SIDE")]
    pub(crate) side: SideChoice,
    /// The band whose drills are done, counted from 1
    #[arg(value_name = "BAND", value_parser = clap::value_parser!(u16).range(1..=100))]
    pub(crate) band: u16,
    /// Since when [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) since: Option<Date>,
    /// Why
    #[arg(long, value_name = "WORDS", default_value = "")]
    pub(crate) because: String,
    /// Which casebook.
    #[command(flatten)]
    pub(crate) file: BookFile,
}
