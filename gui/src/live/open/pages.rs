//! Phones and hand markers, through pages that this program serves.

use std::sync::Arc;

use sensor::live::Begin;
use sensor::phone::{Cue, Role};
use tokio::sync::mpsc;

use super::{Opened, Plan};
use crate::error::CommandError;
use crate::pages::{Served, serve};
use crate::selector::Selector;

/// The pages of a run.
pub(in super::super) struct Pages(Served);

impl Pages {
    /// From now on each press is a mark of this run.
    pub(in super::super) fn begin_marks(&self, begin: Begin) {
        self.0.server.begin_marks(begin);
    }

    /// The raise is to be stopped.
    pub(in super::super) fn stop(&self) {
        self.0.server.cue(Cue::Stop);
    }

    /// The run has ended.
    pub(in super::super) fn end(&self) {
        self.0.server.cue(Cue::End);
    }
}

/// Serves the pages of a plan, if it has any, and waits for its phones. A marker may come at any time.
pub(super) async fn add(
    plan: &Plan,
    tell: &mpsc::Sender<String>,
    opened: &mut Opened,
) -> Result<(), CommandError> {
    let is_phone = |s: &Selector| matches!(s, Selector::Phone);
    let phones: Vec<_> = plan
        .sources
        .iter()
        .filter(|a| is_phone(&a.selector))
        .collect();
    if phones.is_empty() && !plan.with_marker {
        return Ok(());
    }
    let later = tell.clone();
    let told = Arc::new(move |text| drop(later.try_send(text)));
    let served = serve(plan.page_ip, told).await?;
    let marker = plan.with_marker.then_some(Role::Marker(None));
    let roles = phones.iter().map(|asked| Role::Sensor(asked.placement));
    for role in roles.chain(marker) {
        if let Some(text) = served.invite(role) {
            drop(tell.try_send(text)); // room for the first is there
        }
    }
    for asked in phones {
        opened
            .sources
            .push(served.server.opened(asked.placement).await?);
    }
    opened.pages = Some(Pages(served));
    Ok(())
}
