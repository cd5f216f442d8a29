//! Sensors over Bluetooth, by their profiles.

use std::sync::Arc;

use sensor::ble::{Wanted, open};
use tokio::sync::mpsc;

use super::{Opened, Plan};
use crate::error::CommandError;
use crate::profiles::load;
use crate::selector::Selector;

/// Opens all Bluetooth sensors of a plan, or none.
pub(super) async fn add(
    plan: &Plan,
    tell: &mpsc::Sender<String>,
    opened: &mut Opened,
) -> Result<(), CommandError> {
    let mut wanted = Vec::new();
    for asked in &plan.sources {
        let Selector::Ble(ble) = &asked.selector else {
            continue;
        };
        let profile = load(ble.profile.as_ref())?;
        for warning in &profile.warnings {
            drop(tell.try_send(warning.to_string())); // told or not, it can be used
        }
        wanted.push(Wanted {
            placement: asked.placement,
            profile,
            which: ble.which.clone(),
            rate_hz: ble.rate_hz,
        });
    }
    if wanted.is_empty() {
        return Ok(());
    }
    let tell = tell.clone();
    let tell = Arc::new(move |text| drop(tell.try_send(text)));
    opened.sources.extend(open(wanted, tell).await?);
    Ok(())
}
