//! Opens the sources of a run, all kinds.

use sensor::live::{Begin, Source};

use super::person::person;
use super::plan::Plan;
use crate::error::CommandError;
use crate::selector::Selector;

/// What begins the marks of hand markers.
pub(super) type Marks = Box<dyn FnOnce(Begin) + Send>;

/// All sources of a run, ready to begin.
pub(super) struct Opened {
    pub(super) sources: Vec<Box<dyn Source>>,
    pub(super) marks: Vec<Marks>,
    /// Whether events come faster than real time.
    pub(super) is_fast: bool,
}

/// Opens all that a plan names.
pub(super) async fn open(plan: &Plan) -> Result<Opened, CommandError> {
    let mut opened = Opened {
        sources: Vec::new(),
        marks: Vec::new(),
        is_fast: false,
    };
    let has = |is: fn(&Selector) -> bool| plan.sources.iter().any(|a| is(&a.selector));
    if has(|s| matches!(s, Selector::Ble(_))) {
        return Err(CommandError::NotBuilt("ble"));
    }
    if plan.with_marker || has(|s| matches!(s, Selector::Phone)) {
        return Err(CommandError::NotBuilt("phone"));
    }
    if let Some((person, is_fast)) = person(plan)? {
        opened.sources.push(Box::new(person));
        opened.is_fast = is_fast;
    }
    Ok(opened)
}
