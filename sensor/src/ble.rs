//! Sensors over Bluetooth LE: found, connected, told and read as their [`Profile`] says.
//!
//! [`list`] looks around without touching anything; [`open`] scans, connects and gives [`Source`]s. Neither scans
//! while anything streams: the radio is shared. All work is on small types of `air`, which tests play;
//! only `radio` knows the library behind.

mod air;
mod choose;
mod desk;
mod error;
mod fault;
mod keeper;
mod line;
mod list;
mod open;
mod radio;
mod run;
mod steps;
mod watch;

use std::time::Duration;

pub use choose::Wanted;
pub use error::{BleError, NoAdapter, Other};
pub use keeper::Tell;
pub use list::{Found, Listing};

use crate::live::Source;
use crate::profile::Profile;

/// What is here, and which of the profiles are for it.
pub async fn list(profiles: &[Profile], duration: Duration) -> Result<Listing, BleError> {
    list::list(&radio().await?, profiles, duration).await
}

/// Opens all sensors that are wanted, in their order, or none.
pub async fn open(wanted: Vec<Wanted>, tell: Tell) -> Result<Vec<Box<dyn Source>>, BleError> {
    let sensors = open::open(&radio().await?, wanted, &tell).await?;
    let boxed = |sensor| -> Box<dyn Source> { Box::new(sensor) };
    Ok(sensors.into_iter().map(boxed).collect())
}

async fn radio() -> Result<radio::Radio, BleError> {
    let radio = radio::Radio::open().await;
    radio.map_err(|fault| BleError::of_adapter("asking for the adapter", fault))
}
