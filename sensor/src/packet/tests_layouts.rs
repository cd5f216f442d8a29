//! Eight layouts, each with a packet: this project's own check values.

use super::tests::{decoder, hex, samples, uuid};

const G_M_S2: f64 = 9.806_65;

/// The values of all packets, unless a row says otherwise.
const ACC_G: [f64; 3] = [0.25, -0.5, 0.875];
const GYRO_DEG_S: [f64; 3] = [10.0, -20.0, 30.0];

struct Row {
    name: &'static str,
    profile: &'static str,
    /// Characteristic and notification.
    packets: &'static [(u32, &'static str)],
    acc_g: [f64; 3],
    gyro_deg_s: [f64; 3],
    /// Half a step of acc, g, and of gyro, °/s.
    half_steps: [f64; 2],
    sequence: Option<u64>,
    /// Of the oldest sample.
    device_ticks: Option<u64>,
    tick_s: Option<f64>,
    count: usize,
}

const PLAIN: Row = Row {
    name: "",
    profile: "",
    packets: &[],
    acc_g: ACC_G,
    gyro_deg_s: GYRO_DEG_S,
    half_steps: [0.0, 0.0],
    sequence: None,
    device_ticks: None,
    tick_s: None,
    count: 1,
};

const ROWS: [Row; 8] = [
    Row {
        name: "L1 little-endian, 8-bit packet counter",
        profile: r#"
[[stream]]
from = "U1"
mode = "packet"
endian = "little"
length = 13
counter = { at = 0, type = "u8", counts = "packets" }
samples = { at = 1, stride = 12, count = 1 }
channel = [
  { kind = "acc", axes = ["x","y","z"], at = 0, type = "i16", scale = 1.220703125e-4, unit = "g" },
  { kind = "gyro", axes = ["x","y","z"], at = 6, type = "i16", scale = 0.0152587890625, unit = "deg/s" } ]
"#,
        packets: &[(1, "fe 00 08 00 f0 00 1c 8f 02 e1 fa ae 07")],
        half_steps: [6.2e-5, 0.00763],
        sequence: Some(254),
        ..PLAIN
    },
    Row {
        name: "L2 big-endian, 16-bit sample counter",
        profile: r#"
[[stream]]
from = "U1"
endian = "big"
length = 14
counter = { at = 0, type = "u16", counts = "samples" }
samples = { at = 2, stride = 12, count = 1 }
channel = [ { kind = "acc", at = 0, type = "i16", scale = 1.220703125e-4, unit = "g" }, { kind = "gyro", at = 6, type = "i16", scale = 0.015267175573, unit = "deg/s" } ]
"#,
        packets: &[(1, "ff fe 08 00 f0 00 1c 00 02 8f fa e2 07 ad")],
        half_steps: [6.2e-5, 0.00764],
        sequence: Some(65534),
        ..PLAIN
    },
    Row {
        name: "L3 three samples, clock of the newest",
        profile: r#"
[[stream]]
from = "U1"
min_length = 16
clock = { at = 0, type = "u32", tick_s = 3.0517578125e-5, of = "last" }
samples = { at = 4, stride = 12, count = "rest", order = "oldest" }
channel = [ { kind = "acc", at = 0, type = "i16", scale = 4.8828125e-4, unit = "g" }, { kind = "gyro", at = 6, type = "i16", scale = 0.06103515625, unit = "deg/s" } ]
"#,
        packets: &[(
            1,
            "00 80 03 00 00 02 00 fc 00 07 a4 00 b8 fe ec 01 00 02 00 fc 00 07 b4 00 c9 fe fc 01 00 02 00 fc 00 07 c5 00 d9 fe 0c 02",
        )],
        half_steps: [2.5e-4, 0.0306],
        // 7.0 s less two samples at 100 Hz.
        device_ticks: Some(229_376 - 655),
        tick_s: Some(1.0 / 32768.0),
        count: 3,
        ..PLAIN
    },
    Row {
        name: "L4 bytes with sync, length and sum",
        profile: r#"
[[stream]]
from = "U1"
mode = "bytes"
frame = { sync = "a5 5a", length_at = 2, length_type = "u8", length_add = 4, checksum = { kind = "sum8", from = 2, to = -1, at = -1 } }
match = [ { at = 3, hex = "07" } ]
counter = { at = 4, type = "u16", counts = "packets" }
samples = { at = 6, stride = 12, count = 1 }
channel = [ { kind = "acc", at = 0, type = "i16", scale = 1.220703125e-4, unit = "g" }, { kind = "gyro", at = 6, type = "i16", scale = 0.0152587890625, unit = "deg/s" } ]
"#,
        packets: &[
            (1, "a5 5a 0f 07 01 02 00 08"),
            (1, "00 f0 00 1c 8f 02 e1 fa ae 07 4e"),
        ],
        half_steps: [6.2e-5, 0.00763],
        sequence: Some(513),
        ..PLAIN
    },
    Row {
        name: "L5 float32 in SI, ms clock",
        profile: r#"
[[stream]]
from = "U1"
length = 28
clock = { at = 0, type = "u32", tick_s = 0.001, of = "last" }
samples = { at = 4, stride = 24, count = 1 }
channel = [ { kind = "acc", at = 0, type = "f32", scale = 1, unit = "m/s^2" }, { kind = "gyro", at = 12, type = "f32", scale = 1, unit = "rad/s" } ]
"#,
        packets: &[(
            1,
            "40 e2 01 00 0a e8 1c 40 0a e8 9c c0 09 4b 09 41 c2 b8 32 3e c2 b8 b2 be 92 0a 06 3f",
        )],
        half_steps: [1e-7, 1e-5],
        device_ticks: Some(123_456),
        tick_s: Some(0.001),
        ..PLAIN
    },
    Row {
        name: "L6 two characteristics",
        profile: r#"
pair = { by = "clock", tolerance_ms = 5, method = "linear" }
[[stream]]
from = "U2"
length = 8
clock = { at = 0, type = "u16", tick_s = 0.001, of = "last" }
samples = { at = 2, stride = 6, count = 1 }
channel = [ { kind = "acc", at = 0, type = "i16", scale = 6.103515625e-5, unit = "g" } ]
[[stream]]
from = "U3"
length = 8
clock = { at = 0, type = "u16", tick_s = 0.001, of = "last" }
samples = { at = 2, stride = 6, count = 1 }
channel = [ { kind = "gyro", at = 0, type = "i16", scale = 0.030517578125, unit = "deg/s" } ]
"#,
        packets: &[
            (2, "a0 0f 00 10 00 e0 00 38"),
            (3, "a2 0f 48 01 71 fd d7 03"),
        ],
        half_steps: [3.1e-5, 0.0153],
        device_ticks: Some(4000),
        tick_s: Some(0.001),
        ..PLAIN
    },
    Row {
        name: "L7 mg and tenths of a degree, chip turned",
        profile: r#"
write = [
  { when = "start", to = "U4", hex = "02 {rate:u16le}", response = true, expect = { from = "U4", prefix = "82 00", timeout_ms = 1000 } },
  { when = "start", to = "U4", hex = "01", response = true },
  { when = "stop", to = "U4", hex = "00", response = false } ]
[[stream]]
from = "U1"
length = 14
clock = { at = 0, type = "u16", tick_s = 0.001, of = "first" }
samples = { at = 2, stride = 12, count = 1 }
channel = [ { kind = "acc", axes = ["-y","x","z"], at = 0, type = "i16", scale = 0.001, unit = "g" }, { kind = "gyro", axes = ["-y","x","z"], at = 6, type = "i16", scale = 0.1, unit = "deg/s" } ]
"#,
        packets: &[(1, "e8 fd fa 00 0c fe 6b 03 64 00 38 ff 2c 01")],
        acc_g: [-0.5, -0.25, 0.875],
        gyro_deg_s: [-20.0, -10.0, 30.0],
        half_steps: [0.0005, 0.05],
        device_ticks: Some(65_000),
        tick_s: Some(0.001),
        ..PLAIN
    },
    Row {
        name: "L8 24-bit acc, kept awake",
        profile: r#"
write = [ { when = "keepalive", to = "U5", hex = "aa", every_s = 10, response = false } ]
[[stream]]
from = "U1"
length = 16
counter = { at = 0, type = "u8", counts = "packets" }
samples = { at = 1, stride = 15, count = 1 }
channel = [ { kind = "acc", at = 0, type = "i24", scale = 3.90625e-6, unit = "g" }, { kind = "gyro", at = 9, type = "i16", scale = 0.05, unit = "deg/s" } ]
"#,
        packets: &[(1, "09 00 fa 00 00 0c fe 00 6b 03 c8 00 70 fe 58 02")],
        half_steps: [2e-6, 0.025],
        sequence: Some(9),
        ..PLAIN
    },
];

#[test]
fn every_layout_gives_its_values() {
    for row in &ROWS {
        let mut decoder = decoder(row.profile);
        assert_eq!(decoder.profile().warnings, [], "{}", row.name);
        let mut out = Vec::new();
        for (from, packet) in row.packets {
            decoder.push(uuid(*from), None, &hex(packet), &mut out);
        }
        let found = samples(&out);
        assert_eq!(found.len(), row.count, "{}: {out:?}", row.name);
        assert_eq!(decoder.tally().faults(), 0, "{}: {out:?}", row.name);
        for (number, sample) in found.iter().enumerate() {
            for axis in 0..3 {
                let acc_g = f64::from(sample.accel_m_s2[axis]) / G_M_S2;
                let off = (acc_g - row.acc_g[axis]).abs();
                assert!(off <= row.half_steps[0], "{}: acc {acc_g} g", row.name);
                let gyro_deg_s = f64::from(sample.gyro_rad_s[axis]).to_degrees();
                let off = (gyro_deg_s - row.gyro_deg_s[axis] - number as f64).abs();
                assert!(off <= row.half_steps[1], "{}: gyro {gyro_deg_s}", row.name);
            }
        }
        assert_eq!(found[0].sequence, row.sequence, "{}", row.name);
        let ticks = found[0].device_ticks;
        assert_eq!(ticks, row.device_ticks, "{}", row.name);
        assert_eq!(decoder.tick_s(), row.tick_s, "{}", row.name);
    }
}

#[test]
fn samples_of_a_packet_lie_evenly_before_its_stamp() {
    let row = &ROWS[2];
    let mut decoder = decoder(row.profile);
    let mut out = Vec::new();
    let packet = hex(row.packets[0].1);
    decoder.push(uuid(1), None, &packet, &mut out);
    // The next comes 2 % late: 3 samples in 1003 ticks instead of 983.
    let mut later = packet;
    later[..4].copy_from_slice(&(229_376u32 + 1003).to_le_bytes());
    decoder.push(uuid(1), None, &later, &mut out);
    let ticks: Vec<u64> = samples(&out)
        .iter()
        .map(|sample| sample.device_ticks.unwrap())
        .collect();
    assert_eq!(
        ticks,
        [228_721, 229_048, 229_376, 229_710, 230_045, 230_379]
    );
}

#[test]
fn a_wrong_length_is_told_and_counted_in_every_layout() {
    for row in ROWS.iter().filter(|row| row.packets.len() == 1) {
        for cut in [1, 5] {
            let mut decoder = decoder(row.profile);
            let mut out = Vec::new();
            let mut packet = hex(row.packets[0].1);
            packet.truncate(packet.len() - cut);
            decoder.push(uuid(1), None, &packet, &mut out);
            decoder.push(uuid(1), None, &[], &mut out);
            assert_eq!(samples(&out).len(), 0, "{}", row.name);
            assert_eq!(decoder.tally().length, 2, "{}: {out:?}", row.name);
        }
    }
}

/// The layouts by themselves, for other tests.
pub(super) fn layouts() -> impl Iterator<Item = &'static str> {
    ROWS.iter().map(|row| row.profile)
}

/// The frame of the fourth layout, whole.
pub(super) fn framed() -> (&'static str, Vec<u8>) {
    let row = &ROWS[3];
    let pieces = row.packets.iter().flat_map(|(_, piece)| hex(piece));
    (row.profile, pieces.collect())
}
