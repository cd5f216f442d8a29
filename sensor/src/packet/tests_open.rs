//! The open motion profile: its worked example, and all it must refuse.

use super::tests::{hex, samples};
use super::*;
use crate::profile::shipped;
use crate::{ClockMap, Counts, RawSample};

const DATA: &str = "4c50815d-da66-422e-9db7-217a2d8800a8";
const INFO: &str = "7e4880e5-738b-4167-8af8-26820ca9ba45";

/// This project's own check values; `docs/gatt-profile.md` has them too.
const PACKET: &str = "2a 42 ff ff 00 80 01 00 00 10 00 f8 00 1c 00 00 ae 07 7d ff 00 10 00 f8 00 1a 42 00 00 80 7d ff";
const INFO_VALUE: &str = "01 01 c8 00 00 80 00 00 0a e8 9c 3a 58 a0 8b 39 01 02 04 00";

fn unread() -> Decoder {
    let profile = shipped().into_iter().find(|one| one.name == "open-motion");
    Decoder::new(profile.unwrap(), 200.0)
}

fn ready() -> Decoder {
    let mut decoder = unread();
    assert_eq!(decoder.push_read(uuid(INFO), &hex(INFO_VALUE)), Ok(5));
    decoder
}

fn uuid(text: &str) -> Uuid {
    text.parse().unwrap()
}

fn push(decoder: &mut Decoder, packet: &[u8]) -> Vec<Decoded> {
    let mut out = Vec::new();
    decoder.push(uuid(DATA), None, packet, &mut out);
    out
}

#[test]
fn the_worked_example() {
    let mut decoder = ready();
    let out = push(&mut decoder, &hex(PACKET));
    assert_eq!(out[0], Decoded::Fact(Fact::FullScale));
    let found = samples(&out);
    let expected = [
        (
            65535,
            [4.903_325, -2.451_662_5, 8.580_818_75],
            [0.0, 0.523_577_47, -0.034_887_41],
            false,
        ),
        (
            65536,
            [4.903_325, -2.451_662_5, 7.967_903_125],
            [
                1.007_08_f64.to_radians(),
                (-500f64).to_radians(),
                -0.034_887_41,
            ],
            true,
        ),
    ];
    assert_eq!(found.len(), 2);
    for (sample, (sequence, acc, gyro, is_clipped)) in found.iter().zip(expected) {
        assert_eq!(sample.sequence, Some(sequence));
        assert_eq!(sample.is_at_full_scale, is_clipped);
        for axis in 0..3 {
            assert!((f64::from(sample.accel_m_s2[axis]) - acc[axis]).abs() < 1e-5);
            assert!((f64::from(sample.gyro_rad_s[axis]) - gyro[axis]).abs() < 2e-7);
        }
    }
    // 3.000 s, and one sample at 200 Hz later.
    let ticks: Vec<u64> = found.iter().map(|s| s.device_ticks.unwrap()).collect();
    assert_eq!(ticks, [98304, 98304 + 164]);
    assert_eq!(decoder.tick_s(), Some(1.0 / 32768.0));
    // The next packet's number is 1.
    let mut next = hex(PACKET);
    next[1..8].copy_from_slice(&[0x02, 1, 0, 0x48, 0x81, 1, 0]);
    let out = push(&mut decoder, &next);
    assert_eq!(samples(&out)[0].sequence, Some(65537));
    assert_eq!(out.len(), 2, "nothing is missing: {out:?}");
    // Two packets of two samples each are skipped.
    next[2] = 7;
    let out = push(&mut decoder, &next);
    assert_eq!(out[0], Decoded::Fact(Fact::Missing { samples: 4 }));
    assert_eq!(samples(&out)[0].sequence, Some(65543));
    // The same again.
    assert_eq!(push(&mut decoder, &next), [Decoded::Fact(Fact::Repeated)]);
}

#[test]
fn a_restart_is_told_by_its_flag() {
    let mut decoder = ready();
    push(&mut decoder, &hex(PACKET));
    let mut first = hex(PACKET);
    first[1..8].copy_from_slice(&[0xa2, 0, 0, 0x10, 0, 0, 0]);
    let out = push(&mut decoder, &first);
    let cause = RestartCause::Flag;
    assert_eq!(out[0], Decoded::Fact(Fact::Restarted { cause }));
    assert_eq!(out[1], Decoded::Fact(Fact::LostInside));
    let found = samples(&out);
    assert_eq!((found[0].segment, found[0].sequence), (1, Some(0)));
    assert_eq!(found[0].device_ticks, Some(16));
}

#[test]
fn what_must_be_refused_is() {
    let packet = hex(PACKET);
    let changed = |at: usize, byte: u8| {
        let mut packet = packet.clone();
        packet[at] = byte;
        packet
    };
    let longer: Vec<u8> = packet.iter().copied().chain([0]).collect();
    let stale = |name: &str, found, known| PacketFault::Stale {
        name: name.to_owned(),
        found,
        known,
    };
    let length = |found, expected| PacketFault::Length {
        found,
        expected: LengthWanted::Exactly(expected),
    };
    let unexpected = |found, expected, or_less| PacketFault::Unexpected {
        at: 0,
        found,
        expected,
        or_less,
    };
    let table = [
        ("version 2", changed(0, 0x4a), unexpected(2, 1.0, false)),
        ("gyro code 5", changed(0, 0x2d), unexpected(5, 4.0, true)),
        ("acc range", changed(0, 0x32), stale("acc_code", 2, 1.0)),
        ("gyro range", changed(0, 0x2b), stale("gyro_code", 3, 2.0)),
        ("no samples", changed(1, 0x40), PacketFault::Empty),
        ("three samples", changed(1, 0x43), length(32, 44)),
        ("a byte too many", longer, length(33, 32)),
    ];
    for (name, packet, fault) in table {
        let mut decoder = ready();
        assert_eq!(
            push(&mut decoder, &packet),
            [Decoded::Fault(fault)],
            "{name}"
        );
        assert_eq!(decoder.tally().faults(), 1, "{name}");
    }
}

#[test]
fn nothing_is_decoded_before_the_values_are_read() {
    let mut decoder = unread();
    assert_eq!(decoder.unread().len(), 5);
    assert_eq!(decoder.tick_s(), None);
    let out = push(&mut decoder, &hex(PACKET));
    assert!(matches!(
        out.as_slice(),
        [Decoded::Fault(PacketFault::Unread { .. })]
    ));
    // A scale of nothing, and a value that ends early: neither is taken, not even in part.
    let mut info = hex(INFO_VALUE);
    info[8..12].fill(0);
    assert!(decoder.push_read(uuid(INFO), &info).is_err());
    assert!(decoder.push_read(uuid(INFO), &info[..10]).is_err());
    assert_eq!(decoder.unread().len(), 5);
    assert_eq!(decoder.push_read(uuid(DATA), &info), Ok(0));
    assert_eq!(decoder.push_read(uuid(INFO), &hex(INFO_VALUE)), Ok(5));
    assert_eq!(decoder.unread(), Vec::<&str>::new());
    assert_eq!(samples(&push(&mut decoder, &hex(PACKET))).len(), 2);
}

#[test]
fn the_document_says_the_same() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/gatt-profile.md");
    let document = std::fs::read_to_string(path).unwrap();
    assert!(document.contains(PACKET) && document.contains(INFO_VALUE));
    let decoder = ready();
    let profile = decoder.profile();
    let writes = profile.writes.iter().map(|step| step.to);
    let reads = profile.reads.iter().map(|read| read.from);
    let uuids = writes.chain(reads).chain(profile.find.service);
    for uuid in uuids.chain(profile.notifying()) {
        assert!(document.contains(&format!("`{uuid}`")), "{uuid}");
    }
}

#[test]
fn what_is_decoded_can_be_placed_in_time() {
    let mut decoder = unread();
    assert_eq!(decoder.timing(), None, "the tick isn't known yet");
    decoder.push_read(uuid(INFO), &hex(INFO_VALUE)).unwrap();
    let timing = decoder.timing().unwrap();
    assert_eq!(timing.check(), Ok(()));
    assert_eq!(
        timing.counter.map(|c| (c.bits, c.counts)),
        Some((16, Counts::Samples))
    );
    assert_eq!(timing.ticks.map(|t| t.bits), Some(32));
    let mut map = ClockMap::new(&timing, HostTime(0));
    let mut placed = Vec::new();
    for number in 0..400_u16 {
        let mut packet = hex(PACKET);
        packet[2..4].copy_from_slice(&(65_500_u16.wrapping_add(2 * number)).to_le_bytes());
        // 10 ms a packet, over the clock's wrap.
        let ticks = (f64::from(number) * 327.68).round();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "small"
        )]
        let ticks = (ticks as u32).wrapping_sub(5000);
        packet[4..8].copy_from_slice(&ticks.to_le_bytes());
        let arrival = HostTime(i64::from(number) * 10_000_000 + 20_000_000);
        let mut out = Vec::new();
        decoder.push(uuid(DATA), Some(arrival), &packet, &mut out);
        let samples: Vec<RawSample> = samples(&out).iter().map(DecodedSample::raw).collect();
        assert_eq!(samples.len(), 2);
        assert_eq!(samples[0].device, Some(DeviceTicks(u64::from(ticks))));
        assert_eq!(
            (samples[1].device, samples[1].sequence),
            (None, samples[0].sequence.map(|n| (n + 1) % 65536))
        );
        map.push(&crate::Packet { arrival, samples }, &mut placed);
    }
    assert_eq!(decoder.tally().faults() + decoder.tally().restarts, 0);
    assert_eq!(placed.len(), 800);
    for pair in placed.windows(2).skip(2) {
        let step_s = pair[1].at - pair[0].at;
        assert!((step_s - 0.005).abs() < 0.001, "{step_s}");
    }
}
