//! The radio as the rest of this module needs it: small enough to be played by a test.

use std::future::Future;
use std::pin::Pin;
use std::time::Duration;

use futures_util::Stream;

use super::fault::{Fault, Kind};
use crate::profile::{Advertisement, Uuid};

/// How long each thing may take. Dropping a call doesn't stop the system, so a device is told to disconnect after one
/// that took too long.
pub(super) mod limit {
    use std::time::Duration;

    /// Reaching the bus and asking for adapters. Starting what speaks for the radio may take 25 s and then fail.
    pub(in super::super) const BUS: Duration = Duration::from_secs(5);
    /// On Linux it includes finding the services, which takes up to 30 s at the first time.
    pub(in super::super) const CONNECT: Duration = Duration::from_secs(35);
    pub(in super::super) const DISCOVER: Duration = Duration::from_secs(10);
    pub(in super::super) const SUBSCRIBE: Duration = Duration::from_secs(5);
    pub(in super::super) const WRITE: Duration = Duration::from_secs(3);
    pub(in super::super) const READ: Duration = Duration::from_secs(3);
    pub(in super::super) const DISCONNECT: Duration = Duration::from_secs(3);
    /// Asking whether a device is connected, or what a scan has found.
    pub(in super::super) const ASK: Duration = Duration::from_secs(2);
}

/// An adapter.
pub(super) trait Air: Clone + Send + Sync + 'static {
    /// What it finds.
    type Unit: Unit;

    /// Whether it is switched on.
    fn is_on(&self) -> impl Future<Output = Result<bool, Fault>> + Send;

    /// Looks for devices from now on. One that is off would be switched on by this: ask before.
    fn start_scan(&self) -> impl Future<Output = Result<(), Fault>> + Send;

    /// Looks no more.
    fn stop_scan(&self) -> impl Future<Output = Result<(), Fault>> + Send;

    /// All devices the system knows, present or not.
    fn seen(&self) -> impl Future<Output = Result<Vec<Seen<Self::Unit>>, Fault>> + Send;
}

/// A device.
pub(super) trait Unit: Clone + Send + Sync + 'static {
    fn connect(&self) -> impl Future<Output = Result<(), Fault>> + Send;
    fn disconnect(&self) -> impl Future<Output = Result<(), Fault>> + Send;
    fn is_connected(&self) -> impl Future<Output = Result<bool, Fault>> + Send;
    fn discover(&self) -> impl Future<Output = Result<Offer, Fault>> + Send;
    fn read(&self, from: Uuid) -> impl Future<Output = Result<Vec<u8>, Fault>> + Send;
    fn write(
        &self,
        to: Uuid,
        bytes: &[u8],
        with_response: bool,
    ) -> impl Future<Output = Result<(), Fault>> + Send;
    /// All notifications from now on. To be called before [`Self::subscribe`], else the first are lost; two of these
    /// give everything twice; one that isn't read grows.
    fn listen(&self) -> impl Future<Output = Result<Notes, Fault>> + Send;
    fn subscribe(&self, from: Uuid) -> impl Future<Output = Result<(), Fault>> + Send;
}

/// Notifications as they come.
pub(super) type Notes = Pin<Box<dyn Stream<Item = Note> + Send>>;

/// A notification.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Note {
    pub(super) from: Uuid,
    pub(super) bytes: Vec<u8>,
}

/// What a connected device has.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Offer {
    pub(super) services: Vec<Uuid>,
    pub(super) characteristics: Vec<Uuid>,
    /// The ATT MTU, bytes; 23 where nobody says.
    pub(super) mtu: u16,
}

/// A device that the system knows.
#[derive(Clone, Debug)]
pub(super) struct Seen<U> {
    pub(super) unit: U,
    /// Tells it from all others on this computer.
    pub(super) id: String,
    /// As it advertises.
    pub(super) name: Option<String>,
    /// Strength of the signal, dBm; only of one that was heard since the scan began.
    pub(super) signal_dbm: Option<i16>,
    pub(super) services: Vec<Uuid>,
    pub(super) manufacturers: Vec<u16>,
    /// A device that is connected doesn't advertise.
    pub(super) is_connected: bool,
}

impl<U> Seen<U> {
    /// Whether it is here now, and not only remembered by the system.
    pub(super) fn is_present(&self) -> bool {
        self.signal_dbm.is_some() || self.is_connected
    }

    /// For messages.
    pub(super) fn called(&self) -> &str {
        self.name.as_deref().unwrap_or(&self.id)
    }

    pub(super) fn shown(&self) -> Advertisement<'_> {
        Advertisement {
            name: self.name.as_deref(),
            services: &self.services,
            manufacturers: &self.manufacturers,
        }
    }
}

/// A call with an end.
pub(super) async fn within<T>(
    limit: Duration,
    call: impl Future<Output = Result<T, Fault>>,
) -> Result<T, Fault> {
    match tokio::time::timeout(limit, call).await {
        Ok(done) => done,
        Err(_) => Err(Fault::new(
            Kind::TimedOut,
            format!("no answer within {} s", limit.as_secs_f64()),
        )),
    }
}
