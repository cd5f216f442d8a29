//! What was odd in a recording that could be read all the same.

use std::path::Path;

use thiserror::Error;

use super::error::{Place, RowFault};
use crate::Placement;

/// One oddity: where it is and what it is.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{place}: {kind}; {}", kind.mend())]
pub struct Problem {
    /// Where; with the first line where there are several.
    pub place: Place,
    /// What.
    pub kind: ProblemKind,
}

impl Problem {
    /// Of a whole file.
    pub(crate) fn of(path: &Path, kind: ProblemKind) -> Self {
        Self {
            place: Place::of(path),
            kind,
        }
    }

    /// Whether the numbers are the same as without it: only the form of the files is off.
    pub fn is_mild(&self) -> bool {
        use ProblemKind as K;
        matches!(
            self.kind,
            K::LineEnds
                | K::ByteOrderMark
                | K::HeaderLine
                | K::NotTabs
                | K::OtherOrder
                | K::ExtraChannels { .. }
        ) || matches!(self.kind, K::NoSidecar | K::NoEvents | K::EventsUnsorted)
    }
}

/// What was found and what was made of it.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(
    missing_docs,
    reason = "each variant's text says it, and the fields are named in it"
)]
pub enum ProblemKind {
    #[error("no _channels.tsv; {columns} columns were taken for {}accelerometer and gyroscope x y z in m/s^2 and rad/s",
        if *columns == 7 { "time, " } else { "" })]
    NoChannels { columns: usize },
    #[error("no _motion.json of this recording")]
    NoSidecar,
    #[error("no _events.tsv of this run")]
    NoEvents,
    #[error("not valid JSON ({what}), left aside")]
    BadJson { what: String },
    #[error("{what}, left aside")]
    BadTable { what: String },
    #[error("first line is no numbers, taken for a header")]
    HeaderLine,
    #[error("columns are not separated by tabs")]
    NotTabs,
    #[error("lines end in CR LF")]
    LineEnds,
    #[error("begins with a byte order mark")]
    ByteOrderMark,
    #[error(
        "channels are not in the order time, accelerometer, gyroscope; found by type and component"
    )]
    OtherOrder,
    #[error("{count} channels that are not needed, left aside")]
    ExtraChannels { count: usize },
    #[error("a second {channel} channel of one tracked point, left aside")]
    SecondChannel { channel: String },
    #[error("tracked point {point:?} has no {missing} channel, left aside")]
    PointIncomplete { point: String, missing: String },
    #[error("tracked point {point:?} has no sample with all its values, left aside")]
    PointEmpty { point: String },
    #[error("tracked point says {point}, the file's name {label:?}; the point was taken")]
    PlacementConflict { point: Placement, label: String },
    #[error("{channel} has no units, taken for {assumed}")]
    UnitsAssumed {
        channel: String,
        assumed: &'static str,
    },
    #[error(
        "accelerometer is said to be in {said:?}, its median {median} says {found}; converted from {found}"
    )]
    UnitsMistaken {
        said: String,
        median: f64,
        found: &'static str,
    },
    #[error("accelerometer's median is {median_m_s2} m/s^2, expected about 9.8")]
    AccelImplausible { median_m_s2: f64 },
    #[error("{count} samples with a missing value, left out")]
    Missing { count: u64 },
    #[error("{count} samples beyond what any sensor measures, left out")]
    Impossible { count: u64 },
    #[error("{count} rows with a time not after the row before, left out")]
    NotLater { count: u64 },
    #[error("{count} rows can't be read ({first}), left out")]
    BadRows { count: u64, first: RowFault },
    #[error("last line is cut short, left out")]
    CutShort,
    #[error("compressed file is cut short; what came before was read")]
    CutGzip,
    #[error("no SamplingFrequency; {rate_hz} Hz was taken from the times of the samples")]
    RateFromTimes { rate_hz: f64 },
    #[error("{key} is {value}, expected {expected}; left aside")]
    BadKey {
        key: &'static str,
        value: String,
        expected: &'static str,
    },
    #[error("{count} events with an unknown trial_type, the first {word:?}; taken for notes")]
    UnknownEvent { count: u64, word: String },
    #[error("{count} events without a time, the first {text:?}; left out")]
    NoOnset { count: u64, text: String },
    #[error("{count} events with an unknown side, the first {text:?}; taken for none")]
    BadSide { count: u64, text: String },
    #[error("{count} events with an impossible duration, the first {text:?}; taken for none")]
    BadDuration { count: u64, text: String },
    #[error("events are not in order of time; sorted")]
    EventsUnsorted,
    #[error(
        "all events lie outside the samples' times; they were taken to count from the first sample"
    )]
    EventClock,
    #[error("can't be looked into ({what})")]
    Unreadable { what: String },
}

impl ProblemKind {
    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::NoChannels { .. } => "add a _channels.tsv that names the columns",
            Self::NoSidecar => "add a _motion.json with TaskName and SamplingFrequency",
            Self::NoEvents => "add an _events.tsv, if only with its header",
            Self::BadJson { .. } | Self::BadTable { .. } => "correct the file",
            Self::HeaderLine => "leave the header out; _channels.tsv names the columns",
            Self::NotTabs => "put one tab between columns",
            Self::LineEnds => "end lines in LF alone",
            Self::ByteOrderMark => "save it as UTF-8 without a byte order mark",
            Self::OtherOrder | Self::ExtraChannels { .. } => "nothing needs to be done",
            Self::SecondChannel { .. } => "give each sensor a tracked_point of its own",
            Self::PointIncomplete { .. } => {
                "correct type, component and tracked_point in _channels.tsv"
            }
            Self::PointEmpty { .. } => "check the sensor of this point",
            Self::PlacementConflict { .. } => "make tracked_point and tracksys say the same place",
            Self::UnitsAssumed { .. } | Self::UnitsMistaken { .. } => {
                "correct the units in _channels.tsv"
            }
            Self::AccelImplausible { .. } => "check the units and the sensor's scale",
            Self::Impossible { .. } => "check units and sensor",
            Self::Missing { .. } => "check the link to the sensor",
            Self::NotLater { .. } => "check the clock of the recording program",
            Self::BadRows { .. } => "correct these rows",
            Self::CutShort => "nothing needs to be done; the recording was stopped while writing",
            Self::CutGzip => "take the file from its source again",
            Self::RateFromTimes { .. } => "add SamplingFrequency to _motion.json",
            Self::BadKey { .. } => "correct it in _motion.json",
            Self::UnknownEvent { .. } => "use rest, flat, raise, turn, pull, stop or note",
            Self::NoOnset { .. } => "give onset in seconds",
            Self::BadSide { .. } => "use left, right or n/a",
            Self::BadDuration { .. } => "give duration in seconds, or n/a",
            Self::EventsUnsorted => "sort the rows by onset",
            Self::EventClock => "count onsets on the clock of LATENCY",
            Self::Unreadable { .. } => "check that it may be read",
        }
        .to_owned()
    }
}
