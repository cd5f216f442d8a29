//! From the angle to the course of care: means over raises, and the bands they are sorted into.
//!
//! Everything here is arithmetic over results of [`fusion`]: no files, no clock. Means and bands use the end-point
//! angle, unrounded. Bands are the practitioner's own setting, not a finding.

mod bands;
mod caution;
mod change;
pub mod course;
mod decide;
pub mod drill;
pub mod export;
pub mod invented;
pub mod pacer;
mod recheck;
pub mod record;
mod repeatability;
pub mod report;
mod rules;
pub mod statistics;
#[cfg(feature = "store")]
pub mod store;
mod summary;
mod taken;
mod way;
pub mod wording;

pub use bands::{Bands, BandsError};
pub use caution::Caution;
pub use change::{Change, LimitKind};
pub use decide::{BandChance, Decision, Finding, Note, Round, SideDifference, decide, named_bands};
pub use recheck::{Recheck, RecheckError, RecheckNote, SideChange, WarmUp, recheck};
pub use repeatability::{Origin, Repeatability, RoundAngles};
pub use rules::{RuleError, RuleInfo, Rules};
pub use summary::{SideSummary, combined_mean, summarise, summarise_with};
pub use taken::{Taken, since_drill_s, usual_purpose};
pub use way::{Comparison, Condition, Way};
