//! From the angle to the course of care: means over raises, and the bands they are sorted into.
//!
//! Everything here is arithmetic over results of [`fusion`]: no files, no clock. Means and bands use the end-point
//! angle, unrounded. Bands are the practitioner's own setting, not a finding.

mod bands;
pub mod statistics;
mod summary;

pub use bands::{Bands, BandsError};
pub use summary::{SideSummary, combined_mean, summarise};
