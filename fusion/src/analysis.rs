//! What an analysis of a run says. Made only by [`crate::analyse_run`].

use sensor::{Placement, Side};

use crate::{Angle, Budget};

/// An angle with its expanded uncertainty for 95 % coverage and the terms it is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// The best estimate.
    pub value: Angle,
    /// Half-width of the interval that holds the true value in 95 of 100 cases.
    pub expanded: Angle,
    /// What the uncertainty consists of.
    pub budget: Budget,
}

/// An angle at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// Seconds since the run began.
    pub time_s: f64,
    /// The raise angle then.
    pub angle: Measured,
}

/// The mean angle while the leg stayed at the top.
#[derive(Clone, Debug, PartialEq)]
pub struct Hold {
    /// Seconds since the run began.
    pub start_s: f64,
    /// Seconds since the run began.
    pub end_s: f64,
    /// Mean raise angle between the two.
    pub angle: Measured,
}

/// Why a raise counts as over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// The first pull was marked.
    Pull,
    /// The other leg bent or lifted.
    OppositeLeg,
    /// The knee of the raised leg bent.
    Knee,
    /// Stopped for pain or any other reason, as marked.
    Stop,
    /// Nothing ended it before the leg was held at the top.
    Hold,
    /// Nothing ended it before the highest point.
    Peak,
}

/// The first moment at which the raise counts as over.
#[derive(Clone, Debug, PartialEq)]
pub struct EndPoint {
    /// Why.
    pub reason: Reason,
    /// Seconds since the run began, reaction time taken off.
    pub time_s: f64,
    /// The instant of the press in the file, for marks.
    pub pressed_s: Option<f64>,
    /// Raise angle then.
    pub angle: Measured,
}

/// What gave way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CompensationKind {
    /// The other shin tilted.
    OppositeLeg,
    /// The knee of the raised leg bent.
    Knee,
}

/// A movement of another segment during the raise.
#[derive(Clone, Debug, PartialEq)]
pub struct Compensation {
    /// What gave way.
    pub kind: CompensationKind,
    /// When it left its own course, seconds since the run began.
    pub onset_s: f64,
    /// The raise angle at the onset.
    pub angle: Angle,
    /// Its own largest size.
    pub extent: Angle,
}

/// Something a reader of a raise must know. The text form lives in [`Flag::as_str`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Flag {
    /// Samples are missing where the number is read.
    GapNearPeak,
    /// Accelerometer and gyroscope of the raised shin contradict each other.
    SensorContradiction,
    /// A channel stood at its range.
    Saturated,
    /// No quiet rest directly before this raise: zero and bias come from other rests.
    NoOwnRest,
    /// The resting direction moved between before and after.
    RestShifted,
    /// The strap seems to have slipped.
    StrapSlipped,
    /// The raise began before the recording.
    BeginsOutside,
    /// The raise ended after the recording.
    EndsOutside,
    /// An event or a name says the other side.
    SideConflict,
    /// A mark did not end this raise: something else did before, or the leg had left its top.
    UnusedMark,
    /// Two reasons lie closer in time than they are known.
    CloseCall,
    /// The angle at the end point is known too poorly to be given.
    EndPointUncertain,
    /// The second opinion disagrees.
    SecondOpinion,
    /// The unit was not calibrated on a flat surface.
    Uncalibrated,
    /// The recording says it holds another exercise.
    OtherTask,
    /// The knee bent and stretched while the thigh lay still: not a straight leg raise.
    NotStraight,
    /// The pelvis changed its share during the raise.
    PelvisChange,
    /// The raise was faster than a slow test allows.
    Fast,
}

impl Flag {
    /// Every flag, in the order of `docs/formats.md`.
    pub const ALL: [Self; 18] = [
        Self::GapNearPeak,
        Self::SensorContradiction,
        Self::Saturated,
        Self::NoOwnRest,
        Self::RestShifted,
        Self::StrapSlipped,
        Self::BeginsOutside,
        Self::EndsOutside,
        Self::SideConflict,
        Self::UnusedMark,
        Self::CloseCall,
        Self::EndPointUncertain,
        Self::SecondOpinion,
        Self::Uncalibrated,
        Self::OtherTask,
        Self::NotStraight,
        Self::PelvisChange,
        Self::Fast,
    ];

    /// The word used in files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::GapNearPeak => "gap-near-peak",
            Self::SensorContradiction => "sensor-contradiction",
            Self::Saturated => "saturated",
            Self::NoOwnRest => "no-own-rest",
            Self::RestShifted => "rest-shifted",
            Self::StrapSlipped => "strap-slipped",
            Self::BeginsOutside => "begins-outside",
            Self::EndsOutside => "ends-outside",
            Self::SideConflict => "side-conflict",
            Self::UnusedMark => "unused-mark",
            Self::CloseCall => "close-call",
            Self::EndPointUncertain => "end-point-uncertain",
            Self::SecondOpinion => "second-opinion",
            Self::Uncalibrated => "uncalibrated",
            Self::OtherTask => "other-task",
            Self::NotStraight => "not-straight",
            Self::PelvisChange => "pelvis-change",
            Self::Fast => "fast",
        }
    }
}

impl Reason {
    /// The word used in files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Pull => "pull",
            Self::OppositeLeg => "opposite-leg",
            Self::Knee => "knee",
            Self::Stop => "stop",
            Self::Hold => "hold",
            Self::Peak => "peak",
        }
    }
}

impl CompensationKind {
    /// The word used in files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::OppositeLeg => "opposite-leg",
            Self::Knee => "knee",
        }
    }
}

/// One raise of one leg.
#[derive(Clone, Debug, PartialEq)]
pub struct Raise {
    /// The leg that rose.
    pub side: Side,
    /// Leaving the rest by 1°, seconds since the run began.
    pub start_s: f64,
    /// Back on the rest within 1°, seconds since the run began.
    pub end_s: f64,
    /// The greatest angle; `None` where it can't be trusted, and a flag says why.
    pub peak: Option<Moment>,
    /// The mean at the top, where the leg was held.
    pub hold: Option<Hold>,
    /// Where the raise counts as over; `None` where it can't be trusted, and a flag says why.
    pub end_point: Option<EndPoint>,
    /// In order of onset.
    pub compensations: Vec<Compensation>,
    /// Pelvis tilt as a share of the raise angle, where a pelvis sensor tells (0.25 = a quarter).
    pub pelvis_share: Option<f64>,
    /// Greatest rate of the rise, as degrees a second when printed.
    pub rate_max_rad_s: f64,
    /// What a reader must know.
    pub flags: Vec<Flag>,
}

impl Raise {
    /// Whether it is a straight leg raise at all: other movements stay out of means.
    pub fn is_leg_raise(&self) -> bool {
        !self
            .flags
            .iter()
            .any(|flag| matches!(flag, Flag::OtherTask | Flag::NotStraight))
    }
}

/// Something about the whole run that a reader should know; it stopped nothing.
#[derive(Clone, Debug, PartialEq)]
pub enum RunProblem {
    /// No shin sensor in the run.
    NoShin,
    /// A mark that belongs to no raise.
    StrayMark {
        /// When it was pressed, seconds since the run began.
        pressed_s: f64,
        /// Its word.
        word: &'static str,
    },
    /// A track too short or too broken to use.
    Unusable {
        /// Which sensor.
        placement: Placement,
    },
    /// A sensor whose accelerometer and gyroscope contradict each other; it was not used.
    Contradicts {
        /// Which sensor.
        placement: Placement,
    },
    /// Two tracks carry the same numbers.
    SameStream {
        /// One of them.
        a: Placement,
        /// The other.
        b: Placement,
    },
    /// A flat recording that could not be used.
    FlatUnusable {
        /// Which sensor.
        placement: Placement,
        /// The verdict, in words.
        why: String,
    },
}

/// The result of one run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Analysis {
    /// In order of time.
    pub raises: Vec<Raise>,
    /// About the run as a whole.
    pub problems: Vec<RunProblem>,
}
