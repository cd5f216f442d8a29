//! `legraise pace`.

#[cfg(feature = "phone")]
use std::net::IpAddr;
use std::path::PathBuf;

use casebook::report::Language;
use clap::Args;

use super::examples::PACE_EXAMPLES;

/// `legraise pace`.
#[derive(Debug, Args)]
#[command(after_help = PACE_EXAMPLES)]
pub(crate) struct PaceArgs {
    /// A drill that comes with the program, or a file of one of your own; without it, all that there are
    #[arg(value_name = "DRILL")]
    pub(crate) drill: Option<PathBuf>,
    /// Sets [default: the fewest the drill allows]
    #[arg(long, value_name = "N", requires = "drill")]
    pub(crate) sets: Option<u32>,
    /// Repetitions in a set [default: the fewest the drill allows]
    #[arg(long, value_name = "N", requires = "drill")]
    pub(crate) reps: Option<u32>,
    /// Print all of it now instead of when it is due
    #[arg(long, requires = "drill")]
    pub(crate) at_once: bool,
    /// Print one JSON object a stretch
    #[arg(long, requires = "drill")]
    pub(crate) json: bool,
    /// Words in this language: en, de
    #[arg(long, value_name = "LANGUAGE", default_value = "en", value_parser = language)]
    pub(crate) language: Language,
    /// Show it on a phone's page, and begin when the phone is there
    #[cfg(feature = "phone")]
    #[arg(long, requires = "drill", conflicts_with = "at_once")]
    pub(crate) phone: bool,
    /// This computer's address at which the phone finds its page [default: the likeliest one]
    #[cfg(feature = "phone")]
    #[arg(long, value_name = "IP", requires = "phone")]
    pub(crate) page_address: Option<IpAddr>,
}

fn language(code: &str) -> Result<Language, String> {
    Language::of_code(code).ok_or_else(|| "not known; use en or de".to_owned())
}
