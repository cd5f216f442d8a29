//! What the practitioner sets: edges of bands, and rules.

use casebook::Bands;
use casebook::store::Store;

use super::{BookFault, why};
use crate::error::CommandError;

/// Bands with these edges.
pub(crate) fn set_bands(
    store: &Store,
    edges_deg: &[f64],
    because: &str,
) -> Result<(), CommandError> {
    let bands = Bands::from_edges_deg(edges_deg).map_err(BookFault::from)?;
    Ok(store.set_bands(&bands, why(because))?)
}

/// One rule, within its limits.
pub(crate) fn set_rule(
    store: &Store,
    key: &str,
    value: f64,
    because: &str,
) -> Result<(), CommandError> {
    let mut rules = store.rules()?;
    rules.set(key, value).map_err(BookFault::from)?;
    Ok(store.set_rules(&rules, why(because))?)
}
