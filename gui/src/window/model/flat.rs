//! Sensors on a flat surface: how far it is, and what came of it.

use fusion::calibrate::GuideNow;
use sensor::Placement;
use sensor::bids::RunFiles;

use super::{Effect, Finished, Model, Purpose};

/// What a calibration is worth.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) enum Judged {
    /// It helps: whether all six faces were there, and what is left in an angle, and was before, degrees.
    Good {
        /// All six faces.
        is_six: bool,
        /// Left in an angle, degrees.
        left_deg: f64,
        /// Without calibration, degrees.
        before_deg: f64,
    },
    /// It can't be used.
    Bad(String),
}

/// The calibration of all sensors.
#[derive(Clone, Debug, Default)]
pub(in crate::window) struct Flat {
    /// How far the one that lies there is.
    pub(in crate::window) now: Option<GuideNow>,
    /// What came of those that are done.
    pub(in crate::window) judged: Vec<(Placement, Judged)>,
}

impl Flat {
    /// What came of the sensor of a place.
    pub(in crate::window) fn of(&self, placement: Placement) -> Option<&Judged> {
        self.judged
            .iter()
            .find(|(p, _)| *p == placement)
            .map(|(_, judged)| judged)
    }

    /// Takes what came of it. Gives the recording back if it helps.
    pub(super) fn ended(
        &mut self,
        placement: Placement,
        finished: Result<Finished, String>,
    ) -> Option<Box<RunFiles>> {
        self.now = None;
        let (judged, files) = match finished {
            Ok(Finished {
                judged: Some(judged),
                files,
                ..
            }) => (judged, files),
            // It was ended before anything came.
            Ok(_) => return None,
            Err(text) => (Judged::Bad(text), None),
        };
        self.judged.retain(|(p, _)| *p != placement);
        let helps = matches!(judged, Judged::Good { .. });
        self.judged.push((placement, judged));
        files.filter(|_| helps)
    }
}

impl Model {
    pub(super) fn begin_flat(&mut self, placement: Placement) -> Vec<Effect> {
        self.flat.now = None;
        match self.begin(Purpose::Flat(placement)) {
            Ok(effect) => vec![effect],
            Err(text) => {
                self.tell(text);
                Vec::new()
            }
        }
    }
}
