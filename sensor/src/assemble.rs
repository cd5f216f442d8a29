//! From the raw events of a run to the [`Run`] itself: the value that is written, read and analysed.

use crate::event::Event;
use crate::{
    ClockReport, Conditions, Device, FittedSample, HostTime, Mark, MarkKind, Part, Placement,
    RecordingId, Run, RunTime, Sample, Timing, Track, UnitLimits, fit,
};

/// The text of a note that takes back the last mark of a pull or a stop.
pub const WITHDRAWN: &str = "withdrawn";

/// One sensor of a run, as it is known before its first sample.
#[derive(Clone, Debug, PartialEq)]
pub struct Stream {
    /// Where it sits; each place once in a run.
    pub placement: Placement,
    /// What places its samples in time.
    pub timing: Timing,
    /// How far the unit may be off; `None` where nobody says.
    pub limits: Option<UnitLimits>,
    /// The make of the unit.
    pub device: Device,
}

/// What is known of a run before its first sample.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Heading {
    /// Its name in the data set.
    pub id: RecordingId,
    /// When it was started (`2026-03-02T09:30:00`).
    pub acquired: Option<String>,
    /// How the raises are done.
    pub conditions: Conditions,
    /// Its sensors; later ones belong to another run.
    pub streams: Vec<Stream>,
}

/// A run made of events, and what is to be said about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Assembled {
    /// On its final clock.
    pub run: Run,
    /// How the clock of each stream did, in the heading's order.
    pub clocks: Vec<(Placement, ClockReport)>,
    /// Samples that no sensor can have felt, by stream; left out.
    pub impossible: Vec<(Placement, u64)>,
    /// Streams without a sample; left out.
    pub empty: Vec<Placement>,
    /// Marks too far from the samples to be of this run; left out.
    pub strayed: u64,
}

/// Fits each stream's clock over the whole run and puts all on one: time 0 is the earliest first sample.
pub fn assemble(heading: &Heading, events: &[Event]) -> Assembled {
    let (mut fitted, mut clocks) = (Vec::new(), Vec::new());
    let (mut impossible, mut empty) = (Vec::new(), Vec::new());
    for stream in &heading.streams {
        let mut one = fit(&stream.timing, &parts(stream.placement, events));
        let before = one.samples.len();
        one.samples.retain(is_possible);
        if one.samples.len() < before {
            impossible.push((stream.placement, (before - one.samples.len()) as u64));
        }
        clocks.push((stream.placement, one.report));
        if one.samples.is_empty() {
            empty.push(stream.placement);
        } else {
            fitted.push((stream, one.samples));
        }
    }
    let firsts = fitted.iter().filter_map(|(_, samples)| samples.first());
    let origin = firsts.map(|s| s.at).min().unwrap_or(HostTime(0));
    let mut tracks: Vec<Track> = fitted
        .iter()
        .map(|(stream, samples)| track(stream, samples, origin))
        .collect();
    tracks.sort_by(|a, b| a.name.cmp(&b.name));
    let all: Vec<Mark> = events.iter().filter_map(|e| mark(e, origin)).collect();
    let mut marks = all.clone();
    marks.retain(|m| m.at.s().abs() <= RunTime::LIMIT_S);
    marks.sort_by_key(|m| m.at);
    withdraw(&mut marks);
    Assembled {
        strayed: (all.len() - marks.len()) as u64,
        run: Run {
            id: heading.id.clone(),
            acquired: heading.acquired.clone(),
            conditions: heading.conditions.clone(),
            tracks,
            marks,
        },
        clocks,
        impossible,
        empty,
    }
}

/// Takes away what was marked by mistake: a note that says [`WITHDRAWN`] takes the last pull or stop before it with it.
fn withdraw(marks: &mut Vec<Mark>) {
    let is_note = |m: &Mark| m.kind == MarkKind::Note && m.value == WITHDRAWN;
    while let Some(note) = marks.iter().position(is_note) {
        marks.remove(note);
        let is_of_raise = |m: &Mark| matches!(m.kind, MarkKind::Pull | MarkKind::Stop);
        if let Some(mark) = marks[..note].iter().rposition(is_of_raise) {
            marks.remove(mark);
        }
    }
}

/// What came of one stream.
fn parts(placement: Placement, events: &[Event]) -> Vec<Part<'_>> {
    let of_stream = events.iter().filter(|e| e.placement() == Some(placement));
    of_stream.filter_map(part).collect()
}

fn part(event: &Event) -> Option<Part<'_>> {
    match event {
        Event::Samples { packet, .. } => Some(Part::Packet(packet)),
        Event::Gap { cause, .. } => Some(Part::Lost(*cause)),
        _ => None,
    }
}

fn is_possible(sample: &FittedSample) -> bool {
    sample_of(sample, HostTime(0)).is_possible()
}

fn sample_of(sample: &FittedSample, origin: HostTime) -> Sample {
    Sample {
        at: sample.at.since(origin),
        accel_m_s2: sample.accel_m_s2,
        gyro_rad_s: sample.gyro_rad_s,
    }
}

fn track(stream: &Stream, samples: &[FittedSample], origin: HostTime) -> Track {
    Track {
        name: stream.placement.as_str().to_owned(),
        placement: Some(stream.placement),
        rate_hz: stream.timing.nominal_hz,
        limits: stream.limits,
        device: stream.device.clone(),
        samples: samples.iter().map(|s| sample_of(s, origin)).collect(),
        stamps: samples.iter().map(|s| s.stamp).collect(),
    }
}

fn mark(event: &Event, origin: HostTime) -> Option<Mark> {
    let Event::Mark {
        at,
        kind,
        side,
        value,
    } = event
    else {
        return None;
    };
    Some(Mark {
        at: at.since(origin),
        duration_s: None,
        kind: *kind,
        side: *side,
        value: value.clone(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Side;
    use crate::event::{Packet, RawSample};

    fn packet(arrival_ms: i64, accel_z: f32) -> Event {
        Event::Samples {
            placement: Placement::ShinLeft,
            packet: Packet {
                arrival: HostTime(arrival_ms * 1_000_000),
                samples: vec![RawSample {
                    sequence: None,
                    device: None,
                    accel_m_s2: [0.0, 0.0, accel_z],
                    gyro_rad_s: [0.0; 3],
                }],
            },
        }
    }

    #[test]
    fn time_zero_is_the_earliest_sample_and_marks_count_from_it() {
        let stream = |placement| Stream {
            placement,
            timing: Timing::of_rate(100.0),
            limits: None,
            device: Device::default(),
        };
        let heading = Heading {
            streams: vec![stream(Placement::ShinLeft), stream(Placement::Pelvis)],
            ..Heading::default()
        };
        let mut events: Vec<Event> = (0..100).map(|i| packet(500 + 10 * i, 9.8)).collect();
        events.push(packet(1500, f32::INFINITY));
        events.push(Event::Mark {
            at: HostTime(700_000_000),
            kind: MarkKind::Pull,
            side: Some(Side::Left),
            value: String::new(),
        });
        let made = assemble(&heading, &events);
        assert_eq!(made.run.tracks.len(), 1);
        assert_eq!(made.run.tracks[0].samples.len(), 100);
        assert_eq!(made.run.tracks[0].samples[0].at, RunTime::ZERO);
        assert_eq!(made.impossible, [(Placement::ShinLeft, 1)]);
        assert_eq!(made.empty, [Placement::Pelvis]);
        assert!((made.run.marks[0].at.s() - 0.2).abs() < 1e-6);
        assert_eq!(assemble(&Heading::default(), &events).run.tracks, []);
    }

    #[test]
    fn a_withdrawn_mark_is_gone_and_the_others_stay() {
        let mark = |s: f64, kind, value: &str| Mark {
            at: RunTime::from_s(s).unwrap(),
            duration_s: Some(0.0),
            kind,
            side: None,
            value: value.to_owned(),
        };
        let mut marks = vec![
            mark(1.0, MarkKind::Note, WITHDRAWN), // before any mark: of nothing
            mark(2.0, MarkKind::Pull, ""),
            mark(3.0, MarkKind::Stop, ""),
            mark(4.0, MarkKind::Note, "x"),
            mark(5.0, MarkKind::Note, WITHDRAWN),
            mark(6.0, MarkKind::Pull, ""),
        ];
        withdraw(&mut marks);
        let kinds: Vec<_> = marks.iter().map(|m| m.kind).collect();
        assert_eq!(kinds, [MarkKind::Pull, MarkKind::Note, MarkKind::Pull]);
    }
}
