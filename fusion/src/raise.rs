//! Raises of one shin: where they are, their corrected courses, and what is read off them.
//!
//! In the order in which a run passes through: [`segment`] finds raises on the shin's elevation, [`rest`] the quiet
//! stretches about them, [`alignment`] the direction to the foot, [`rolled`] the bone's axis where it was shown;
//! [`trace`] follows each raise by the gyroscope, [`estimate`] corrects all of them together, [`lift`] joins these;
//! [`curve`] and [`measure`] read numbers off,
//! [`companions`] and [`compensation`] watch the other segments, [`conclude`] puts a raise's result together.
//! The kernels know no left and right: there is a raised shin, and perhaps others.

pub(crate) mod alignment;
pub(crate) mod companions;
pub(crate) mod compensation;
pub(crate) mod conclude;
pub(crate) mod contradiction;
mod curve;
mod estimate;
pub(crate) mod lift;
mod measure;
mod rest;
pub(crate) mod rolled;
pub(crate) mod segment;
mod trace;
