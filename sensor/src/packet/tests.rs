//! What the decoder makes of loss, damage, restarts and nonsense.

use proptest::prelude::*;

use super::tests_layouts::{framed, layouts};
use super::*;

/// Before each layout, with the names `U0` … of characteristics made real.
const HEAD: &str = r#"
schema = "legraise/sensor-profile/1"
find = { service = "U0", name = "imu-*" }
rate = { nominal_hz = 100, choices = [50, 100, 200] }
"#;

pub(super) fn uuid(number: u32) -> Uuid {
    Uuid::from_u128((0xa5d0_c1de_0c62_4c1b_9f4e_5f2f_0000_0000u128) | u128::from(number))
}

pub(super) fn decoder(layout: &str) -> Decoder {
    let mut text = format!("{HEAD}{layout}");
    for number in 0..6 {
        text = text.replace(&format!("\"U{number}\""), &format!("\"{}\"", uuid(number)));
    }
    let profile = Profile::parse(&text, "test").unwrap_or_else(|e| panic!("{e}"));
    Decoder::new(profile, 100.0)
}

pub(super) fn hex(text: &str) -> Vec<u8> {
    let bytes = text.split_whitespace();
    bytes
        .map(|byte| u8::from_str_radix(byte, 16).unwrap())
        .collect()
}

pub(super) fn samples(out: &[Decoded]) -> Vec<DecodedSample> {
    let samples = out.iter().filter_map(|one| match one {
        Decoded::Sample(sample) => Some(*sample),
        _ => None,
    });
    samples.collect()
}

fn facts(out: &[Decoded]) -> Vec<Fact> {
    let facts = out.iter().filter_map(|one| match one {
        Decoded::Fact(fact) => Some(*fact),
        _ => None,
    });
    facts.collect()
}

/// A packet of the first layout.
fn counted(counter: u8) -> Vec<u8> {
    let mut packet = hex("00 00 08 00 f0 00 1c 8f 02 e1 fa ae 07");
    packet[0] = counter;
    packet
}

fn first_layout() -> Decoder {
    decoder(layouts().next().unwrap())
}

fn at(seconds: f64) -> HostTime {
    #[expect(clippy::cast_possible_truncation, reason = "small numbers")]
    HostTime((seconds * 1e9) as i64)
}

#[test]
fn a_counter_of_eight_bits_over_its_wrap() {
    let mut decoder = first_layout();
    let mut out = Vec::new();
    for counter in [254, 255, 1, 1, 4] {
        decoder.push(uuid(1), None, &counted(counter), &mut out);
    }
    let found: Vec<u64> = samples(&out).iter().map(|s| s.sequence.unwrap()).collect();
    assert_eq!(found, [254, 255, 257, 260]);
    let missing = |samples| Fact::Missing { samples };
    assert_eq!(facts(&out), [missing(1), Fact::Repeated, missing(2)]);
    assert_eq!(
        (decoder.tally().missing_samples, decoder.tally().repeated),
        (3, 1)
    );
}

#[test]
fn arrival_tells_whole_turns_from_restarts() {
    let mut decoder = first_layout();
    let mut out = Vec::new();
    decoder.push(uuid(1), Some(at(0.0)), &counted(10), &mut out);
    // 2.57 s at 100 Hz: a whole turn went by.
    decoder.push(uuid(1), Some(at(2.57)), &counted(11), &mut out);
    assert_eq!(facts(&out), [Fact::Missing { samples: 256 }]);
    // 10 ms later the counter is back at nothing.
    decoder.push(uuid(1), Some(at(2.58)), &counted(0), &mut out);
    let cause = RestartCause::Counter;
    assert_eq!(facts(&out)[1..], [Fact::Restarted { cause }]);
    let found = samples(&out);
    assert_eq!((found[2].segment, found[2].sequence), (1, Some(0)));
    assert_eq!(found[2].arrival, Some(at(2.58)));
    assert_eq!(found[2].raw().sequence, Some(0));
}

#[test]
fn a_lost_link_begins_a_segment_and_forgets_half_a_frame() {
    let (layout, frame) = framed();
    let mut decoder = decoder(layout);
    let mut out = Vec::new();
    decoder.reconnect(&mut out);
    assert_eq!(out, [], "nothing was before");
    decoder.push(uuid(1), None, &frame, &mut out);
    decoder.push(uuid(1), None, &frame[..9], &mut out);
    decoder.reconnect(&mut out);
    decoder.push(uuid(1), None, &frame, &mut out);
    let cause = RestartCause::Link;
    assert_eq!(facts(&out), [Fact::Restarted { cause }]);
    let segments: Vec<u32> = samples(&out).iter().map(|s| s.segment).collect();
    assert_eq!(segments, [0, 1]);
    assert_eq!(decoder.tally().faults(), 0);
}

#[test]
fn damage_costs_one_frame_and_a_sync_inside_a_payload_none() {
    let (layout, frame) = framed();
    let mut bytes = vec![0x5a, 0xa5];
    for (counter, acc) in [(1u16, 0x0800u16), (2, 0x5aa5), (3, 0x0800), (4, 0x0800)] {
        let mut one = frame.clone();
        one[4..6].copy_from_slice(&counter.to_le_bytes());
        one[6..8].copy_from_slice(&acc.to_le_bytes());
        let last = one.len() - 1;
        one[last] = one[2..last]
            .iter()
            .fold(0, |sum: u8, b| sum.wrapping_add(*b));
        if counter == 3 {
            one[10] ^= 0x10;
        }
        bytes.extend(one);
    }
    let mut decoder = decoder(layout);
    let mut out = Vec::new();
    decoder.push(uuid(1), None, &bytes, &mut out);
    let found: Vec<u64> = samples(&out).iter().map(|s| s.sequence.unwrap()).collect();
    assert_eq!(found, [1, 2, 4]);
    let tally = decoder.tally();
    assert_eq!((tally.checksum, tally.discarded_bytes), (1, 2 + 19));
    assert_eq!(tally.missing_samples, 1);
    // Another kind of frame is counted, and no harm.
    let mut other = frame.clone();
    other[3] = 9;
    other[18] = other[18].wrapping_add(2);
    decoder.push(uuid(1), None, &other, &mut out);
    assert_eq!(decoder.tally().kind, 1);
    decoder.push(uuid(7), None, &frame, &mut out);
    assert_eq!(decoder.tally().characteristic, 1);
}

#[test]
fn escapes_are_undone() {
    for (escape, frames) in [
        // 07 c0 db 00 11, by RFC 1055.
        (
            "slip",
            "11 22 c0 07 db dc db dd 00 11 c0 c0 07 db 01 00 c0 07 01 02 03 04 c0",
        ),
        // The same by byte stuffing: 07 c0 db | 11.
        (
            "cobs",
            "02 22 00 04 07 c0 db 02 11 00 00 07 07 00 06 07 01 02 03 04 00",
        ),
    ] {
        let layout = format!(
            r#"
[[stream]]
from = "U1"
mode = "bytes"
frame = {{ escape = "{escape}", length = 5 }}
match = [{{ at = 0, hex = "07" }}]
samples = {{ at = 0, stride = 5, count = 1 }}
channel = [
  {{ kind = "acc", at = 1, type = "i8", scale = 1, unit = "m/s^2" }},
  {{ kind = "gyro", axes = ["y", "x", "-z"], at = 2, type = "i8", scale = 1, unit = "rad/s" }},
]
"#
        );
        let mut decoder = decoder(&layout);
        let mut out = Vec::new();
        for byte in hex(frames) {
            decoder.push(uuid(1), None, &[byte], &mut out);
        }
        let found: Vec<[f32; 3]> = samples(&out).iter().map(|s| s.accel_m_s2).collect();
        assert_eq!(found, [[-64.0, -37.0, 0.0], [1.0, 2.0, 3.0]], "{escape}");
        assert!(decoder.tally().discarded_bytes > 3, "{escape}");
    }
}

/// Acc and gyro of the sixth layout at these times, ms; gyro x is its time.
fn pushed_halves(method: &str, halves: &[(char, u32)]) -> (Vec<DecodedSample>, Tally) {
    let layout = layouts().nth(5).unwrap().replace("linear", method);
    let mut decoder = decoder(&layout);
    let mut out = Vec::new();
    for (kind, ms) in halves {
        let mut packet = [0; 8];
        packet[..2].copy_from_slice(&ms.to_le_bytes()[..2]);
        if *kind == 'g' {
            packet[2..4].copy_from_slice(&ms.to_le_bytes()[..2]);
        }
        let from = uuid(if *kind == 'a' { 2 } else { 3 });
        decoder.push(from, None, &packet, &mut out);
    }
    decoder.finish(&mut out);
    (samples(&out), *decoder.tally())
}

#[test]
fn halves_are_joined_at_the_times_of_acc() {
    let rates = |found: &[DecodedSample]| -> Vec<f32> {
        let step = (1000.0_f32 / 32768.0).to_radians();
        found
            .iter()
            .map(|s| (s.gyro_rad_s[0] / step).round())
            .collect()
    };
    let halves = [
        ('g', 1000),
        ('a', 1003),
        ('g', 1010),
        ('a', 1012),
        ('a', 1020),
        ('g', 1018),
    ];
    let (found, tally) = pushed_halves("linear", &halves);
    // 1020 has only the one before.
    assert_eq!(rates(&found), [1003.0, 1012.0, 1018.0]);
    assert_eq!(tally.faults(), 0);
    let (found, _) = pushed_halves("nearest", &halves);
    assert_eq!(rates(&found), [1000.0, 1010.0, 1018.0]);
    // Too far away.
    let (found, tally) = pushed_halves(
        "linear",
        &[('a', 1000), ('g', 1006), ('a', 1007), ('g', 1012)],
    );
    assert_eq!((rates(&found), tally.unpaired), (vec![1007.0], 1));
}

#[test]
fn halves_are_joined_over_the_wrap_of_their_clock() {
    let halves: Vec<(char, u32)> = (0..20u32)
        .flat_map(|n| [('g', 65_480 + 10 * n + 4), ('a', 65_480 + 10 * n)])
        .collect();
    let (found, tally) = pushed_halves("linear", &halves);
    assert_eq!(
        (found.len(), tally.faults(), tally.restarts),
        (20, 0, 0),
        "{tally:?}"
    );
    // Gyro comes first, and its first packet is already past the wrap.
    let (found, tally) = pushed_halves("linear", &[('g', 65_537), ('a', 65_535), ('a', 65_540)]);
    assert_eq!((found.len(), tally.faults()), (2, 0), "{tally:?}");
}

#[test]
fn what_no_sensor_can_feel_is_left_out() {
    let mut decoder = decoder(layouts().nth(4).unwrap());
    let mut out = Vec::new();
    let good =
        hex("40 e2 01 00 0a e8 1c 40 0a e8 9c c0 09 4b 09 41 c2 b8 32 3e c2 b8 b2 be 92 0a 06 3f");
    for bad in [f32::NAN, f32::INFINITY, 1e9] {
        let mut packet = good.clone();
        packet[4..8].copy_from_slice(&bad.to_le_bytes());
        decoder.push(uuid(1), None, &packet, &mut out);
    }
    decoder.push(uuid(1), None, &good, &mut out);
    assert_eq!(
        (decoder.tally().impossible, decoder.tally().samples),
        (3, 1)
    );
}

#[test]
fn every_fault_names_its_mend() {
    let name = || "acc_lsb".to_owned();
    let length = |expected| PacketFault::Length { found: 3, expected };
    let faults = [
        PacketFault::Characteristic { from: uuid(1) },
        PacketFault::Kind { bytes: 3 },
        length(LengthWanted::Exactly(4)),
        length(LengthWanted::AtLeast(4)),
        length(LengthWanted::Steps {
            besides: 4,
            stride: 12,
        }),
        PacketFault::Checksum {
            found: 1,
            computed: 2,
        },
        PacketFault::Discarded { bytes: 3 },
        PacketFault::Unexpected {
            at: 0,
            found: 2,
            expected: 1.0,
            or_less: true,
        },
        PacketFault::Stale {
            name: name(),
            found: 2,
            known: 1.0,
        },
        PacketFault::Unread { name: name() },
        PacketFault::Empty,
        PacketFault::Impossible,
        PacketFault::Unpaired,
    ];
    for fault in faults {
        let text = fault.to_string();
        assert!(
            text.starts_with("packet: ") && text.contains("; "),
            "{text}"
        );
        assert!(!fault.mend().is_empty() && !text.ends_with('.'), "{text}");
    }
}

fn any_packets() -> impl Strategy<Value = Vec<(u32, Vec<u8>, Option<i64>)>> {
    let bytes = proptest::collection::vec(any::<u8>(), 0..60);
    proptest::collection::vec((0u32..5, bytes, any::<Option<i64>>()), 0..20)
}

proptest! {
    /// Any bytes from any characteristic at any time never panic, and what comes out is possible.
    #[test]
    fn any_bytes_are_taken(layout in 0usize..8, packets in any_packets()) {
        let mut decoder = decoder(layouts().nth(layout).unwrap());
        let mut out = Vec::new();
        for (from, bytes, arrival) in packets {
            decoder.push(uuid(from), arrival.map(HostTime), &bytes, &mut out);
        }
        decoder.reconnect(&mut out);
        decoder.finish(&mut out);
        prop_assert!(samples(&out).iter().all(is_possible));
        prop_assert_eq!(decoder.tally().samples, samples(&out).len() as u64);
    }

    /// As above for packets of the right length, so that counters and clocks are reached.
    #[test]
    fn any_counters_and_clocks_are_taken(
        layout in 0usize..8,
        heads in proptest::collection::vec((any::<u32>(), any::<i32>()), 0..30),
    ) {
        let lengths = [13, 14, 40, 19, 28, 8, 14, 16];
        let mut decoder = decoder(layouts().nth(layout).unwrap());
        let mut out = Vec::new();
        for (head, arrival) in heads {
            let mut packet = vec![0; lengths[layout]];
            packet[..4].copy_from_slice(&head.to_be_bytes());
            for from in 1..4 {
                decoder.push(uuid(from), Some(HostTime(i64::from(arrival) * 1000)), &packet, &mut out);
            }
        }
        decoder.finish(&mut out);
    }

    /// The same bytes give the same, however they are cut.
    #[test]
    fn frames_may_be_cut_anywhere(
        noise in proptest::collection::vec(prop_oneof![Just(0xa5u8), Just(0x5a), Just(0x0f), any::<u8>()], 0..30),
        pieces in proptest::collection::vec(1usize..25, 1..20),
    ) {
        let (layout, frame) = framed();
        let bytes = [frame.clone(), noise, frame.clone(), frame].concat();
        let (mut whole, mut cut) = (decoder(layout), decoder(layout));
        let (mut out_whole, mut out_cut) = (Vec::new(), Vec::new());
        whole.push(uuid(1), None, &bytes, &mut out_whole);
        let mut rest = bytes.as_slice();
        for length in pieces.iter().cycle() {
            let (piece, after) = rest.split_at((*length).min(rest.len()));
            cut.push(uuid(1), None, piece, &mut out_cut);
            rest = after;
            if rest.is_empty() {
                break;
            }
        }
        prop_assert_eq!(samples(&out_whole), samples(&out_cut));
        prop_assert_eq!(whole.tally(), cut.tally());
    }
}
