//! What is on the screen, what a person wants, what the world outside must do for it, and what came of that.

use std::path::PathBuf;

use sensor::bids::RunFiles;

#[cfg(feature = "ble")]
use super::Near;
use super::{
    BookAct, BrowseAct, Cue, Judged, MannerAct, MeasureAct, PaceAct, Recording, SensorsAct,
    VisitAct,
};
use crate::live::{Command, Plan};
use crate::window::desk::{Answer, Ask};
use crate::window::settings::Settings;

/// What is on the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::window) enum Screen {
    /// What can be done.
    Start,
    /// Questions before a test.
    Cautions,
    /// An answer stands against it.
    Stopped,
    /// Sensors, placed and checked.
    Sensors,
    /// Sensors on a flat surface.
    Flat,
    /// How the raise is done.
    Manner,
    /// The raise.
    Measure,
    /// What came of it.
    Result,
    /// Earlier recordings.
    Browse,
    /// Settings.
    Settings,
    /// The casebook is opened or made.
    Book,
    /// Clients of the casebook.
    Clients,
    /// A drill, to look at.
    Drill,
    /// A drill, while it is done.
    Pacer,
    /// The round after it.
    Recheck,
    /// The course over the visits.
    Weeks,
    /// Reports.
    Report,
    /// What is kept of a client, and where it goes.
    Affairs,
    /// The casebook's own care.
    Shelf,
}

impl Screen {
    /// The steps of a measurement, in order.
    pub(in crate::window) const STEPS: [Self; 6] = [
        Self::Cautions,
        Self::Sensors,
        Self::Flat,
        Self::Manner,
        Self::Measure,
        Self::Result,
    ];

    /// Whether it shows one client of the casebook.
    pub(in crate::window) const fn is_of_client(self) -> bool {
        matches!(
            self,
            Self::Drill | Self::Pacer | Self::Recheck | Self::Weeks | Self::Report | Self::Affairs
        )
    }
}

/// What a live run is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::window) enum Purpose {
    /// To see whether the sensors do.
    Check,
    /// To calibrate one.
    Flat(sensor::Placement),
    /// To measure raises of a leg.
    Raise(sensor::Side),
}

/// What the person at the screen wants.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) enum Act {
    /// Another screen.
    Go(Screen),
    /// A whole measurement with an invented client.
    Try,
    /// A measurement of a client.
    Measure,
    /// Another client: answers and results are put away.
    NextClient,
    /// The client's pseudonym.
    Client(String),
    /// The visit's label.
    Visit(String),
    /// An answer to a question of the cautions.
    Answer(usize, bool),
    /// All of them with No.
    AnswerAllNo,
    /// About the sensors.
    Sensors(SensorsAct),
    /// Calibrate the sensor of this place.
    FlatBegin(sensor::Placement),
    /// Enough faces.
    FlatEnd,
    /// How the raise is done.
    Manner(MannerAct),
    /// While measuring.
    Raise(MeasureAct),
    /// About recordings.
    Browse(BrowseAct),
    /// About the casebook.
    Book(BookAct),
    /// An answer at a visit.
    Asked(VisitAct),
    /// About a drill.
    Pace(PaceAct),
    /// A sound, to know it.
    Hear(Cue),
    /// Settings as they are now.
    Set(Box<Settings>),
    /// The message of this place was read.
    Heard(usize),
}

/// What the world outside must do.
#[derive(Debug)]
pub(in crate::window) enum Effect {
    /// Begin a live run, after the one that goes on, if one does.
    Begin(Purpose, Plan),
    /// Ask the live run for something.
    Ask(Command),
    /// Look for recordings.
    Look(PathBuf),
    /// Read and analyse one.
    Read(RunFiles),
    /// Write an invented data set.
    Invent(PathBuf),
    /// Ask the casebook.
    Book(Box<Ask>),
    /// Keep the settings.
    Keep,
    /// Let it be heard.
    Sound(Cue),
    /// Look for Bluetooth sensors.
    #[cfg(feature = "ble")]
    Search,
    /// Serve the pacer's page for a phone, or end that.
    #[cfg(feature = "phone")]
    PacerPage(bool),
    /// What that page shows.
    #[cfg(feature = "phone")]
    Beat(Box<sensor::phone::Beat>),
    /// Keep a recording on a flat surface for the other place of the unit, too.
    Share(Box<RunFiles>, sensor::Placement),
}

/// What came of an effect.
#[derive(Debug)]
pub(in crate::window) enum Done {
    /// A live run has ended.
    Run(Purpose, Result<Finished, String>),
    /// Recordings were looked for.
    Looked(Result<Vec<RunFiles>, String>),
    /// One was read.
    Read(Result<Box<Recording>, String>),
    /// The casebook answers.
    Book(Box<Answer>),
    /// Bluetooth sensors were looked for.
    #[cfg(feature = "ble")]
    Searched(Result<Vec<Near>, String>),
    /// The pacer's page has something to tell.
    #[cfg(feature = "phone")]
    Paged(crate::pacing::Paged),
    /// A recording could not be kept for another place.
    NotShared(String),
    /// Or it could.
    Shared,
}

/// What is known of a run that has ended.
#[derive(Debug, Default)]
pub(in crate::window) struct Finished {
    /// Its analysis, if it holds raises.
    pub(in crate::window) analysis: Option<Box<crate::analyse::Outcome>>,
    /// What a calibration is worth.
    pub(in crate::window) judged: Option<Judged>,
    /// The recording, where it is one of a calibration.
    pub(in crate::window) files: Option<Box<RunFiles>>,
}
