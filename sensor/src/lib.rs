//! What a motion sample is, where it comes from, and how it is kept.
//!
//! Units are SI: seconds, m/s², rad/s. Specific force reads +9.8 on the axis that points up at rest.
//! Times of a run count from its first sample, in whole nanoseconds ([`RunTime`]), so that what is
//! written as text is read back as the same number. Samples are always finite and in time order:
//! whatever isn't is left out where it enters, and shows as a gap.

mod assemble;
mod clock;
mod event;
mod face;
mod run;
mod sample;

pub mod bids;
#[cfg(feature = "ble")]
pub mod ble;
pub mod journal;
#[cfg(feature = "live")]
pub mod live;
pub mod packet;
#[cfg(feature = "phone")]
pub mod phone;
pub mod profile;
pub mod synthetic;

pub use assemble::{Assembled, Heading, Stream, WITHDRAWN, assemble};
pub use clock::{
    ClockMap, ClockReport, Counter, Counts, DeviceTicks, Fitted, FittedSample, HostTime, Part,
    RunTime, Ticks, Timing, TimingFault, fit,
};
pub use event::{
    Echo, Event, EventFault, Link, Loss, PACKET_SAMPLES_MAX, Packet, RUN_S_MAX, RawSample, Status,
    Stop, TEXT_BYTES_MAX,
};
pub use face::Face;
pub use run::{Conditions, Device, Mark, MarkKind, RecordingId, Run, Track, UnitLimits};
pub use sample::{Gap, Placement, RawStamp, Sample, Side};
