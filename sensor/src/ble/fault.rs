//! What a call to the radio failed with. On Linux it is decided by the name of the D-Bus error, never by its
//! text: texts are for people and change.

use std::fmt;

/// Which call failed: the same name means different things.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Call {
    /// Reaching the system bus.
    Bus,
    /// Asking which adapters there are.
    Adapters,
    /// Starting or stopping a scan, or asking what it found.
    Scan,
    /// Connecting to a device.
    Connect,
    /// Anything with a device that is or was connected.
    Device,
}

/// What went wrong, as far as somebody can do something about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// No bus to ask.
    NoBus,
    /// The bus address makes no sense.
    BusAddress,
    /// Nobody on the bus speaks for the radio.
    NoService,
    /// Who should speak for the radio doesn't start.
    CannotStart,
    /// Asked, and there is no adapter.
    NoAdapter,
    /// This user or program may not.
    NotPermitted,
    /// The adapter is switched off or blocked.
    Off,
    /// The device answers only to those it is paired with.
    NeedsPairing,
    /// Neither the device nor what it offered is known any more.
    Gone,
    /// The link is down.
    NotConnected,
    /// The bus, or who speaks for the radio, has gone away.
    BusGone,
    /// No answer in time.
    TimedOut,
    /// It is done already, or being done.
    Underway,
    /// The device doesn't have it.
    Absent,
    /// Refused, for a reason that only the text tells.
    Refused,
}

/// A failed call.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fault {
    pub(super) kind: Kind,
    /// What the system said.
    pub(super) said: String,
}

impl Fault {
    pub(super) fn new(kind: Kind, said: impl Into<String>) -> Self {
        let said = said.into();
        Self { kind, said }
    }

    /// By the name of a D-Bus error.
    pub(super) fn named(call: Call, name: &str, said: impl Into<String>) -> Self {
        Self::new(Kind::named(call, name), said)
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.said)
    }
}

impl Kind {
    /// By the name of a D-Bus error.
    pub(super) fn named(call: Call, name: &str) -> Self {
        if let Some(bus) = name.strip_prefix("org.freedesktop.DBus.Error.") {
            return Self::of_bus(call, bus);
        }
        match name.strip_prefix("org.bluez.Error.") {
            Some("NotReady" | "Blocked") => Self::Off,
            Some("InProgress" | "AlreadyConnected" | "AlreadyExists") => Self::Underway,
            Some("NotConnected") => Self::NotConnected,
            Some("DoesNotExist" | "NotAvailable") => Self::Gone,
            Some("NotPermitted" | "NotAuthorized") => match call {
                Call::Connect | Call::Device => Self::NeedsPairing,
                Call::Bus | Call::Adapters | Call::Scan => Self::NotPermitted,
            },
            Some(name) if name.starts_with("Authentication") => Self::NeedsPairing,
            _ => Self::Refused,
        }
    }

    fn of_bus(call: Call, name: &str) -> Self {
        match (name, call) {
            ("AccessDenied" | "AuthFailed" | "InteractiveAuthorizationRequired", _)
            // A bus that turns this user away at the door says nothing at all.
            | ("NoReply", Call::Bus) => Self::NotPermitted,
            ("BadAddress", _) => Self::BusAddress,
            ("FileNotFound" | "NoServer" | "Disconnected" | "NoNetwork", Call::Bus) => Self::NoBus,
            ("ServiceUnknown" | "NameHasNoOwner", Call::Adapters) => Self::NoService,
            ("TimedOut" | "Timeout" | "NoReply", Call::Adapters) => Self::CannotStart,
            ("ServiceUnknown" | "NameHasNoOwner" | "Disconnected" | "NoServer", _) => Self::BusGone,
            ("TimedOut" | "Timeout" | "NoReply", _) => Self::TimedOut,
            ("UnknownObject" | "UnknownInterface" | "UnknownMethod", _) => Self::Gone,
            (name, _) if name.starts_with("Spawn.") => Self::CannotStart,
            _ => Self::Refused,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_decide_and_the_call_tells_what_they_mean() {
        let bus = "org.freedesktop.DBus.Error.";
        let bluez = "org.bluez.Error.";
        for (call, before, name, expected) in [
            (Call::Bus, bus, "FileNotFound", Kind::NoBus),
            (Call::Bus, bus, "BadAddress", Kind::BusAddress),
            (Call::Bus, bus, "AccessDenied", Kind::NotPermitted),
            (Call::Bus, bus, "NoReply", Kind::NotPermitted),
            (Call::Adapters, bus, "AccessDenied", Kind::NotPermitted),
            (Call::Adapters, bus, "ServiceUnknown", Kind::NoService),
            (Call::Adapters, bus, "Spawn.ChildExited", Kind::CannotStart),
            (Call::Adapters, bus, "TimedOut", Kind::CannotStart),
            (Call::Scan, bus, "AccessDenied", Kind::NotPermitted),
            (Call::Scan, bluez, "NotReady", Kind::Off),
            (Call::Scan, bluez, "Blocked", Kind::Off),
            (Call::Scan, bluez, "InProgress", Kind::Underway),
            (Call::Scan, bluez, "NotAuthorized", Kind::NotPermitted),
            (Call::Scan, bluez, "Failed", Kind::Refused),
            (Call::Connect, bluez, "Failed", Kind::Refused),
            (
                Call::Connect,
                bluez,
                "AuthenticationFailed",
                Kind::NeedsPairing,
            ),
            (Call::Connect, bus, "UnknownObject", Kind::Gone),
            (Call::Connect, bus, "NoReply", Kind::TimedOut),
            (Call::Device, bluez, "NotPermitted", Kind::NeedsPairing),
            (Call::Device, bluez, "NotConnected", Kind::NotConnected),
            (Call::Device, bus, "UnknownObject", Kind::Gone),
            (Call::Device, bus, "ServiceUnknown", Kind::BusGone),
            (Call::Device, bus, "Disconnected", Kind::BusGone),
            (Call::Device, "com.example.", "Failed", Kind::Refused),
        ] {
            let found = Kind::named(call, &format!("{before}{name}"));
            assert_eq!(found, expected, "{call:?} {name}");
        }
    }
}
