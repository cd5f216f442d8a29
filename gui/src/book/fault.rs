//! What stops a command of the casebook, beside the casebook itself.

use std::io;
use std::path::PathBuf;

use casebook::Caution;
use casebook::store::ConsentFault;
use casebook::wording;
use thiserror::Error;

use crate::error::Exit;

/// What stops a command of the casebook.
#[derive(Debug, Error)]
pub(crate) enum BookFault {
    /// This user has no folder.
    #[error("casebook: this user has no folder for data; name the casebook with --book FILE")]
    NoFolder,
    /// No passphrase, and nobody to ask.
    #[error(
        "passphrase: none given, and no terminal to ask at; use --passphrase-file FILE or the variable LEGRAISE_PASSPHRASE"
    )]
    NoPassphrase,
    /// The terminal doesn't answer.
    #[error("passphrase: {0}; use --passphrase-file FILE or the variable LEGRAISE_PASSPHRASE")]
    Terminal(io::Error),
    /// The file with the passphrase.
    #[error("{}: {source}; name a file whose first line is the passphrase", path.display())]
    PassphraseFile {
        /// As given.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Two that differ.
    #[error("passphrase: the second differs from the first; type it again")]
    Differs,
    /// A variable that is no text.
    #[error("{0}: no text, expected a passphrase; set it again")]
    NotText(&'static str),
    /// Not known where recordings lie.
    #[error(
        "data set: the casebook doesn't know where recordings lie; say --data DIR, or once `legraise book settings --data DIR`"
    )]
    NoData,
    /// A client without visits.
    #[error("client {0}: no visit yet; begin one with `legraise visit begin {0}`")]
    NoVisits(String),
    /// Not without a yes.
    #[error("{0}; say --yes to do it")]
    NotConfirmed(String),
    /// No consent.
    #[error("consent: {0}")]
    Consent(#[from] ConsentFault),
    /// The cautions weren't asked.
    #[error(
        "client {client}, visit {session}: the cautions were not asked, expected that before anything is measured; ask (`legraise cautions`), then `legraise visit note {client} --visit {session} --cautions none`, or which"
    )]
    Unasked {
        /// Whose.
        client: String,
        /// Which visit.
        session: String,
    },
    /// A caution forbids it.
    #[error(
        "client {client}: {}; don't test. If it was cleared, note that at the visit", wording::caution(*caution)
    )]
    Forbidden {
        /// Whose.
        client: String,
        /// Why.
        caution: Caution,
    },
    /// Somebody else's recording.
    #[error(
        "{recording}: not a recording of client {client}, visit {session}, in the casebook's data set; name one of theirs, or give it to the right client with `legraise visit move`"
    )]
    NotTheirs {
        /// The recording.
        recording: String,
        /// Whose visit.
        client: String,
        /// Which.
        session: String,
    },
    /// Nothing to take.
    #[error("{}: no new recording of client {client}, visit {session}; record one, or name it", root.display())]
    NothingNew {
        /// The data set.
        root: PathBuf,
        /// Whose.
        client: String,
        /// Which visit.
        session: String,
    },
    /// Nothing to compare or decide on.
    #[error("client {client}, visit {session}: {what}")]
    Nothing {
        /// Whose.
        client: String,
        /// Which visit.
        session: String,
        /// What is missing, and what to do.
        what: String,
    },
    /// A drill that isn't there.
    #[error(
        "drill {name:?}: not known; use one of {known}, or put {name}.toml into the folder of your own drills"
    )]
    NoDrill {
        /// As asked.
        name: String,
        /// Those that are.
        known: String,
    },
    /// A run that is going on or was broken off.
    #[error(
        "{}: a recording of this client goes on, or was broken off; end it, or bring it back by the next recording into this data set",
        .0.display()
    )]
    Journal(PathBuf),
    /// A rule can't be set so.
    #[error("rules: {0}")]
    Rule(#[from] casebook::RuleError),
    /// Bands can't be set so.
    #[error("bands: {0}")]
    Bands(#[from] casebook::BandsError),
    /// A file to be handed over can't be written.
    #[error("{}: {source}; check the path and that there is room", path.display())]
    Write {
        /// Which.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

impl BookFault {
    /// The exit status that goes with it.
    pub(crate) const fn exit(&self) -> Exit {
        match self {
            Self::NoFolder
            | Self::NoPassphrase
            | Self::Terminal(_)
            | Self::PassphraseFile { .. }
            | Self::Differs
            | Self::NotText(_)
            | Self::NoData
            | Self::NotConfirmed(_)
            | Self::NoDrill { .. }
            | Self::Rule(_)
            | Self::Bands(_) => Exit::Usage,
            Self::NoVisits(_)
            | Self::Consent(_)
            | Self::Unasked { .. }
            | Self::Forbidden { .. }
            | Self::NotTheirs { .. }
            | Self::NothingNew { .. }
            | Self::Nothing { .. }
            | Self::Journal(_)
            | Self::Write { .. } => Exit::Incomplete,
        }
    }
}
