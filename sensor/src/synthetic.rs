//! Runs with known truth: a body in motion, the sensors on it, and what goes wrong on the way.
//!
//! A [`Scenario`] says everything; [`simulate`] turns it into a [`Run`] like any other and the truth behind
//! it. Each bone and each sensor is placed in closed form at any moment; accelerometers read the second
//! difference of the true place, gyroscopes the true turning. The body, its flesh and its clocks are this
//! module's own and share nothing with the analysis, so that the two can contradict each other.
//! The same scenario gives the same run. All people in it are invented.

mod body;
mod course;
mod demo;
mod faults;
mod flat;
mod live;
mod makers;
mod random;
mod scenario;
mod sending;
mod stage;
mod truth;
mod unit;
mod vector;

#[cfg(test)]
mod check;
#[cfg(test)]
mod check_people;

pub use body::Motion;
pub use demo::{Demo, DemoPerson, DemoVisit, demo};
pub use faults::Fault;
pub use flat::{FlatPlan, simulate_flat};
pub use live::live_events;
pub use scenario::{
    Body, CompensationKind, CompensationPlan, Landing, Posture, RaisePlan, Scenario,
};
pub use sending::{ClockCourse, Outage, PACKET_S, Restart, Sending, SendingFault, SensorClock};
pub use truth::{TruthCompensation, TruthHold, TruthMark, TruthPoint, TruthRaise};
pub use unit::{Unit, UnitErrors, UnitGrade};

use body::Pose;
use random::Random;
use unit::Reader;

use crate::{Device, HostTime, Mark, MarkKind, Placement, RawStamp, Run, RunTime, Sample, Track};

/// A run and what is true about it.
#[derive(Clone, Debug)]
pub struct Simulated {
    /// What a recorder would have kept.
    pub run: Run,
    /// One a raise, in order.
    pub truth: Vec<TruthRaise>,
    /// The moving body, for any other question about it.
    pub motion: Motion,
}

/// Carries out a scenario.
pub fn simulate(scenario: &Scenario) -> Simulated {
    let staged = stage::stage(scenario);
    let truth = truth::raises(&staged, &scenario.raises);
    let motion = staged.motion;
    let pose = |placement: Placement, t_s: f64| match motion
        .straps
        .iter()
        .find(|s| s.placement == placement)
    {
        Some(strap) => motion.sensor(strap, t_s),
        None => motion.bone(placement, t_s, true),
    };
    let mut tracks = record(scenario, scenario.seed, motion.duration_s, &pose);
    for fault in &scenario.faults {
        faults::apply(fault, &mut tracks, Some(&motion), &truth, scenario.seed);
    }
    tracks.sort_by(|a, b| a.name.cmp(&b.name));
    let run = Run {
        id: scenario.id.clone(),
        acquired: scenario.acquired.clone(),
        conditions: scenario.conditions.clone(),
        tracks,
        marks: marks(scenario, &truth),
    };
    Simulated { run, truth, motion }
}

fn marks(scenario: &Scenario, truth: &[TruthRaise]) -> Vec<Mark> {
    let mut marks = Vec::new();
    for raise in truth {
        for (kind, mark) in [(MarkKind::Pull, raise.pull), (MarkKind::Stop, raise.stop)] {
            if let Some(at) = mark.and_then(|m| RunTime::from_s(m.pressed_s)) {
                let side = scenario.marks_say_side.then_some(raise.side);
                marks.push(Mark {
                    at,
                    duration_s: None,
                    kind,
                    side,
                    value: String::new(),
                });
            }
        }
    }
    marks.sort_by_key(|m| m.at);
    marks
}

/// Every sensor's samples of a motion, in the order of names.
fn record(
    scenario: &Scenario,
    seed: u64,
    duration_s: f64,
    pose: &dyn Fn(Placement, f64) -> Pose,
) -> Vec<Track> {
    let step_s = 1.0 / scenario.rate_hz;
    let mut tracks: Vec<Track> = Vec::new();
    for (i, &placement) in scenario.sensors.iter().enumerate() {
        let mut random = Random::new(seed, 0x0400 + placement as u64);
        // The first sensor's first sample is the run's time zero; the others sample in between.
        let phase_s = if i == 0 {
            0.0
        } else {
            random.between(0.0, step_s)
        };
        let mut reader = Reader::new(scenario.unit, placement, seed);
        let motion = |t_s: f64| pose(placement, t_s);
        let samples: Vec<Sample> = (0..u32::MAX)
            .map(|k| phase_s + f64::from(k) * step_s)
            .take_while(|&t_s| t_s <= duration_s)
            .filter_map(|t_s| reader.read(&motion, scenario.body.gravity_m_s2, t_s))
            .collect();
        let stamps = if scenario.stamped {
            stamps(&samples, &mut random)
        } else {
            Vec::new()
        };
        let unit = scenario.unit;
        tracks.push(Track {
            name: placement.as_str().to_owned(),
            placement: Some(placement),
            rate_hz: scenario.rate_hz,
            limits: unit.states_limits.then(|| unit.grade.limits()),
            device: device(placement, unit.seed),
            samples,
            stamps,
        });
    }
    tracks.sort_by(|a, b| a.name.cmp(&b.name));
    tracks
}

fn device(placement: Placement, unit_seed: u64) -> Device {
    let letter = match placement {
        Placement::ShinRight => 'A',
        Placement::ShinLeft => 'B',
        Placement::ThighRight => 'C',
        Placement::ThighLeft => 'D',
        Placement::Pelvis => 'E',
    };
    Device {
        manufacturer: "invented".to_owned(),
        model: format!("invented unit {letter}"),
        serial: format!("{letter}{unit_seed:04}"),
        software: String::new(),
    }
}

/// Counter, a microsecond clock, and an arrival with the next radio interval of 30 ms and some delay.
fn stamps(samples: &[Sample], random: &mut Random) -> Vec<RawStamp> {
    const INTERVAL_NS: i64 = 30_000_000;
    let mut earliest = 0;
    let stamp = |(sequence, sample): (usize, &Sample)| {
        let radio_ns = (sample.at.ns() / INTERVAL_NS + 1) * INTERVAL_NS;
        let delay_ns = RunTime::from_s(random.between(0.002, 0.02)).map_or(0, RunTime::ns);
        earliest = (radio_ns + delay_ns).max(earliest + 1);
        RawStamp {
            sequence: Some(sequence as u64),
            device: Some(faults::ticks(sample.at)),
            arrival: Some(HostTime(earliest)),
        }
    };
    samples.iter().enumerate().map(stamp).collect()
}

/// First moment between two at which a value has reached a level, to the nanosecond.
fn first_reaching(value: impl Fn(f64) -> f64, level: f64, from_s: f64, to_s: f64) -> Option<f64> {
    let mut low_s = from_s;
    while low_s < to_s {
        let mut high_s = (low_s + 0.002).min(to_s);
        if value(high_s) >= level {
            while high_s - low_s > 1e-9 {
                let middle_s = 0.5 * (low_s + high_s);
                if value(middle_s) >= level {
                    high_s = middle_s;
                } else {
                    low_s = middle_s;
                }
            }
            return Some(high_s);
        }
        low_s = high_s;
    }
    None
}
