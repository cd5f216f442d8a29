//! What is sent comes back, and what goes wrong is what was asked for.

use super::*;
use crate::event::{Link, Loss, Packet, Stop};
use crate::synthetic::{ClockCourse, Fault, Outage, Restart, Scenario, SensorClock, simulate};
use crate::{Assembled, Sample, assemble};

/// Sends a run, puts it together again and compares all samples; so far from the constant least delay at most.
fn sent_and_assembled(scenario: &Scenario, sending: &Sending) -> Vec<Option<u64>> {
    let run = simulate(scenario).run;
    let (heading, events) = sent(&run, sending);
    let made = assemble(&heading, &events);
    assert_eq!(made.run.tracks.len(), run.tracks.len());
    assert_eq!(made.run.marks.len(), run.marks.len());
    for (back, sent) in made.run.tracks.iter().zip(&run.tracks) {
        assert_eq!(
            (&back.name, back.limits, &back.device),
            (&sent.name, sent.limits, &sent.device)
        );
        assert_eq!(back.samples.len(), sent.samples.len());
        let mut off_s = Vec::new();
        for (b, s) in back.samples.iter().zip(&sent.samples) {
            assert_eq!(Sample { at: s.at, ..*b }, *s);
            off_s.push(b.at - s.at);
        }
        let mean_s = off_s.iter().sum::<f64>() / off_s.len() as f64;
        let worst_s = off_s.iter().map(|o| (o - mean_s).abs()).fold(0.0, f64::max);
        assert!(worst_s < 0.003, "{}: {worst_s} s", sent.name);
    }
    made.clocks.iter().map(|(_, c)| c.lost_count).collect()
}

/// What is sent, in order and within all limits.
fn sent(run: &Run, sending: &Sending) -> (Heading, Vec<Event>) {
    let (heading, events) = live_events(run, sending);
    assert!(events.is_sorted_by_key(Event::at));
    assert!(events.iter().all(|event| event.check().is_ok()));
    assert_eq!(live_events(run, sending).1, events, "always the same");
    (heading, events)
}

/// Two shins for some 30 s.
fn any_run() -> Run {
    simulate(&Scenario::slow(5)).run
}

fn packets(events: &[Event], placement: Placement) -> Vec<&Packet> {
    let mut packets = Vec::new();
    for event in events {
        match event {
            Event::Samples {
                placement: p,
                packet,
            } if *p == placement => packets.push(packet),
            _ => {}
        }
    }
    packets
}

fn gaps(events: &[Event], placement: Placement) -> Vec<(Loss, f64, f64)> {
    let mut gaps = Vec::new();
    for event in events {
        match event {
            Event::Gap {
                placement: p,
                from,
                to,
                cause,
            } if *p == placement => gaps.push((*cause, from.s(), to.s())),
            _ => {}
        }
    }
    gaps
}

fn assembled(run: &Run, sending: &Sending) -> Assembled {
    let (heading, events) = sent(run, sending);
    assemble(&heading, &events)
}

#[test]
fn what_was_sent_comes_back() {
    for seed in 1..=4 {
        for sending in [
            Sending::plain(),
            Sending {
                seed,
                ..Sending::usual()
            },
        ] {
            let lost = sent_and_assembled(&Scenario::slow(seed), &sending);
            assert!(lost.iter().all(|lost| *lost == Some(0)), "{lost:?}");
        }
    }
}

#[test]
fn what_was_lost_is_counted_and_the_rest_comes_back() {
    let mut scenario = Scenario::brisk(2);
    scenario.faults.push(Fault::LostBursts {
        placement: None,
        share: 0.05,
        length: (1, 12),
    });
    let lost = sent_and_assembled(&scenario, &Sending::usual());
    assert!(
        lost.iter().all(|lost| lost.is_some_and(|n| n > 0)),
        "{lost:?}"
    );
}

#[test]
fn the_usual_way_comes_in_bursts_wraps_and_has_another_rate_than_it_says() {
    let run = any_run();
    let (heading, events) = sent(&run, &Sending::usual());
    for (stream, track) in heading.streams.iter().zip(&run.tracks) {
        let off = track.rate_hz / stream.timing.nominal_hz - 1.0;
        assert!((off - 0.01).abs() < 1e-12, "{off}");
        let packets = packets(&events, stream.placement);
        let apart_ms: Vec<i64> = packets
            .windows(2)
            .map(|w| (w[1].arrival.0 - w[0].arrival.0) / 1_000_000)
            .collect();
        // Packets of 20 ms at intervals of 30 ms: now one, now two.
        let count =
            |range: std::ops::Range<i64>| apart_ms.iter().filter(|ms| range.contains(ms)).count();
        let (together, one_later) = (count(0..1), count(28..31));
        assert!(
            together * 4 > packets.len(),
            "{together} of {}",
            packets.len()
        );
        assert!(
            one_later * 2 > packets.len(),
            "{one_later} of {}",
            packets.len()
        );
        let all = || packets.iter().flat_map(|p| &p.samples);
        let wraps = |numbers: Vec<u64>| numbers.windows(2).filter(|w| w[1] < w[0]).count();
        assert_eq!(wraps(all().filter_map(|s| s.sequence).collect()), 1);
        assert_eq!(
            wraps(all().filter_map(|s| s.device.map(|d| d.0)).collect()),
            1
        );
    }
}

#[test]
fn a_link_that_drops_delivers_nothing_meanwhile_and_says_so_afterwards() {
    let run = any_run();
    let sending = Sending {
        drops: vec![
            Outage {
                from_s: 5.0,
                to_s: 7.0,
            },
            Outage {
                from_s: 12.0,
                to_s: 12.5,
            },
        ],
        ..Sending::usual()
    };
    let (heading, events) = sent(&run, &sending);
    for stream in &heading.streams {
        let told = gaps(&events, stream.placement);
        assert_eq!(told.len(), 2, "{told:?}");
        for ((cause, from_s, to_s), drop) in told.into_iter().zip(&sending.drops) {
            assert_eq!(cause, Loss::Link);
            assert!(
                (drop.from_s - 0.1..drop.from_s).contains(&from_s),
                "{from_s}"
            );
            assert!((drop.to_s..drop.to_s + 0.1).contains(&to_s), "{to_s}");
        }
        let inside = |p: &&&Packet| (5.0..7.0).contains(&p.arrival.s());
        assert_eq!(
            packets(&events, stream.placement)
                .iter()
                .filter(inside)
                .count(),
            0
        );
    }
    let is_lost =
        |e: &&Event| matches!(e, Event::Status { status, .. } if status.link == Some(Link::Lost));
    assert_eq!(events.iter().filter(is_lost).count(), 2 * run.tracks.len());
    // A link that is down when the run is over hasn't come back.
    let never = Sending {
        drops: vec![Outage {
            from_s: 5.0,
            to_s: 10_000.0,
        }],
        ..Sending::usual()
    };
    let (_, events) = sent(&run, &never);
    let ends: Vec<_> = events
        .iter()
        .filter(|e| {
            matches!(
                e,
                Event::Ended {
                    reason: Stop::Lost,
                    ..
                }
            )
        })
        .collect();
    assert_eq!(ends.len(), run.tracks.len());
    assert!(
        ends.iter().all(|e| e.at().s() > 6.0 && e.at().s() < 8.0),
        "{ends:?}"
    );
}

#[test]
fn a_restart_sets_counter_and_clock_to_zero_and_is_told_or_not() {
    let run = any_run();
    for is_told in [true, false] {
        let sending = Sending {
            restart: Some(Restart {
                at_s: 9.0,
                away_s: 1.0,
                is_told,
            }),
            ..Sending::usual()
        };
        let (heading, events) = sent(&run, &sending);
        for stream in &heading.streams {
            let causes: Vec<Loss> = gaps(&events, stream.placement)
                .iter()
                .map(|g| g.0)
                .collect();
            assert_eq!(causes, if is_told { vec![Loss::Restart] } else { vec![] });
            let packets = packets(&events, stream.placement);
            let anew = packets
                .iter()
                .find(|p| p.arrival.s() > 9.2)
                .expect("goes on");
            assert!(anew.arrival.s() > 10.0);
            assert_eq!(anew.samples[0].sequence, Some(0));
            let clock_s = anew.samples[0]
                .device
                .map_or(f64::NAN, |d| d.0 as f64 * sensor::TICK_S);
            assert!((0.0..0.2).contains(&clock_s), "{clock_s}");
        }
        let made = assembled(&run, &sending);
        for (placement, clock) in &made.clocks {
            assert_eq!(clock.segment_count, 2, "{placement} {clock:?}");
        }
    }
}

#[test]
fn shares_of_packets_are_lost_repeated_and_late() {
    let run = any_run();
    let whole: usize = run.tracks.iter().map(|t| t.samples.len()).sum();
    let base = Sending::plain();
    let report = |sending: &Sending| {
        let made = assembled(&run, sending);
        let sum = |of: fn(&crate::ClockReport) -> u64| {
            made.clocks.iter().map(|(_, c)| of(c)).sum::<u64>()
        };
        let lost = sum(|c| c.lost_count.unwrap_or(0));
        (
            lost as f64 / whole as f64,
            sum(|c| c.repeated_count) as f64 / whole as f64,
            sum(|c| c.late_count) as f64 / whole as f64,
        )
    };
    let (lost, repeated, late) = report(&Sending {
        lost_share: 0.1,
        ..base.clone()
    });
    assert!(
        (0.06..0.14).contains(&lost) && repeated == 0.0 && late == 0.0,
        "{lost}"
    );
    let (lost, repeated, late) = report(&Sending {
        repeated_share: 0.1,
        ..base.clone()
    });
    assert!(
        (0.06..0.14).contains(&repeated) && lost == 0.0 && late == 0.0,
        "{repeated}"
    );
    let (lost, repeated, late) = report(&Sending {
        late_share: 0.1,
        ..base
    });
    assert!(
        (0.06..0.14).contains(&late) && lost == 0.0 && repeated == 0.0,
        "{late}"
    );
}

#[test]
fn an_empty_battery_ends_the_stream_and_is_the_reason() {
    let run = any_run();
    let sending = Sending {
        battery_s: Some(12.0),
        ..Sending::usual()
    };
    let (heading, events) = sent(&run, &sending);
    for stream in &heading.streams {
        let last_s = packets(&events, stream.placement)
            .last()
            .expect("some came")
            .arrival
            .s();
        assert!((11.9..12.1).contains(&last_s), "{last_s}");
    }
    let batteries = events.iter().filter(|e| {
        matches!(
            e,
            Event::Ended {
                reason: Stop::Battery,
                ..
            }
        )
    });
    assert_eq!(batteries.count(), run.tracks.len());
}

#[test]
fn clocks_run_as_they_are_told_to_and_counter_or_clock_may_be_missing() {
    let run = any_run();
    let placement = Placement::ShinLeft;
    let off_s = |course: ClockCourse| -> Vec<f64> {
        let clock = Some(SensorClock { skew: 0.0, course });
        let (_, events) = sent(
            &run,
            &Sending {
                clock,
                ..Sending::plain()
            },
        );
        let packets = packets(&events, placement);
        let stamps = packets
            .iter()
            .flat_map(|p| &p.samples)
            .filter_map(|s| s.device);
        let clock_s = stamps.map(|d| (d.0 as f64 + 0.5) * sensor::TICK_S);
        let track = run.track(placement).expect("a track");
        clock_s
            .zip(&track.samples)
            .map(|(c, s)| c - s.at.s() - 0.1)
            .collect()
    };
    let most = |off_s: &[f64]| off_s.iter().map(|o| o.abs()).fold(0.0, f64::max);
    assert!(most(&off_s(ClockCourse::Linear)) < 2e-5);
    let swing = most(&off_s(ClockCourse::Periodic {
        amplitude_s: 0.05,
        period_s: 20.0,
    }));
    assert!((0.0499..0.0501).contains(&swing), "{swing}");
    let stepped = off_s(ClockCourse::Step {
        at_s: 10.0,
        by_s: -3.0,
    });
    assert!(stepped[0].abs() < 2e-5 && (most(&stepped) - 3.0).abs() < 2e-5);
    let noise = off_s(ClockCourse::Noisy { sd_s: 0.002 });
    let sd_s = (noise.iter().map(|o| o * o).sum::<f64>() / noise.len() as f64).sqrt();
    assert!((0.0018..0.0022).contains(&sd_s), "{sd_s}");

    let (heading, events) = sent(
        &run,
        &Sending {
            clock: None,
            has_counter: false,
            ..Sending::usual()
        },
    );
    let timing = heading.streams[0].timing;
    assert_eq!((timing.counter, timing.ticks), (None, None));
    let bare = |s: &crate::RawSample| s.sequence.is_none() && s.device.is_none();
    assert!(
        packets(&events, placement)
            .iter()
            .all(|p| p.samples.iter().all(bare))
    );
}
