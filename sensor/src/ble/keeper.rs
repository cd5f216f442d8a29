//! A device that is or was connected, with all that is needed to talk to it again.

use std::sync::Arc;

use tokio::sync::Mutex;

use super::air::{Offer, Unit, limit, within};
use super::error::BleError;
use super::steps::Hand;
use crate::profile::{Profile, Uuid};

/// Takes a line for the person who waits: what is being tried, what was lost. Called now and then, also while a run
/// goes on.
pub type Tell = Arc<dyn Fn(String) + Send + Sync>;

/// Battery level, percent (Bluetooth assigned numbers).
pub(super) const BATTERY: Uuid = short(0x2a19);

/// A short form.
pub(super) const fn short(number: u128) -> Uuid {
    Uuid::from_u128(number << 96 | 0x0000_1000_8000_0080_5f9b_34fb)
}

/// A device that is or was connected.
pub(super) struct Keeper<U> {
    pub(super) unit: U,
    /// For messages.
    pub(super) name: String,
    pub(super) profile: Profile,
    pub(super) rate_hz: f64,
    /// Held while connecting: one at a time.
    pub(super) connecting: Arc<Mutex<()>>,
    pub(super) tell: Tell,
    pub(super) has_battery: bool,
}

impl<U: Unit> Keeper<U> {
    pub(super) fn hand(&self) -> Hand<'_, U> {
        Hand {
            unit: &self.unit,
            name: &self.name,
            profile: &self.profile,
            rate_hz: self.rate_hz,
        }
    }

    /// What it has, and that this is what the profile needs.
    pub(super) async fn discover(&self) -> Result<Offer, BleError> {
        let profile = &self.profile;
        let offer = within(limit::DISCOVER, self.unit.discover()).await;
        let offer = offer
            .map_err(|fault| BleError::of_device(&self.name, "finding its services", fault))?;
        let lacks = |what, uuid| BleError::Lacks {
            device: self.name.clone(),
            what,
            uuid,
        };
        if let Some(service) = profile.find.service
            && !offer.services.contains(&service)
        {
            return Err(lacks("service", service));
        }
        let writes = profile.writes.iter().flat_map(|step| {
            let from = step.expect.as_ref().map(|expect| expect.from);
            [Some(step.to), from].into_iter().flatten()
        });
        let reads = profile.reads.iter().map(|read| read.from);
        let needed = profile.notifying().into_iter().chain(writes).chain(reads);
        for uuid in needed {
            if !offer.characteristics.contains(&uuid) {
                return Err(lacks("characteristic", uuid));
            }
        }
        Ok(offer)
    }

    /// Its charge, percent, if it tells one.
    pub(super) async fn battery(&self) -> Option<u8> {
        if !self.has_battery {
            return None;
        }
        let read = within(limit::READ, self.unit.read(BATTERY)).await.ok()?;
        read.first().copied().filter(|percent| *percent <= 100)
    }

    /// Tells the person something of it.
    pub(super) fn tell(&self, text: &str) {
        (self.tell)(format!("{}: {text}", self.name));
    }
}
