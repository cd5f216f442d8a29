//! From what is wanted to connected sensors: one scan, then one connection after the other.

use std::sync::Arc;
use std::time::Duration;

use futures_util::StreamExt as _;
use tokio::sync::{Mutex, mpsc};
use tokio::time::{Instant, sleep};

use super::Tell;
use super::air::{Air, Offer, Seen, Unit, limit, within};
use super::choose::{Wanted, check, choose, is_settled};
use super::error::BleError;
use super::fault::{Fault, Kind};
use super::keeper::{BATTERY, Keeper, short};
use super::list::scan;
use super::run::Sensor;
use super::steps::{ANSWERS_COUNT_MAX, Hand, answering};
use crate::event::Status;
use crate::packet::Decoder;
use crate::profile::{Uuid, When};
use crate::{Device, Stream};

/// The longest scan.
const SCAN: Duration = Duration::from_secs(10);
/// Pauses before the second try and those after it; also the number of tries.
const BACK_OFF: [Duration; 3] = [
    Duration::from_millis(500),
    Duration::from_secs(1),
    Duration::from_secs(2),
];
/// No text of a device is kept longer, characters.
const TEXT_CHARS_MAX: usize = 64;

/// Device information (Bluetooth assigned numbers): maker, model, serial number, firmware.
const MAKER: Uuid = short(0x2a29);
const MODEL: Uuid = short(0x2a24);
const SERIAL: Uuid = short(0x2a25);
const FIRMWARE: Uuid = short(0x2a26);

/// Opens all that is wanted, or nothing.
pub(super) async fn open<A: Air>(
    air: &A,
    wanted: Vec<Wanted>,
    tell: &Tell,
) -> Result<Vec<Sensor<A::Unit>>, BleError> {
    check(&wanted)?;
    let began = Instant::now();
    let (mut known, mut since) = (0, began);
    let seen = scan(air, began + SCAN, |seen| {
        let present = seen.iter().filter(|one| one.is_present()).count();
        if present != known {
            (known, since) = (present, Instant::now());
        }
        is_settled(&wanted, seen, since.elapsed())
    })
    .await?;
    let chosen = choose(&wanted, &seen, began.elapsed().as_secs_f64())?;
    let connecting = Arc::new(Mutex::new(()));
    let mut sensors = Vec::new();
    for (one, seen) in wanted.iter().zip(chosen) {
        match sensor(one, seen, &connecting, tell).await {
            Ok(sensor) => sensors.push(sensor),
            Err(error) => {
                drop(within(limit::DISCONNECT, seen.unit.disconnect()).await);
                for sensor in sensors {
                    sensor.close().await;
                }
                return Err(error);
            }
        }
    }
    Ok(sensors)
}

async fn sensor<U: Unit>(
    wanted: &Wanted,
    seen: &Seen<U>,
    connecting: &Arc<Mutex<()>>,
    tell: &Tell,
) -> Result<Sensor<U>, BleError> {
    let name = seen.called().to_owned();
    let profile = &wanted.profile;
    connect(&seen.unit, &name, tell).await?;
    let mut keeper = Keeper {
        unit: seen.unit.clone(),
        name,
        profile: profile.clone(),
        rate_hz: wanted.rate(),
        connecting: Arc::clone(connecting),
        tell: Arc::clone(tell),
        has_battery: false,
    };
    let offer = keeper.discover().await?;
    keeper.has_battery = offer.characteristics.contains(&BATTERY);
    if usize::from(offer.mtu) < profile.mtu_min() {
        keeper.tell(&format!(
            "the MTU is {} bytes, its packets need {}; if no samples come, use another adapter or shorter packets",
            offer.mtu,
            profile.mtu_min()
        ));
    }
    let device = device(&seen.unit, &offer, &keeper.name).await;
    let mut decoder = Decoder::new(profile.clone(), keeper.rate_hz);
    prepare(&keeper.hand(), &mut decoder).await?;
    let timing = decoder.timing().ok_or_else(|| {
        let fault = Fault::new(Kind::Absent, "the length of its tick can't be read");
        BleError::of_device(&keeper.name, "opening", fault)
    })?;
    let status = Status {
        battery_percent: keeper.battery().await,
        signal_dbm: seen.signal_dbm,
        ..Status::default()
    };
    let stream = Stream {
        placement: wanted.placement,
        timing,
        limits: profile.limits,
        device,
    };
    Ok(Sensor::new(keeper, decoder, stream, status))
}

/// Up to three tries; what another try can't change ends it at once.
async fn connect<U: Unit>(unit: &U, name: &str, tell: &Tell) -> Result<(), BleError> {
    let mut said = String::new();
    for (before, pause) in BACK_OFF.iter().enumerate() {
        let number = before + 1;
        if before == 0 {
            tell(format!("{name}: connecting"));
        } else {
            tell(format!(
                "{name}: connecting, try {number} of {} ({said})",
                BACK_OFF.len()
            ));
        }
        match within(limit::CONNECT, unit.connect()).await {
            Ok(()) => return Ok(()),
            Err(fault) => match fault.kind {
                Kind::NotPermitted | Kind::NeedsPairing | Kind::Off => {
                    return Err(BleError::of_device(name, "connecting", fault));
                }
                _ => said = fault.said,
            },
        }
        // The system may still be at it.
        drop(within(limit::DISCONNECT, unit.disconnect()).await);
        if number < BACK_OFF.len() {
            sleep(*pause).await;
        }
    }
    Err(BleError::Unreachable {
        device: name.to_owned(),
        tries: BACK_OFF.len(),
        said,
    })
}

/// What it says of its make. What it doesn't say stays empty; the model is then its name.
async fn device<U: Unit>(unit: &U, offer: &Offer, name: &str) -> Device {
    let mut texts = [const { String::new() }; 4];
    for (text, from) in texts.iter_mut().zip([MAKER, MODEL, SERIAL, FIRMWARE]) {
        if offer.characteristics.contains(&from)
            && let Ok(bytes) = within(limit::READ, unit.read(from)).await
        {
            *text = plain(&bytes);
        }
    }
    let [manufacturer, mut model, serial, software] = texts;
    if model.is_empty() {
        model = plain(name.as_bytes());
    }
    Device {
        manufacturer,
        model,
        serial,
        software,
    }
}

/// A text as it may stand in a file: no controls, no padding, not too long.
fn plain(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    let kept = text.chars().filter(|c| !c.is_control());
    let kept: String = kept.take(TEXT_CHARS_MAX).collect();
    kept.trim().to_owned()
}

/// The writes of connecting, and the values that packets need.
async fn prepare<U: Unit>(hand: &Hand<'_, U>, decoder: &mut Decoder) -> Result<(), BleError> {
    let (reads, mut read) = mpsc::channel(ANSWERS_COUNT_MAX);
    if hand.profile.writes_when(When::Connect).next().is_some() {
        let (sender, mut answers) = mpsc::channel(ANSWERS_COUNT_MAX);
        let from = answering(hand.profile, &[When::Connect]);
        let notes = hand.unit.listen().await;
        let mut notes =
            notes.map_err(|fault| BleError::of_device(hand.name, "listening", fault))?;
        hand.subscribe(&from).await?;
        let listened = async {
            while let Some(note) = notes.next().await {
                drop(sender.try_send(note));
            }
            std::future::pending::<()>().await;
        };
        tokio::select! {
            done = hand.perform(When::Connect, &mut answers, &reads) => done?,
            () = listened => {}
        }
    }
    for note in hand.read_all().await? {
        drop(reads.try_send(note));
    }
    while let Ok(note) = read.try_recv() {
        let taken = decoder.push_read(note.from, &note.bytes);
        taken.map_err(|fault| BleError::Read {
            device: hand.name.to_owned(),
            fault,
        })?;
    }
    Ok(())
}
