//! What boards and other devices offer once they are connected: services and characteristics with their paths.

pub(super) const MOTION: &str = "ae41a0f0-5d58-4d00-8bc0-307a0928a2a2";
pub(super) const DATA: &str = "4c50815d-da66-422e-9db7-217a2d8800a8";
pub(super) const CONTROL: &str = "35c3750c-87f4-4648-abe2-59dc830f366e";
pub(super) const INFO: &str = "7e4880e5-738b-4167-8af8-26820ca9ba45";
pub(super) const BATTERY_LEVEL: &str = "00002a19-0000-1000-8000-00805f9b34fb";
pub(super) const MAKER: &str = "00002a29-0000-1000-8000-00805f9b34fb";
pub(super) const MODEL: &str = "00002a24-0000-1000-8000-00805f9b34fb";
pub(super) const SERIAL: &str = "00002a25-0000-1000-8000-00805f9b34fb";
pub(super) const FIRMWARE: &str = "00002a26-0000-1000-8000-00805f9b34fb";

pub(super) struct Service {
    pub(super) node: &'static str,
    pub(super) uuid: &'static str,
    pub(super) characteristics: &'static [Characteristic],
}

pub(super) struct Characteristic {
    pub(super) node: &'static str,
    pub(super) uuid: &'static str,
    pub(super) flags: &'static [&'static str],
}

const fn of(
    node: &'static str,
    uuid: &'static str,
    flags: &'static [&'static str],
) -> Characteristic {
    Characteristic { node, uuid, flags }
}

/// The first is left out where a board is to lack it.
pub(super) const SERVICES: [Service; 3] = [
    Service {
        node: "service0010",
        uuid: MOTION,
        characteristics: &[
            of("char0011", DATA, &["notify"]),
            of("char0014", CONTROL, &["write", "notify"]),
            of("char0017", INFO, &["read"]),
        ],
    },
    Service {
        node: "service0020",
        uuid: "0000180f-0000-1000-8000-00805f9b34fb",
        characteristics: &[of("char0021", BATTERY_LEVEL, &["read", "notify"])],
    },
    Service {
        node: "service0030",
        uuid: "0000180a-0000-1000-8000-00805f9b34fb",
        characteristics: &[
            of("char0031", MAKER, &["read"]),
            of("char0033", MODEL, &["read"]),
            of("char0035", SERIAL, &["read"]),
            of("char0037", FIRMWARE, &["read"]),
        ],
    },
];
