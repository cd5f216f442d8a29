//! What can stand between a person and their sensors: each its own message, each with its mend.

use std::fmt;

use super::fault::{Fault, Kind};
use crate::Placement;
use crate::profile::{RateNotOffered, ReadFault, Uuid};

/// Why no sensor could be listed or opened.
#[derive(Clone, Debug, PartialEq)]
pub enum BleError {
    /// This computer has no Bluetooth adapter that can be used.
    NoAdapter(NoAdapter),
    /// The address of the system bus makes no sense.
    BusAddress {
        /// What the system said.
        said: String,
    },
    /// This user or program may not use the adapter.
    NotPermitted {
        /// What the system said.
        said: String,
    },
    /// The adapter is switched off or blocked. It isn't switched on here: that is for its owner to do.
    Off,
    /// Not one device is here.
    Nothing {
        /// How long it was scanned for, s.
        scanned_s: f64,
        /// Devices that the system remembers but that don't advertise now.
        remembered: Vec<String>,
    },
    /// Devices are here, but none that is meant.
    NotOurs {
        /// For whom one was sought.
        placement: Placement,
        /// What was sought.
        sought: String,
        /// What was found, and why each isn't it.
        found: Vec<Other>,
        /// Devices that the system remembers but that don't advertise now.
        remembered: Vec<String>,
    },
    /// More than one device could be meant.
    Many {
        /// For whom one was sought.
        placement: Placement,
        /// Their names and ids.
        found: Vec<String>,
    },
    /// The same place, or the same device for two places.
    Twice {
        /// Which.
        what: String,
    },
    /// Found and connected, but it isn't what it seemed.
    Lacks {
        /// Its name.
        device: String,
        /// What it lacks: a service or a characteristic.
        what: &'static str,
        /// Which.
        uuid: Uuid,
    },
    /// Found, but the connection failed.
    Unreachable {
        /// Its name.
        device: String,
        /// How often it was tried.
        tries: usize,
        /// What the system said last.
        said: String,
    },
    /// It answers only to computers it is paired with.
    NeedsPairing {
        /// Its name.
        device: String,
    },
    /// It was connected, and is no more.
    Lost {
        /// Its name.
        device: String,
        /// What was being done.
        doing: String,
        /// What the system said.
        said: String,
    },
    /// A write wasn't answered as the profile says.
    Unanswered {
        /// Its name.
        device: String,
        /// What was written.
        written: String,
        /// How the answer should have begun.
        expected: String,
        /// What came instead, if anything.
        found: Option<String>,
    },
    /// The rate isn't one it has.
    Rate {
        /// For whom.
        placement: Placement,
        /// Which, and what there is.
        fault: RateNotOffered,
    },
    /// A value it told is of no use.
    Read {
        /// Its name.
        device: String,
        /// Which, and why.
        fault: ReadFault,
    },
    /// Something else that the system refused.
    Refused {
        /// What was being done.
        doing: String,
        /// What the system said.
        said: String,
    },
}

/// In which way there is no adapter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoAdapter {
    /// No system bus to ask.
    NoBus,
    /// No Bluetooth service on the bus.
    NoService,
    /// The Bluetooth service doesn't start.
    CannotStart,
    /// The service runs and knows of none.
    NoneThere,
}

/// A device that isn't meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Other {
    /// Its name, or its id if it tells none.
    pub name: String,
    /// All reasons.
    pub reasons: Vec<String>,
}

/// So many devices are named in one message; a busy street has hundreds.
const NAMED_COUNT_MAX: usize = 8;

impl BleError {
    /// A word for scripts and tests, one for each answer.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::NoAdapter(_) => "no-adapter",
            Self::BusAddress { .. } => "bus-address",
            Self::NotPermitted { .. } => "not-permitted",
            Self::Off => "adapter-off",
            Self::Nothing { .. } => "nothing-found",
            Self::NotOurs { .. } | Self::Lacks { .. } => "not-ours",
            Self::Many { .. } => "many-found",
            Self::Twice { .. } => "named-twice",
            Self::Unreachable { .. } => "not-connected",
            Self::NeedsPairing { .. } => "needs-pairing",
            Self::Lost { .. } => "lost",
            Self::Unanswered { .. } => "not-answered",
            Self::Rate { .. } => "no-such-rate",
            Self::Read { .. } => "not-readable",
            Self::Refused { .. } => "refused",
        }
    }

    /// What a failed call of the adapter means.
    pub(super) fn of_adapter(doing: &str, fault: Fault) -> Self {
        let said = fault.said;
        match fault.kind {
            Kind::NoBus => Self::NoAdapter(NoAdapter::NoBus),
            Kind::NoService | Kind::BusGone => Self::NoAdapter(NoAdapter::NoService),
            Kind::CannotStart => Self::NoAdapter(NoAdapter::CannotStart),
            Kind::NoAdapter => Self::NoAdapter(NoAdapter::NoneThere),
            Kind::BusAddress => Self::BusAddress { said },
            Kind::NotPermitted => Self::NotPermitted { said },
            Kind::Off => Self::Off,
            _ => Self::Refused {
                doing: doing.to_owned(),
                said,
            },
        }
    }

    /// What a failed call of a device means that was connected before.
    pub(super) fn of_device(device: &str, doing: &str, fault: Fault) -> Self {
        let device = device.to_owned();
        let doing = doing.to_owned();
        let said = fault.said;
        match fault.kind {
            Kind::NotPermitted => Self::NotPermitted { said },
            Kind::NeedsPairing => Self::NeedsPairing { device },
            Kind::Off => Self::Off,
            Kind::NotConnected | Kind::Gone | Kind::BusGone | Kind::TimedOut => Self::Lost {
                device,
                doing,
                said,
            },
            _ => Self::Refused {
                doing: format!("{device}: {doing}"),
                said,
            },
        }
    }

    fn place(&self) -> String {
        match self {
            Self::NotOurs { placement, .. }
            | Self::Many { placement, .. }
            | Self::Rate { placement, .. } => placement.to_string(),
            Self::Lacks { device, .. }
            | Self::Unreachable { device, .. }
            | Self::NeedsPairing { device }
            | Self::Lost { device, .. }
            | Self::Unanswered { device, .. }
            | Self::Read { device, .. } => device.clone(),
            _ => "bluetooth".to_owned(),
        }
    }

    fn found(&self) -> String {
        match self {
            Self::NoAdapter(how) => how.found().to_owned(),
            Self::BusAddress { said } => format!("the bus address can't be used ({said})"),
            Self::NotPermitted { said } => format!("not permitted ({said})"),
            Self::Off => "the adapter is off".to_owned(),
            Self::Nothing {
                scanned_s,
                remembered,
            } => format!(
                "no device found in {scanned_s:.0} s{}",
                also_remembered(remembered)
            ),
            Self::NotOurs {
                sought,
                found,
                remembered,
                ..
            } => format!(
                "expected {sought}, found {}{}",
                others(found),
                also_remembered(remembered)
            ),
            Self::Many { found, .. } => {
                format!(
                    "{} devices could be it ({}), expected one",
                    found.len(),
                    some(found)
                )
            }
            Self::Twice { what } => format!("{what} is named twice, expected once"),
            Self::Lacks { what, uuid, .. } => format!("has no {what} {uuid}"),
            Self::Unreachable { tries, said, .. } => {
                format!("found, but {tries} tries to connect failed ({said})")
            }
            Self::NeedsPairing { .. } => "answers only once it is paired".to_owned(),
            Self::Lost { doing, said, .. } => {
                format!("the connection was lost while {doing} ({said})")
            }
            Self::Unanswered {
                written,
                expected,
                found,
                ..
            } => {
                let found = found.as_deref().unwrap_or("no answer");
                format!("wrote {written}, got {found}, expected {expected}")
            }
            Self::Rate { fault, .. } => {
                let text = fault.to_string();
                text.split("; ").next().unwrap_or_default().to_owned()
            }
            Self::Read { fault, .. } => format!("{}: {}", fault.name, fault.what),
            Self::Refused { doing, said } => format!("{doing} failed ({said})"),
        }
    }

    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::NoAdapter(how) => return how.mend().to_owned(),
            Self::Rate { fault, .. } => return fault.mend(),
            Self::Read { fault, .. } => return fault.mend(),
            Self::BusAddress { .. } => "correct or unset DBUS_SYSTEM_BUS_ADDRESS",
            Self::NotPermitted { .. } => {
                "on Linux add yourself to the group `bluetooth` and log in again, in a container allow D-Bus; elsewhere allow Bluetooth for this program in the privacy settings"
            }
            Self::Off => {
                "switch Bluetooth on, end flight mode, or run `rfkill unblock bluetooth`"
            }
            Self::Nothing { .. } => {
                "switch the sensors on, charge them, bring them near, and free them from other computers and phones"
            }
            Self::NotOurs { .. } => {
                "switch the sensor on and name it as it is listed, or use the profile of what was found"
            }
            Self::Many { .. } => "name one of them, or switch the others off",
            Self::Twice { .. } => "name each place and each sensor once",
            Self::Lacks { .. } => "use the profile of this device, or update its firmware",
            Self::Unreachable { .. } => {
                "bring it nearer, charge it, free it from other computers and phones, or switch it off and on"
            }
            Self::NeedsPairing { .. } => "pair it once in the system's Bluetooth settings",
            Self::Lost { .. } => "bring it nearer, charge it, and try again",
            Self::Unanswered { .. } => {
                "switch the sensor off and on; if it stays so, check [[write]] in its profile"
            }
            Self::Refused { .. } => {
                "try again; if it stays so, switch Bluetooth and the sensor off and on"
            }
        }
        .to_owned()
    }
}

impl NoAdapter {
    const fn found(self) -> &'static str {
        match self {
            Self::NoBus => "no adapter: there is no system bus",
            Self::NoService => "no adapter: no Bluetooth service runs",
            Self::CannotStart => "no adapter: the Bluetooth service doesn't start",
            Self::NoneThere => "no adapter: the Bluetooth service knows of none",
        }
    }

    const fn mend(self) -> &'static str {
        match self {
            Self::NoBus => {
                "use a computer with Bluetooth; in a container mount the host's /run/dbus"
            }
            Self::NoService => "install and start BlueZ (`systemctl start bluetooth`)",
            Self::CannotStart => "plug an adapter in, then look at `systemctl status bluetooth`",
            Self::NoneThere => "plug an adapter in, then look at `bluetoothctl list`",
        }
    }
}

impl fmt::Display for BleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; {}", self.place(), self.found(), self.mend())
    }
}

impl std::error::Error for BleError {}

/// The first of many, and how many more there are.
fn some(names: &[String]) -> String {
    let (first, more) = names.split_at(names.len().min(NAMED_COUNT_MAX));
    let mut texts = first.to_vec();
    if !more.is_empty() {
        texts.push(format!("and {} more", more.len()));
    }
    texts.join(", ")
}

fn others(found: &[Other]) -> String {
    let each = |other: &Other| format!("{:?} ({})", other.name, other.reasons.join(" and "));
    let texts: Vec<String> = found.iter().map(each).collect();
    some(&texts)
}

fn also_remembered(names: &[String]) -> String {
    if names.is_empty() {
        String::new()
    } else {
        format!(", only remembered is {}", some(names))
    }
}
