//! What is to be recorded, from whom and into what.

#[cfg(feature = "phone")]
use std::net::IpAddr;
use std::path::PathBuf;

use fusion::calibrate::FacesWanted;
use sensor::{Conditions, RecordingId};

use super::wall::Wall;
use crate::selector::Asked;

/// What is recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Task {
    /// Leg raises.
    Raises,
    /// One unit on a flat surface, until so many faces are done.
    Flat(FacesWanted),
}

impl Task {
    /// Its word in the files.
    pub(crate) const fn as_str(self) -> &'static str {
        match self {
            Self::Raises => "legraise",
            Self::Flat(_) => "flat",
        }
    }
}

/// Whose recording it is, in which data set.
#[derive(Clone, Debug)]
pub(crate) struct Visit {
    /// The data set; made where there is none.
    pub(crate) root: PathBuf,
    /// The pseudonym.
    pub(crate) client: String,
    /// The visit's label.
    pub(crate) session: String,
}

/// A live run as it is asked for.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    /// Its sensors.
    pub(crate) sources: Vec<Asked>,
    /// What is recorded.
    pub(crate) task: Task,
    /// Where it is kept; nowhere without.
    pub(crate) visit: Option<Visit>,
    /// How the raises are done.
    pub(crate) conditions: Conditions,
    /// How long it lasts; until told without.
    pub(crate) seconds: Option<u32>,
    /// Whether a hand marker is wanted.
    pub(crate) with_marker: bool,
    /// The address at which pages are served; the likeliest one of this computer without.
    #[cfg(feature = "phone")]
    pub(crate) page_ip: Option<IpAddr>,
    /// The clock by which it is dated.
    pub(crate) wall: Wall,
    /// Whether this computer's signals to stop end it.
    pub(crate) heeds_signals: bool,
}

impl Visit {
    /// The name of a run of this visit; its number is given later.
    pub(crate) fn id(&self, task: &str) -> RecordingId {
        RecordingId {
            subject: Some(self.client.clone()),
            session: Some(self.session.clone()),
            task: task.to_owned(),
            ..RecordingId::default()
        }
    }
}
