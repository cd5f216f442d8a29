//! Times as samples come, under the same faults as the final clock.
//!
//! Goal: times that strictly increase, never step, and are close to the truth once a segment has settled.

#![expect(
    clippy::print_stdout,
    reason = "seeds and figures, for whoever looks into a failure"
)]

use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;

use super::link::{Errors, Link, counter, errors, full, ticks};
use super::{ClockMap, ClockReport, Counter, Counts, Part, Ticks, Timing, fit};
use crate::event::{Loss, Packet, RawSample};
use crate::{DeviceTicks, HostTime, RunTime, Sample};

const SEEDS: [u64; 5] = [11, 12, 13, 14, 15];

/// Maps all packets; the errors are those after `settled_s`.
fn live(link: &Link, settled_s: f64) -> (Vec<Sample>, ClockReport, Errors) {
    let sent = link.send();
    let mut map = ClockMap::new(&link.timing, HostTime(0));
    let mut samples = Vec::new();
    for packet in &sent.packets {
        map.push(packet, &mut samples);
    }
    assert!(
        samples.windows(2).all(|w| w[0].at < w[1].at),
        "time increases"
    );
    let times: Vec<_> = samples
        .iter()
        .filter(|s| settled_s <= s.at.s())
        .map(|s| (s.accel_m_s2, s.at.s()))
        .collect();
    (samples, map.report(), errors(&times, &sent.truth_s))
}

fn bounded(name: &str, rms_ms: f64, step_ms: f64, make: impl Fn(u64) -> Link) {
    for seed in SEEDS {
        let link = make(seed);
        let (_, report, e) = live(&link, 5.0);
        let most = Errors {
            offset_s: 0.030,
            rms_s: rms_ms * 1e-3,
            step_s: step_ms * 1e-3,
            ..Errors::ANY
        };
        e.hold(&format!("{name}, seed {seed}"), &report, -0.01, &most);
    }
}

#[test]
fn clocks_that_are_off_are_followed_without_a_step() {
    // The step bound is the slew: 0.1 % of the 5 or 10 ms between samples, and what the rate itself is off.
    bounded("crystal", 0.1, 0.02, |seed| Link {
        skew: 40e-6,
        duration_s: 120.0,
        per_packet: 4,
        ..Link::new(seed, full(200.0))
    });
    for skew in [0.01, -0.01, 0.03] {
        bounded("rate off, by count", 0.6, 0.03, |seed| Link {
            skew,
            duration_s: 120.0,
            ..Link::new(seed, Timing::of_rate(100.0))
        });
        bounded("rate off, by counter", 0.8, 0.06, |seed| Link {
            skew,
            loss: 0.05,
            ..Link::new(
                seed,
                Timing {
                    counter: counter(8),
                    ..Timing::of_rate(100.0)
                },
            )
        });
    }
    bounded("rate wanders", 6.0, 0.03, |seed| Link {
        periodic: (0.019, 120.0),
        duration_s: 300.0,
        ..Link::new(
            seed,
            Timing {
                counter: counter(16),
                ..Timing::of_rate(200.0)
            },
        )
    });
}

#[test]
fn bursts_are_no_motion() {
    for interval_s in [0.015, 0.03, 0.05] {
        bounded("burst", 0.2, 0.02, |seed| Link {
            interval_s,
            ..Link::new(seed, Timing::of_rate(200.0))
        });
    }
}

#[test]
fn a_clock_that_steps_or_starts_anew_costs_one_step() {
    for (by_s, step_ms) in [(3.0, 160.0), (-2.0, 160.0), (400.0, 160.0)] {
        bounded("step", 6.0, step_ms, |seed| Link {
            step: (31.0, by_s),
            ..Link::new(seed, full(100.0))
        });
    }
    bounded("restart", 6.0, 160.0, |seed| Link {
        restart: Some((30.0, 1.0)),
        ..Link::new(seed, full(100.0))
    });
    bounded("outage, count alone", 20.0, 160.0, |seed| Link {
        outage: Some((25.0, 2.0)),
        ..Link::new(seed, Timing::of_rate(100.0))
    });
}

#[test]
fn a_stall_is_caught_up_with() {
    bounded("stall", 0.2, 0.02, |seed| Link {
        stall: Some((20.0, 0.9)),
        ..Link::new(seed, full(200.0))
    });
}

#[test]
fn what_is_told_at_once_and_at_the_end_is_the_same() {
    for seed in SEEDS {
        let link = Link {
            loss: 0.05,
            skew: 0.01,
            duration_s: 120.0,
            ..Link::new(
                seed,
                Timing {
                    counter: counter(16),
                    ..Timing::of_rate(100.0)
                },
            )
        };
        let (samples, report, _) = live(&link, 0.0);
        let sent = link.send();
        let parts: Vec<Part<'_>> = sent.packets.iter().map(Part::Packet).collect();
        let last = fit(&link.timing, &parts);
        assert_eq!(report.lost_count, last.report.lost_count);
        assert_eq!(report.sample_count, last.report.sample_count);
        assert!((report.rate_hz - last.report.rate_hz).abs() < 0.02);
        let apart = samples
            .iter()
            .zip(&last.samples)
            .map(|(a, b)| (a.at.s() - b.at.s()).abs());
        let (mut most_s, mut settled_s) = (0.0_f64, 0.0_f64);
        for (apart_s, sample) in apart.zip(&samples) {
            most_s = most_s.max(apart_s);
            if 10.0 < sample.at.s() {
                settled_s = settled_s.max(apart_s);
            }
        }
        println!(
            "seed {seed}: live and final {:.1} ms apart at most, {:.1} ms after 10 s",
            most_s * 1e3,
            settled_s * 1e3
        );
        assert!(
            most_s < 0.1 && settled_s < 0.015,
            "seed {seed}: {most_s} {settled_s}"
        );
    }
}

#[test]
fn a_lost_link_is_a_segment_and_impossible_samples_are_left_out() {
    let link = Link::new(3, full(100.0));
    let mut sent = link.send();
    sent.packets[7].samples[0].accel_m_s2[0] = f32::NAN;
    let mut map = ClockMap::new(&link.timing, HostTime(0));
    let mut samples = Vec::new();
    for (at, packet) in sent.packets.iter().enumerate() {
        if at == 3000 {
            map.lost(Loss::Link);
        }
        map.push(packet, &mut samples);
    }
    assert_eq!(map.report().segment_count, 2);
    assert_eq!(samples.len(), sent.packets.len() - 1);
    assert!(samples.iter().all(Sample::is_possible));
}

#[test]
fn run_time_counts_from_the_origin() {
    assert_eq!(HostTime(5).since(HostTime(2)), RunTime::from_ns(3));
    assert_eq!(HostTime(i64::MIN).since(HostTime(2)).ns(), i64::MIN);
    assert_eq!(HostTime::from_s(1.5), Some(HostTime(1_500_000_000)));
    assert_eq!(HostTime::from_s(f64::NAN), None);
}

#[test]
fn timings_that_make_no_sense_are_refused_with_a_mend() {
    let good = full(100.0);
    assert_eq!(good.check(), Ok(()));
    let bad = [
        Timing::of_rate(0.0),
        Timing::of_rate(f64::NAN),
        Timing {
            counter: counter(7),
            ..good
        },
        Timing {
            ticks: ticks(65, 1e-3),
            ..good
        },
        Timing {
            ticks: ticks(32, 0.0),
            ..good
        },
    ];
    for timing in bad {
        let fault = timing.check().expect_err("makes no sense");
        assert!(
            !fault.mend().is_empty() && fault.to_string().contains("expected"),
            "{fault}"
        );
    }
}

fn any_timing() -> impl Strategy<Value = Timing> {
    let counts = prop_oneof![Just(Counts::Samples), Just(Counts::Packets)];
    let counter = (8_u8..=64, counts).prop_map(|(bits, counts)| Counter { bits, counts });
    let ticks = (8_u8..=64, 1e-9..0.1_f64).prop_map(|(bits, tick_s)| Ticks { bits, tick_s });
    (0.1..1e4_f64, of(counter), of(ticks)).prop_map(|(nominal_hz, counter, ticks)| Timing {
        nominal_hz,
        counter,
        ticks,
    })
}

fn any_packets() -> impl Strategy<Value = Vec<Packet>> {
    // Counters that go on, jump, or are anything.
    let number = prop_oneof![0_u64..40, any::<u64>(), Just(u64::MAX)];
    let sample = (of(number.clone()), of(number)).prop_map(|(sequence, ticks)| RawSample {
        sequence,
        device: ticks.map(DeviceTicks),
        accel_m_s2: [0.0, 0.0, 9.8],
        gyro_rad_s: [0.0; 3],
    });
    let arrival = prop_oneof![0_i64..2_000_000_000, any::<i64>()];
    let packet = (arrival, vec(sample, 1..5)).prop_map(|(arrival, samples)| Packet {
        arrival: HostTime(arrival),
        samples,
    });
    vec(packet, 0..60)
}

proptest! {
    #[test]
    fn whatever_comes_time_increases_and_nothing_panics(timing in any_timing(), packets in any_packets()) {
        let mut map = ClockMap::new(&timing, HostTime(0));
        let mut samples = Vec::new();
        for packet in &packets {
            map.push(packet, &mut samples);
        }
        prop_assert!(samples.windows(2).all(|w| w[0].at < w[1].at));
        let parts: Vec<Part<'_>> = packets.iter().map(Part::Packet).collect();
        let fitted = fit(&timing, &parts);
        prop_assert!(fitted.samples.windows(2).all(|w| w[0].at < w[1].at));
        prop_assert!(fitted.report.rate_hz.is_finite() && map.report().rate_hz.is_finite());
    }
}
