//! Opens the sources of a run, all kinds.

#[cfg(feature = "ble")]
mod bluetooth;
#[cfg(feature = "phone")]
mod pages;

use sensor::live::Source;
use tokio::sync::mpsc;

use super::person::person;
use super::plan::Plan;
use crate::error::CommandError;
#[cfg(not(all(feature = "ble", feature = "phone")))]
use crate::selector::Selector;

/// Sentences of sources that may wait; more are dropped.
pub(super) const TOLD_MAX: usize = 64;

/// Said where numbers look like a person's and aren't.
pub(crate) const NOT_MEASURED: &str = "simulated or played again: nothing is measured now";

#[cfg(feature = "phone")]
pub(super) use pages::Pages;

/// No pages in this build.
#[cfg(not(feature = "phone"))]
pub(super) enum Pages {}

#[cfg(not(feature = "phone"))]
impl Pages {
    pub(super) fn begin_marks(&self, _: sensor::live::Begin) {
        match *self {}
    }

    pub(super) fn stop(&self) {
        match *self {}
    }

    pub(super) fn end(&self) {
        match *self {}
    }
}

/// All sources of a run, ready to begin.
pub(super) struct Opened {
    pub(super) sources: Vec<Box<dyn Source>>,
    /// Pages of phones and hand markers; served as long as this is held.
    pub(super) pages: Option<Pages>,
    /// Whether events come faster than real time.
    pub(super) is_fast: bool,
}

/// Opens all that a plan names. What the person has to know or to do, now and while the run goes on, is told.
pub(super) async fn open(plan: &Plan, tell: mpsc::Sender<String>) -> Result<Opened, CommandError> {
    let mut opened = Opened {
        sources: Vec::new(),
        pages: None,
        is_fast: false,
    };
    if let Some((person, is_fast)) = person(plan)? {
        opened.sources.push(Box::new(person));
        drop(tell.try_send(NOT_MEASURED.to_owned())); // room for the first is there
        opened.is_fast = is_fast;
    }
    #[cfg(feature = "ble")]
    bluetooth::add(plan, &tell, &mut opened).await?;
    #[cfg(not(feature = "ble"))]
    if has(plan, |s| matches!(s, Selector::Ble(_))) {
        return Err(CommandError::NotBuilt("ble"));
    }
    #[cfg(feature = "phone")]
    pages::add(plan, &tell, &mut opened).await?;
    #[cfg(not(feature = "phone"))]
    if plan.with_marker || has(plan, |s| matches!(s, Selector::Phone)) {
        return Err(CommandError::NotBuilt("phone"));
    }
    Ok(opened)
}

#[cfg(not(all(feature = "ble", feature = "phone")))]
fn has(plan: &Plan, is: fn(&Selector) -> bool) -> bool {
    plan.sources.iter().any(|asked| is(&asked.selector))
}
