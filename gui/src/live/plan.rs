//! What is to be recorded, from whom and into what.

use std::path::PathBuf;

use sensor::{Conditions, RecordingId};

use crate::selector::Asked;

/// The task of a unit on a flat surface.
pub(crate) const FLAT: &str = "flat";
/// The task of leg raises.
pub(crate) const LEG_RAISE: &str = "legraise";

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
    pub(crate) task: &'static str,
    /// Where it is kept; nowhere without.
    pub(crate) visit: Option<Visit>,
    /// How the raises are done.
    pub(crate) conditions: Conditions,
    /// How long it lasts; until told without.
    pub(crate) seconds: Option<u32>,
    /// Whether a hand marker is wanted.
    pub(crate) with_marker: bool,
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
