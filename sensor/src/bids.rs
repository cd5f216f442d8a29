//! Data sets on disk, in the open standard BIDS-Motion: found, read and written.
//!
//! Reading is tolerant: it gives what could be read, with a list of [`Problem`]s. Writing is strict
//! and atomic. A [`Run`](crate::Run) that was written is read back as the same value.

mod channels;
mod dataset;
mod derivative;
mod error;
mod events;
mod file;
mod find;
mod layout;
mod motion;
mod move_run;
mod name;
mod number;
mod person;
mod problem;
mod read;
mod rows;
mod sidecar;
mod start;
mod table;
mod units;
mod write;
mod write_check;
mod write_error;
mod write_side;

#[cfg(test)]
mod tests_find;
#[cfg(test)]
mod tests_identity;
#[cfg(test)]
mod tests_move;
#[cfg(test)]
mod tests_read;
#[cfg(test)]
mod tests_side;
#[cfg(test)]
mod tests_write;

pub use dataset::{Column, DataSet, create, set_participant};
pub use derivative::{Derivative, RaiseTable, create_derivative, write_phenotype, write_raises};
pub use error::{FindError, Place, ReadError, ReadErrorKind, RowFault};
pub use find::{Found, RunFiles, SessionFiles, find_runs, free_run_label, search, session_of};
pub use motion::read_motion;
pub use move_run::{move_run, recordings_of};
pub use person::{copy_person, erase_person};
pub use problem::{Problem, ProblemKind};
pub use read::{RunRead, read_run};
pub use write::write_run;
pub use write_error::{TrackFault, WriteError, WriteErrorKind};

pub(crate) use file::{make_folder, sync_folder};
pub(crate) use name::Name;
pub(crate) use write::motion_folder;
pub(crate) use write_check::{check_id, is_date_time};
