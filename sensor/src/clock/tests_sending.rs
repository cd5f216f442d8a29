//! The clocks of two sensors together, that send as simulated sensors do.
//!
//! Goal: times within stated bounds of the truth, for each sensor by itself and of one against the other,
//! the effective rate, and the right count of what was lost; at once and at the end. Method: the four faults
//! of a clock (linear, periodic, step, noisy) with counter and clock, clock alone, counter alone (which the
//! sampling itself drives, so that nothing but the rate can be off) and neither; rates 1 % off nominal,
//! bursts of 30 ms, stalls, wraps, 2 % of the packets lost; restarts and drops; several seeds each, printed.

#![expect(
    clippy::print_stdout,
    reason = "figures, for whoever looks into a failure"
)]

use super::link::{Errors, errors, number_of};
use super::{ClockMap, ClockReport};
use crate::synthetic::{ClockCourse, Outage, Restart, Sending, SensorClock, live_events};
use crate::{Device, Event, Heading, HostTime, Placement, Run, RunTime, Sample, Track, assemble};

const SEEDS: [u64; 6] = [21, 22, 23, 24, 25, 26];
const PLACES: [Placement; 2] = [Placement::ShinLeft, Placement::ShinRight];
/// At the first rate packets of 20 ms and bursts of 30 ms meet within 10 ms always at the same place; at the
/// second they meet everywhere.
const RATES_HZ: [f64; 2] = [100.0, 99.7];
const DURATION_S: f64 = 90.0;
/// When sample number `k` is taken: the sensors don't sample at the same moments.
fn taken_s(hz: f64, place: usize, k: usize) -> f64 {
    0.0037 * place as f64 + k as f64 / hz
}

/// Two sensors whose samples carry their number.
fn two(hz: f64) -> Run {
    let track = |(place, placement): (usize, Placement)| {
        let sample = |k: usize| Sample {
            at: RunTime::from_s(taken_s(hz, place, k)).expect("finite"),
            #[expect(clippy::cast_precision_loss, reason = "whole numbers below 4096")]
            accel_m_s2: [(k / 4096) as f32, (k % 4096) as f32, 9.8],
            gyro_rad_s: [0.0; 3],
        };
        let count = (0..).take_while(|k| taken_s(hz, place, *k) < DURATION_S);
        Track {
            name: placement.as_str().to_owned(),
            placement: Some(placement),
            rate_hz: hz,
            limits: None,
            device: Device::default(),
            samples: count.map(sample).collect(),
            stamps: Vec::new(),
        }
    };
    Run {
        id: crate::RecordingId::default(),
        acquired: None,
        conditions: crate::Conditions::default(),
        tracks: PLACES.into_iter().enumerate().map(track).collect(),
        marks: Vec::new(),
    }
}

/// What came of both sensors.
struct Came {
    /// Errors of each, and what is told of its clock.
    each: [(Errors, ClockReport); 2],
    /// Truly lost between the first and the last to come, of each.
    lost: [u64; 2],
}

fn measured(hz: f64, times: [(&[Sample], ClockReport); 2], from_s: f64) -> Came {
    let mut lost = [0; 2];
    let each = [0, 1].map(|place| {
        let (samples, report) = times[place];
        assert!(
            samples.windows(2).all(|w| w[0].at < w[1].at),
            "time increases"
        );
        let number = |s: Option<&Sample>| s.map_or(0, |s| number_of(s.accel_m_s2));
        let span = number(samples.last()) + 1 - number(samples.first());
        lost[place] = (span - samples.len()) as u64;
        let truth_s: Vec<f64> = (0..20_000).map(|k| taken_s(hz, place, k)).collect();
        let settled = samples.iter().filter(|s| from_s <= s.at.s());
        let times: Vec<_> = settled.map(|s| (s.accel_m_s2, s.at.s())).collect();
        (errors(&times, &truth_s), report)
    });
    Came { each, lost }
}

/// On the final clock.
fn last(hz: f64, heading: &Heading, events: &[Event]) -> Came {
    let made = assemble(heading, events);
    let times = [0, 1].map(|place| {
        let track = made.run.track(PLACES[place]).expect("came");
        (&track.samples[..], made.clocks[place].1)
    });
    measured(hz, times, f64::NEG_INFINITY)
}

/// As it came, once a sensor's clock has settled.
fn at_once(hz: f64, heading: &Heading, events: &[Event]) -> Came {
    let mut maps =
        [0, 1].map(|place: usize| ClockMap::new(&heading.streams[place].timing, HostTime(0)));
    let mut samples = [Vec::new(), Vec::new()];
    for event in events {
        let Some(place) = PLACES.iter().position(|p| event.placement() == Some(*p)) else {
            continue;
        };
        match event {
            Event::Samples { packet, .. } => maps[place].push(packet, &mut samples[place]),
            Event::Gap { cause, .. } => maps[place].lost(*cause),
            _ => {}
        }
    }
    measured(
        hz,
        [0, 1].map(|place| (&samples[place][..], maps[place].report())),
        6.0,
    )
}

/// What a variant must keep, ms.
#[derive(Clone, Copy)]
struct Bounds {
    /// At the end: root mean square and largest.
    last: (f64, f64),
    /// As it came, root mean square.
    live: f64,
    /// Between the two sensors' offsets, where packets and bursts meet everywhere.
    apart: f64,
}

/// Sends with every seed at each rate.
fn bounded(name: &str, bounds: Bounds, make: impl Fn(u64) -> Sending) -> Vec<ClockReport> {
    let mut reports = Vec::new();
    // Each sensor may be late by its own share of the 10 ms: over many pairs that is 10 ms / √6 = 4.1 ms, root
    // mean square.
    let apart_ms = [(10.5, 5.5), (bounds.apart, bounds.apart)];
    for (hz, (max_ms, rms_ms)) in RATES_HZ.into_iter().zip(apart_ms) {
        let mut apart_s = Vec::new();
        for seed in SEEDS {
            let sending = Sending { seed, ..make(seed) };
            let (heading, events) = live_events(&two(hz), &sending);
            let done = last(hz, &heading, &events);
            let live = at_once(hz, &heading, &events);
            let what = format!("{name}, {hz} Hz, seed {seed}");
            check(&what, hz, bounds, &sending, [&done, &live]);
            reports.extend(done.each.map(|(_, report)| report));
            apart_s.push(done.each[0].0.offset_s - done.each[1].0.offset_s);
        }
        let most_ms = 1e3 * apart_s.iter().map(|a| a.abs()).fold(0.0, f64::max);
        let mean = apart_s.iter().map(|a| a * a).sum::<f64>() / apart_s.len() as f64;
        let apart_ms = 1e3 * mean.sqrt();
        println!("{name}, {hz} Hz: sensors apart {apart_ms:.1} ms rms, {most_ms:.1} ms at most");
        assert!(most_ms < max_ms && apart_ms < rms_ms, "{name}: {apart_s:?}");
    }
    reports
}

/// Errors, rate, and the count of what was lost, which is right but where a start of the count is lost too; by a
/// clock alone to 1 %.
fn check(what: &str, hz: f64, bounds: Bounds, sending: &Sending, [done, live]: [&Came; 2]) {
    let (rms_ms, max_ms) = bounds.last;
    let last = Errors {
        rms_s: rms_ms * 1e-3,
        max_s: max_ms * 1e-3,
        ..Errors::ANY
    };
    let at_once = Errors {
        rms_s: bounds.live * 1e-3,
        ..Errors::ANY
    };
    // What is told at once of the rate is the last five seconds'; and so it is by a clock alone, with the noise
    // of its stamps in it.
    let is_by_clock = sending.clock.is_some() && !sending.has_counter;
    let last_off_max = if is_by_clock { 2e-3 } else { 2e-4 };
    for (came, most, off_max, when) in [
        (done, last, last_off_max, "at the end"),
        (live, at_once, 2e-3, "at once"),
    ] {
        for ((errors, report), lost) in came.each.iter().zip(came.lost) {
            errors.hold(&format!("{what}, {when}"), report, f64::NEG_INFINITY, &most);
            let off = (report.rate_hz / hz - 1.0).abs();
            assert!(off < off_max, "{what}: {off} {report:?}");
            let Some(told) = report.lost_count else {
                assert!(!sending.has_counter && sending.clock.is_none());
                continue;
            };
            let slack = if sending.has_counter {
                0
            } else {
                report.sample_count / 100
            };
            let is_right = told.abs_diff(lost) <= slack;
            assert!(
                is_right || sending.restart.is_some(),
                "{what}: {lost} lost, {report:?}"
            );
        }
    }
}

fn stamped(skew: f64, course: ClockCourse, has_counter: bool) -> Sending {
    Sending {
        clock: Some(SensorClock { skew, course }),
        has_counter,
        lost_share: 0.02,
        ..Sending::usual()
    }
}

#[test]
fn clocks_that_are_off_swing_or_are_noisy_cost_little_and_no_step() {
    let swing = ClockCourse::Periodic {
        amplitude_s: 0.001,
        period_s: 60.0,
    };
    let noisy = ClockCourse::Noisy { sd_s: 0.002 };
    for has_counter in [true, false] {
        let cases = [
            (
                "linear",
                ClockCourse::Linear,
                Bounds {
                    last: (0.6, 1.2),
                    live: 4.0,
                    apart: 1.0,
                },
            ),
            (
                "periodic",
                swing,
                Bounds {
                    last: (1.2, 2.5),
                    live: 4.0,
                    apart: 1.0,
                },
            ),
            (
                "noisy",
                noisy,
                Bounds {
                    last: (2.6, 12.0),
                    live: 5.0,
                    apart: 4.0,
                },
            ),
        ];
        for (name, course, bounds) in cases {
            let name = format!(
                "{name}, clock{}",
                if has_counter { " and counter" } else { "" }
            );
            let reports = bounded(&name, bounds, |_| stamped(3e-4, course, has_counter));
            assert!(reports.iter().all(|r| r.segment_count == 1), "{reports:?}");
        }
    }
}

#[test]
fn a_clock_that_steps_is_found_in_each_variant_that_has_one() {
    for has_counter in [true, false] {
        for by_s in [3.0, -2.0] {
            let course = ClockCourse::Step { at_s: 31.0, by_s };
            let name = format!("step by {by_s} s, counter: {has_counter}");
            // How much is missing at the step can't be told by a clock alone.
            let make = |_| Sending {
                lost_share: 0.0,
                ..stamped(3e-5, course, has_counter)
            };
            let reports = bounded(
                &name,
                Bounds {
                    last: (0.6, 1.2),
                    live: 3.0,
                    apart: 1.0,
                },
                make,
            );
            assert!(reports.iter().all(|r| r.segment_count == 2), "{reports:?}");
        }
    }
}

#[test]
fn a_rate_that_is_off_is_measured_without_a_clock() {
    for rate_error in [0.01, -0.02, 0.028] {
        let by_counter = |_| Sending {
            clock: None,
            rate_error,
            lost_share: 0.02,
            ..Sending::usual()
        };
        bounded(
            "counter",
            Bounds {
                last: (0.6, 1.2),
                live: 4.0,
                apart: 1.0,
            },
            by_counter,
        );
        let by_count = |_| Sending {
            clock: None,
            has_counter: false,
            rate_error,
            ..Sending::usual()
        };
        bounded(
            "neither",
            Bounds {
                last: (0.6, 1.2),
                live: 4.0,
                apart: 1.0,
            },
            by_count,
        );
    }
}

#[test]
fn a_drop_and_a_restart_keep_the_time() {
    let variants = [(true, true), (false, true), (true, false)];
    for (has_clock, has_counter) in variants {
        for is_told in [true, false] {
            let name = format!("clock: {has_clock}, counter: {has_counter}, told: {is_told}");
            let make = |_| {
                let usual = Sending::usual();
                Sending {
                    clock: usual.clock.filter(|_| has_clock),
                    has_counter,
                    drops: vec![Outage {
                        from_s: 20.0,
                        to_s: 23.0,
                    }],
                    restart: Some(Restart {
                        at_s: 50.0,
                        away_s: 1.0,
                        is_told,
                    }),
                    ..usual
                }
            };
            let reports = bounded(
                &name,
                Bounds {
                    last: (0.8, 2.5),
                    live: 5.0,
                    apart: 1.0,
                },
                make,
            );
            assert!(reports.iter().all(|r| r.segment_count == 3), "{reports:?}");
        }
    }
}
