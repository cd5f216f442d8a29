//! A simulated run as the raw events a live source would have sent.

use crate::event::{Event, PACKET_SAMPLES_MAX, Packet, RawSample, Stop};
use crate::{
    Counter, Counts, DeviceTicks, Heading, HostTime, Placement, Run, RunTime, Sample, Stream,
    Ticks, Timing, Track,
};

use super::random::Random;

/// A common length of packets, s: a radio's connection interval.
pub const PACKET_S: f64 = 0.03;
/// No packet comes sooner after its last sample, s.
const DELAY_S: f64 = 0.008;
/// Up to this much later, s.
const JITTER_S: f64 = 0.004;
/// The sensors' second is shorter than this computer's by this share: much, for a crystal.
const SKEW: f64 = 3e-4;
/// Length of a tick of the sensors' clocks, s.
const TICK_S: f64 = 1.0 / 32_768.0;
const COUNTER_BITS: u8 = 16;
const CLOCK_BITS: u8 = 32;
/// Counter and clock wrap so many samples and seconds after the start, at most.
const WRAP_SAMPLES: usize = 1000;
const WRAP_S: f64 = 10.0;

/// Cuts a run into packets of `packet_s` seconds and sends them with a delay that varies a little. Counters and clocks
/// of the sensors wrap, and run a little off. The same run gives the same events; they are sorted by their arrival.
pub fn live_events(run: &Run, packet_s: f64) -> (Heading, Vec<Event>) {
    let placed: Vec<(Placement, &Track)> = run
        .tracks
        .iter()
        .filter_map(|track| Some((track.placement?, track)))
        .collect();
    let mut events = Vec::new();
    for &(placement, track) in &placed {
        send(placement, track, packet_s, &mut events);
    }
    events.extend(run.marks.iter().map(|mark| Event::Mark {
        at: HostTime(mark.at.ns()),
        kind: mark.kind,
        side: mark.side,
        value: mark.value.clone(),
    }));
    events.sort_by_key(Event::at);
    let heading = Heading {
        id: run.id.clone(),
        acquired: run.acquired.clone(),
        conditions: run.conditions.clone(),
        streams: placed
            .iter()
            .map(|&(placement, track)| stream(placement, track))
            .collect(),
    };
    (heading, events)
}

fn stream(placement: Placement, track: &Track) -> Stream {
    Stream {
        placement,
        timing: Timing {
            nominal_hz: track.rate_hz,
            counter: Some(Counter {
                bits: COUNTER_BITS,
                counts: Counts::Samples,
            }),
            ticks: Some(Ticks {
                bits: CLOCK_BITS,
                tick_s: TICK_S,
            }),
        },
        limits: track.limits,
        device: track.device.clone(),
    }
}

/// The packets of one sensor, and its end.
fn send(placement: Placement, track: &Track, packet_s: f64, events: &mut Vec<Event>) {
    let mut random = Random::new(track.samples.len() as u64, 0x0500 + placement as u64);
    let mut sensor = Sensor::new(track, &mut random);
    let mut arrival = HostTime(0);
    let burst = |sample: &Sample| (sample.at.s() / packet_s).floor();
    let bursts = track
        .samples
        .chunk_by(|a, b| burst(a).total_cmp(&burst(b)).is_eq())
        .flat_map(|burst| burst.chunks(PACKET_SAMPLES_MAX));
    for samples in bursts {
        let Some(last) = samples.last() else { continue };
        let delay_s = DELAY_S + random.between(0.0, JITTER_S);
        let at_ns = last.at.ns() + RunTime::from_s(delay_s).map_or(0, RunTime::ns);
        arrival = HostTime(at_ns.max(arrival.0 + 1));
        let samples = samples.iter().map(|s| sensor.send(s)).collect();
        events.push(Event::Samples {
            placement,
            packet: Packet { arrival, samples },
        });
    }
    events.push(Event::Ended {
        placement,
        at: HostTime(arrival.0 + 1),
        reason: Stop::Finished,
    });
}

/// Counter and clock of a sensor.
struct Sensor {
    rate_hz: f64,
    first: RunTime,
    /// What the counter and the clock were at the run's time 0.
    count_at_start: u64,
    clock_at_start_s: f64,
    /// Number of the next sample, at least.
    next: u64,
}

impl Sensor {
    fn new(track: &Track, random: &mut Random) -> Self {
        let wrap_s = 2.0_f64.powi(CLOCK_BITS.into()) * TICK_S;
        Self {
            rate_hz: track.rate_hz,
            first: track.samples.first().map_or(RunTime::ZERO, |s| s.at),
            count_at_start: (1 << COUNTER_BITS) - random.count(1, WRAP_SAMPLES) as u64,
            clock_at_start_s: wrap_s - random.between(0.0, WRAP_S),
            next: 0,
        }
    }

    /// A sample that was lost before was counted all the same.
    fn send(&mut self, sample: &Sample) -> RawSample {
        let number = whole((sample.at - self.first) * self.rate_hz + 0.5).max(self.next);
        self.next = number + 1;
        let clock_s = self.clock_at_start_s + sample.at.s() * (1.0 + SKEW);
        RawSample {
            sequence: Some((self.count_at_start + number) % (1 << COUNTER_BITS)),
            device: Some(DeviceTicks(whole(clock_s / TICK_S) % (1 << CLOCK_BITS))),
            accel_m_s2: sample.accel_m_s2,
            gyro_rad_s: sample.gyro_rad_s,
        }
    }
}

/// The whole number below.
fn whole(value: f64) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "counts of a run are far below 2^63, and none is below 0"
    )]
    let number = value.max(0.0) as u64;
    number
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assemble;
    use crate::synthetic::{Fault, Scenario, simulate};

    /// Sends a run, puts it together again and compares.
    fn sent_and_assembled(scenario: &Scenario) -> Vec<Option<u64>> {
        let run = simulate(scenario).run;
        let (heading, events) = live_events(&run, PACKET_S);
        assert!(events.is_sorted_by_key(Event::at));
        assert!(events.iter().all(|event| event.check().is_ok()));
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

    #[test]
    fn what_was_sent_comes_back() {
        for seed in 1..=4 {
            let lost = sent_and_assembled(&Scenario::slow(seed));
            assert!(lost.iter().all(|lost| *lost == Some(0)), "{lost:?}");
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
        let lost = sent_and_assembled(&scenario);
        assert!(
            lost.iter().all(|lost| lost.is_some_and(|n| n > 0)),
            "{lost:?}"
        );
    }
}
