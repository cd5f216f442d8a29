//! Packets that carry one counter and one clock for all their samples.
//!
//! Goal: the same times as with a stamp on every sample. Method: simulated packets, stripped of stamps.

use super::link::{Errors, Link, counter, errors, full, ticks};
use super::{Counter, Counts, Fitted, Part, Timing, fit};
use crate::event::Packet;

const SEEDS: [u64; 3] = [21, 22, 23];

fn fitted(timing: &Timing, packets: &[Packet], truth_s: &[f64]) -> (Fitted, Errors) {
    let parts: Vec<Part<'_>> = packets.iter().map(Part::Packet).collect();
    let fitted = fit(timing, &parts);
    let times: Vec<_> = fitted
        .samples
        .iter()
        .map(|s| (s.accel_m_s2, s.at.s()))
        .collect();
    let came: usize = packets.iter().map(|p| p.samples.len()).sum();
    assert_eq!(fitted.samples.len(), came, "every sample is kept");
    assert!(fitted.samples.windows(2).all(|w| w[0].at < w[1].at));
    let e = errors(&times, truth_s);
    (fitted, e)
}

#[test]
fn one_clock_a_packet_of_its_first_or_last_sample() {
    for (seed, of_last, tick_s) in [
        (21, false, 1e-6),
        (22, true, 1e-6),
        (23, false, 3.051_757_812_5e-5),
        (24, true, 1e-3),
    ] {
        // The chip samples at 98.7 Hz by the true time, whatever its profile says.
        let timing = Timing {
            ticks: ticks(32, tick_s),
            ..full(98.7)
        };
        let link = Link {
            per_packet: 4,
            loss: 0.05,
            duration_s: 120.0,
            ..Link::new(seed, timing)
        };
        let mut sent = link.send();
        for packet in &mut sent.packets {
            let keep = if of_last { 3 } else { 0 };
            for (at, sample) in packet.samples.iter_mut().enumerate() {
                sample.device = sample.device.filter(|_| at == keep);
                sample.sequence = sample.sequence.filter(|_| at == 0);
            }
        }
        let nominal = Timing {
            nominal_hz: 100.0,
            ..timing
        };
        let (fitted, e) = fitted(&nominal, &sent.packets, &sent.truth_s);
        let bound_s = 0.001 + tick_s;
        assert!(
            e.rms_s < bound_s && e.max_s < 2.0 * bound_s,
            "seed {seed}: {e:?}"
        );
        assert!(
            (fitted.report.rate_hz - 98.7).abs() < 0.01,
            "{:?}",
            fitted.report
        );
        assert_eq!(fitted.report.segment_count, 1);
        let total = sent.truth_s.len() as u64;
        let lost = fitted.report.lost_count.expect("counted");
        assert!(
            total - fitted.report.sample_count - lost < 20,
            "{:?} of {total}",
            fitted.report
        );
    }
}

#[test]
fn a_counter_of_packets_places_what_is_between_losses() {
    for seed in SEEDS {
        for ticks in [None, ticks(16, 1e-3)] {
            let timing = Timing {
                nominal_hz: 100.0,
                counter: counter(32),
                ticks,
            };
            let link = Link {
                per_packet: 2,
                loss: 0.1,
                outage: Some((30.0, 1.0)),
                ..Link::new(seed, timing)
            };
            let mut sent = link.send();
            let first = sent.packets[0].samples[0].sequence.expect("counted");
            for packet in &mut sent.packets {
                for sample in &mut packet.samples {
                    // Eight bits, the same number on all samples of a packet.
                    sample.sequence = sample.sequence.map(|s| (s - first) / 2 % 256);
                }
            }
            let by_packets = Timing {
                counter: Some(Counter {
                    bits: 8,
                    counts: Counts::Packets,
                }),
                ..timing
            };
            let (fitted, e) = fitted(&by_packets, &sent.packets, &sent.truth_s);
            assert!(e.rms_s < 0.002 && e.max_s < 0.004, "seed {seed}: {e:?}");
            let total = sent.truth_s.len() as u64;
            let lost = fitted.report.lost_count.expect("counted");
            assert!(
                total - fitted.report.sample_count - lost < 20,
                "{:?} of {total}",
                fitted.report
            );
        }
    }
}
