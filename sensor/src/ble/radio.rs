//! The radio of this computer. The only file that knows the library behind it; all else works on [`super::air`].

use btleplug::api::{
    Central as _, CentralState, CharPropFlags, Characteristic, Manager as _, Peripheral as _,
    ScanFilter, WriteType,
};
use btleplug::platform::{Adapter, Manager, Peripheral};
use futures_util::StreamExt as _;

use super::air::{Air, Note, Notes, Offer, Seen, Unit, limit, within};
use super::fault::{Call, Fault, Kind};
use crate::profile::Uuid;

/// The first adapter.
#[derive(Clone, Debug)]
pub(super) struct Radio {
    adapter: Adapter,
}

/// A device of it.
#[derive(Clone, Debug)]
pub(super) struct Device {
    peripheral: Peripheral,
}

impl Radio {
    /// Reaches the system bus and takes the first adapter.
    pub(super) async fn open() -> Result<Self, Fault> {
        let manager = within(limit::BUS, manager()).await?;
        let adapters = async {
            let adapters = manager.adapters().await;
            adapters.map_err(|e| fault(Call::Adapters, &e))
        };
        let adapters = within(limit::BUS, adapters).await.map_err(|mut fault| {
            // A service that must be started first, and can't, keeps its caller waiting.
            if fault.kind == Kind::TimedOut {
                fault.kind = Kind::CannotStart;
            }
            fault
        })?;
        let first = adapters.into_iter().next();
        first
            .map(|adapter| Self { adapter })
            .ok_or_else(|| Fault::new(Kind::NoAdapter, "an empty list of adapters"))
    }
}

/// Connecting to the bus holds up its thread, and would hold up all else on it.
async fn manager() -> Result<Manager, Fault> {
    let runtime = tokio::runtime::Handle::current();
    let made = tokio::task::spawn_blocking(move || runtime.block_on(Manager::new())).await;
    made.map_err(|e| Fault::new(Kind::Refused, e.to_string()))?
        .map_err(|e| fault(Call::Bus, &e))
}

/// What a failed call means.
fn fault(call: Call, error: &btleplug::Error) -> Fault {
    use btleplug::Error;
    let kind = match error {
        Error::PermissionDenied => Kind::NotPermitted,
        Error::DeviceNotFound => Kind::Gone,
        Error::NotConnected => Kind::NotConnected,
        Error::NoAdapterAvailable => Kind::NoAdapter,
        Error::NoSuchCharacteristic => Kind::Absent,
        Error::TimedOut(_) => Kind::TimedOut,
        Error::Other(inner) => return other(call, inner.as_ref()),
        _ => Kind::Refused,
    };
    Fault::new(kind, error.to_string())
}

#[cfg(target_os = "linux")]
fn other(call: Call, inner: &(dyn std::error::Error + Send + Sync + 'static)) -> Fault {
    use bluez_async::BluetoothError;
    match inner.downcast_ref::<BluetoothError>() {
        Some(BluetoothError::DbusError(e)) => {
            let text = e.message().unwrap_or_default();
            match e.name() {
                Some(name) => Fault::named(call, name, format!("{name}: {text}")),
                None => Fault::new(Kind::Refused, text),
            }
        }
        Some(e @ BluetoothError::NoBluetoothAdapters) => Fault::new(Kind::NoAdapter, e.to_string()),
        Some(e @ BluetoothError::ServiceDiscoveryTimedOut) => {
            Fault::new(Kind::TimedOut, e.to_string())
        }
        Some(e @ BluetoothError::UuidNotFound { .. }) => Fault::new(Kind::Absent, e.to_string()),
        _ => Fault::new(Kind::Refused, inner.to_string()),
    }
}

#[cfg(not(target_os = "linux"))]
fn other(_call: Call, inner: &(dyn std::error::Error + Send + Sync + 'static)) -> Fault {
    Fault::new(Kind::Refused, inner.to_string())
}

/// What is done already is done.
fn done(result: Result<(), Fault>) -> Result<(), Fault> {
    match result {
        Err(fault) if fault.kind == Kind::Underway => Ok(()),
        other => other,
    }
}

impl Air for Radio {
    type Unit = Device;

    async fn is_on(&self) -> Result<bool, Fault> {
        let state = self.adapter.adapter_state().await;
        let state = state.map_err(|e| fault(Call::Scan, &e))?;
        // Where nobody says, the scan will.
        Ok(state != CentralState::PoweredOff)
    }

    async fn start_scan(&self) -> Result<(), Fault> {
        let started = self.adapter.start_scan(ScanFilter::default()).await;
        done(started.map_err(|e| fault(Call::Scan, &e)))
    }

    async fn stop_scan(&self) -> Result<(), Fault> {
        let stopped = self.adapter.stop_scan().await;
        stopped.map_err(|e| fault(Call::Scan, &e))
    }

    async fn seen(&self) -> Result<Vec<Seen<Device>>, Fault> {
        let peripherals = self.adapter.peripherals().await;
        let mut seen = Vec::new();
        for peripheral in peripherals.map_err(|e| fault(Call::Scan, &e))? {
            // One that has just been forgotten can't be asked.
            if let Ok(Some(shown)) = peripheral.properties().await {
                seen.push(look(peripheral, shown).await);
            }
        }
        Ok(seen)
    }
}

async fn look(peripheral: Peripheral, shown: btleplug::api::PeripheralProperties) -> Seen<Device> {
    // Where a device has no name the system makes one of its address.
    let address = shown.address.to_string().replace(':', "-");
    let given = shown.local_name.filter(|name| *name != address);
    let is_connected = shown.rssi.is_none() && peripheral.is_connected().await.unwrap_or(false);
    let mut manufacturers: Vec<u16> = shown.manufacturer_data.into_keys().collect();
    manufacturers.sort_unstable();
    Seen {
        id: peripheral.id().to_string(),
        name: shown.advertisement_name.or(given),
        signal_dbm: shown.rssi,
        services: shown
            .services
            .iter()
            .map(|one| ours(one.as_u128()))
            .collect(),
        manufacturers,
        is_connected,
        unit: Device { peripheral },
    }
}

/// The same number in this crate's type.
const fn ours(number: u128) -> Uuid {
    Uuid::from_u128(number)
}

impl Device {
    fn characteristic(&self, wanted: Uuid, can: CharPropFlags) -> Result<Characteristic, Fault> {
        let all = self.peripheral.characteristics();
        let of_it = || all.iter().filter(|one| ours(one.uuid.as_u128()) == wanted);
        // Two services may have the same: rather the one that can do what is wanted.
        let able = of_it().find(|one| one.properties.intersects(can));
        let found = able.or_else(|| of_it().next());
        found
            .cloned()
            .ok_or_else(|| Fault::new(Kind::Absent, format!("no characteristic {wanted}")))
    }
}

impl Unit for Device {
    async fn connect(&self) -> Result<(), Fault> {
        let connected = self.peripheral.connect().await;
        done(connected.map_err(|e| fault(Call::Connect, &e)))
    }

    async fn disconnect(&self) -> Result<(), Fault> {
        let parted = self.peripheral.disconnect().await;
        parted.map_err(|e| fault(Call::Device, &e))
    }

    async fn is_connected(&self) -> Result<bool, Fault> {
        let connected = self.peripheral.is_connected().await;
        connected.map_err(|e| fault(Call::Device, &e))
    }

    async fn discover(&self) -> Result<Offer, Fault> {
        let discovered = self.peripheral.discover_services().await;
        discovered.map_err(|e| fault(Call::Device, &e))?;
        let services = self.peripheral.services();
        let characteristics = self.peripheral.characteristics();
        Ok(Offer {
            services: services
                .iter()
                .map(|one| ours(one.uuid.as_u128()))
                .collect(),
            characteristics: characteristics
                .iter()
                .map(|one| ours(one.uuid.as_u128()))
                .collect(),
            mtu: self.peripheral.mtu(),
        })
    }

    async fn read(&self, from: Uuid) -> Result<Vec<u8>, Fault> {
        let from = self.characteristic(from, CharPropFlags::READ)?;
        let read = self.peripheral.read(&from).await;
        read.map_err(|e| fault(Call::Device, &e))
    }

    async fn write(&self, to: Uuid, bytes: &[u8], with_response: bool) -> Result<(), Fault> {
        let (can, how) = if with_response {
            (CharPropFlags::WRITE, WriteType::WithResponse)
        } else {
            let can = CharPropFlags::WRITE_WITHOUT_RESPONSE;
            (can, WriteType::WithoutResponse)
        };
        let to = self.characteristic(to, can)?;
        let written = self.peripheral.write(&to, bytes, how).await;
        written.map_err(|e| fault(Call::Device, &e))
    }

    async fn listen(&self) -> Result<Notes, Fault> {
        let notes = self.peripheral.notifications().await;
        let notes = notes.map_err(|e| fault(Call::Device, &e))?;
        Ok(Box::pin(notes.map(|note| Note {
            from: ours(note.uuid.as_u128()),
            bytes: note.value,
        })))
    }

    async fn subscribe(&self, from: Uuid) -> Result<(), Fault> {
        let able = CharPropFlags::NOTIFY | CharPropFlags::INDICATE;
        let from = self.characteristic(from, able)?;
        let subscribed = self.peripheral.subscribe(&from).await;
        done(subscribed.map_err(|e| fault(Call::Device, &e)))
    }
}
