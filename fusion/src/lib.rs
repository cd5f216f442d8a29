//! From samples to raise angles.
//!
//! Kernels are functions over plain data: they read no clock, do no IO and know nothing of left and right.
//! Radians, seconds, m/s² and rad/s inside; degrees only through [`Angle`].
//! Frames: *sensor* as the chip reports; *earth* with z up and a heading that only the gyroscope holds.

mod analysis;
mod angle;
mod imu;
mod second_opinion;
mod self_check;
mod settings;
mod stream;
mod trial;
mod uncertainty;

pub mod calibrate;
mod raise;
pub mod tilt;

pub use analysis::{
    Analysis, Compensation, CompensationKind, EndPoint, Flag, Hold, Measured, Moment, Raise,
    Reason, RunProblem,
};
pub use angle::Angle;
pub use imu::Imu;
pub use self_check::{Agreement, SelfCheck};
pub use settings::Settings;
pub use trial::{
    LiveCompensation, LiveEnd, RaiseState, Reading, SessionContext, Trial, analyse_run,
};
pub use uncertainty::{Budget, Source, Term, coverage_factor};
