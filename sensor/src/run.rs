//! A run: everything recorded between one start and one stop. It is what is written, read and analysed.

use std::fmt;
use std::str::FromStr;

use crate::{Gap, Placement, RawStamp, RunTime, Sample, Side};

/// Names a run inside its data set. Parts are BIDS labels without their `sub-`, `ses-`, … prefix.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RecordingId {
    /// The client's pseudonym.
    pub subject: Option<String>,
    /// The visit.
    pub session: Option<String>,
    /// `legraise`, `flat`, or a task of somebody else's.
    pub task: String,
    /// Optional `acq-` label.
    pub acquisition: Option<String>,
    /// Two digits, in order of recording.
    pub run: Option<String>,
}

impl fmt::Display for RecordingId {
    /// `sub-X/ses-01/run-01`, leaving out what isn't there.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts = [
            ("sub", &self.subject),
            ("ses", &self.session),
            ("acq", &self.acquisition),
            ("run", &self.run),
        ];
        let mut first = true;
        for (key, label) in parts {
            if let Some(label) = label {
                write!(f, "{}{key}-{label}", if first { "" } else { "/" })?;
                first = false;
            }
        }
        if first {
            f.write_str(&self.task)
        } else {
            Ok(())
        }
    }
}

/// How far a unit may be off, as its maker or its calibration states it. Absent means *plain*.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnitLimits {
    /// Largest offset of an accelerometer axis, m/s².
    pub accel_offset_m_s2: f64,
    /// Largest relative error of an accelerometer axis.
    pub accel_scale: f64,
    /// Largest relative error of a gyroscope axis.
    pub gyro_scale: f64,
}

impl UnitLimits {
    /// An ordinary unit nobody says anything about: ±10 mg, ±1 %, ±1 %.
    pub const PLAIN: Self = Self {
        accel_offset_m_s2: 0.098,
        accel_scale: 0.01,
        gyro_scale: 0.01,
    };
}

/// The make of a unit, as text for the record; empty where unknown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Device {
    /// Who made it.
    pub manufacturer: String,
    /// Which model.
    pub model: String,
    /// Which piece.
    pub serial: String,
    /// Its software.
    pub software: String,
}

/// One sensor's part of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Track {
    /// The `tracksys` label, or the tracked point where a file holds several.
    pub name: String,
    /// Where it sat, if the name says so.
    pub placement: Option<Placement>,
    /// Nominal sampling rate, Hz.
    pub rate_hz: f64,
    /// How far the unit may be off; `None` where nobody says (it then counts as plain).
    pub limits: Option<UnitLimits>,
    /// The make of the unit.
    pub device: Device,
    /// In strictly increasing time.
    pub samples: Vec<Sample>,
    /// What came with each sample; as long as `samples`, or empty where nothing did.
    pub stamps: Vec<RawStamp>,
}

impl Track {
    /// The usual time from one sample to the next, s: the median of the recording's own steps.
    pub fn step_s(&self) -> f64 {
        let mut steps: Vec<i64> = self
            .samples
            .windows(2)
            .map(|w| w[1].at.ns() - w[0].at.ns())
            .collect();
        if steps.is_empty() {
            return 1.0 / self.rate_hz;
        }
        let middle = steps.len() / 2;
        *steps.select_nth_unstable(middle).1 as f64 * 1e-9
    }

    /// Stretches where samples are missing: steps of more than twice the usual one.
    pub fn gaps(&self) -> Vec<Gap> {
        let limit_s = 2.0 * self.step_s().max(0.5 / self.rate_hz);
        self.samples
            .windows(2)
            .filter(|w| w[1].at - w[0].at > limit_s)
            .map(|w| Gap {
                from: w[0].at,
                to: w[1].at,
            })
            .collect()
    }
}

/// What a mark says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MarkKind {
    /// The leg was lying still.
    Rest,
    /// The unit lay on a flat surface.
    Flat,
    /// Somebody's note that a raise was done.
    Raise,
    /// The foot was rolled in and out while lying.
    Turn,
    /// The first pull was felt.
    Pull,
    /// Stopped for pain or any other reason.
    Stop,
    /// A remark.
    Note,
}

impl MarkKind {
    /// All, in the order of the files' vocabulary.
    pub const ALL: [Self; 7] = [
        Self::Rest,
        Self::Flat,
        Self::Raise,
        Self::Turn,
        Self::Pull,
        Self::Stop,
        Self::Note,
    ];

    /// The `trial_type` word.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Rest => "rest",
            Self::Flat => "flat",
            Self::Raise => "raise",
            Self::Turn => "turn",
            Self::Pull => "pull",
            Self::Stop => "stop",
            Self::Note => "note",
        }
    }
}

impl FromStr for MarkKind {
    type Err = ();
    fn from_str(s: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|k| k.as_str() == s).ok_or(())
    }
}

/// Something a person or the program noted at a moment, as it was pressed (no reaction time taken off).
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// When it was pressed or began.
    pub at: RunTime,
    /// How long it lasted, s; `None` where the file says `n/a`.
    pub duration_s: Option<f64>,
    /// What it says.
    pub kind: MarkKind,
    /// For which leg, if said.
    pub side: Option<Side>,
    /// A face (`+x`) for `flat`, a remark for `note`; empty if none.
    pub value: String,
}

/// How the raises of a run were done. Angles done differently can't be compared.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Conditions {
    /// `active` or `passive`.
    pub movement: Option<String>,
    /// `relaxed`, `pulled up` or `pointed`.
    pub ankle: Option<String>,
    /// `first pull` or `limit`.
    pub asked_for: Option<String>,
    /// A code for who measured.
    pub rater: Option<String>,
}

/// Everything recorded between one start and one stop.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Its name in the data set.
    pub id: RecordingId,
    /// When it was recorded, as the file says it (`2026-03-02T09:30:00`), if it does.
    pub acquired: Option<String>,
    /// How the raises were done.
    pub conditions: Conditions,
    /// One a sensor, ordered by name.
    pub tracks: Vec<Track>,
    /// In order of time.
    pub marks: Vec<Mark>,
}

impl Run {
    /// The track of a placement, if it was recorded.
    pub fn track(&self, placement: Placement) -> Option<&Track> {
        self.tracks.iter().find(|t| t.placement == Some(placement))
    }
}
