//! Which devices are here, without opening any.

use std::time::Duration;

use tokio::time::{Instant, sleep_until};

use super::air::{Air, Seen, limit, within};
use super::error::BleError;
use crate::profile::{Mismatch, Profile};

/// How often a scan is asked what it has found.
const LOOK_EVERY: Duration = Duration::from_millis(200);
/// No more devices are kept of one scan.
const DEVICES_COUNT_MAX: usize = 512;

/// What a scan has found; the strongest first.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Listing {
    /// Devices.
    pub found: Vec<Found>,
}

/// A device.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// Tells it from all others on this computer; another computer may call it otherwise.
    pub id: String,
    /// As it advertises.
    pub name: Option<String>,
    /// Strength of its signal, dBm; `None` for one that is only remembered, or connected.
    pub signal_dbm: Option<i16>,
    /// Whether it is here now. The system remembers devices long after they are gone.
    pub is_present: bool,
    /// Names of the profiles that are for it.
    pub profiles: Vec<String>,
    /// For each of the others its name, and all reasons why it isn't.
    pub others: Vec<(String, Vec<Mismatch>)>,
}

/// Scans until told to stop, and always stops the scan again.
pub(super) async fn scan<A: Air>(
    air: &A,
    until: Instant,
    mut is_enough: impl FnMut(&[Seen<A::Unit>]) -> bool,
) -> Result<Vec<Seen<A::Unit>>, BleError> {
    let on = within(limit::ASK, air.is_on()).await;
    if !on.map_err(|fault| BleError::of_adapter("asking whether the adapter is on", fault))? {
        return Err(BleError::Off);
    }
    let scanning = Scanning(Some(air.clone()));
    let started = within(limit::BUS, air.start_scan()).await;
    started.map_err(|fault| BleError::of_adapter("scanning", fault))?;
    let seen = look(air, until, &mut is_enough).await;
    scanning.stop().await;
    seen
}

async fn look<A: Air>(
    air: &A,
    until: Instant,
    is_enough: &mut impl FnMut(&[Seen<A::Unit>]) -> bool,
) -> Result<Vec<Seen<A::Unit>>, BleError> {
    loop {
        let next = (Instant::now() + LOOK_EVERY).min(until);
        sleep_until(next).await;
        let seen = within(limit::BUS, air.seen()).await;
        let mut seen = seen.map_err(|fault| BleError::of_adapter("scanning", fault))?;
        seen.sort_by(|a, b| b.signal_dbm.cmp(&a.signal_dbm).then(a.id.cmp(&b.id)));
        seen.truncate(DEVICES_COUNT_MAX);
        if until <= next || is_enough(&seen) {
            return Ok(seen);
        }
    }
}

/// A scan that is stopped even if nobody waits for it any more: it takes the air from those that stream.
struct Scanning<A: Air>(Option<A>);

impl<A: Air> Scanning<A> {
    async fn stop(mut self) {
        if let Some(air) = self.0.take() {
            // That none was running is no matter.
            drop(within(limit::ASK, air.stop_scan()).await);
        }
    }
}

impl<A: Air> Drop for Scanning<A> {
    fn drop(&mut self) {
        if let (Some(air), Ok(runtime)) = (self.0.take(), tokio::runtime::Handle::try_current()) {
            runtime.spawn(async move { drop(within(limit::ASK, air.stop_scan()).await) });
        }
    }
}

/// What is here, and which of the profiles are for it.
pub(super) async fn list<A: Air>(
    air: &A,
    profiles: &[Profile],
    duration: Duration,
) -> Result<Listing, BleError> {
    let seen = scan(air, Instant::now() + duration, |_| false).await?;
    Ok(Listing {
        found: seen.iter().map(|seen| found(seen, profiles)).collect(),
    })
}

fn found<U>(seen: &Seen<U>, profiles: &[Profile]) -> Found {
    let shown = seen.shown();
    let judged = profiles
        .iter()
        .map(|profile| (profile.name.clone(), profile.find.mismatches(&shown)));
    let (ours, others): (Vec<_>, Vec<_>) = judged.partition(|(_, reasons)| reasons.is_empty());
    Found {
        id: seen.id.clone(),
        name: seen.name.clone(),
        signal_dbm: seen.signal_dbm,
        is_present: seen.is_present(),
        profiles: ours.into_iter().map(|(name, _)| name).collect(),
        others,
    }
}
