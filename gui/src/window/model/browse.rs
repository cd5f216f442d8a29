//! Recordings of earlier visits: found, chosen, looked through.

use std::path::PathBuf;

use sensor::bids::RunFiles;

use super::{Effect, Model, Trace};
use crate::analyse::Outcome;

/// What is known of the folder.
#[derive(Clone, Debug, Default)]
pub(in crate::window) enum Look {
    /// Not looked yet.
    #[default]
    Unknown,
    /// It is being looked into.
    Looking,
    /// These lie there, by client, visit and run.
    Found(Vec<RunFiles>),
    /// It can't be looked into.
    Failed(String),
}

/// A recording that is looked at.
#[derive(Clone, Debug)]
pub(in crate::window) struct Recording {
    /// What the analysis found.
    pub(in crate::window) outcome: Outcome,
    /// For each raise, its curve as it would have been seen.
    pub(in crate::window) curves: Vec<Trace>,
}

/// Recordings.
#[derive(Clone, Debug, Default)]
pub(in crate::window) struct Browse {
    /// What lies in the folder.
    pub(in crate::window) look: Look,
    /// The one that is chosen.
    pub(in crate::window) chosen: Option<usize>,
    /// What is known of it.
    pub(in crate::window) recording: Option<Result<Box<Recording>, String>>,
    /// The raise that is looked at.
    pub(in crate::window) raise: usize,
    /// The moment of it, from 0 to 1.
    pub(in crate::window) share: f64,
    /// Whether all raises lie over each other.
    pub(in crate::window) is_overlaid: bool,
}

/// What is wanted of recordings.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) enum BrowseAct {
    /// Another folder's name.
    Folder(String),
    /// Look into it.
    Look,
    /// Write an invented data set into it.
    Invent,
    /// This one.
    Choose(usize),
    /// This raise of it.
    Raise(usize),
    /// This moment of it.
    Share(f64),
    /// All raises over each other, or not.
    Overlay(bool),
}

impl Browse {
    pub(super) const fn is_unknown(&self) -> bool {
        matches!(self.look, Look::Unknown)
    }

    pub(super) fn take(&mut self, recording: Result<Box<Recording>, String>) {
        self.raise = 0;
        self.share = 0.5;
        self.recording = Some(recording);
    }
}

impl Model {
    pub(super) fn look(&mut self) -> Vec<Effect> {
        self.browse = Browse {
            look: Look::Looking,
            ..Browse::default()
        };
        vec![Effect::Look(self.settings.folder.clone()), Effect::Keep]
    }

    pub(super) fn looked(&mut self, found: Result<Vec<RunFiles>, String>) -> Vec<Effect> {
        match found {
            Ok(runs) => {
                self.browse.look = Look::Found(runs);
                self.choose(0)
            }
            Err(text) => {
                self.browse.look = Look::Failed(text);
                Vec::new()
            }
        }
    }

    fn choose(&mut self, place: usize) -> Vec<Effect> {
        let Look::Found(runs) = &self.browse.look else {
            return Vec::new();
        };
        let Some(files) = runs.get(place) else {
            return Vec::new();
        };
        self.browse.chosen = Some(place);
        self.browse.recording = None;
        vec![Effect::Read(files.clone())]
    }

    pub(super) fn on_browse(&mut self, act: BrowseAct) -> Vec<Effect> {
        match act {
            BrowseAct::Folder(text) => {
                self.settings.folder = PathBuf::from(text);
                self.browse = Browse::default();
            }
            BrowseAct::Look => return self.look(),
            BrowseAct::Invent => {
                self.browse.look = Look::Looking;
                return vec![Effect::Invent(self.settings.folder.clone())];
            }
            BrowseAct::Choose(place) => return self.choose(place),
            BrowseAct::Raise(raise) => {
                self.browse.raise = raise;
                self.browse.share = 0.5;
            }
            BrowseAct::Share(share) => self.browse.share = share.clamp(0.0, 1.0),
            BrowseAct::Overlay(is_overlaid) => self.browse.is_overlaid = is_overlaid,
        }
        Vec::new()
    }
}
